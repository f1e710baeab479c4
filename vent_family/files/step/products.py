"""Product structure: hand shapes to the kernel, and give its products their identity.

Text never passes through the kernel: it sees placeholders, which are replaced by Part 21 strings
afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy, BRepBuilderAPI_Transform
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.StepGeom import StepGeom_Axis2Placement3d
from OCP.StepRepr import (
    StepRepr_NextAssemblyUsageOccurrence,
    StepRepr_ProductDefinitionShape,
)
from OCP.StepShape import StepShape_ManifoldSolidBrep, StepShape_ShapeDefinitionRepresentation
from OCP.TCollection import TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from vent_family.files.step.options import extended
from vent_family.files.step.part21 import encode_text

At = Callable[[int], str]
"""Leads from an instance's number in the kernel's model to the reference in the file."""


@dataclass(slots=True)
class Texts:
    """Placeholders for text, so that the kernel's handling of characters does not matter."""

    held: list[str] = field(default_factory=list)

    def put(self, text: str) -> str:
        """Keep a text and return its placeholder."""
        self.held.append(text)
        return f"VFT{len(self.held) - 1}V"

    def replace_in(self, record: str) -> str:
        """Return a record with the texts in place of their placeholders."""
        return re.sub(r"'VFT(\d+)V'", lambda m: encode_text(self.held[int(m.group(1))]), record)


@dataclass(frozen=True, slots=True)
class Product:
    """Where a product stands in the kernel's model: numbers of instances.

    ``origin`` is the placement at its origin.
    """

    definition: int
    shape: int
    context: int
    origin: int
    bodies: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Use:
    """Where one use of a product in an assembly stands in the kernel's model."""

    occurrence: int
    shape: int


@dataclass(frozen=True, slots=True)
class InModel:
    """Where things stand in the kernel's model, by their placeholders."""

    products: dict[str, Product]
    uses: dict[str, Use]


def plain_shape(shape: cq.Shape) -> TopoDS_Shape:
    """Return the shape without placement, and without compounds but one around several solids.

    The kernel writes a placed shape as an instance of an unnamed product.
    """
    solids = shape.Solids()
    if len(solids) == 1 and len(shape.Faces()) == len(solids[0].Faces()):
        shape = solids[0]
    elif len(solids) > 1:
        # Copied, lest the kernel takes one of them for another product of the file.
        copies = (BRepBuilderAPI_Copy(plain_shape(solid)).Shape() for solid in solids)
        shape = cq.Compound.makeCompound(cq.Shape.cast(copy) for copy in copies)
    bare = shape.wrapped
    place = bare.Location()
    if place.IsIdentity():
        return bare
    at_origin = bare.Located(TopLoc_Location())
    return BRepBuilderAPI_Transform(at_origin, place.Transformation(), True).Shape()


def add_shape(document: TDocStd_Document, shape: TopoDS_Shape, key: str) -> object:
    """Add a shape to the document with its placeholder for a name; return its label.

    A shape that stands there already, as another product, is copied: the kernel would take both for
    one.
    """
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    if not tool.FindShape(shape, False).IsNull():
        shape = BRepBuilderAPI_Copy(shape).Shape()
    label = tool.AddShape(shape, False)
    TDataStd_Name.Set_s(label, extended(key))
    return label


def name_products(
    writer: STEPCAFControl_Writer,
    texts: Texts,
    products: Mapping[str, tuple[str, str, str]],
    children: Mapping[str, Sequence[tuple[str, str]]],
) -> InModel:
    """Put numbers, names and revisions into the kernel's model; tell where things stand in it.

    Parameters
    ----------
    writer
        has turned a document into a model
    texts
        holds what the placeholders stand for
    products
        name, revision and description by the placeholder of the part number
    children
        what each assembly holds, in order: placeholders of part number and instance name

    Raises
    ------
    RuntimeError
        if the kernel wrote a product of its own making or put one elsewhere, or left one out
    """
    model = writer.Writer().Model()
    # All entities are held, so that each keeps the one Python object by which it is recognised.
    entities = [model.Value(number) for number in range(1, model.NbEntities() + 1)]
    number_of = {id(entity): number for number, entity in enumerate(entities, 1)}
    found: dict[str, Product] = {}
    shapes_of_uses: list[tuple[Any, Any]] = []
    to_come = {key: list(held) for key, held in children.items()}
    occurrences = 0
    for entity in entities:
        if isinstance(entity, StepRepr_NextAssemblyUsageOccurrence):
            # The kernel numbers these from the start of the process, and gives the names of some
            # to others where one product stands at the origin of two assemblies.
            occurrences += 1
            entity.SetId(_ascii(str(occurrences)))
            whole, part = (
                definition.Formation().OfProduct().Id().ToCString()
                for definition in (
                    entity.RelatingProductDefinition(),
                    entity.RelatedProductDefinition(),
                )
            )
            wanted, instance = to_come[whole].pop(0) if to_come.get(whole) else ("", "")
            if part != wanted:
                raise RuntimeError(f"the kernel put {part!r} into {whole!r}, not {wanted!r}")
            entity.SetName(_ascii(instance))
        if isinstance(entity, StepRepr_ProductDefinitionShape):
            use = entity.Definition().ProductDefinitionRelationship()
            if isinstance(use, StepRepr_NextAssemblyUsageOccurrence):
                shapes_of_uses.append((use, entity))
        if not isinstance(entity, StepShape_ShapeDefinitionRepresentation):
            continue
        shape = entity.Definition().PropertyDefinition()
        if not isinstance(shape, StepRepr_ProductDefinitionShape):
            continue
        definition = shape.Definition().ProductDefinition()
        formation = definition.Formation()
        product = formation.OfProduct()
        key = product.Id().ToCString()
        if key not in products or key in found:
            raise RuntimeError(f"the kernel wrote a product of its own making: {key!r}")
        name, revision, description = products[key]
        product.SetName(_ascii(texts.put(name)))
        product.SetDescription(_ascii(texts.put(description)))
        formation.SetId(_ascii(texts.put(revision)))
        used = entity.UsedRepresentation()
        items = [used.ItemsValue(index) for index in range(1, used.NbItems() + 1)]
        bodies = [item for item in items if isinstance(item, StepShape_ManifoldSolidBrep)]
        for body in bodies:
            # Several systems show this as the name of the body.
            body.SetName(_ascii(key))
        found[key] = Product(
            definition=number_of[id(definition)],
            shape=number_of[id(shape)],
            context=number_of[id(used.ContextOfItems())],
            origin=next(
                number_of[id(item)] for item in items if isinstance(item, StepGeom_Axis2Placement3d)
            ),
            bodies=tuple(number_of[id(body)] for body in bodies),
        )
    if set(found) != set(products) or any(to_come.values()):
        raise RuntimeError("the kernel left out a product, or a use of one")
    uses = {
        use.Name().ToCString(): Use(number_of[id(use)], number_of[id(shape)])
        for use, shape in shapes_of_uses
    }
    return InModel(found, uses)


def _ascii(text: str) -> TCollection_HAsciiString:
    return TCollection_HAsciiString(text)

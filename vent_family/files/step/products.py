"""Product structure: hand shapes to the kernel, and give its products their identity.

Text never passes through the kernel: it sees placeholders, which are replaced by Part 21 strings
afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.STEPCAFControl import STEPCAFControl_Writer
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
    """Where a product stands in the kernel's model: numbers of instances."""

    definition: int
    shape: int
    context: int
    bodies: tuple[int, ...]


def plain_shape(shape: cq.Shape) -> TopoDS_Shape:
    """Return the shape without placement, and without a compound around a single solid.

    The kernel writes a placed shape as an instance of an unnamed product.
    """
    solids = shape.Solids()
    if len(solids) == 1 and len(shape.Faces()) == len(solids[0].Faces()):
        shape = solids[0]
    bare = shape.wrapped
    place = bare.Location()
    if place.IsIdentity():
        return bare
    at_origin = bare.Located(TopLoc_Location())
    return BRepBuilderAPI_Transform(at_origin, place.Transformation(), True).Shape()


def add_shape(document: TDocStd_Document, shape: TopoDS_Shape, key: str) -> object:
    """Add a shape to the document with its placeholder for a name; return its label."""
    label = XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).AddShape(shape, False)
    TDataStd_Name.Set_s(label, extended(key))
    return label


def name_products(
    writer: STEPCAFControl_Writer, texts: Texts, products: Mapping[str, tuple[str, str, str]]
) -> dict[str, Product]:
    """Put numbers, names and revisions into the kernel's model; tell where the products stand.

    Raises
    ------
    RuntimeError
        if the kernel wrote a product of its own making, or left one out
    """
    model = writer.Writer().Model()
    # All entities are held, so that each keeps the one Python object by which it is recognised.
    entities = [model.Value(number) for number in range(1, model.NbEntities() + 1)]
    number_of = {id(entity): number for number, entity in enumerate(entities, 1)}
    found: dict[str, Product] = {}
    occurrences = 0
    for entity in entities:
        if isinstance(entity, StepRepr_NextAssemblyUsageOccurrence):
            # The kernel numbers these from the start of the process.
            occurrences += 1
            entity.SetId(_ascii(str(occurrences)))
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
            bodies=tuple(number_of[id(body)] for body in bodies),
        )
    if set(found) != set(products):
        raise RuntimeError("the kernel left out a product")
    return found


def _ascii(text: str) -> TCollection_HAsciiString:
    return TCollection_HAsciiString(text)

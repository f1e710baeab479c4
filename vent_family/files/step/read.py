"""Read a STEP file back: what another system would find in it.

The kernel's reader fills a fresh document with geometry, names, colours, validation properties and
metadata; identifiers, attributes with their units and the material come from the entities it has
read, because its document keeps no units, garbles non-ASCII attribute text, and takes any
descriptive attribute for a material.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import cadquery as cq
from OCP.IFSelect import IFSelect_RetDone
from OCP.StepBasic import (
    StepBasic_ConversionBasedUnit,
    StepBasic_DerivedUnit,
    StepBasic_GeneralPropertyAssociation,
    StepBasic_ProductDefinition,
    StepBasic_RatioUnit,
    StepBasic_SiUnit,
)
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.StepRepr import (
    StepRepr_DescriptiveRepresentationItem,
    StepRepr_IntegerRepresentationItem,
    StepRepr_MeasureRepresentationItem,
    StepRepr_NextAssemblyUsageOccurrence,
    StepRepr_PropertyDefinitionRepresentation,
)
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.XCAFDoc import (
    XCAFDoc_Area,
    XCAFDoc_ShapeTool,
    XCAFDoc_Volume,
)

from vent_family.files.step.attributes import USER_DEFINED, Attribute
from vent_family.files.step.labels import (
    address,
    colour_of,
    labels_by_identity,
    name_of,
    own_colour,
    stored_centroid,
    stored_number,
)
from vent_family.files.step.options import (
    IMPORT_OPTIONS,
    kernel_options,
    new_document,
    unmended,
)
from vent_family.files.step.parts import Colour
from vent_family.files.step.units import UNITS, ConvertedUnit, SiUnit

UnitKey = tuple[tuple[str, str, int], ...]


@dataclass(frozen=True, slots=True)
class ReadInstance:
    """One use of a part or an assembly in an assembly.

    ``location`` is its place there (mm), ``colour_rgb`` a colour of its own: sRGB, shares from 0 to
    1, a fourth one the opacity, or None. ``attributes`` are said of this use alone, ``unread`` as
    in a part.
    """

    name: str
    part_number: str
    location: cq.Location
    colour_rgb: Colour | None = None
    attributes: tuple[Attribute, ...] = ()
    unread: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadPart:
    """A part or an assembly as it stands in a file.

    ``volume_mm3``, ``area_mm2`` and ``centroid_mm`` are the validation properties the file states,
    not measured here; measure ``shape`` (mm) and compare. ``colour_rgb`` is sRGB, shares from 0 to
    1. What the file does not say is None. A quantity written from a whole number comes back as a
    number with decimals. ``unread`` names the attributes whose value or unit is of a kind not known
    here. ``instances`` is empty unless it is an assembly.
    """

    part_number: str
    name: str
    revision: str
    description: str
    attributes: tuple[Attribute, ...]
    unread: tuple[str, ...]
    colour_rgb: Colour | None
    material: str | None
    material_description: str | None
    density_g_cm3: float | None
    volume_mm3: float | None
    area_mm2: float | None
    centroid_mm: tuple[float, float, float] | None
    shape: cq.Shape
    instances: tuple[ReadInstance, ...] = ()

    def attribute(self, name: str) -> Attribute:
        """Return the attribute of this name.

        Raises
        ------
        KeyError
            if there is none
        """
        for attribute in self.attributes:
            if attribute.name == name:
                return attribute
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class PlacedPart:
    """One use of a part in a whole tree.

    ``path`` are the names of the instances from the top down, ``location`` its place in the whole
    (mm), ``colour_rgb`` what it is shown in: sRGB, shares from 0 to 1, or None.
    """

    path: tuple[str, ...]
    part: ReadPart
    location: cq.Location
    colour_rgb: Colour | None

    def shape(self) -> cq.Shape:
        """Return the part's shape in its place in the whole; mm."""
        return self.part.shape.moved(self.location)


@dataclass(slots=True)
class _Properties:
    attributes: list[Attribute] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    material: str | None = None
    material_description: str | None = None
    density_g_cm3: float | None = None


def read_step(path: Path, *, mend: bool = True) -> list[ReadPart]:
    """Return the parts and assemblies of a STEP file, each once, in file order.

    With ``mend`` the kernel puts right what it finds wrong with a shape, as CAD systems built on
    it do; without, turned faces and crossing edges come as they stand in the file, in two thirds
    of the time.

    Raises
    ------
    FileNotFoundError
        if there is no such file
    ValueError
        if the kernel cannot read the file, or finds no product in it
    """
    path = Path(path)
    if not path.is_file():
        raise FileNotFoundError(path)
    with kernel_options(IMPORT_OPTIONS):
        reader = STEPCAFControl_Reader()
        reader.SetColorMode(True)
        reader.SetNameMode(True)
        reader.SetPropsMode(True)
        reader.SetMatMode(True)
        reader.SetMetaMode(True)
        reader.SetProductMetaMode(True)
        reader.SetLayerMode(False)
        reader.SetGDTMode(False)
        reader.SetSHUOMode(False)
        if not mend:
            reader.SetShapeFixParameters(unmended())
        if reader.ReadFile(str(path)) != IFSelect_RetDone:
            raise ValueError(f"{path} is not a STEP file that can be read")
        document = new_document()
        if not reader.Transfer(document):
            raise ValueError(f"{path} holds no product that can be read")
    session = reader.Reader().WS()
    model = session.Model()
    entities = [model.Value(number) for number in range(1, model.NbEntities() + 1)]
    properties = _properties(entities)
    by_identity = labels_by_identity(document)
    uses = _uses(entities, properties)
    numbers: dict[str, str] = {}
    labels: list[tuple[Any, TDF_Label]] = []
    for entity in entities:
        if not isinstance(entity, StepBasic_ProductDefinition):
            continue
        product = entity.Formation().OfProduct()
        found = by_identity.get((_text(product.Id()), _text(product.Name())))
        if found is not None:
            numbers[address(found)] = _text(product.Id())
            labels.append((entity, found))
    if not labels:
        raise ValueError(f"{path} holds no product that can be read")
    return [
        _part(document, label, entity, properties.get(id(entity), _Properties()), numbers, uses)
        for entity, label in labels
    ]


def _part(
    document: Any,
    label: TDF_Label,
    definition: Any,
    properties: _Properties,
    numbers: dict[str, str],
    uses: dict[tuple[str, str], _Properties],
) -> ReadPart:
    product = definition.Formation().OfProduct()
    return ReadPart(
        part_number=_text(product.Id()),
        name=_text(product.Name()),
        revision=_text(definition.Formation().Id()),
        description=_text(product.Description()),
        attributes=tuple(properties.attributes),
        unread=tuple(properties.unread),
        colour_rgb=colour_of(document, label),
        material=properties.material,
        material_description=properties.material_description,
        density_g_cm3=properties.density_g_cm3,
        volume_mm3=stored_number(label, XCAFDoc_Volume),
        area_mm2=stored_number(label, XCAFDoc_Area),
        centroid_mm=stored_centroid(label),
        shape=cq.Shape.cast(XCAFDoc_ShapeTool.GetShape_s(label)),
        instances=tuple(_instances(label, numbers, uses)),
    )


def placed_parts(found: Sequence[ReadPart]) -> list[PlacedPart]:
    """Return every use of a part in a file, down all levels, in file order.

    Raises
    ------
    KeyError
        if an instance is of no product that was read
    """
    by_number = {part.part_number: part for part in found}
    used = {instance.part_number for part in found for instance in part.instances}

    def below(
        part: ReadPart, place: cq.Location, path: tuple[str, ...], colour: Colour | None
    ) -> Iterator[PlacedPart]:
        if not part.instances:
            yield PlacedPart(path, part, place, colour or part.colour_rgb)
        for one in part.instances:
            yield from below(
                by_number[one.part_number],
                place * one.location,
                (*path, one.name),
                one.colour_rgb,
            )

    return [
        one
        for part in found
        if part.part_number not in used
        for one in below(part, cq.Location(), (), None)
    ]


def _properties(entities: list[Any]) -> dict[int, _Properties]:
    """Collect attributes and material by product definition, or use of one (Python identity)."""
    attributes = {
        id(entity.PropertyDefinition())
        for entity in entities
        if isinstance(entity, StepBasic_GeneralPropertyAssociation)
    }
    found: dict[int, _Properties] = {}
    for entity in entities:
        if not isinstance(entity, StepRepr_PropertyDefinitionRepresentation):
            continue
        held = entity.Definition().PropertyDefinition()
        definition = _owner(held) if held is not None else None
        items = entity.UsedRepresentation().Items()
        if definition is None or items is None:
            continue
        into = found.setdefault(id(definition), _Properties())
        description = _text(held.Description())
        for index in range(items.Lower(), items.Upper() + 1):
            item = items.Value(index)
            if id(held) in attributes or description == USER_DEFINED:
                _read_attribute(_text(held.Name()), item, into)
            elif _text(held.Name()) == "material property":
                _read_material(description, item, into)
    return found


def _owner(held: Any) -> Any:
    """Return the product definition, or the use of one in an assembly, that a property is of."""
    definition = held.Definition()
    return definition.ProductDefinition() or definition.ProductDefinitionRelationship()


def _read_attribute(name: str, item: Any, into: _Properties) -> None:
    if isinstance(item, StepRepr_DescriptiveRepresentationItem):
        into.attributes.append(Attribute(name, _text(item.Description())))
    elif isinstance(item, StepRepr_IntegerRepresentationItem):
        into.attributes.append(Attribute(name, item.Value()))
    elif isinstance(item, StepRepr_MeasureRepresentationItem):
        unit = _UNIT_BY_KEY.get(_unit_key(item))
        if unit is None:
            into.unread.append(name)
        else:
            into.attributes.append(Attribute(name, item.Measure().ValueComponent(), unit))
    else:
        into.unread.append(name)


def _read_material(what: str, item: Any, into: _Properties) -> None:
    if what == "material name" and isinstance(item, StepRepr_DescriptiveRepresentationItem):
        into.material = _text(item.Name())
        into.material_description = _text(item.Description())
    elif what == "density" and isinstance(item, StepRepr_MeasureRepresentationItem):
        unit = _UNIT_BY_KEY.get(_unit_key(item))
        factor = {"g/cm3": 1.0, "kg/m3": 1e-3}.get(unit or "")
        if factor is not None:
            into.density_g_cm3 = item.Measure().ValueComponent() * factor


def _unit_key(item: Any) -> UnitKey:
    """Return the unit of a measure in a form that can be looked up; () if of no known kind."""
    unit = item.Measure().UnitComponent().Value()
    if isinstance(unit, StepBasic_DerivedUnit):
        elements = [unit.ElementsValue(index) for index in range(1, unit.NbElements() + 1)]
        factors = [(element.Unit(), element.Exponent()) for element in elements]
    else:
        factors = [(unit, 1.0)]
    key = []
    for named, exponent in factors:
        pair = _named_key(named)
        if pair is None or exponent != round(exponent):
            return ()
        key.append((*pair, round(exponent)))
    return tuple(sorted(key))


def _named_key(named: Any) -> tuple[str, str] | None:
    if isinstance(named, StepBasic_SiUnit):
        prefix = named.Prefix().name.removeprefix("StepBasic_sp") if named.HasPrefix() else ""
        # DegreeCelsius in the kernel, DEGREE_CELSIUS in the file.
        return prefix.upper(), named.Name().name.removeprefix("StepBasic_sun").upper()
    if isinstance(named, StepBasic_ConversionBasedUnit):
        return "", _text(named.Name()).upper()
    if isinstance(named, StepBasic_RatioUnit):
        return "", ""
    return None


def _table_key(factors: tuple[tuple[SiUnit | ConvertedUnit | None, int], ...]) -> UnitKey:
    def pair(named: SiUnit | ConvertedUnit | None) -> tuple[str, str]:
        if named is None:
            return "", ""
        if isinstance(named, ConvertedUnit):
            return "", named.name
        return named.prefix, named.name.replace("_", "")

    return tuple(sorted((*pair(named), exponent) for named, exponent in factors))


_UNIT_BY_KEY: Final[dict[UnitKey, str]] = {
    _table_key(definition.factors): unit for unit, definition in UNITS.items()
}


def _uses(
    entities: list[Any], properties: dict[int, _Properties]
) -> dict[tuple[str, str], _Properties]:
    """Return what is said of single uses, by number of the assembly and name of the instance."""
    found = {}
    for entity in entities:
        if isinstance(entity, StepRepr_NextAssemblyUsageOccurrence) and id(entity) in properties:
            whole = entity.RelatingProductDefinition().Formation().OfProduct()
            found[_text(whole.Id()), _text(entity.Name())] = properties[id(entity)]
    return found


def _instances(
    label: TDF_Label, numbers: dict[str, str], uses: dict[tuple[str, str], _Properties]
) -> Iterator[ReadInstance]:
    whole = numbers.get(address(label), "")
    components = TDF_LabelSequence()
    XCAFDoc_ShapeTool.GetComponents_s(label, components, False)
    for index in range(1, components.Length() + 1):
        component = components.Value(index)
        part = TDF_Label()
        XCAFDoc_ShapeTool.GetReferredShape_s(component, part)
        name = name_of(component)
        said = uses.get((whole, name), _Properties())
        yield ReadInstance(
            name,
            numbers.get(address(part), ""),
            cq.Location(XCAFDoc_ShapeTool.GetLocation_s(component)),
            own_colour(component),
            tuple(said.attributes),
            tuple(said.unread),
        )


def _text(text: Any) -> str:
    """Return a string of the kernel, None as empty text."""
    return "" if text is None else str(text.ToCString())

"""Read a STEP file back: what another system would find in it.

The kernel's reader fills a fresh document with geometry, names, colours, validation properties and
metadata; identifiers, attributes with their units and the material come from the entities it has
read, because its document keeps no units, garbles non-ASCII attribute text, and takes any
descriptive attribute for a material.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import cadquery as cq
from OCP.IFSelect import IFSelect_RetDone
from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
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
    StepRepr_PropertyDefinitionRepresentation,
)
from OCP.TDataStd import TDataStd_Name, TDataStd_NamedData
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.XCAFDoc import (
    XCAFDoc_Area,
    XCAFDoc_Centroid,
    XCAFDoc_ColorGen,
    XCAFDoc_ColorSurf,
    XCAFDoc_ColorTool,
    XCAFDoc_DocumentTool,
    XCAFDoc_ShapeTool,
    XCAFDoc_Volume,
)

from vent_family.files.step.attributes import USER_DEFINED, Attribute
from vent_family.files.step.options import (
    IMPORT_OPTIONS,
    extended,
    kernel_options,
    new_document,
    unmended,
)
from vent_family.files.step.units import UNITS, ConvertedUnit, SiUnit

UnitKey = tuple[tuple[str, str, int], ...]


@dataclass(frozen=True, slots=True)
class ReadInstance:
    """One use of a part in an assembly; ``location`` is its place there (mm)."""

    name: str
    part_number: str
    location: cq.Location


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
    colour_rgb: tuple[float, float, float] | None
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
    by_identity = _labels_by_identity(document)
    numbers: dict[str, str] = {}
    labels: list[tuple[Any, TDF_Label]] = []
    for entity in entities:
        if not isinstance(entity, StepBasic_ProductDefinition):
            continue
        product = entity.Formation().OfProduct()
        found = by_identity.get((_text(product.Id()), _text(product.Name())))
        if found is not None:
            numbers[_entry(found)] = _text(product.Id())
            labels.append((entity, found))
    if not labels:
        raise ValueError(f"{path} holds no product that can be read")
    return [
        _part(document, label, entity, properties.get(id(entity), _Properties()), numbers)
        for entity, label in labels
    ]


def _part(
    document: Any,
    label: TDF_Label,
    definition: Any,
    properties: _Properties,
    numbers: dict[str, str],
) -> ReadPart:
    product = definition.Formation().OfProduct()
    return ReadPart(
        part_number=_text(product.Id()),
        name=_text(product.Name()),
        revision=_text(definition.Formation().Id()),
        description=_text(product.Description()),
        attributes=tuple(properties.attributes),
        unread=tuple(properties.unread),
        colour_rgb=_colour(document, label),
        material=properties.material,
        material_description=properties.material_description,
        density_g_cm3=properties.density_g_cm3,
        volume_mm3=_stored(label, XCAFDoc_Volume),
        area_mm2=_stored(label, XCAFDoc_Area),
        centroid_mm=_centroid(label),
        shape=cq.Shape.cast(XCAFDoc_ShapeTool.GetShape_s(label)),
        instances=tuple(_instances(label, numbers)),
    )


def _labels_by_identity(document: Any) -> dict[tuple[str, str], TDF_Label]:
    """Return the labels of parts and assemblies by the number and name of their product.

    The reader forgets which entity became which shape, but in metadata mode it notes both on the
    label.
    """
    sequence = TDF_LabelSequence()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetShapes(sequence)
    found: dict[tuple[str, str], TDF_Label] = {}
    for index in range(1, sequence.Length() + 1):
        label = sequence.Value(index)
        if not label.IsAttribute(TDataStd_NamedData.GetID_s()):
            continue
        data = TDataStd_NamedData()
        label.FindAttribute(TDataStd_NamedData.GetID_s(), data)
        identity = (_named(data, "ProductID"), _named(data, "ProductName"))
        if any(identity):
            found.setdefault(identity, label)
    return found


def _named(data: TDataStd_NamedData, name: str) -> str:
    key = extended(name)
    return str(data.GetString(key).ToExtString()) if data.HasString(key) else ""


def _properties(entities: list[Any]) -> dict[int, _Properties]:
    """Collect attributes and material by product definition (Python identity of the entity)."""
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
        definition = held.Definition().ProductDefinition() if held is not None else None
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


def _instances(label: TDF_Label, numbers: dict[str, str]) -> Iterator[ReadInstance]:
    components = TDF_LabelSequence()
    XCAFDoc_ShapeTool.GetComponents_s(label, components, False)
    for index in range(1, components.Length() + 1):
        component = components.Value(index)
        part = TDF_Label()
        XCAFDoc_ShapeTool.GetReferredShape_s(component, part)
        yield ReadInstance(
            _name(component),
            numbers.get(_entry(part), ""),
            cq.Location(XCAFDoc_ShapeTool.GetLocation_s(component)),
        )


def _colour(document: Any, label: TDF_Label) -> tuple[float, float, float] | None:
    """Return the colour of a label as sRGB, or the one its solids have in common, or None."""
    colour = Quantity_Color()
    kinds = (XCAFDoc_ColorSurf, XCAFDoc_ColorGen)
    if any(XCAFDoc_ColorTool.GetColor_s(label, kind, colour) for kind in kinds):
        return _srgb(colour)
    if XCAFDoc_ShapeTool.IsAssembly_s(label):
        return None
    tool = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    found = set()
    for solid in cq.Shape.cast(XCAFDoc_ShapeTool.GetShape_s(label)).Solids():
        coloured = any(tool.GetColor(solid.wrapped, kind, colour) for kind in kinds)
        found.add(_srgb(colour) if coloured else None)
    return found.pop() if len(found) == 1 else None


def _srgb(colour: Quantity_Color) -> tuple[float, float, float]:
    red, green, blue = colour.Values(Quantity_TOC_sRGB)
    return float(red), float(green), float(blue)


def _stored(label: TDF_Label, kind: Any) -> float | None:
    # Asking for an attribute that is not there crashes the interpreter.
    if not label.IsAttribute(kind.GetID_s()):
        return None
    stored = kind()
    label.FindAttribute(kind.GetID_s(), stored)
    return float(stored.Get())


def _centroid(label: TDF_Label) -> tuple[float, float, float] | None:
    if not label.IsAttribute(XCAFDoc_Centroid.GetID_s()):
        return None
    stored = XCAFDoc_Centroid()
    label.FindAttribute(XCAFDoc_Centroid.GetID_s(), stored)
    point = stored.Get()
    return point.X(), point.Y(), point.Z()


def _name(label: TDF_Label) -> str:
    if not label.IsAttribute(TDataStd_Name.GetID_s()):
        return ""
    name = TDataStd_Name()
    label.FindAttribute(TDataStd_Name.GetID_s(), name)
    return str(name.Get().ToExtString())


def _entry(label: TDF_Label) -> str:
    """Return the address of a label in its document, such as ``0:1:1:2``."""
    tags = []
    while not label.IsRoot():
        tags.append(str(label.Tag()))
        label = label.Father()
    return ":".join(reversed(tags))


def _text(text: Any) -> str:
    """Return a string of the kernel, None as empty text."""
    return "" if text is None else str(text.ToCString())

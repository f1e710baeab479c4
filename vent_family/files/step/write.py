"""Write parts and assemblies as STEP AP242 (ISO 10303-242), attributes and validation included.

The kernel writes the geometry and the product structure. The header, the colours and the
properties are written here, because the kernel (Open CASCADE 7.9) has no call for attributes, puts
the density in a wrong unit (grams cubed times square centimetres), leaves out the parts of some
units, orders the colours of an assembly by memory address, and writes running numbers of the
process into the file. Text never passes through the kernel either: it sees placeholders, which are
replaced by Part 21 strings afterwards.

Conventions, as cited from the CAx-IF recommended practices for user defined attributes, geometric
and assembly validation properties, and material identification and density (titles and extracts
read, not their full text):

* PRODUCT carries part number, name and description, PRODUCT_DEFINITION_FORMATION the revision;
* validation properties (volume, surface area, centroid) hang on PRODUCT_DEFINITION_SHAPE;
* attributes and the material hang on PRODUCT_DEFINITION, the material after the attributes:
  Open CASCADE based readers take the last descriptive item they find there for the material.

Bytes depend on the arguments and the versions of kernel and package only.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Final

import cadquery as cq
import OCP
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.IFSelect import IFSelect_RetDone
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

from vent_family.base.atomic import write_bytes
from vent_family.base.version import VERSION
from vent_family.files.step.attributes import (
    Attribute,
    add_attribute,
    add_representation,
    add_unit,
)
from vent_family.files.step.options import EXPORT_OPTIONS, extended, kernel_options, new_document
from vent_family.files.step.part21 import (
    Section,
    check_character,
    compact,
    encode_real,
    encode_text,
)
from vent_family.files.step.read import ReadInstance, ReadPart, read_step
from vent_family.geometry.measure import MassProperties, mass_properties

__all__ = [
    "Attribute",
    "ReadInstance",
    "ReadPart",
    "StepHeader",
    "StepPart",
    "read_step",
    "write_step",
    "write_step_assembly",
]

SCHEMA: Final = "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }"
"""Name and object identifier of the AP242 schema, edition 1, as the kernel writes it."""


@dataclass(frozen=True, slots=True)
class StepHeader:
    """The header of a STEP file (ISO 10303-21, FILE_NAME).

    ``time_stamp`` is a time with its offset from UTC, as a datetime or ISO 8601 text; it is
    written to the second.

    Raises:
        ValueError: a time without offset, or text that is no time.
    """

    file_name: str
    author: str
    organisation: str
    time_stamp: datetime | str
    originating_system: str = f"vent-family {VERSION}"
    authorisation: str = ""

    def __post_init__(self) -> None:
        """Refuse a time that would mean something else on another machine."""
        self.iso_time()
        _check_texts(
            "the STEP header",
            (
                self.file_name,
                self.author,
                self.organisation,
                self.originating_system,
                self.authorisation,
            ),
        )

    def iso_time(self) -> str:
        """Return the time stamp as ISO 8601 text, to the second, with its offset."""
        stamp = self.time_stamp
        if isinstance(stamp, str):
            try:
                stamp = datetime.fromisoformat(stamp)
            except ValueError as error:
                raise ValueError(f"the time stamp {self.time_stamp!r} is not ISO 8601") from error
        if stamp.utcoffset() is None:
            raise ValueError(f"the time stamp {self.time_stamp!r} has no offset from UTC")
        return stamp.isoformat(timespec="seconds")


@dataclass(frozen=True, slots=True, eq=False)
class StepPart:
    """A solid with everything that is written about it.

    ``shape`` is in mm, co-planar faces already merged. ``colour_rgb`` is sRGB, each from 0 to 1.
    ``material`` is the designation, ``material_description`` the longer name. ``mass`` is what the
    shape measures, where it was measured before.

    Raises:
        ValueError: a blank part number, name, revision or material, a colour or density out of
            range, two attributes of one name, or a character that cannot be written.
    """

    shape: cq.Shape
    part_number: str
    name: str
    revision: str
    description: str
    colour_rgb: tuple[float, float, float]
    material: str
    density_g_cm3: float
    attributes: tuple[Attribute, ...] = ()
    material_description: str = ""
    mass: MassProperties | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be written, before a file is begun."""
        what = f"part {self.part_number!r}"
        _check_product(what, self.part_number, self.name, self.revision, self.description)
        _check_texts(what, (self.material, self.material_description))
        _check_attributes(what, self.attributes)
        if not self.material.strip():
            raise ValueError(f"{what} has no material")
        if not (math.isfinite(self.density_g_cm3) and self.density_g_cm3 > 0.0):
            raise ValueError(f"{what} has the density {self.density_g_cm3} g/cm3")
        if len(self.colour_rgb) != 3 or not all(0.0 <= value <= 1.0 for value in self.colour_rgb):
            raise ValueError(f"{what} has the colour {self.colour_rgb}; allowed: 0 to 1, three")

    def same_as(self, other: StepPart) -> bool:
        """Tell whether both are the same part: the same solid with the same data."""
        return all(
            self.shape.wrapped.IsPartner(other.shape.wrapped)
            if name == "shape"
            else getattr(self, name) == getattr(other, name)
            for name in self.__slots__
        )


@dataclass(slots=True)
class _Texts:
    """Placeholders for text, so that the kernel's handling of characters does not matter."""

    held: list[str] = field(default_factory=list)

    def put(self, text: str) -> str:
        self.held.append(text)
        return f"VFT{len(self.held) - 1}V"

    def replace_in(self, record: str) -> str:
        return re.sub(r"'VFT(\d+)V'", lambda m: encode_text(self.held[int(m.group(1))]), record)


@dataclass(frozen=True, slots=True)
class _Product:
    """Where a product stands in the kernel's model: numbers of instances."""

    definition: int
    shape: int
    context: int
    bodies: tuple[int, ...]


def write_step(path: Path, part: StepPart, header: StepHeader) -> None:
    """Write one part to ``path``, whole or not at all.

    AP242, millimetres. The schema has no unit for the whole file besides length and angles, so
    every mass, density, force or flow carries its own.

    Raises:
        ValueError: the shape encloses no volume, or is inside out.
        RuntimeError: the kernel could not write the shape.
        OSError: the file could not be written.
    """
    shape = _plain_shape(part.shape)
    measured = _measure(part, shape)
    texts = _Texts()
    key = texts.put(part.part_number)
    document = new_document()
    _add_shape(document, shape, key)

    def add_properties(section: Section, products: Mapping[str, _Product], at: _At) -> None:
        _add_part_properties(section, part, measured, products[key], at)

    _write(
        path,
        document,
        texts,
        {key: (part.name, part.revision, part.description)},
        (part.part_number, part.revision, part.name),
        header,
        add_properties,
    )


def write_step_assembly(
    path: Path,
    *,
    part_number: str,
    name: str,
    revision: str,
    description: str,
    children: Sequence[tuple[StepPart, cq.Location, str]],
    header: StepHeader,
    attributes: Sequence[Attribute] = (),
) -> None:
    """Write an assembly of one level to ``path``, whole or not at all.

    ``children`` are (part, place in the assembly, instance name), written in this order. A part
    used several times is written once; the same part number with another solid or other data is
    refused. The assembly carries its own attributes and the volume, surface area and
    centroid of all its children together.

    Raises:
        ValueError: no children, a blank or repeated instance name, a part number that is also the
            assembly's, one part number for two different parts, or a shape without volume.
        RuntimeError: the kernel could not write the shapes.
        OSError: the file could not be written.
    """
    what = f"assembly {part_number!r}"
    _check_product(what, part_number, name, revision, description)
    _check_attributes(what, attributes)
    parts = _distinct_parts(what, part_number, children)
    texts = _Texts()
    root = texts.put(part_number)
    document = new_document()
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    root_label = shapes.NewShape()
    TDataStd_Name.Set_s(root_label, extended(root))
    keys: dict[str, str] = {}
    solids: dict[str, TopoDS_Shape] = {}
    labels = {}
    measured: dict[str, MassProperties] = {}
    for number, part in parts.items():
        keys[number] = texts.put(number)
        solids[number] = _plain_shape(part.shape)
        measured[number] = _measure(part, solids[number])
        labels[number] = _add_shape(document, solids[number], keys[number])
    for part, place, instance in children:
        label = shapes.AddComponent(root_label, labels[part.part_number], place.wrapped)
        TDataStd_Name.Set_s(label, extended(texts.put(instance)))
    shapes.UpdateAssemblies()

    def add_properties(section: Section, products: Mapping[str, _Product], at: _At) -> None:
        for number, part in parts.items():
            _add_part_properties(section, part, measured[number], products[keys[number]], at)
        product = products[root]
        total = _total([(measured[part.part_number], place) for part, place, _ in children])
        _add_validation(section, total, product, at)
        for attribute in attributes:
            add_attribute(section, attribute, at(product.definition), at(product.context))

    products = {root: (name, revision, description)}
    products |= {keys[n]: (p.name, p.revision, p.description) for n, p in parts.items()}
    _write(
        path,
        document,
        texts,
        products,
        (part_number, revision, name),
        header,
        add_properties,
    )


_At = Callable[[int], str]


def _write(
    path: Path,
    document: TDocStd_Document,
    texts: _Texts,
    products: Mapping[str, tuple[str, str, str]],
    subject: tuple[str, str, str],
    header: StepHeader,
    add_properties: Callable[[Section, Mapping[str, _Product], _At], None],
) -> None:
    """Let the kernel write ``document``, add the properties and the header, store the file.

    ``products`` holds name, revision and description by the placeholder of the part number.
    """
    with kernel_options(EXPORT_OPTIONS):
        writer = STEPCAFControl_Writer()
        writer.SetColorMode(False)
        writer.SetNameMode(True)
        writer.SetLayerMode(False)
        writer.SetPropsMode(False)
        writer.SetMaterialMode(False)
        writer.SetDimTolMode(False)
        writer.SetSHUOMode(False)
        if not writer.Transfer(document):
            raise RuntimeError(f"the kernel could not turn {subject[0]} into STEP")
        found = _name_products(writer, texts, products)
        stream = io.BytesIO()
        if writer.WriteStream(stream) != IFSelect_RetDone:
            raise RuntimeError(f"the kernel could not write {subject[0]}")
    written = stream.getvalue().decode("ascii")
    start = written.index("DATA;") + len("DATA;")
    records, numbers = compact(written[start : written.rindex("ENDSEC;")])
    section = Section(len(records) + 1)
    add_properties(section, found, lambda number: f"#{numbers[number]}")
    body = "".join(
        f"#{number}={texts.replace_in(record)};\n" for number, record in enumerate(records, 1)
    )
    text = (
        f"ISO-10303-21;\nHEADER;\n{_header(header, subject)}ENDSEC;\n"
        f"DATA;\n{body}{section.text()}ENDSEC;\nEND-ISO-10303-21;\n"
    )
    write_bytes(path, text.encode("ascii"))


def _header(header: StepHeader, subject: tuple[str, str, str]) -> str:
    number, revision, name = subject
    names = ",".join(
        (
            encode_text(header.file_name),
            encode_text(header.iso_time()),
            f"({encode_text(header.author)})",
            f"({encode_text(header.organisation)})",
            encode_text(f"vent-family {VERSION} with Open CASCADE {OCP.__version__}"),
            encode_text(header.originating_system),
            encode_text(header.authorisation),
        )
    )
    about = encode_text(f"{number} revision {revision}: {name}")
    # '2;1': conformance class of the second edition, in which \X2\ strings are allowed.
    return f"FILE_DESCRIPTION(({about}),'2;1');\nFILE_NAME({names});\nFILE_SCHEMA(('{SCHEMA}'));\n"


def _name_products(
    writer: STEPCAFControl_Writer, texts: _Texts, products: Mapping[str, tuple[str, str, str]]
) -> dict[str, _Product]:
    """Put numbers, names and revisions into the kernel's model; tell where the products stand."""
    model = writer.Writer().Model()
    # All entities are held, so that each keeps the one Python object by which it is recognised.
    entities = [model.Value(number) for number in range(1, model.NbEntities() + 1)]
    number_of = {id(entity): number for number, entity in enumerate(entities, 1)}
    found: dict[str, _Product] = {}
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
        found[key] = _Product(
            definition=number_of[id(definition)],
            shape=number_of[id(shape)],
            context=number_of[id(used.ContextOfItems())],
            bodies=tuple(number_of[id(body)] for body in bodies),
        )
    if set(found) != set(products):
        raise RuntimeError("the kernel left out a product")
    return found


def _add_shape(document: TDocStd_Document, shape: TopoDS_Shape, key: str) -> object:
    """Add a shape to the document with its placeholder for a name; return its label."""
    label = XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).AddShape(shape, False)
    TDataStd_Name.Set_s(label, extended(key))
    return label


def _add_part_properties(
    section: Section, part: StepPart, measured: MassProperties, product: _Product, at: _At
) -> None:
    _add_colour(section, part.colour_rgb, product, at)
    _add_validation(section, measured, product, at)
    definition, context = at(product.definition), at(product.context)
    for attribute in part.attributes:
        add_attribute(section, attribute, definition, context)
    # Last: see the note at the head of this module.
    _add_material(section, part, definition, context)


def _add_colour(
    section: Section, colour_rgb: tuple[float, float, float], product: _Product, at: _At
) -> None:
    """Colour the surfaces of every body, both sides (styled item, ISO 10303-46 as cited)."""
    values = ",".join(encode_real(value) for value in colour_rgb)
    colour = section.add(f"COLOUR_RGB('',{values})")
    filled = section.add(f"FILL_AREA_STYLE_COLOUR('',{colour})")
    area = section.add(f"FILL_AREA_STYLE('',({filled}))")
    surface = section.add(f"SURFACE_STYLE_FILL_AREA({area})")
    side = section.add(f"SURFACE_SIDE_STYLE('',({surface}))")
    usage = section.add(f"SURFACE_STYLE_USAGE(.BOTH.,{side})")
    style = section.add(f"PRESENTATION_STYLE_ASSIGNMENT(({usage}))")
    styled = [section.add(f"STYLED_ITEM('color',({style}),{at(body)})") for body in product.bodies]
    section.add(
        f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({','.join(styled)}),"
        f"{at(product.context)})"
    )


def _add_validation(section: Section, measured: MassProperties, product: _Product, at: _At) -> None:
    """Add volume, surface area and centroid, by which a receiver can check the geometry.

    Names as in the CAx-IF recommended practice for geometric and assembly validation properties,
    as listed in the source of the NIST STEP File Analyzer.
    """
    area = (
        f"MEASURE_REPRESENTATION_ITEM('surface area measure',"
        f"AREA_MEASURE({encode_real(measured.area_mm2)}),{add_unit(section, 'mm2')})"
    )
    volume = (
        f"MEASURE_REPRESENTATION_ITEM('volume measure',"
        f"VOLUME_MEASURE({encode_real(measured.volume_mm3)}),{add_unit(section, 'mm3')})"
    )
    # Below a nanometre the numbers are noise of the summation.
    point = ",".join(encode_real(round(value, 6)) for value in measured.centroid_mm)
    centroid = f"CARTESIAN_POINT('centre point',({point}))"
    for name, item in (("surface area", area), ("volume", volume), ("centroid", centroid)):
        held = section.add(
            f"PROPERTY_DEFINITION('geometric validation property','{name}',{at(product.shape)})"
        )
        add_representation(section, held, name, section.add(item), at(product.context))


def _add_material(section: Section, part: StepPart, definition: str, context: str) -> None:
    """Add designation and density of the material.

    Structure and the measure type of the density as cited from the CAx-IF recommended practice for
    material identification and density, release 2.1; the unit is grams per cubic centimetre.
    """
    full_name = part.material_description or part.material
    designation = section.add(
        f"DESCRIPTIVE_REPRESENTATION_ITEM({encode_text(part.material)},{encode_text(full_name)})"
    )
    density = section.add(
        f"MEASURE_REPRESENTATION_ITEM('density measure',"
        f"POSITIVE_RATIO_MEASURE({encode_real(part.density_g_cm3)}),{add_unit(section, 'g/cm3')})"
    )
    for name, item in (("material name", designation), ("density", density)):
        held = section.add(f"PROPERTY_DEFINITION('material property','{name}',{definition})")
        add_representation(section, held, name, item, context)


def _plain_shape(shape: cq.Shape) -> TopoDS_Shape:
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


def _measure(part: StepPart, shape: TopoDS_Shape) -> MassProperties:
    measured = part.mass or mass_properties(shape)
    if not measured.volume_mm3 > 0.0:
        raise ValueError(
            f"part {part.part_number!r} encloses no volume; a part is one or more closed solids"
        )
    return measured


def _total(children: Sequence[tuple[MassProperties, cq.Location]]) -> MassProperties:
    """Return what the children measure together, each in its place."""
    volume = math.fsum(part.volume_mm3 for part, _ in children)
    area = math.fsum(part.area_mm2 for part, _ in children)
    placed = [
        (part.volume_mm3, (place * cq.Location(cq.Vector(*part.centroid_mm))).toTuple()[0])
        for part, place in children
    ]
    x, y, z = (math.fsum(v * centre[axis] for v, centre in placed) / volume for axis in range(3))
    return MassProperties(volume, area, (x, y, z))


def _distinct_parts(
    what: str, part_number: str, children: Sequence[tuple[StepPart, cq.Location, str]]
) -> dict[str, StepPart]:
    """Return the parts by number, each once, in order of first use."""
    if not children:
        raise ValueError(f"{what} has no children")
    names = [instance for _, _, instance in children]
    _check_texts(what, names)
    if not all(name.strip() for name in names) or len(set(names)) != len(names):
        raise ValueError(f"{what} needs a different name for each instance, not {names}")
    parts: dict[str, StepPart] = {}
    for part, _, _ in children:
        first = parts.setdefault(part.part_number, part)
        if part.part_number == part_number:
            raise ValueError(f"{what} contains a part with its own number")
        if first is not part and not first.same_as(part):
            raise ValueError(f"{what} contains two different parts numbered {part.part_number!r}")
    return parts


def _check_product(what: str, part_number: str, name: str, revision: str, description: str) -> None:
    _check_texts(what, (part_number, name, revision, description))
    for field_name, text in (
        ("part number", part_number),
        ("name", name),
        ("revision", revision),
    ):
        if not text.strip():
            raise ValueError(f"{what} has no {field_name}")


def _check_attributes(what: str, attributes: Sequence[Attribute]) -> None:
    names = [attribute.name for attribute in attributes]
    double = sorted({name for name in names if names.count(name) > 1})
    if double:
        raise ValueError(f"{what} has two attributes named {', '.join(double)}")


def _check_texts(what: str, texts: Sequence[str]) -> None:
    for text in texts:
        for char in text:
            try:
                check_character(char)
            except ValueError as error:
                raise ValueError(f"{what}: {error} ({text!r})") from error


def _ascii(text: str) -> TCollection_HAsciiString:
    return TCollection_HAsciiString(text)

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
* attributes of one instance hang on its NEXT_ASSEMBLY_USAGE_OCCURRENCE;
* attributes and the material hang on PRODUCT_DEFINITION, the material after the attributes:
  Open CASCADE based readers take the last descriptive item they find there for the material.

Bytes depend on the arguments and the versions of kernel and package only.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_DocumentTool

from vent_family.base.atomic import write_bytes
from vent_family.files.step.attributes import add_attribute
from vent_family.files.step.header import StepHeader, header_records
from vent_family.files.step.material import add_colour, add_instance_colour, add_material
from vent_family.files.step.options import EXPORT_OPTIONS, extended, kernel_options, new_document
from vent_family.files.step.part21 import InstanceList, compact
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.step.products import (
    At,
    InModel,
    Product,
    Texts,
    add_shape,
    name_products,
    plain_shape,
)
from vent_family.files.step.validation import add_validation, measured_tree
from vent_family.geometry.measure import MassProperties


def write_step(path: Path, part: StepPart, header: StepHeader) -> None:
    """Write one part to ``path``, whole or not at all.

    AP242, millimetres. The schema has no unit for the whole file besides length and angles, so
    every mass, density, force or flow carries its own.

    Raises
    ------
    ValueError
        if the shape encloses no volume, or is inside out
    RuntimeError
        if the kernel could not write the shape
    OSError
        if the file could not be written
    """
    shape = plain_shape(part.shape)
    measured = part.mass_properties()
    texts = Texts()
    key = texts.put(part.part_number)
    document = new_document()
    add_shape(document, shape, key)

    def add_properties(instances: InstanceList, named: InModel, at: At) -> None:
        _add_part_properties(instances, part, measured, named.products[key], at)

    _write(
        path,
        document,
        texts,
        {key: (part.name, part.revision or "", part.description)},
        {},
        (part.part_number, part.revision, part.name),
        header,
        add_properties,
    )


def write_step_assembly(path: Path, assembly: StepAssembly, header: StepHeader) -> None:
    """Write a tree of parts to ``path``, whole or not at all.

    A part or an assembly used several times is written once. Every assembly carries its own
    attributes and the volume, surface area and centroid of all it holds.

    Raises
    ------
    ValueError
        if a shape encloses no volume, or is inside out
    RuntimeError
        if the kernel could not write the shapes
    OSError
        if the file could not be written
    """
    parts = assembly.parts()
    # What an assembly holds comes before it, the whole last.
    assemblies = {**assembly.assemblies(), assembly.part_number: assembly}
    everything: dict[str, StepPart | StepAssembly] = {**assemblies, **parts}
    measured = measured_tree(assembly)
    texts = Texts()
    document = new_document()
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    keys: dict[str, str] = {}
    labels = {}
    # The kernel writes the products in the order of these labels: the whole first.
    for number in reversed(assemblies):
        keys[number] = texts.put(number)
        labels[number] = shapes.NewShape()
        TDataStd_Name.Set_s(labels[number], extended(keys[number]))
    for number, part in parts.items():
        keys[number] = texts.put(number)
        labels[number] = add_shape(document, plain_shape(part.shape), keys[number])
    uses: dict[tuple[str, str], str] = {}
    for number, held in assemblies.items():
        for item, place, instance in held.children:
            uses[number, instance] = texts.put(instance)
            shapes.AddComponent(labels[number], labels[item.part_number], place.wrapped)
    shapes.UpdateAssemblies()

    def add_properties(instances: InstanceList, named: InModel, at: At) -> None:
        products = {number: named.products[key] for number, key in keys.items()}
        styled = {
            number: _add_part_properties(instances, part, measured[number], products[number], at)
            for number, part in parts.items()
        }
        for number, held in assemblies.items():
            product = products[number]
            add_validation(instances, measured[number], product, at)
            for attribute in held.attributes:
                add_attribute(instances, attribute, at(product.definition), at(product.context))
            for item, _, instance in held.children:
                use, one = named.uses[uses[number, instance]], item.part_number
                if instance in held.colours:
                    colour = held.colours[instance]
                    add_instance_colour(
                        instances, colour, products[one], styled[one], at(use.shape), at
                    )
                for attribute in held.said.get(instance, ()):
                    add_attribute(instances, attribute, at(use.occurrence), at(product.context))

    _write(
        path,
        document,
        texts,
        {
            keys[number]: (one.name, one.revision or "", one.description)
            for number, one in everything.items()
        },
        {
            keys[number]: [
                (keys[item.part_number], uses[number, instance])
                for item, _, instance in held.children
            ]
            for number, held in assemblies.items()
        },
        (assembly.part_number, assembly.revision, assembly.name),
        header,
        add_properties,
    )


def _add_part_properties(
    instances: InstanceList, part: StepPart, measured: MassProperties, product: Product, at: At
) -> tuple[str, ...]:
    """Add what is said about a part; return its styled items."""
    styled = add_colour(instances, part.colour_rgb, product, at) if part.colour_rgb else ()
    add_validation(instances, measured, product, at)
    definition, context = at(product.definition), at(product.context)
    for attribute in part.attributes:
        add_attribute(instances, attribute, definition, context)
    # Last: see the note at the head of this module.
    add_material(instances, part, definition, context)
    return styled


def _write(
    path: Path,
    document: TDocStd_Document,
    texts: Texts,
    products: Mapping[str, tuple[str, str, str]],
    children: Mapping[str, Sequence[tuple[str, str]]],
    subject: tuple[str, str | None, str],
    header: StepHeader,
    add_properties: Callable[[InstanceList, InModel, At], None],
) -> None:
    """Let the kernel write ``document``, add the properties and the header, store the file.

    ``products`` and ``children`` as :func:`name_products` takes them.
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
        found = name_products(writer, texts, products, children)
        stream = io.BytesIO()
        if writer.WriteStream(stream) != IFSelect_RetDone:
            raise RuntimeError(f"the kernel could not write {subject[0]}")
    written = stream.getvalue().decode("ascii")
    start = written.index("DATA;") + len("DATA;")
    records, numbers = compact(written[start : written.rindex("ENDSEC;")])
    instances = InstanceList(len(records) + 1)
    add_properties(instances, found, lambda number: f"#{numbers[number]}")
    body = "".join(
        f"#{number}={texts.replace_in(record)};\n" for number, record in enumerate(records, 1)
    )
    text = (
        f"ISO-10303-21;\nHEADER;\n{header_records(header, subject)}ENDSEC;\n"
        f"DATA;\n{body}{instances.text()}ENDSEC;\nEND-ISO-10303-21;\n"
    )
    write_bytes(path, text.encode("ascii"))

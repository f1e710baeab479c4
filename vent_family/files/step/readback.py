"""Read a written STEP file back and say in what it differs from what was meant.

The reader is the kernel's, as in many CAD systems, with its mending switched off: a solid that is
inside out or whose faces cross must show here, not be put right in silence.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq

from vent_family.base.limits import STEP_PLACE, STEP_VOLUME
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.parts import StepAssembly, StepPart
from vent_family.files.step.read import ReadPart, read_step
from vent_family.files.step.validation import measured_together
from vent_family.geometry.measure import MassProperties, volume_mm3

_DIGITS = 1e-9
"""Relative difference left to a number by the way through decimal text and conversions of units."""
_COLOUR = 1e-3


def part_differences(path: Path, part: StepPart) -> list[str]:
    """Return in what the file of a part differs from the part, a clause for each; none is good.

    Raises
    ------
    OSError
        if the file cannot be read from the disk
    """
    try:
        found = read_step(path, mend=False)
    except ValueError as error:
        return [str(error)]
    if [p.part_number for p in found] != [part.part_number]:
        return [f"holds {_listed(p.part_number for p in found)} instead of {part.part_number}"]
    return list(_of_part(found[0], part))


def assembly_differences(path: Path, assembly: StepAssembly) -> list[str]:
    """Return in what the file of an assembly differs from it, a clause for each; none is good.

    Parts are compared as :func:`part_differences` does, and what is fitted where besides.

    Raises
    ------
    OSError
        if the file cannot be read from the disk
    """
    try:
        found = {p.part_number: p for p in read_step(path, mend=False)}
    except ValueError as error:
        return [str(error)]
    parts = assembly.parts()
    wanted = {assembly.part_number, *parts}
    if set(found) != wanted:
        return [f"holds {_listed(found)} instead of {_listed(wanted)}"]
    whole = found[assembly.part_number]
    together = measured_together(
        [(part.mass_properties(), place) for part, place, _ in assembly.children]
    )
    differences = list(_of_product(whole, _Product.of(assembly)))
    differences += _attributes(whole, assembly.attributes)
    differences += _stated(whole, together)
    differences += _instances(whole, assembly)
    for number, part in parts.items():
        differences += _of_part(found[number], part)
    return differences


@dataclass(frozen=True, slots=True)
class _Product:
    """What a product says about itself."""

    part_number: str
    name: str
    revision: str
    description: str

    @classmethod
    def of(cls, told: ReadPart | StepPart | StepAssembly) -> _Product:
        return cls(told.part_number, told.name, told.revision, told.description)


def _of_product(found: ReadPart, wanted: _Product) -> Iterator[str]:
    for name in ("name", "revision", "description"):
        yield from _differs(
            wanted, name.replace("_", " "), getattr(found, name), getattr(wanted, name)
        )


def _differs(product: _Product, what: str, found: object, wanted: object) -> Iterator[str]:
    if found != wanted:
        yield f"{product.part_number}: {what} is {found!r} instead of {wanted!r}"


def _of_part(found: ReadPart, part: StepPart) -> Iterator[str]:
    product = _Product.of(part)
    yield from _of_product(found, product)
    yield from _differs(product, "material", found.material, part.material)
    full_name = part.material_description or part.material
    yield from _differs(product, "material's name", found.material_description, full_name)
    density = found.density_g_cm3
    if density is None or not _same(density, part.density_g_cm3):
        yield from _differs(product, "density in g/cm3", density, part.density_g_cm3)
    colour = found.colour_rgb
    if colour is None or math.dist(colour, part.colour_rgb) > _COLOUR:
        yield from _differs(product, "colour", colour, part.colour_rgb)
    yield from _attributes(found, part.attributes)
    mass = part.mass_properties()
    yield from _stated(found, mass)
    solids, wanted = len(found.shape.Solids()), len(part.shape.Solids())
    yield from _differs(product, "number of solids", solids, wanted)
    volume = volume_mm3(found.shape.wrapped)
    if not math.isclose(volume, mass.volume_mm3, rel_tol=STEP_VOLUME.value):
        yield (
            f"{part.part_number}: the solid's volume is {volume:.3f} mm3"
            f" instead of {mass.volume_mm3:.3f} mm3"
        )


def _attributes(found: ReadPart, wanted: tuple[Attribute, ...]) -> Iterator[str]:
    """Compare names, values and units; a whole number with a unit comes back with decimals."""
    where = found.part_number
    for name in found.unread:
        yield f"{where}: the attribute {name!r} has a value or unit that cannot be read"
    there = {a.name: a for a in found.attributes}
    if len(there) != len(found.attributes):
        yield f"{where}: an attribute stands there twice"
    for attribute in wanted:
        other = there.pop(attribute.name, None)
        if other is None:
            if attribute.name not in found.unread:
                yield f"{where}: the attribute {attribute.name!r} is missing"
        elif other.unit != attribute.unit or not _same(other.value, attribute.value):
            what = f"the attribute {attribute.name!r}"
            yield f"{where}: {what} is {_told(other)} instead of {_told(attribute)}"
    for name in there:
        yield f"{where}: the attribute {name!r} was never written"


def _told(attribute: Attribute) -> str:
    return f"{attribute.value!r} {attribute.unit}".rstrip()


def _same(found: str | int | float, wanted: str | int | float) -> bool:
    if isinstance(found, str) or isinstance(wanted, str):
        return found == wanted
    return math.isclose(found, wanted, rel_tol=_DIGITS, abs_tol=1e-300)


def _stated(found: ReadPart, mass: MassProperties) -> Iterator[str]:
    """Compare the validation properties, by which a receiver checks the geometry."""
    where = found.part_number
    for what, unit, stated, wanted in (
        ("volume", "mm3", found.volume_mm3, mass.volume_mm3),
        ("area", "mm2", found.area_mm2, mass.area_mm2),
    ):
        if stated is None or not _same(stated, wanted):
            yield f"{where}: the stated {what} is {stated} {unit} instead of {wanted} {unit}"
    centre = found.centroid_mm
    if centre is None or math.dist(centre, mass.centroid_mm) > STEP_PLACE.value:
        yield f"{where}: the stated centroid is {centre} mm instead of {mass.centroid_mm} mm"


def _instances(found: ReadPart, assembly: StepAssembly) -> Iterator[str]:
    names = [i.name for i in found.instances]
    wanted = [name for _, _, name in assembly.children]
    if names != wanted:
        yield f"{found.part_number}: holds {_listed(names)} instead of {_listed(wanted)}"
        return
    for instance, (part, place, name) in zip(found.instances, assembly.children, strict=True):
        if instance.part_number != part.part_number:
            yield f"{name}: is a {instance.part_number} instead of a {part.part_number}"
        off = _farthest_mm(instance.location, place, part.shape)
        if off > STEP_PLACE.value:
            yield f"{name}: lies {off:.3g} mm beside its place"


def _farthest_mm(one: cq.Location, other: cq.Location, shape: cq.Shape) -> float:
    """Return by how much (mm) two places put a corner of the shape's box apart, at most."""
    box = shape.BoundingBox()
    return max(
        math.dist(
            *((place * cq.Location(cq.Vector(x, y, z))).toTuple()[0] for place in (one, other))
        )
        for x in (box.xmin, box.xmax)
        for y in (box.ymin, box.ymax)
        for z in (box.zmin, box.zmax)
    )


def _listed(names: Iterator[str] | list[str] | set[str] | dict[str, ReadPart]) -> str:
    return ", ".join(sorted(names)) or "nothing"

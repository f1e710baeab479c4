"""Read a written STEP file back and say in what it differs from what was meant.

The reader is the kernel's, as in many CAD systems, with its mending switched off: a solid that is
inside out or whose faces cross must show here, not be put right in silence.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq

from vent_family.base.limits import STEP_PLACE, STEP_VOLUME
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.parts import Colour, StepAssembly, StepPart
from vent_family.files.step.read import ReadInstance, ReadPart, read_step
from vent_family.files.step.validation import measured_tree
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
    return list(_of_part(found[0], part, part.mass_properties()))


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
    parts, below = assembly.parts(), assembly.assemblies()
    wanted = {assembly.part_number, *below, *parts}
    if set(found) != wanted:
        return [f"holds {_listed(found)} instead of {_listed(wanted)}"]
    measured = measured_tree(assembly)
    boxes = _Boxes()
    differences: list[str] = []
    for one in (assembly, *below.values()):
        whole = found[one.part_number]
        differences += _of_product(whole, _Product.of(one))
        differences += _attributes(whole, one.attributes, one.part_number)
        differences += _stated(whole, measured[one.part_number])
        differences += _instances(whole, one, boxes)
    for number, part in parts.items():
        differences += _of_part(found[number], part, measured[number])
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
        return cls(told.part_number, told.name, told.revision or "", told.description)


def _of_product(found: ReadPart, wanted: _Product) -> Iterator[str]:
    for name in ("name", "revision", "description"):
        yield from _differs(
            wanted, name.replace("_", " "), getattr(found, name), getattr(wanted, name)
        )


def _differs(product: _Product, what: str, found: object, wanted: object) -> Iterator[str]:
    if found != wanted:
        yield f"{product.part_number}: {what} is {found!r} instead of {wanted!r}"


def _of_part(found: ReadPart, part: StepPart, mass: MassProperties) -> Iterator[str]:
    product = _Product.of(part)
    yield from _of_product(found, product)
    yield from _differs(product, "material", found.material, part.material)
    full_name = part.material_description or part.material
    yield from _differs(product, "material's name", found.material_description, full_name)
    density, wanted_density = found.density_g_cm3, part.density_g_cm3
    if density is None or wanted_density is None or not _same(density, wanted_density):
        yield from _differs(product, "density in g/cm3", density, wanted_density)
    if not _same_colour(found.colour_rgb, part.colour_rgb):
        yield from _differs(product, "colour", found.colour_rgb, part.colour_rgb)
    yield from _attributes(found, part.attributes, part.part_number)
    yield from _stated(found, mass)
    solids, wanted = len(found.shape.Solids()), len(part.shape.Solids())
    yield from _differs(product, "number of solids", solids, wanted)
    volume = volume_mm3(found.shape.wrapped)
    if not math.isclose(volume, mass.volume_mm3, rel_tol=STEP_VOLUME.value):
        yield (
            f"{part.part_number}: the solid's volume is {volume:.3f} mm3"
            f" instead of {mass.volume_mm3:.3f} mm3"
        )


def _attributes(
    found: ReadPart | ReadInstance, wanted: tuple[Attribute, ...], where: str
) -> Iterator[str]:
    """Compare names, values and units; a whole number with a unit comes back with decimals."""
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


def _same_colour(found: Colour | None, wanted: Colour | None) -> bool:
    if found is None or wanted is None:
        return found is wanted
    whole = (1.0,)  # the opacity, where none is told
    return math.dist((*found, *whole)[:4], (*wanted, *whole)[:4]) <= _COLOUR


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


def _instances(found: ReadPart, assembly: StepAssembly, boxes: _Boxes) -> Iterator[str]:
    names = [i.name for i in found.instances]
    wanted = [name for _, _, name in assembly.children]
    if names != wanted:
        yield f"{found.part_number}: holds {_listed(names)} instead of {_listed(wanted)}"
        return
    for instance, (item, place, name) in zip(found.instances, assembly.children, strict=True):
        if instance.part_number != item.part_number:
            yield f"{name}: is a {instance.part_number} instead of a {item.part_number}"
        off = _farthest_mm(instance.location, place, boxes.corners(item))
        if off > STEP_PLACE.value:
            yield f"{name}: lies {off:.3g} mm beside its place"
        yield from _attributes(instance, assembly.said.get(name, ()), name)
        colour = assembly.colours.get(name)
        if not _same_colour(instance.colour_rgb, colour):
            yield f"{name}: colour of its own is {instance.colour_rgb} instead of {colour}"


class _Boxes:
    """The corners of the boxes around parts and assemblies, each worked out once."""

    def __init__(self) -> None:
        self._known: dict[str, list[cq.Vector]] = {}

    def corners(self, item: StepPart | StepAssembly) -> list[cq.Vector]:
        """Return the eight corners of a box around a part or an assembly; mm."""
        if item.part_number not in self._known:
            self._known[item.part_number] = self._corners(item)
        return self._known[item.part_number]

    def _corners(self, item: StepPart | StepAssembly) -> list[cq.Vector]:
        if isinstance(item, StepPart):
            box = item.shape.BoundingBox()
            ends = [(box.xmin, box.xmax), (box.ymin, box.ymax), (box.zmin, box.zmax)]
        else:
            points = [
                _placed(place, corner)
                for one, place, _ in item.children
                for corner in self.corners(one)
            ]
            ends = [(min(values), max(values)) for values in zip(*points, strict=True)]
        return [cq.Vector(*corner) for corner in itertools.product(*ends)]


def _placed(place: cq.Location, point: cq.Vector) -> tuple[float, float, float]:
    x, y, z = (place * cq.Location(point)).toTuple()[0]
    return x, y, z


def _farthest_mm(one: cq.Location, other: cq.Location, corners: list[cq.Vector]) -> float:
    """Return by how much (mm) two places put a corner apart, at most."""
    return max(math.dist(_placed(one, corner), _placed(other, corner)) for corner in corners)


def _listed(names: Iterator[str] | list[str] | set[str] | dict[str, ReadPart]) -> str:
    return ", ".join(sorted(names)) or "nothing"

"""What a STEP file is made from: solids with all that is said about them, and trees of such."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import cadquery as cq
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_SHAPE, TopAbs_SOLID, TopAbs_VERTEX
from OCP.TopExp import TopExp_Explorer

from vent_family.files.step.attributes import Attribute
from vent_family.files.step.part21 import check_texts
from vent_family.geometry.measure import MassProperties, mass_properties

Colour = tuple[float, float, float] | tuple[float, float, float, float]
"""sRGB, shares from 0 to 1; a fourth one is the opacity, which is whole without it."""


@dataclass(frozen=True, slots=True, eq=False)
class StepPart:
    """One or more solids with everything that is written about them.

    ``shape`` is in mm, co-planar faces already merged. ``colour_rgb`` is sRGB, shares from 0 to 1,
    a fourth one the opacity. ``material`` is the designation, ``material_description`` the longer
    name. Of revision, colour, material and density, ``None`` says nothing. ``mass`` is what
    ``shape`` measures, where that is known already; else it is measured when asked for.

    Raises
    ------
    ValueError
        if it has a blank part number, name, revision or material, a colour or density out of
        range, a density of no material, a face, edge or point that belongs to no solid, two
        attributes of one name, or a character that cannot be written
    """

    shape: cq.Shape
    part_number: str
    name: str
    revision: str | None
    description: str
    colour_rgb: Colour | None
    material: str | None
    density_g_cm3: float | None
    attributes: tuple[Attribute, ...] = ()
    material_description: str = ""
    mass: MassProperties | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be written, before a file is begun."""
        what = f"part {self.part_number!r}"
        check_product(what, self.part_number, self.name, self.revision, self.description)
        check_texts(what, (self.material or "", self.material_description))
        check_attributes(what, self.attributes)
        density = self.density_g_cm3
        if self.material is None:
            if density is not None or self.material_description:
                raise ValueError(f"{what} has a density or a description of no material")
        elif not self.material.strip():
            raise ValueError(f"{what} has no material")
        if density is not None and not (math.isfinite(density) and density > 0.0):
            raise ValueError(f"{what} has the density {density} g/cm3")
        if self.colour_rgb is not None:
            check_colour(what, self.colour_rgb)
        amiss = not_solids(self.shape)
        if amiss:
            raise ValueError(f"{what} holds {amiss}; a part is one or more closed solids")

    def mass_properties(self) -> MassProperties:
        """Return volume (mm3), surface (mm2) and centroid (mm) of the shape.

        Raises
        ------
        ValueError
            if the shape encloses no volume, or is inside out
        """
        found = self.mass or mass_properties(self.shape.wrapped)
        if not found.volume_mm3 > 0.0:
            what = f"part {self.part_number!r} encloses no volume"
            raise ValueError(f"{what}; a part is one or more closed solids")
        return found

    def same_as(self, other: StepPart) -> bool:
        """Tell whether both are the same part: the same solid with the same data."""
        return all(
            self.shape.wrapped.IsSame(other.shape.wrapped)
            if name == "shape"
            else getattr(self, name) == getattr(other, name)
            for name in self.__slots__
        )


@dataclass(frozen=True, slots=True, eq=False)
class StepAssembly:
    """A tree of parts with everything that is written about it.

    ``children`` are (part or assembly, place in this assembly, instance name), in the order in
    which they are written. In the whole tree the same number stands for the same thing: a part is
    the same solid with the same data, an assembly holds the same in the same places. By instance
    name, ``colours`` are those of single instances of parts where they differ from the part's, and
    ``said`` are attributes of single instances.

    Raises
    ------
    ValueError
        if it has no children, a blank or repeated instance name, a place that mirrors or scales,
        a number that is also that of something else in the tree, a colour of an instance that is
        no coloured part, attributes of no instance, or data as refused in a part
    """

    part_number: str
    name: str
    revision: str | None
    description: str
    children: tuple[tuple[StepPart | StepAssembly, cq.Location, str], ...]
    attributes: tuple[Attribute, ...] = ()
    colours: Mapping[str, Colour] = field(default_factory=dict)
    said: Mapping[str, tuple[Attribute, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse what cannot be written, before a file is begun."""
        what = f"assembly {self.part_number!r}"
        check_product(what, self.part_number, self.name, self.revision, self.description)
        check_attributes(what, self.attributes)
        if not self.children:
            raise ValueError(f"{what} has no children")
        names = [instance for _, _, instance in self.children]
        check_texts(what, names)
        if not all(name.strip() for name in names) or len(set(names)) != len(names):
            raise ValueError(f"{what} needs a different name for each instance, not {names}")
        for _, place, instance in self.children:
            if not turns_only(place):
                raise ValueError(
                    f"{what} places {instance!r} mirrored or scaled; a part can be moved and"
                    " turned only"
                )
        self._check_instances(what)
        known: dict[str, StepPart | StepAssembly] = {}
        for item in self._all():
            number = item.part_number
            if number == self.part_number:
                raise ValueError(f"{what} contains a part with its own number")
            first = known.setdefault(number, item)
            if first is not item and not _same(first, item):
                raise ValueError(f"{what} contains two different parts numbered {number!r}")

    def _check_instances(self, what: str) -> None:
        items = {instance: item for item, _, instance in self.children}
        for instance, colour in self.colours.items():
            item = items.get(instance)
            if not isinstance(item, StepPart) or item.colour_rgb is None:
                raise ValueError(f"{what} colours {instance!r}, which is no coloured part in it")
            check_colour(f"{instance!r} in {what}", colour)
        for instance, attributes in self.said.items():
            if instance not in items:
                raise ValueError(f"{what} has attributes of {instance!r}, which is not in it")
            check_attributes(f"{instance!r} in {what}", attributes)

    def _all(self) -> Iterator[StepPart | StepAssembly]:
        """Yield what stands below, an assembly after what it holds, repetitions included.

        What an assembly holds is yielded with its first use only.
        """
        opened: list[StepAssembly] = []
        for item, _, _ in self.children:
            if isinstance(item, StepAssembly) and not any(item is other for other in opened):
                opened.append(item)
                yield from item._all()
            yield item

    def parts(self) -> dict[str, StepPart]:
        """Return the parts of the whole tree by number, each once, in order of first use."""
        found: dict[str, StepPart] = {}
        for item in self._all():
            if isinstance(item, StepPart):
                found.setdefault(item.part_number, item)
        return found

    def assemblies(self) -> dict[str, StepAssembly]:
        """Return the assemblies below by number, each once, after those it holds."""
        found: dict[str, StepAssembly] = {}
        for item in self._all():
            if isinstance(item, StepAssembly):
                found.setdefault(item.part_number, item)
        return found

    def same_as(self, other: StepAssembly) -> bool:
        """Tell whether both are the same assembly: the same things in the same places."""
        return (
            all(
                getattr(self, name) == getattr(other, name)
                for name in self.__slots__
                if name != "children"
            )
            and len(self.children) == len(other.children)
            and all(
                a_name == b_name and same_place(a_place, b_place) and (a is b or _same(a, b))
                for (a, a_place, a_name), (b, b_place, b_name) in zip(
                    self.children, other.children, strict=True
                )
            )
        )


def _same(one: StepPart | StepAssembly, other: StepPart | StepAssembly) -> bool:
    if isinstance(one, StepPart):
        return isinstance(other, StepPart) and one.same_as(other)
    return isinstance(other, StepAssembly) and one.same_as(other)


_PLACE_DIGITS: Final = 9
"""Decimals of a place's numbers that count: mm, and shares of a turn's matrix."""


def place_numbers(place: cq.Location) -> tuple[float, ...]:
    """Return the three rows of a place's matrix, 1 and mm, rounded so that they can be compared."""
    matrix = place.wrapped.Transformation()
    return tuple(
        round(matrix.Value(row, column), _PLACE_DIGITS) + 0.0
        for row in (1, 2, 3)
        for column in (1, 2, 3, 4)
    )


def same_place(one: cq.Location, other: cq.Location) -> bool:
    """Tell whether two places are the same to a millionth of a micrometre."""
    return place_numbers(one) == place_numbers(other)


def turns_only(place: cq.Location) -> bool:
    """Tell whether a place moves and turns, and neither mirrors nor scales."""
    matrix = place.wrapped.Transformation()
    return not matrix.IsNegative() and math.isclose(matrix.ScaleFactor(), 1.0, rel_tol=1e-9)


_LOOSE: Final = (
    (TopAbs_FACE, TopAbs_SOLID, "a face that belongs to no solid"),
    (TopAbs_EDGE, TopAbs_FACE, "an edge that belongs to no face"),
    (TopAbs_VERTEX, TopAbs_EDGE, "a point that belongs to no edge"),
)


def not_solids(shape: cq.Shape) -> str:
    """Return in words what a shape holds or lacks that is no set of solids; empty if all is well.

    Examples
    --------
    >>> not_solids(cq.Solid.makeBox(1.0, 1.0, 1.0))
    ''
    >>> not_solids(cq.Face.makePlane(1.0, 1.0)), not_solids(cq.Compound.makeCompound([]))
    ('a face that belongs to no solid', 'no solid')
    """
    for kind, inside, words in _LOOSE:
        if TopExp_Explorer(shape.wrapped, kind, inside).More():
            return words
    return "" if TopExp_Explorer(shape.wrapped, TopAbs_SOLID, TopAbs_SHAPE).More() else "no solid"


def check_colour(what: str, colour_rgb: Sequence[float]) -> None:
    """Refuse a colour that is none.

    Parameters
    ----------
    what
        names its owner
    colour_rgb
        sRGB, shares from 0 to 1, and maybe the opacity

    Raises
    ------
    ValueError
        if it is not three or four shares from 0 to 1
    """
    if len(colour_rgb) not in (3, 4) or not all(0.0 <= value <= 1.0 for value in colour_rgb):
        raise ValueError(
            f"{what} has the colour {colour_rgb}; allowed: 0 to 1, three, or four with the opacity"
        )


def check_product(
    what: str, part_number: str, name: str, revision: str | None, description: str
) -> None:
    """Refuse a product without number, name or revision, or with text that cannot be written.

    Raises
    ------
    ValueError
        if the number, name or revision is blank, or a text cannot be written
    """
    check_texts(what, (part_number, name, revision or "", description))
    for field_name, text in (
        ("part number", part_number),
        ("name", name),
        ("revision", revision),
    ):
        if text is not None and not text.strip():
            raise ValueError(f"{what} has no {field_name}")


def check_attributes(what: str, attributes: Sequence[Attribute]) -> None:
    """Refuse two attributes of one name.

    Raises
    ------
    ValueError
        if two have one name
    """
    names = [attribute.name for attribute in attributes]
    double = sorted({name for name in names if names.count(name) > 1})
    if double:
        raise ValueError(f"{what} has two attributes named {', '.join(double)}")

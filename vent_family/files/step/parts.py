"""What a STEP file is made from: a solid with all that is said about it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq

from vent_family.files.step.attributes import Attribute
from vent_family.files.step.part21 import check_texts
from vent_family.geometry.measure import MassProperties, mass_properties


@dataclass(frozen=True, slots=True, eq=False)
class StepPart:
    """A solid with everything that is written about it.

    ``shape`` is in mm, co-planar faces already merged. ``colour_rgb`` is sRGB, shares from 0 to 1.
    ``material`` is the designation, ``material_description`` the longer name. ``mass`` is what
    ``shape`` measures, where that is known already; else it is measured when asked for.

    Raises
    ------
    ValueError
        if it has a blank part number, name, revision or material, a colour or density out of
        range, two attributes of one name, or a character that cannot be written
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
        check_product(what, self.part_number, self.name, self.revision, self.description)
        check_texts(what, (self.material, self.material_description))
        check_attributes(what, self.attributes)
        if not self.material.strip():
            raise ValueError(f"{what} has no material")
        if not (math.isfinite(self.density_g_cm3) and self.density_g_cm3 > 0.0):
            raise ValueError(f"{what} has the density {self.density_g_cm3} g/cm3")
        if len(self.colour_rgb) != 3 or not all(0.0 <= value <= 1.0 for value in self.colour_rgb):
            raise ValueError(f"{what} has the colour {self.colour_rgb}; allowed: 0 to 1, three")

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
            self.shape.wrapped.IsPartner(other.shape.wrapped)
            if name == "shape"
            else getattr(self, name) == getattr(other, name)
            for name in self.__slots__
        )


@dataclass(frozen=True, slots=True, eq=False)
class StepAssembly:
    """An assembly of one level with everything that is written about it.

    ``children`` are (part, place in the assembly, instance name), in the order in which they are
    written. The same part number stands for the same solid with the same data.

    Raises
    ------
    ValueError
        if it has no children, a blank or repeated instance name, a part number that is also
        the assembly's, one part number for two different parts, or data as refused in a part
    """

    part_number: str
    name: str
    revision: str
    description: str
    children: tuple[tuple[StepPart, cq.Location, str], ...]
    attributes: tuple[Attribute, ...] = ()

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
        parts = self.parts()
        if self.part_number in parts:
            raise ValueError(f"{what} contains a part with its own number")
        for part, _, _ in self.children:
            first = parts[part.part_number]
            if first is not part and not first.same_as(part):
                number = part.part_number
                raise ValueError(f"{what} contains two different parts numbered {number!r}")

    def parts(self) -> dict[str, StepPart]:
        """Return the parts by number, each once, in order of first use."""
        found: dict[str, StepPart] = {}
        for part, _, _ in self.children:
            found.setdefault(part.part_number, part)
        return found


def check_product(what: str, part_number: str, name: str, revision: str, description: str) -> None:
    """Refuse a product without number, name or revision, or with text that cannot be written.

    Raises
    ------
    ValueError
        if the number, name or revision is blank, or a text cannot be written
    """
    check_texts(what, (part_number, name, revision, description))
    for field_name, text in (
        ("part number", part_number),
        ("name", name),
        ("revision", revision),
    ):
        if not text.strip():
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

"""What the members of a CadQuery assembly say about themselves, in their ``metadata``.

Agreed keys, all of them optional:

``part_number``, ``revision``, ``description``, ``name``
    texts; members of one part number are one product, ``name`` is that number if left out
``material``, ``material_description``, ``density_g_cm3``
    designation, longer name and density of what a part is made of
``attributes``
    values by name; a number's unit is the ending of its name (``mass_g``, ``air_flow_m3_h``), or
    stands beside the number: ``{"mass_g": 41.5, "torque": (1.5, "N m")}``
``instance``
    name of this one use, where it is not that of the member

Every other key is an attribute, too.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from numbers import Integral, Real
from typing import Any, Final

import cadquery as cq

from vent_family.evidence.facts import unit_of_name
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.parts import StepPart
from vent_family.files.step.read import ReadPart

_TEXTS: Final = (
    "part_number",
    "revision",
    "description",
    "name",
    "material",
    "material_description",
    "instance",
)
_NUMBER: Final = "density_g_cm3"
_ATTRIBUTES: Final = "attributes"
_NO_NAME: Final = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
"""What CadQuery calls members that were given no name: another one in every run."""


@dataclass(frozen=True, slots=True)
class MemberData:
    """What a member says: blank text and ``None`` say nothing; density in g/cm3."""

    part_number: str = ""
    revision: str | None = None
    description: str = ""
    name: str = ""
    material: str | None = None
    material_description: str = ""
    density_g_cm3: float | None = None
    attributes: tuple[Attribute, ...] = ()
    instance: str = ""

    def of_whole(self) -> MemberData:
        """Return what is said of an assembly whose member says this: nothing of a material."""
        return replace(self, material=None, material_description="", density_g_cm3=None)

    def of_body(self) -> MemberData:
        """Return what is said of the solid in an assembly that says this: what it is made of."""
        return MemberData(
            revision=self.revision,
            material=self.material,
            material_description=self.material_description,
            density_g_cm3=self.density_g_cm3,
        )


def given_name(member: cq.Assembly) -> str:
    """Return the name that a member was given, empty if it was given none.

    Examples
    --------
    >>> given_name(cq.Assembly(name="door")), given_name(cq.Assembly())
    ('door', '')
    """
    blank = not member.name.strip() or _NO_NAME.fullmatch(member.name)
    return "" if blank else member.name


def told_by(member: cq.Assembly, where: str) -> MemberData:
    """Return what a member of an assembly says about itself.

    Parameters
    ----------
    member
        the member
    where
        names it in messages

    Raises
    ------
    ValueError
        if a value is of a kind that cannot be written, or an attribute is refused
    """
    data: dict[str, Any] = dict(member.metadata)
    said: dict[str, Any] = {}
    for key in _TEXTS:
        value = data.pop(key, None)
        if isinstance(value, bool) or not (value is None or isinstance(value, str | int)):
            raise ValueError(f"{where}: {key} is {value!r}; allowed: text")
        if value is not None and str(value).strip():
            said[key] = str(value)
    density = data.pop(_NUMBER, None)
    if density is not None:
        if isinstance(density, bool) or not isinstance(density, Real):
            raise ValueError(f"{where}: {_NUMBER} is {density!r}; allowed: a number, g/cm3")
        said[_NUMBER] = float(density)
    if "material" not in said and member.material is not None:
        said |= _cadquery_material(member.material)
    listed = data.pop(_ATTRIBUTES, None) or {}
    if not isinstance(listed, Mapping):
        raise ValueError(f"{where}: {_ATTRIBUTES} is {listed!r}; allowed: values by name")
    attributes: dict[str, Attribute] = {}
    for values in (listed, data):
        for name, value in values.items():
            for attribute in _attributes(str(name), value, where):
                if attribute.name in attributes:
                    raise ValueError(f"{where}: the attribute {attribute.name!r} is there twice")
                attributes[attribute.name] = attribute
    said.setdefault("instance", given_name(member))
    return MemberData(**said, attributes=tuple(attributes.values()))


def _cadquery_material(material: cq.Material) -> dict[str, Any]:
    """Return what a material of CadQuery's says; its density where it was given one.

    Without one it says 7.85 g/cm3 of whatever it is.
    """
    found: dict[str, Any] = {"material": material.name}
    if material.description.strip():
        found["material_description"] = material.description
    unstated = cq.Material(material.name)
    if material.densityUnit == unstated.densityUnit and material.density != unstated.density:
        found[_NUMBER] = material.density
    return found


def _attributes(name: str, value: object, where: str) -> Iterator[Attribute]:
    """Yield the attributes that a value makes: a mapping makes one of each of its own values."""
    if value is None:
        return
    if isinstance(value, Mapping):
        for inner, one in value.items():
            yield from _attributes(f"{name}_{inner}", one, where)
        return
    try:
        yield _attribute(name, value)
    except (ValueError, TypeError) as error:
        raise ValueError(f"{where}: {error}") from error


def _attribute(name: str, value: object) -> Attribute:
    if isinstance(value, tuple) and len(value) == 2 and _is_quantity(*value):
        number, unit = value
        return Attribute(name, _plain_number(number), unit)
    if isinstance(value, str):
        return Attribute(name, value)
    if isinstance(value, bool):
        return Attribute(name, "yes" if value else "no")
    if isinstance(value, date):
        return Attribute(name, value.isoformat())
    if isinstance(value, Real):
        number = _plain_number(value)
        return Attribute(name, number, _unit_said(name, number))
    if isinstance(value, list | tuple) and all(isinstance(v, str | Real) for v in value):
        return Attribute(name, ", ".join(v if isinstance(v, str) else f"{v:g}" for v in value))
    raise TypeError(
        f"{name!r} is of type {type(value).__name__}; allowed: text, a number, a number with its"
        " unit, yes or no, a date, a list or a mapping of such"
    )


def _unit_said(name: str, number: int | float) -> str:
    """Return the unit that a name says; without one, whole numbers count, others are shares."""
    return unit_of_name(name) or ("" if isinstance(number, int) else "1")


def _is_quantity(number: object, unit: object) -> bool:
    return isinstance(number, Real) and not isinstance(number, bool) and isinstance(unit, str)


def _plain_number(number: Real) -> int | float:
    return int(number) if isinstance(number, Integral) else float(number)


def metadata_of(part: StepPart | ReadPart) -> dict[str, Any]:
    """Return what is said of a part, as metadata of a member of an assembly.

    Of a part to be written, or of one read from a file: all but its shape and its colour, which
    CadQuery has places for.

    Examples
    --------
    >>> from vent_family.files.step.attributes import Attribute
    >>> pin = StepPart(
    ...     shape=cq.Solid.makeCylinder(2.0, 10.0),
    ...     part_number="P-1",
    ...     name="Pin",
    ...     revision="B",
    ...     description="",
    ...     colour_rgb=None,
    ...     material="PA",
    ...     density_g_cm3=1.14,
    ...     attributes=(Attribute("length_mm", 10.0, "mm"), Attribute("torque", 1.5, "N m")),
    ... )
    >>> metadata = metadata_of(pin)
    >>> metadata["material"], metadata["attributes"]
    ('PA', {'length_mm': 10.0, 'torque': (1.5, 'N m')})
    >>> told_by(cq.Assembly(name="pin", metadata=metadata), "pin").attributes == pin.attributes
    True
    """
    values: dict[str, Any] = {
        "part_number": part.part_number,
        "name": part.name,
        "revision": part.revision,
        "description": part.description,
        "material": part.material,
        "material_description": part.material_description,
        "density_g_cm3": part.density_g_cm3,
    }
    found = {key: value for key, value in values.items() if value is not None and value != ""}
    if part.attributes:
        found[_ATTRIBUTES] = {a.name: _value_of(a) for a in part.attributes}
    return found


def _value_of(attribute: Attribute) -> object:
    """Return an attribute's value, with its unit where the name does not say it."""
    value = attribute.value
    if isinstance(value, str) or _unit_said(attribute.name, value) == attribute.unit:
        return value
    return value, attribute.unit

"""What a fitted vent consists of: shapes, places, colours, and what is known of each."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal, get_args

import cadquery as cq

from vent_family.base.materials import Rgb

Detail = Literal["exact", "envelope"]
"""How much of a vent is drawn: all of it, or its outer form only."""
VENT: Final = "vent"
"""Name of the vent itself among the members of its assembly."""
LOCKNUT: Final = "locknut"
"""Name of what stands on the wall's inner face: it moves with the wall's thickness."""


@dataclass(frozen=True, slots=True)
class BodyData:
    """What is known of a member: what a parts list and a STEP file say of it.

    ``attributes`` are named values, units in the names, as release attributes have them; material
    and density are ``""`` and ``None`` where they are not known.
    """

    part_number: str
    revision: str
    description: str
    material: str
    density_g_cm3: float | None
    attributes: Mapping[str, str | int | float] = field(default_factory=dict)

    def metadata(self) -> dict[str, Any]:
        """Return it as the metadata of an assembly's node; what is not known is left out."""
        told: dict[str, Any] = {
            "part_number": self.part_number,
            "revision": self.revision,
            "description": self.description,
        }
        if self.density_g_cm3 is not None:
            told |= {"material": self.material, "density_g_cm3": self.density_g_cm3}
        return told | {"attributes": dict(self.attributes)}


@dataclass(frozen=True, slots=True, eq=False)
class FittedBody:
    """One member of a fitted vent, placed for a wall of the thickness that its row states."""

    name: str
    shape: cq.Shape
    location: cq.Location
    colour: Rgb
    data: BodyData


def checked_detail(detail: str) -> Detail:
    """Return a detail that there is.

    Raises
    ------
    ValueError
        if there is no such detail

    Examples
    --------
    >>> checked_detail("envelope")
    'envelope'
    """
    for known in get_args(Detail):
        if detail == known:
            return known  # type: ignore[no-any-return]
    raise ValueError(f"detail is {detail!r}; allowed: {', '.join(get_args(Detail))}")


def node_name(text: str) -> str:
    """Return a name that CadQuery's constraints can refer to: letters, digits and underscores.

    Examples
    --------
    >>> node_name("HV-N32"), node_name("screen-frame"), node_name("3A")
    ('HV_N32', 'screen_frame', 'P3A')
    """
    name = re.sub(r"[^0-9A-Za-z]", "_", text)
    return name if name[:1].isalpha() else f"P{name}"


def place_within(whole: cq.Assembly, node: cq.Assembly) -> cq.Location:
    """Return where a node lies in the coordinates of an assembly, whose own place is left out.

    Examples
    --------
    >>> part = cq.Assembly(cq.Solid.makeBox(1, 1, 1), name="part", loc=cq.Location((1, 0, 0)))
    >>> door = cq.Assembly(name="door", loc=cq.Location((0, 2, 0))).add(part)
    >>> whole = cq.Assembly(name="whole", loc=cq.Location((9, 9, 9))).add(door)
    >>> place_within(whole, whole.objects["door/part"]).toTuple()[0]
    (1.0, 2.0, 0.0)
    """
    place, here = node.loc, node.parent
    while here is not None and here is not whole:
        place, here = here.loc * place, here.parent
    return place

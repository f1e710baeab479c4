"""One call for the whole job: measure the wall, stand the vent upright, check, cut, fit.

Plain functions on plain shapes; nothing is changed in place. mm, in the cabinet's coordinates.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import cadquery as cq

from vent_family.base.problems import InputError, Problem
from vent_family.enclosure.cutter import opening_cutter
from vent_family.enclosure.members import Detail
from vent_family.enclosure.posture import LEAN, ROLL, beyond, posture_words, refused_posture
from vent_family.enclosure.room import (
    EDGE,
    ROOM,
    SPANNER,
    Neighbour,
    Space,
    land_problems,
    met,
    opening_outline,
    spaces,
)
from vent_family.enclosure.thickness import suited, thickness_problem
from vent_family.enclosure.upright import UP, WORLD_UP, Stance, VectorLike, direction, stance
from vent_family.enclosure.vents import Vents
from vent_family.enclosure.wall import Wall, measured, outer_face
from vent_family.evidence.installed.record import InstallationRecord

THICKNESS: Final = "thickness"
RULES: Final = (LEAN, ROLL, THICKNESS, EDGE, ROOM, SPANNER)
"""Rules that can be overridden by name."""
_BESIDE_MM: Final = 1.0
"""How far beside the opening the wall is measured."""
_SPOTS: Final = 16
_THROUGH_MM: Final = 0.1
"""How far behind the wall's inner face the opening is cut."""


@dataclass(frozen=True, eq=False)
class FittedVent:
    """A vent on a wall: where it stands, what it takes up, and its assembly in place.

    Attributes
    ----------
    part_number, revision : str
        Which part.
    stood : Stance
        Place and posture.
    wall_mm : float
        Thickness of the wall, mm.
    room : InstallationRecord
        What the vent asks for.
    cutter : cq.Compound
        What is to be cut from the wall.
    assembly : cq.Assembly
        The vent and what is fitted with it, in place; its metadata say how it stands and which way
        was up.
    spaces : tuple of Space
        What must stay free for it.
    overridden : tuple of str
        Rules that were overridden by name, each with what it found.
    """

    part_number: str
    revision: str
    stood: Stance
    wall_mm: float
    room: InstallationRecord
    cutter: cq.Compound
    assembly: cq.Assembly
    spaces: tuple[Space, ...]
    overridden: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Its name in the cabinet's assembly."""
        return str(self.assembly.name)

    @cached_property
    def neighbours(self) -> tuple[Neighbour, ...]:
        """The space that others must leave it."""
        return tuple(Neighbour(f"{self.part_number} ({s.name})", s.solid) for s in self.spaces)


def fitted(
    vents: Vents,
    part_number: str,
    body: cq.Shape,
    at: VectorLike,
    *,
    outward: VectorLike | None = None,
    up: VectorLike = WORLD_UP,
    top: VectorLike | None = None,
    panel_mm: float | None = None,
    neighbours: Sequence[Neighbour] = (),
    allow: Collection[str] = (),
    detail: Detail = "exact",
    fasteners: bool = True,
    name: str = "",
) -> FittedVent:
    """Return a vent fitted to a wall of a body, which is not cut yet.

    Parameters
    ----------
    vents
        a catalogue or a library
    part_number
        the part
    body
        the body whose wall it goes into, a solid or several
    at
        a point on the wall's outer face, mm: the centre of the opening
    outward
        which of the faces at that point is meant, where it lies on an edge
    up
        against gravity
    top
        where TOP points instead
    panel_mm
        thickness of the wall, mm, instead of the one that is measured
    neighbours
        what stands in the cabinet already
    allow
        rules of :data:`RULES` that are overridden
    detail
        ``"exact"`` or ``"envelope"``
    fasteners
        whether screws, washers, nuts and the fan it holds are part of the assembly
    name
        name of the assembly; by default the part number, with underscores

    Raises
    ------
    InputError
        with all that is wrong: no such part, no flat face, a wall that it does not suit, a posture
        in which it is not predicted to hold, no room
    ValueError
        if there is no such detail
    """
    _checked_rules(allow)
    centre = cq.Vector(at)
    face = outer_face(body, centre, None if outward is None else cq.Vector(outward))
    stood = stance(centre, face.normalAt(), up, top)
    room = vents.installation(part_number)
    if panel_mm is None:
        wall = measured(body, face, _spots(room, stood))
    else:
        wall = Wall(face, face, face.normalAt(), panel_mm)
    found: list[tuple[str, Problem]] = []
    if not suited(room, wall.thickness_mm):
        found.append((THICKNESS, thickness_problem(part_number, room, wall.thickness_mm)))
    tilted = beyond(room, stood)
    if tilted and not set(tilted) <= set(allow):
        bearing = vents.bearing(part_number, stood.lean_deg, stood.roll_deg)
        if bearing is None or not bearing.holds:
            problem = refused_posture(part_number, room, stood, bearing)
            found += [(rule, problem) for rule in tilted]
    elif tilted:
        found += [(rule, _told_posture(part_number, stood)) for rule in tilted]
    needed = spaces(room, wall.thickness_mm, stood.location)
    found += [(EDGE, p) for p in land_problems(part_number, room, wall, stood.plane)]
    own = Neighbour("the cabinet's own wall", body)
    found += met(part_number, needed, (own, *neighbours))
    refused = [problem for rule, problem in found if rule not in allow]
    if refused:
        raise InputError(list(dict.fromkeys(refused)))
    overridden = tuple(f"{rule}: {problem.message}" for rule, problem in found)
    assembly = vents.assembly(
        part_number,
        panel_mm=wall.thickness_mm,
        detail=detail,
        name=name,
        fasteners=fasteners,
        any_panel=THICKNESS in allow,
    )
    assembly.loc = stood.location
    revision = str(assembly.children[0].metadata["revision"])
    assembly.metadata = {
        UP: direction(up, UP).toTuple(),
        "attributes": _placed(stood, wall.thickness_mm, overridden),
    }
    return FittedVent(
        part_number,
        revision,
        stood,
        wall.thickness_mm,
        room,
        opening_cutter(room, wall.thickness_mm + _THROUGH_MM).moved(stood.location),
        assembly,
        needed,
        overridden,
    )


def cut_for(body: cq.Shape, held: Iterable[FittedVent]) -> cq.Shape:
    """Return a body with the openings of vents cut into its walls, all in one go."""
    tools = [solid for one in held for solid in one.cutter.Solids()]
    solids = body.Solids()
    # What a shell leaves may be a single solid that calls itself a compound, and is cut wrongly.
    whole = solids[0] if len(solids) == 1 else cq.Compound.makeCompound(solids)
    if not tools:
        return whole
    left = whole.cut(*tools).Solids()
    return left[0] if len(left) == 1 else cq.Compound.makeCompound(left)


def _spots(room: InstallationRecord, stood: Stance) -> list[cq.Vector]:
    """Return points on the wall's face around the opening, within what the vent covers."""
    around = opening_outline(room).buffer(_BESIDE_MM).exterior
    steps = [around.interpolate(k / _SPOTS, normalized=True) for k in range(_SPOTS)]
    return [stood.plane.toWorldCoords((p.x, p.y, 0.0)) for p in steps]


def _placed(stood: Stance, wall_mm: float, overridden: Sequence[str]) -> dict[str, str | float]:
    attributes: dict[str, str | float] = {
        "lean_deg": round(stood.lean_deg, 2),
        "roll_deg": round(stood.roll_deg, 2),
        "wall_thickness_mm": round(wall_mm, 3),
    }
    if overridden:
        attributes["overridden"] = "; ".join(overridden)
    return attributes


def _told_posture(part_number: str, stood: Stance) -> Problem:
    return Problem("wall.posture.beyond", posture_words(stood), part_number=part_number)


def _checked_rules(allow: Collection[str]) -> None:
    """Refuse names of rules that there are none of.

    Raises
    ------
    InputError
        if there is one
    """
    unknown = [rule for rule in allow if rule not in RULES]
    if isinstance(allow, str) or unknown:
        raise InputError(
            [
                Problem(
                    "wall.rule.unknown",
                    "there is no such rule to override",
                    column="allow",
                    value=allow if isinstance(allow, str) else ", ".join(unknown),
                    allowed=", ".join(RULES),
                    suggestion="give names in brackets, as allow=('lean',)",
                    place="option",
                )
            ]
        )

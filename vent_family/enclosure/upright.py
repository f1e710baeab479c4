"""Which way up a vent stands on a wall: TOP up by gravity, and how far it leans and is turned."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, TypeAlias

import cadquery as cq

from vent_family.base.problems import InputError, Problem

VectorLike: TypeAlias = cq.Vector | tuple[float, float, float]
"""A direction, in the coordinates of the cabinet."""
WORLD_UP: Final = (0.0, 0.0, 1.0)
"""Up where nothing else was said."""
UP: Final = "up"
"""Key of an assembly's metadata that says which way is up."""
_LEVEL: Final = math.sin(math.radians(0.5))
"""A wall within half a degree of level has no upper side."""


@dataclass(frozen=True, slots=True, eq=False)
class Stance:
    """How a vent stands on a wall.

    ``plane`` has its origin in the opening's centre, its normal outwards and its y towards TOP.
    ``lean_deg`` is above zero where the vent's face looks upwards, ``roll_deg`` where TOP is turned
    clockwise as seen from outside.
    """

    plane: cq.Plane
    lean_deg: float
    roll_deg: float

    @property
    def location(self) -> cq.Location:
        """Where the vent's datum goes."""
        return cq.Location(self.plane)


def direction(given: VectorLike, name: str) -> cq.Vector:
    """Return a direction as a unit vector; ``name`` is what it is called.

    Raises
    ------
    InputError
        if it is no direction

    Examples
    --------
    >>> direction((0, 0, 2), "up").toTuple()
    (0.0, 0.0, 1.0)
    """
    vector = cq.Vector(given)
    length = vector.Length
    if not (math.isfinite(length) and length > 1e-9):
        raise InputError(
            [
                Problem(
                    "wall.direction.none",
                    f"{name} gives no direction",
                    column=name,
                    value=str(vector.toTuple()),
                    allowed="three numbers that are not all zero, as (0, 0, 1)",
                    place="option",
                )
            ]
        )
    return vector / length


def stance(
    origin: VectorLike,
    outward: VectorLike,
    up: VectorLike = WORLD_UP,
    top: VectorLike | None = None,
) -> Stance:
    """Return how a vent stands whose opening's centre is at ``origin`` (mm).

    Parameters
    ----------
    origin
        centre of the opening on the wall's outer face, mm
    outward
        out of the cabinet, normal to the wall
    up
        against gravity; TOP comes as near to it as the wall lets it
    top
        where TOP points instead, as far as it lies in the wall; on a level wall, which has no upper
        side, it must be given

    Raises
    ------
    InputError
        if a direction is none, or nothing says where TOP is

    Examples
    --------
    On a cabinet's side that looks along -y, with z up, the vent's right is +x:

    >>> found = stance((0, 0, 0), (0, -1, 0))
    >>> found.plane.xDir.x, found.plane.yDir.z, found.lean_deg
    (1.0, 1.0, 0.0)

    Turned clockwise by a quarter, TOP points to the right:

    >>> round(stance((0, 0, 0), (0, -1, 0), top=(1, 0, 0)).roll_deg, 6)
    90.0
    """
    normal, upwards = direction(outward, "outward"), direction(up, "up")
    rise = max(-1.0, min(1.0, normal.dot(upwards)))
    lean = math.degrees(math.asin(rise)) + 0.0  # no minus before zero
    highest = upwards - normal * rise
    level = highest.Length < _LEVEL
    asked = None
    if top is not None:
        asked = direction(top, "top")
        asked = direction(asked - normal * normal.dot(asked), "top")
    if level and asked is None:
        raise InputError([_level(lean)])
    roll = 0.0
    y = asked if asked is not None else highest / highest.Length
    if asked is not None and not level:
        above = highest / highest.Length
        right = above.cross(normal)
        roll = math.degrees(math.atan2(asked.dot(right), asked.dot(above)))
    plane = cq.Plane(origin=cq.Vector(origin), xDir=y.cross(normal), normal=normal)
    return Stance(plane, lean, roll)


def _level(lean_deg: float) -> Problem:
    facing = "up: it is a roof" if lean_deg > 0.0 else "down: it is a floor"
    return Problem(
        "wall.level.untold",
        f"the wall looks {facing}, so gravity does not say where TOP is",
        column="up",
        allowed="a direction that does not stand upright on the wall",
        suggestion=(
            "say which way is up when the cabinet is in use, as up=(0, 1, 0) for a panel that is"
            " drawn lying; for a vent that is to lie, say top=... and allow=('lean',)"
        ),
        place="option",
    )

"""Whether a vent still holds as it leans and is turned on a wall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import MOUNTING_ROLL_MAX, MOUNTING_TILT_MAX
from vent_family.base.problems import Problem
from vent_family.enclosure.upright import Stance
from vent_family.evidence.installed.record import InstallationRecord
from vent_family.evidence.outcomes import RANK
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.posture.sweep import Sweeper, largest_deg
from vent_family.spec.vent import VentSpec

LEAN: Final = "lean"
ROLL: Final = "roll"
_ROUNDING_DEG: Final = 0.05
"""Angles of a drawn cabinet are no more exact."""


@dataclass(frozen=True, slots=True)
class Bearing:
    """What is predicted of a vent in a posture that its row does not state.

    ``holds`` is whether it is predicted to do no worse than as its row states; ``words`` says what
    the largest angles are up to which it does so.
    """

    holds: bool
    words: str


def beyond(room: InstallationRecord, stood: Stance) -> tuple[str, ...]:
    """Return which of :data:`LEAN` and :data:`ROLL` go beyond what the verdict on water counts."""
    spare = room.spare_deg + _ROUNDING_DEG
    turned = abs((stood.roll_deg - room.roll_deg + 180.0) % 360.0 - 180.0)
    found = []
    if abs(stood.lean_deg - room.tilt_deg) > spare:
        found.append(LEAN)
    if turned > spare:
        found.append(ROLL)
    return tuple(found)


def judged_bearing(
    vent: VentSpec, conditions: Conditions, lean_deg: float, roll_deg: float
) -> Bearing:
    """Return whether a vent does no worse leaning and turned than under its row's conditions.

    ``lean_deg`` and ``roll_deg`` are the mounting's tilt and roll, degrees.
    """
    sweeper = Sweeper(vent, conditions)
    tilt, roll = conditions.tilt_deg, conditions.roll_deg
    stated = sweeper.at(tilt, roll).outcome
    if RANK[sweeper.at(lean_deg, roll_deg).outcome] <= RANK[stated]:
        return Bearing(True, f"predicted to do no worse at {lean_deg:.1f} and {roll_deg:.1f} deg")
    turned = largest_deg(lambda a: sweeper.at(tilt, a), MOUNTING_ROLL_MAX.value, stated)
    ends = [
        largest_deg(lambda a: sweeper.at(sign * a, roll), MOUNTING_TILT_MAX.value, stated)  # noqa: B023
        for sign in (1.0, -1.0)
    ]
    back, forward = ("no angle" if a is None else f"{a:g} deg" for a in ends)
    words = "no angle" if turned is None else f"{turned:g} deg"
    return Bearing(
        False,
        f"it does no worse than stated leaning back up to {back}, leaning forwards up to"
        f" {forward}, turned up to {words}",
    )


def posture_words(stood: Stance) -> str:
    """Return lean and roll in words."""
    lean, roll = (round(angle, 1) + 0.0 for angle in (stood.lean_deg, stood.roll_deg))
    return f"lean {lean:.1f} deg, roll {roll:.1f} deg"


def refused_posture(
    part_number: str, room: InstallationRecord, stood: Stance, bearing: Bearing | None
) -> Problem:
    """Return why a vent does not go there, with both angles and the largest that it bears."""
    judged = (
        f"lean {room.tilt_deg:g} deg, roll {room.roll_deg:g} deg, {room.spare_deg:g} deg more or"
        " less"
    )
    if bearing is not None:
        judged += f"; {bearing.words}"
    return Problem(
        "wall.posture.beyond",
        f"the vent is not predicted to keep water out as it stands there: {posture_words(stood)}",
        part_number=part_number,
        column="up",
        allowed=judged,
        suggestion=(
            "take a row whose mounting_tilt_deg and mounting_roll_deg say so, turn the wall, say up"
            " if gravity points elsewhere, or override it by name: allow=('lean', 'roll')"
        ),
        place="option",
    )

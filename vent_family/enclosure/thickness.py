"""Whether a vent suits a wall of a thickness."""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.problems import InputError, Problem
from vent_family.evidence.installed.record import InstallationRecord

ROUNDING_MM: Final = 0.005
"""How far a measured thickness may lie beyond the range: what numbers are rounded by."""


def thickness_words(room: InstallationRecord) -> str:
    """Return the walls that a vent takes, in words."""
    return f"{room.panel_least_mm:g} to {room.panel_most_mm:g} mm: {room.panel_basis}"


def suited(room: InstallationRecord, wall_mm: float) -> bool:
    """Tell whether a vent suits a wall of a thickness (mm)."""
    low, high = room.panel_least_mm - ROUNDING_MM, room.panel_most_mm + ROUNDING_MM
    return math.isfinite(wall_mm) and low <= wall_mm <= high


def thickness_problem(part_number: str, room: InstallationRecord, wall_mm: float) -> Problem:
    """Return why a vent does not suit a wall of a thickness (mm), with the range it takes."""
    return Problem(
        "wall.thickness.unsuited",
        "the vent does not suit a wall of this thickness",
        part_number=part_number,
        column="panel_mm",
        value=f"{wall_mm:.4g}",
        allowed=thickness_words(room),
        suggestion="take a part whose panel_thickness_mm is the wall's, or add such a row; a body"
        " that is drawn solid has to be hollowed first",
        place="option",
    )


def checked_thickness(part_number: str, room: InstallationRecord, wall_mm: float) -> None:
    """Refuse a wall of a thickness (mm) that a vent does not suit.

    Raises
    ------
    InputError
        if the vent does not suit it, with the range it takes
    """
    if not suited(room, wall_mm):
        raise InputError([thickness_problem(part_number, room, wall_mm)])

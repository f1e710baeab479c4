"""Where loaded members lie: lines in part coordinates, mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from vent_family.evidence.strength.member import Place
from vent_family.spec.forms import Outline

_CHORDS: Final = 72
"""Sides of a circle as it is drawn."""


def widest_bay_mm(bays: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return the ends of the widest bay, of equals the one nearest the middle, mm.

    ``bays`` are clear x ranges between ribs, mm.

    Examples
    --------
    >>> widest_bay_mm([(-30.0, -10.0), (-8.0, 8.0), (10.0, 30.0)])
    (-30.0, -10.0)
    >>> widest_bay_mm([(-30.0, -12.0), (-9.0, 9.0), (12.0, 30.0)])
    (-9.0, 9.0)
    """
    widest = max(b - a for a, b in bays)
    near = [bay for bay in bays if bay[1] - bay[0] > widest - 1e-6]
    return min(near, key=lambda bay: abs(bay[0] + bay[1]))


def edges_across(outline: Outline, x_mm: tuple[float, float]) -> Place:
    """Return the edges of what is drawn along x from an outline (z, y): both ends and the corners.

    ``x_mm`` are its ends, mm.
    """
    rings = [tuple((x, y, z) for z, y in (*outline, outline[0])) for x in x_mm]
    return (*rings, *(tuple((x, y, z) for x in x_mm) for z, y in outline))


def circle(
    radius_mm: float, z_mm: float, centre_mm: tuple[float, float] = (0.0, 0.0)
) -> tuple[tuple[float, float, float], ...]:
    """Return a circle around an axis along z, closed; radius, depth and centre (x, y) in mm.

    Examples
    --------
    >>> ring = circle(2.0, 1.0, (5.0, 0.0))
    >>> ring[0], ring[0] == ring[-1]
    ((7.0, 0.0, 1.0), True)
    """
    turns = [2.0 * math.pi * (k % _CHORDS) / _CHORDS for k in range(_CHORDS + 1)]
    return tuple(
        (centre_mm[0] + radius_mm * math.cos(a), centre_mm[1] + radius_mm * math.sin(a), z_mm)
        for a in turns
    )

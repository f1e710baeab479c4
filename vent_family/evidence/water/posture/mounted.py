"""What a mounting makes of a section: which surfaces hold water, which shed it, and where to."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.boundary import Boundary, boundary_of
from vent_family.evidence.water.posture.basin import Basin
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.ribs import INSIDE, OUT, TROUGH, RibFace
from vent_family.spec.section import Point, Section

LEVEL: Final = 1e-6
"""A wall that looks up by less than this sine holds no water (round-off)."""


def sheds_back(basin: Basin, posture: Posture) -> bool:
    """Return whether water behind the sill runs back over it rather than inside."""
    up = posture.up
    if basin.bore_mm is not None:
        return min(bay.over_sill_mm(up) for bay in basin.bays) < basin.into_bore_mm(up) - LEVEL
    # The sill's top is level in the part: it sheds outwards where the vent leans forwards.
    return up[2] < -LEVEL


def hanging(section: Section, posture: Posture) -> tuple[Point, ...]:
    """Return the surface above, from which water drips: the ceiling, or the floor upside down."""
    return section.upper if posture.up[1] >= 0.0 else (section.foot, section.brink)


def mounted_boundary(section: Section, posture: Posture, *, returns: bool) -> Boundary:
    """Return the section's boundary with what it owns told anew for a mounting.

    ``returns`` is the answer of :func:`sheds_back`. Upright the boundary is the section's own.
    """
    b = boundary_of(section)
    if posture.upright:
        return b
    _, uy, uz = posture.up
    owner = b.owner.copy()
    # A wall above that is steeper than 45 degrees sheds along itself, inwards or outwards.
    steep = abs(uz) > abs(uy)
    behind = b.trough if returns else b.inside
    along = behind if uz > 0.0 else b.face
    floors = {(section.foot, section.brink), section.outlet[-2:]}
    for k, (z0, y0, z1, y1) in enumerate(b.edges):
        p, q = (float(z0), float(y0)), (float(z1), float(y1))
        if (p, q) in _pairs(section.upper):
            if q != section.upper[-1]:
                continue
            # The ceiling itself: cone and bore behind it stay what they are.
            if -uy > LEVEL:
                owner[k] = b.trough
            elif steep:
                owner[k] = along
        elif q == section.sill:
            owner[k] = behind
        elif (p, q) in floors and uy < -LEVEL:
            owner[k] = (b.trough if uz > 0.0 else b.face) if steep else b.ceiling
    return replace(b, owner=owner)


def _pairs(line: tuple[Point, ...]) -> set[tuple[Point, Point]]:
    return set(itertools.pairwise(line))


def rib_face(
    section: Section,
    posture: Posture,
    rib_end_z_mm: float,
    *,
    returns: bool,
    drift: float = 0.0,
    steepness: float = 1.0,
) -> RibFace:
    """Return a rib's face in a mounting.

    Parameters
    ----------
    section
        what stands on the face
    posture
        the mounting
    rib_end_z_mm
        where the rib ends inside, mm
    returns
        whether water behind the sill runs back over it
    drift
        how far air draws a film inwards for each length it runs down, a ratio
    steepness
        by how much longer the way down a curved side wall is, a ratio
    """
    walls: list[tuple[float, float, float, float]] = []
    ends: list[int] = []
    behind = TROUGH if returns else INSIDE

    def add(p: Point, q: Point, end: int) -> None:
        walls.append((*p, *q))
        ends.append(end)

    foot_z = section.foot[0]
    for p, q in itertools.pairwise(section.upper):
        if p[0] < foot_z < q[0]:
            middle = (foot_z, p[1] + (q[1] - p[1]) * (foot_z - p[0]) / (q[0] - p[0]))
            add(p, middle, behind)
            add(middle, q, TROUGH)
        else:
            add(p, q, TROUGH if p[0] >= foot_z else behind)
    for p, q in itertools.pairwise((*section.shelf, section.sill)):
        add(p, q, behind)
    for p, q in itertools.pairwise(section.trough_line):
        add(p, q, TROUGH)
    for p, q in itertools.pairwise((section.brink, *section.outlet)):
        add(p, q, OUT)
    ring = section.apron
    for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
        add(p, q, OUT if section.sheltered else TROUGH)
    return RibFace(
        walls=np.array(walls, dtype=float),
        ends=tuple(ends),
        rings=tuple(_anticlockwise(np.array(s.outline, dtype=float)) for s in section.slats),
        down=film_direction(posture, drift, steepness),
        rib_end_z_mm=rib_end_z_mm,
        front_z_mm=section.front_z_mm,
        behind=behind,
    )


def film_direction(
    posture: Posture, drift: float = 0.0, steepness: float = 1.0
) -> tuple[float, float]:
    """Return the unit vector (z, y) that a film on a rib follows.

    ``drift`` and ``steepness`` are ratios, as in :func:`rib_face`. On a rib that lies level a film
    spreads both ways; it is taken to run inwards.

    Examples
    --------
    >>> z, y = film_direction(Posture(3.0, 0.0))
    >>> round(145.0 * z / y, 1)  # inwards is -z
    7.6
    """
    _, uy, uz = posture.up
    z, y = -uz * steepness - drift * math.hypot(uy, uz), -uy
    length = math.hypot(z, y)
    if length < LEVEL:
        return (-1.0, 0.0)
    return (z / length, y / length)


def _anticlockwise(ring: FloatArray) -> FloatArray:
    """Return an outline turning from +z towards +y."""
    following = np.roll(ring, -1, axis=0)
    twice = float((ring[:, 0] * following[:, 1] - following[:, 0] * ring[:, 1]).sum())
    return ring if twice > 0.0 else ring[::-1]

"""What a mounting makes of a section: which surfaces hold water, which shed it, and where to."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.boundary import Boundary, boundary_of
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.ribs import INSIDE, OUT, TROUGH, RibFace
from vent_family.spec.section import Point, Section
from vent_family.spec.vent import VentSpec

LEVEL: Final = 1e-6
"""A wall that looks up by less than this sine holds no water (round-off)."""


def sheds_back(posture: Posture) -> bool:
    """Return whether water behind the sill runs back over it rather than inside.

    Sill and bore are level in the part: they shed outwards where the vent leans forwards.
    """
    return posture.up[2] < -LEVEL


def throat(section: Section, posture: Posture) -> list[tuple[Point, Point, int]]:
    """Return the walls around a bore's end (z, y), and where water on each gets to.

    They are the back plate with its corner and the hole's edge, above and below. What runs down
    them above the bore gets into it; below it runs to the floor. Without a neck there are none.
    """
    _, uy, uz = posture.up
    if len(section.upper) < 3:
        return []
    above, below = INSIDE, TROUGH
    if uz < -abs(uy):
        # Where the plate looks down water drips off it.
        above = TROUGH
    elif uy < -LEVEL:
        above, below = TROUGH, INSIDE
    lower = (section.sill, *section.sill_face, section.foot)
    return [
        *((p, q, above) for p, q in itertools.pairwise(section.upper[1:-1])),
        *((p, q, below) for p, q in itertools.pairwise(lower)),
    ]


def hanging(section: Section, posture: Posture) -> tuple[Point, ...]:
    """Return the surface above, from which water drips: the ceiling, or the floor upside down."""
    return section.upper if posture.up[1] >= 0.0 else (section.foot, section.brink)


def mounted_boundary(section: Section, posture: Posture) -> Boundary:
    """Return the section's boundary with what it owns told anew for a mounting.

    Upright the boundary is the section's own.
    """
    b = boundary_of(section)
    if posture.upright:
        return b
    _, uy, uz = posture.up
    owner = b.owner.copy()
    # A wall above that is steeper than 45 degrees sheds along itself, inwards or outwards.
    steep = abs(uz) > abs(uy)
    behind = b.trough if sheds_back(posture) else b.inside
    along = behind if uz > 0.0 else b.face
    floors = {(section.foot, section.brink), section.outlet[-2:]}
    bore = {section.upper[:2], (*section.shelf, section.sill)}
    around = {(p, q): end for p, q, end in throat(section, posture)}
    for k, (z0, y0, z1, y1) in enumerate(b.edges):
        p, q = (float(z0), float(y0)), (float(z1), float(y1))
        if (p, q) in around:
            owner[k] = b.trough if around[p, q] == TROUGH else b.inside
        elif (p, q) == section.upper[-2:]:
            if -uy > LEVEL:
                owner[k] = b.trough
            elif steep:
                owner[k] = along
        elif (p, q) in bore:
            owner[k] = behind
        elif (p, q) in floors and uy < -LEVEL:
            owner[k] = (b.trough if uz > 0.0 else b.face) if steep else b.ceiling
    return replace(b, owner=owner)


def rib_end_mm(vent: VentSpec) -> float:
    """Return where films on ribs end inside, z (mm).

    What of a round head's ribs stands between stack and back plate has windows. A film that drips
    there falls the way it runs, so it counts as running on down to the plate.
    """
    neck = vent.body.neck
    return vent.body.rib_end_z_mm(vent.section) if neck is None else neck.bore_end_z_mm


def rib_face(
    section: Section,
    posture: Posture,
    rib_end_z_mm: float,
    *,
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
    drift
        how far air draws a film inwards for each length it runs down, a ratio
    steepness
        by how much longer the way down a curved side wall is, a ratio
    """
    walls: list[tuple[float, float, float, float]] = []
    ends: list[int] = []
    behind = TROUGH if sheds_back(posture) else INSIDE

    def add(p: Point, q: Point, end: int) -> None:
        walls.append((*p, *q))
        ends.append(end)

    around = throat(section, posture)
    p, q = section.upper[-2:]
    foot_z = section.foot[0]
    if not around and p[0] < foot_z < q[0]:
        middle = (foot_z, p[1] + (q[1] - p[1]) * (foot_z - p[0]) / (q[0] - p[0]))
        add(p, middle, behind)
        p = middle
    add(p, q, TROUGH)
    for p, q, end in around:
        add(p, q, end)
    if around:
        add(section.upper[0], section.upper[1], behind)
    for p, q in itertools.pairwise((*section.shelf, section.sill)):
        add(p, q, behind)
    for p, q in itertools.pairwise(section.trough_line):
        if not around or p == section.foot:
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

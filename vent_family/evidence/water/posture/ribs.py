"""Film on ribs and side walls: its way down their faces, and where it ends.

A rib's face shows the section: slats grow out of it, floor and sill meet it. A film on it runs the
way gravity pulls it in that plane, drawn inwards by the air besides; where a slat stands in its way
it slides down along it and leaves at the slat's lower end. So each film is a chain of straight
runs, and films that meet at a slat's end go on together.

It ends in the trough (floor, front of the sill, apron), out (over the outer plane), or behind the
sill: on the sill's top, or at the rib's own inner end, from which it drips. What lies behind the
sill is inside, unless the sill sheds it back in this mounting. In a round head the back plate is
the sill, and what comes onto it above the bore is inside, too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.constants import (
    AIR_DENSITY_KG_M3,
    AIR_VISCOSITY_PA_S,
    GRAVITY_M_S2,
    WATER_DENSITY_KG_M3,
)
from vent_family.evidence.water.posture.chains import FaceArrays, follow_films

End = Literal["trough", "inside", "out"]
TROUGH: Final = 0
INSIDE: Final = 1
OUT: Final = 2
ENDS: Final[tuple[End, End, End]] = ("trough", "inside", "out")
RUNS_MAX: Final = 400
"""A film that is on its way for longer than this many runs goes round, and counts as inside."""
TOUCH_MM: Final = 1e-7
PARALLEL: Final = 1e-12


def drift_mm(height_mm: float, lean_deg: float) -> float:
    """Return how far a film drifts inwards on a rib that leans back, over a height in mm.

    Examples
    --------
    At 3 degrees over 145 mm, 145 tan 3:

    >>> round(drift_mm(145.0, 3.0), 1)
    7.6
    """
    return height_mm * math.tan(math.radians(lean_deg))


def air_drift(speed_m_s: float, length_mm: float, film_mm: float) -> float:
    """Return how far air drags a film inwards for each length it runs down, a ratio; a bound.

    The air's shear is that of a laminar boundary layer on a plate of the rib's depth, cf = 1.328 /
    sqrt(Re) (Blasius; textbook). It moves the mean of a film by tau d / 2 mu, against rho g d^2 /
    3 mu of its weight: 1.5 tau / (rho g d).

    Parameters
    ----------
    speed_m_s
        air between the slats, m/s
    length_mm
        depth of the rib, mm
    film_mm
        thickness of the film, mm; thin films are dragged farthest

    Examples
    --------
    4 m/s along 24 mm: Re 6,400 or so, cf 0.0166, 0.16 Pa against the 0.98 Pa of the film's weight:

    >>> round(air_drift(4.0, 24.0, 0.1), 2)
    0.25
    >>> air_drift(0.0, 24.0, 0.1)
    0.0
    """
    if speed_m_s <= 0.0 or length_mm <= 0.0:
        return 0.0
    re = AIR_DENSITY_KG_M3 * speed_m_s * length_mm * 1e-3 / AIR_VISCOSITY_PA_S
    shear = 0.5 * AIR_DENSITY_KG_M3 * speed_m_s**2 * 1.328 / math.sqrt(re)
    return 1.5 * shear / (WATER_DENSITY_KG_M3 * GRAVITY_M_S2 * film_mm * 1e-3)


@dataclass(frozen=True, eq=False)
class RibFace:
    """A rib's face in one mounting.

    ``walls`` (n, 4) are the boundary's other edges, mm, and ``ends`` what becomes of a film that
    comes onto each. ``rings`` are the outlines of the slats, anticlockwise from z to y, each
    (n, 2) in mm. ``down`` is the unit vector (z, y) that films follow; ``rib_end_z_mm`` is
    where the rib ends inside, ``behind`` the end of a film that gets there.
    """

    walls: FloatArray
    ends: tuple[int, ...]
    rings: tuple[FloatArray, ...]
    down: tuple[float, float]
    rib_end_z_mm: float
    front_z_mm: float
    behind: int

    @cached_property
    def _arrays(self) -> FaceArrays:
        """The face as the compiled functions take it, see :mod:`chains`."""
        edges, ring, depth = np.empty((0, 4)), np.empty((0, 2), dtype=np.int64), np.empty(0)
        if self.rings:
            sizes = np.array([len(r) for r in self.rings])
            begins = np.cumsum(sizes) - sizes
            edges = np.concatenate([_edges(r) for r in self.rings])
            ring = np.repeat(np.stack([begins, sizes], axis=1), sizes, axis=0)
            depth = np.concatenate([r @ np.array(self.down) for r in self.rings])
        return (
            self.walls,
            np.array(self.ends, dtype=np.int64),
            edges,
            ring,
            depth,
            np.array(self.down),
            np.array([self.rib_end_z_mm, self.front_z_mm]),
            np.array([self.behind, OUT], dtype=np.int64),
        )

    def followed(self, z_mm: FloatArray, y_mm: FloatArray) -> tuple[IntArray, FloatArray]:
        """Return the ends of films that begin at some places, and the z (mm) at which they end.

        ``z_mm`` and ``y_mm`` are the places.
        """
        places = np.stack([z_mm, y_mm], axis=1).astype(np.float64)
        # Water that goes round and round can only be lost inside.
        code, at = follow_films(*self._arrays, places, TOUCH_MM, PARALLEL, RUNS_MAX, INSIDE)
        return code, at


def _edges(ring: FloatArray) -> FloatArray:
    """Return the edges (n, 4) of a closed outline."""
    return np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1)

"""A jet on a wall in closed form: shares of the split, deflection by a narrow face, break-up.

The first two are free-streamline theory of an inviscid plane jet: speed is kept, momentum along
the wall is shared out, and a face too short to turn the jet lets it pass leaning forwards.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import (
    AIR_DENSITY_KG_M3,
    SURFACE_TENSION_N_M,
    WATER_DENSITY_KG_M3,
)

NODES: Final = 400
"""Nodes of the quadrature; with 100 the answers differ by less than 1e-8."""
WIDEST: Final = 4.0
"""Faces longer than this many thicknesses turn the jet along themselves, to within a degree."""
STEPS: Final = 80


def split_shares(angle_deg: float) -> tuple[float, float]:
    """Return the shares of a plane jet that run forwards and backwards along a wall.

    (1 + cos a) / 2 and (1 - cos a) / 2 for an angle (degrees) between jet and wall: momentum along
    the wall is kept (free-streamline theory; textbooks).

    Examples
    --------
    A jet square on a wall halves; one at 60 degrees sends three quarters forwards:

    >>> [round(share, 3) for share in (*split_shares(90.0), *split_shares(60.0))]
    [0.5, 0.5, 0.75, 0.25]
    """
    c = math.cos(math.radians(angle_deg))
    return 0.5 * (1.0 + c), 0.5 * (1.0 - c)


@lru_cache(maxsize=1)
def _nodes() -> tuple[FloatArray, FloatArray]:
    """Return nodes and weights of the quadrature; finding them takes far longer than using them."""
    x, weight = np.polynomial.legendre.leggauss(NODES)
    return x, weight


def face_for(deflection_deg: float) -> float:
    """Return the length of a face, in thicknesses of the jet, that turns it by an angle, degrees.

    A jet strikes a flat face in its middle, square on, and leaves both ends at the angle b with
    its first direction: l/h = 1/pi int_0^1 |1/(t+1) - 1/(t+cos 2b)| (q^-3 - q)/q dq with
    t = (q^2 + q^-2)/2 (derived from the hodograph of the free jet; as the face becomes short, its
    drag tends to that of Kirchhoff's plate in an endless stream, 2 pi / (4 + pi)).

    Examples
    --------
    By momentum the drag coefficient is 2 (1 - cos b) h / l:

    >>> round(face_for(54.3), 2), round(2 * (1 - math.cos(math.radians(5))) / face_for(5.0), 3)
    (1.0, 0.879)
    """
    x, weight = _nodes()
    q = 0.5 * (x + 1.0)
    t = 0.5 * (q**2 + q**-2)
    turned = math.cos(2.0 * math.radians(deflection_deg))
    inner = np.abs(1.0 / (t + 1.0) - 1.0 / (t + turned)) * (q**-3 - q) / q
    return float((inner * 0.5 * weight).sum() / math.pi)


@lru_cache(maxsize=1)
def deflections() -> FloatArray:
    """Return deflections, in radians, by faces 0 to ``WIDEST`` thicknesses long, in equal steps.

    Examples
    --------
    >>> table = np.degrees(deflections())
    >>> [round(float(table[round(l / WIDEST * STEPS)])) for l in (0.5, 1.0, 2.0, 3.0)]
    [38, 54, 75, 86]
    """
    angle = np.linspace(0.0, 89.5, 359)
    length = np.array([face_for(float(a)) for a in angle])
    table = np.interp(np.linspace(0.0, WIDEST, STEPS + 1), length, angle)
    table.setflags(write=False)
    return np.asarray(np.radians(table))


def breakup_length_mm(bore_mm: float, speed_m_s: float) -> float:
    """Return how far from the impact of a jet its sheet flies before it breaks up into drops.

    d (rho_air / rho)^(-2/3) We^(-1/3), We = rho u2 d / sigma: the flapping sheet at large Weber
    numbers (Villermaux and Clanet 2002, J. Fluid Mech. 462:341, abstract; the factor of one is
    theirs in order of magnitude).

    Examples
    --------
    A hose of 20 L/min through 6 mm; banks of slats stand closer than that:

    >>> round(breakup_length_mm(6.0, 11.8))
    23
    """
    weber = WATER_DENSITY_KG_M3 * speed_m_s**2 * bore_mm * 1e-3 / SURFACE_TENSION_N_M
    thin = AIR_DENSITY_KG_M3 / WATER_DENSITY_KG_M3
    return float(bore_mm * thin ** (-2.0 / 3.0) * weber ** (-1.0 / 3.0))

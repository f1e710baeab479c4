"""Drag of water drops in air: fluids' sphere correlation, and the flattening of large drops.

The correlation is tabulated once so that compiled loops can read it. Drops above about 2.4 mm
flatten when they fall and are braked more than a sphere; the factor is fixed by the measured
terminal velocities of Gunn and Kinzer and scaled with the square of the relative velocity, because
the deformation grows with the Weber number. Faster than terminal it is not increased further: less
drag means straighter flight, the unfavourable side.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from fluids.drag import drag_sphere, v_terminal

from vent_family.base.arrays import FloatArray
from vent_family.base.constants import (
    AIR_DENSITY_KG_M3,
    AIR_VISCOSITY_PA_S,
    GRAVITY_M_S2,
    WATER_DENSITY_KG_M3,
)

GUNN_KINZER: Final[tuple[tuple[float, float], ...]] = (
    (0.1, 0.27),
    (0.2, 0.72),
    (0.3, 1.17),
    (0.4, 1.62),
    (0.5, 2.06),
    (0.6, 2.47),
    (0.7, 2.87),
    (0.8, 3.27),
    (0.9, 3.67),
    (1.0, 4.03),
    (1.2, 4.64),
    (1.4, 5.17),
    (1.6, 5.65),
    (1.8, 6.09),
    (2.0, 6.49),
    (2.2, 6.90),
    (2.4, 7.27),
    (2.6, 7.57),
    (2.8, 7.82),
    (3.0, 8.06),
    (3.2, 8.26),
    (3.4, 8.44),
    (3.6, 8.60),
    (3.8, 8.72),
    (4.0, 8.83),
    (4.2, 8.92),
    (4.4, 8.98),
    (4.6, 9.03),
    (4.8, 9.07),
    (5.0, 9.09),
    (5.2, 9.12),
    (5.4, 9.14),
    (5.6, 9.16),
    (5.8, 9.17),
)
"""Diameter (mm) and terminal velocity (m/s) of drops in still air.

Gunn and Kinzer 1949, J. Meteorol. 6:243.
"""
FLATTENS_FROM_MM: Final = 2.4
"""Largest drop for which the sphere agrees with the table."""

LOG_RE_MIN: Final = -4.0
LOG_RE_MAX: Final = 5.0
LOG_RE_STEP: Final = 0.02


@lru_cache(maxsize=1)
def drag_table() -> FloatArray:
    """Return Cd Re / 24 of a sphere on a grid of log10 Re, from fluids' ``drag_sphere`` (1).

    Examples
    --------
    Stokes' law at its lower end, Cd = 24 / Re; at Re = 100 Cd is 1.09 (Clift, Grace and Weber 1978,
    from memory), so Cd Re / 24 is 4.5:

    >>> table = drag_table()
    >>> round(float(table[0]), 2), round(float(table[round((2.0 - LOG_RE_MIN) / LOG_RE_STEP)]), 1)
    (1.0, 4.5)
    """
    count = round((LOG_RE_MAX - LOG_RE_MIN) / LOG_RE_STEP) + 1
    re = 10.0 ** np.linspace(LOG_RE_MIN, LOG_RE_MAX, count)
    return np.array([drag_sphere(r) * r / 24.0 for r in re])


@lru_cache(maxsize=1)
def _flattening() -> tuple[FloatArray, FloatArray]:
    """Return diameters (mm) and drag factors that make the fall agree with Gunn and Kinzer."""
    table = [(d, v) for d, v in GUNN_KINZER if d >= FLATTENS_FROM_MM]
    sizes = np.array([d for d, _ in table])
    factors = []
    for d, v in table:
        re = AIR_DENSITY_KG_M3 * v * d * 1e-3 / AIR_VISCOSITY_PA_S
        needed = (
            4.0
            / 3.0
            * GRAVITY_M_S2
            * d
            * 1e-3
            * (WATER_DENSITY_KG_M3 - AIR_DENSITY_KG_M3)
            / (AIR_DENSITY_KG_M3 * v * v)
        )
        factors.append(max(1.0, needed / drag_sphere(re)))
    return sizes, np.array(factors)


def flattening_factor(diameter_mm: FloatArray) -> FloatArray:
    """Return the ratio of drag to sphere drag of drops at their terminal velocity; 1 when small.

    Examples
    --------
    Small drops are spheres. One of 5.8 mm falls at 9.17 m/s: its weight asks for
    Cd = 4 / 3 x 9.807 x 0.0058 x 997 / (1.2041 x 9.17^2) = 0.747, a sphere at that Re of 3,500 has
    0.39 (Clift, Grace and Weber 1978, from memory):

    >>> small, large = flattening_factor(np.array([1.0, 5.8]))
    >>> float(small), round(float(large), 1)
    (1.0, 1.9)
    """
    sizes, factors = _flattening()
    return np.interp(diameter_mm, sizes, factors, left=1.0)


def terminal_velocity(diameter_mm: FloatArray) -> FloatArray:
    """Return the terminal velocity (m/s) of drops of the given diameters in still air.

    From 0.1 mm on the measured table of Gunn and Kinzer; below it, down to 0.1 micrometres,
    fluids' sphere, which is within 7 % of the table at their joint.

    Examples
    --------
    Gunn and Kinzer 1949 measured 6.49 m/s for 2 mm; a droplet of 10 micrometres falls 3 mm/s, as
    Stokes says: 998 x 9.81 x (1e-5)^2 / (18 x 1.8134e-5):

    >>> rain, mist = terminal_velocity(np.array([2.0, 0.01]))
    >>> round(float(rain), 2), round(float(mist), 3)
    (6.49, 0.003)
    """
    d = np.asarray(diameter_mm, dtype=float)
    sizes = np.array([x for x, _ in GUNN_KINZER])
    speeds = np.array([v for _, v in GUNN_KINZER])
    small, falls = _small_terminal()
    measured = np.interp(d, sizes, speeds)
    sphere = np.exp(np.interp(np.log(np.maximum(d, small[0])), np.log(small), np.log(falls)))
    return np.asarray(np.where(d < sizes[0], sphere, measured))


@lru_cache(maxsize=1)
def _small_terminal() -> tuple[FloatArray, FloatArray]:
    """Return diameters (mm) and terminal velocities of small spheres, from fluids."""
    d = np.geomspace(1e-4, GUNN_KINZER[0][0], 120)
    fall = [
        v_terminal(
            D=x * 1e-3, rhop=WATER_DENSITY_KG_M3, rho=AIR_DENSITY_KG_M3, mu=AIR_VISCOSITY_PA_S
        )
        for x in d
    ]
    return d, np.array(fall)


def kernel_constants() -> FloatArray:
    """Return what compiled code needs: Stokes' time per d^2, Re per v d, table start and step.

    Compiled code gets numbers as arguments, because its cache on disk does not notice when a
    constant of another module changes.

    Returns
    -------
    FloatArray
        four numbers: Stokes' time per d^2 in s/m2, Re per v d in s/m2, first log10 Re of the drag
        table and its step (1)

    Examples
    --------
    Stokes' time per d^2 is rho / (18 mu) = 998.2 / (18 x 1.8134e-5) s/m2:

    >>> [float(f"{value:.3g}") for value in kernel_constants()]
    [3060000.0, 66400.0, -4.0, 0.02]
    """
    return np.array(
        [
            WATER_DENSITY_KG_M3 / (18.0 * AIR_VISCOSITY_PA_S),
            AIR_DENSITY_KG_M3 / AIR_VISCOSITY_PA_S,
            LOG_RE_MIN,
            LOG_RE_STEP,
        ]
    )

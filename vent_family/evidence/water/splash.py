"""What happens when a drop hits a wall: caught, or partly thrown back as smaller drops.

The threshold is K = Oh Re^1.25 on the velocity normal to the wall, splash above 57.7 (Mundo,
Sommerfeld and Tropea 1995, Int. J. Multiphase Flow 21:151, from memory). How much is thrown back,
in which sizes and directions, is known only roughly, so every answer is computed twice:

- ``MILD``: one fifth of the drop is thrown back, the lower end of Bai and Gosman 1996 (SAE 960626,
  from memory: 0.2 to 0.8 of the drop on a dry wall, 0.2 to 1.1 on a wetted one);
- ``SEVERE``: four fifths, and the threshold is applied to the whole velocity, because on the edges
  and wet faces of a slat a grazing drop is torn too.

Secondary drops: 0.1, 0.2 and 0.3 of the parent's diameter in equal mass; 15, 40 and 65 degrees off
the wall, forwards and backwards alike; 0.4 of the parent's speed plus 0.6 of its speed along the
wall. These are round numbers inside the ranges of the papers named; those papers find most
secondary drops smaller and slower (house rule, chosen towards more throw).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.base.constants import (
    SURFACE_TENSION_N_M,
    WATER_DENSITY_KG_M3,
    WATER_VISCOSITY_PA_S,
)

K_SPLASH: Final = 57.7
SIZES: Final = (0.1, 0.2, 0.3)
ANGLES_DEG: Final = (15.0, 40.0, 65.0)
EJECTION: Final = 0.4
ALONG: Final = 0.6
GOLDEN: Final = 0.6180339887498949
LIFT_MM: Final = 1e-3
"""Secondary drops start this far off the wall."""


@dataclass(frozen=True, slots=True)
class SplashModel:
    """One assumption: ``thrown`` is the share of mass thrown back; and which velocity decides."""

    name: str
    thrown: float
    whole_velocity: bool


MILD: Final = SplashModel("mild", 0.2, whole_velocity=False)
SEVERE: Final = SplashModel("severe", 0.8, whole_velocity=True)
BRACKET: Final = (MILD, SEVERE)


def splash_k(diameter_mm: FloatArray, speed_m_s: FloatArray) -> FloatArray:
    """Return K = Oh Re^1.25 of drops hitting a wall."""
    d = np.asarray(diameter_mm, dtype=float) * 1e-3
    ohnesorge = WATER_VISCOSITY_PA_S / np.sqrt(WATER_DENSITY_KG_M3 * SURFACE_TENSION_N_M * d)
    reynolds = WATER_DENSITY_KG_M3 * np.asarray(speed_m_s) * d / WATER_VISCOSITY_PA_S
    return np.asarray(ohnesorge * reynolds**1.25)


@dataclass(frozen=True, eq=False)
class Secondary:
    """Secondary drops: places, velocities, diameters, ``share`` (1) of the parent's mass."""

    z_mm: FloatArray
    y_mm: FloatArray
    w_m_s: FloatArray
    v_m_s: FloatArray
    diameter_mm: FloatArray
    share: FloatArray
    parent: IntArray


def splashes(
    model: SplashModel, edges: FloatArray, w: FloatArray, v: FloatArray, diameter_mm: FloatArray
) -> BoolArray:
    """Return which impacts splash.

    Parameters
    ----------
    model
        the splash model
    edges
        edges hit, (n, 4), mm
    w, v
        velocities along z and y at the impact, (n,), m/s
    diameter_mm
        drop diameters, (n,), mm
    """
    _, normal = _frame(edges, w, v)
    speed = np.hypot(w, v)
    decisive = speed if model.whole_velocity else np.abs((normal * _pair(w, v)).sum(axis=1))
    return np.asarray(splash_k(diameter_mm, decisive) > K_SPLASH)


def secondary_drops(
    model: SplashModel,
    edges: FloatArray,
    z: FloatArray,
    y: FloatArray,
    w: FloatArray,
    v: FloatArray,
    diameter_mm: FloatArray,
    *,
    thinned: bool = False,
) -> Secondary:
    """Return secondary drops of each splashing impact.

    Six per impact, one for each direction; or, ``thinned``, two: forwards and backwards at one
    angle that goes round from impact to impact, so that many impacts still have all of them.

    Parameters
    ----------
    model
        the splash model
    edges
        edges hit, (n, 4), mm
    z, y
        places of the impacts, (n,), mm
    w, v
        velocities along z and y at the impact, (n,), m/s
    diameter_mm
        drop diameters, (n,), mm
    thinned
        two drops per impact in place of six
    """
    tangent, normal = _frame(edges, w, v)
    speed = np.hypot(w, v)
    along = (tangent * _pair(w, v)).sum(axis=1)
    n = speed.size
    place = np.arange(n)
    # Steps of the golden ratio, so that no pattern of slats falls in with the turns.
    lot = (place * GOLDEN) % 1.0
    turns = 1 if thinned else len(ANGLES_DEG)
    zs, ys, ws, vs, ds = [], [], [], [], []
    for turn in range(turns):
        first = (len(ANGLES_DEG) * lot).astype(np.int64)
        angle = np.radians(np.array(ANGLES_DEG)[(first + turn) % len(ANGLES_DEG)])
        for sign in (1.0, -1.0):
            # Sizes go round over directions and impacts, so that every pair occurs.
            step = (9.0 * lot).astype(np.int64) + turn + (0 if sign > 0 else 1)
            t = ALONG * along + EJECTION * speed * sign * np.cos(angle)
            r = EJECTION * speed * np.sin(angle)
            ws.append(t * tangent[:, 0] + r * normal[:, 0])
            vs.append(t * tangent[:, 1] + r * normal[:, 1])
            zs.append(z + LIFT_MM * normal[:, 0])
            ys.append(y + LIFT_MM * normal[:, 1])
            ds.append(np.array(SIZES)[step % len(SIZES)] * diameter_mm)
    count = 2 * turns
    return Secondary(
        np.concatenate(zs),
        np.concatenate(ys),
        np.concatenate(ws),
        np.concatenate(vs),
        np.concatenate(ds),
        np.full(n * count, model.thrown / count),
        np.tile(place, count),
    )


def _pair(w: FloatArray, v: FloatArray) -> FloatArray:
    return np.stack([w, v], axis=1)


def _frame(edges: FloatArray, w: FloatArray, v: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return unit tangents and the normals that point back to where the drops came from."""
    t = edges[:, 2:] - edges[:, :2]
    t = t / np.hypot(t[:, 0], t[:, 1])[:, None]
    n = np.stack([-t[:, 1], t[:, 0]], axis=1)
    into = (n * _pair(w, v)).sum(axis=1) > 0.0
    n[into] *= -1.0
    return t, n

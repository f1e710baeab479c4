"""What happens when a drop hits a wall: caught, or partly thrown back as smaller drops.

The threshold is K = Oh Re^1.25 on the velocity normal to the wall, splash above 57.7 (Mundo,
Sommerfeld and Tropea 1995, Int. J. Multiphase Flow 21:151, from memory). How much is thrown back,
and in which sizes, is known only roughly, so every answer is computed at the corners of both
ranges. Amounts:

- mild: one fifth of the drop is thrown back, the lower end of Bai and Gosman 1996 (SAE 960626,
  from memory: 0.2 to 0.8 of the drop on a dry wall, 0.2 to 1.1 on a wetted one);
- severe: four fifths, and the threshold is applied to the whole velocity, because on the edges
  and wet faces of a slat a grazing drop is torn too.

Sizes: half, once and one and a half times a middle diameter, in equal mass. The middle one is 0.1
(fine), 0.2 (usual) or 0.4 (coarse) of the parent's diameter. Published number means lie between
about 0.05 and 0.35 (Mundo et al. 1995; Cossali, Coghe and Marengo 1997, Exp. Fluids 22:463; Okawa,
Shiraishi and Mori 2006, Exp. Fluids 41:965; Yarin 2006, Annu. Rev. Fluid Mech. 38:159; all from
memory), half the mass lies in drops up to twice as large; the exponential law of Bai and Gosman, as
read in an open flow solver, puts half the mass of rain's secondary drops above 0.4 to 0.5.

Directions 15, 40 and 65 degrees off the wall, forwards and backwards alike; 0.4 of the parent's
speed plus 0.6 of its speed along the wall: round numbers inside the ranges of the papers named.
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
from vent_family.evidence.water.house import (
    ALONG,
    EJECTION,
    SIZE_COARSE,
    SIZE_FINE,
    SIZE_USUAL,
    THROWN_MILD,
    THROWN_SEVERE,
)

K_SPLASH: Final = 57.7
SPREAD: Final = (0.5, 1.0, 1.5)
"""Diameters of secondary drops over their middle one."""
ANGLES_DEG: Final = (15.0, 40.0, 65.0)
GOLDEN: Final = 0.6180339887498949
LIFT_MM: Final = 1e-3
"""Secondary drops start this far off the wall."""


@dataclass(frozen=True, slots=True)
class SplashModel:
    """One assumption.

    ``thrown`` is the share of mass thrown back, ``whole_velocity`` says which velocity decides,
    ``size`` is the ratio of the middle secondary drop to its parent.
    """

    name: str
    thrown: float
    whole_velocity: bool
    size: float


def bracket() -> tuple[SplashModel, ...]:
    """Return the corners of amount and size: the mild ones first, each from fine to coarse."""
    amounts = (("mild", THROWN_MILD, False), ("severe", THROWN_SEVERE, True))
    sizes = (("fine", SIZE_FINE), ("usual", SIZE_USUAL), ("coarse", SIZE_COARSE))
    return tuple(
        SplashModel(f"{amount}, {drops}", thrown.now, whole, size.now)
        for amount, thrown, whole in amounts
        for drops, size in sizes
    )


BRACKET: Final = bracket()
MILD: Final = BRACKET[1]
SEVERE: Final = BRACKET[4]
"""With usual drops."""


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
    lot: FloatArray | None = None,
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
    lot
        share of a round of sizes and angles, 0 to 1, at which each impact begins, (n,); by default
        one that goes round
    """
    tangent, normal = _frame(edges, w, v)
    speed = np.hypot(w, v)
    along = (tangent * _pair(w, v)).sum(axis=1)
    n = speed.size
    place = np.arange(n)
    # Steps of the golden ratio, so that no pattern of slats falls in with the turns.
    start = (place * GOLDEN) % 1.0 if lot is None else lot
    sizes = model.size * np.array(SPREAD)
    turns = 1 if thinned else len(ANGLES_DEG)
    zs, ys, ws, vs, ds = [], [], [], [], []
    for turn in range(turns):
        first = (len(ANGLES_DEG) * start).astype(np.int64)
        angle = np.radians(np.array(ANGLES_DEG)[(first + turn) % len(ANGLES_DEG)])
        for sign in (1.0, -1.0):
            # Sizes go round over directions and impacts, so that every pair occurs.
            step = (9.0 * start).astype(np.int64) + turn + (0 if sign > 0 else 1)
            t = ALONG.now * along + EJECTION.now * speed * sign * np.cos(angle)
            r = EJECTION.now * speed * np.sin(angle)
            ws.append(t * tangent[:, 0] + r * normal[:, 0])
            vs.append(t * tangent[:, 1] + r * normal[:, 1])
            zs.append(z + LIFT_MM * normal[:, 0])
            ys.append(y + LIFT_MM * normal[:, 1])
            ds.append(sizes[step % sizes.size] * diameter_mm)
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

"""Sideways motion of drops between two ribs of a rolled vent.

A drop flies in the section's plane as if the ribs were not there; how far it has gone sideways by
the time it lands says how likely a rib stopped it before. Drops come evenly over a bay's width, so
the share that strikes a rib is the way sideways over that width, and the strikes lie evenly along
the way. Drag sideways is left out (a few milliseconds of flight), and in the plane the drag counts
the speed in the plane only: both err towards more water on the ribs.

What strikes a rib splashes as on a slat, by the velocity square to the rib or the whole one; what
stays runs down the rib as film. Its end is looked up on a lattice over the rib's face.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.water.flight import Landing
from vent_family.evidence.water.house import ALONG, EJECTION
from vent_family.evidence.water.posture.ribs import RibFace
from vent_family.evidence.water.splash import (
    ANGLES_DEG,
    GOLDEN,
    K_SPLASH,
    SPREAD,
    SplashModel,
    splash_k,
)

LATTICE_MM: Final = 2.0
LIGHTEST: Final = 2e-5
"""Secondary drops below this share of one label's water are laid down where they are."""


@dataclass(frozen=True, eq=False)
class Sideways:
    """Gravity along the slats of a rolled vent, the width of a bay, and the ribs' face.

    ``low_mm`` and ``high_mm`` (z, y) bound the face.
    """

    gravity_m_s2: float
    bay_mm: float
    face: RibFace
    low_mm: tuple[float, float]
    high_mm: tuple[float, float]

    def way_mm(self, u_m_s: FloatArray, time_s: FloatArray) -> FloatArray:
        """Return how far drops go sideways in a time; ``u_m_s`` is their speed at its start."""
        return np.asarray(np.abs(1e3 * (u_m_s * time_s + 0.5 * self.gravity_m_s2 * time_s**2)))

    def struck(self, u_m_s: FloatArray, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the shares (1) of drops that strike a rib, and where on their way, 0 to 1."""
        way = self.way_mm(u_m_s, time_s)
        share = np.asarray(np.minimum(way / self.bay_mm, 1.0))
        # Evenly over the way up to a bay's width, in steps that fall in with no pattern.
        lot = (np.arange(way.size) * GOLDEN) % 1.0
        return share, np.asarray(lot * np.minimum(self.bay_mm / np.maximum(way, 1e-12), 1.0))

    def ends(self, z_mm: FloatArray, y_mm: FloatArray) -> IntArray:
        """Return the ends of films that begin at some places."""
        (z0, y0), table = self.low_mm, self._table
        i = np.clip(np.rint((z_mm - z0) / LATTICE_MM), 0, table.shape[0] - 1).astype(np.int64)
        j = np.clip(np.rint((y_mm - y0) / LATTICE_MM), 0, table.shape[1] - 1).astype(np.int64)
        return np.asarray(table[i, j])

    @cached_property
    def _table(self) -> IntArray:
        z = np.arange(self.low_mm[0], self.high_mm[0] + LATTICE_MM, LATTICE_MM)
        y = np.arange(self.low_mm[1], self.high_mm[1] + LATTICE_MM, LATTICE_MM)
        zs, ys = (grid.ravel() for grid in np.meshgrid(z, y, indexing="ij"))
        code, _ = self.face.followed(zs, ys)
        return code.reshape(z.size, y.size)


@dataclass(frozen=True, eq=False)
class Struck:
    """What ribs took from drops in flight, one entry per drop, and what splashed off them.

    ``left`` is the share of each drop that flies on to its landing in the plane; ``stays`` the
    share that runs down a rib to ``end``. The splashed drops follow: places, velocities along z,
    y and x, diameters, and ``share``, the ratio of each to its parent.
    """

    left: FloatArray
    stays: FloatArray
    end: IntArray
    z_mm: FloatArray
    y_mm: FloatArray
    w_m_s: FloatArray
    v_m_s: FloatArray
    u_m_s: FloatArray
    diameter_mm: FloatArray
    share: FloatArray
    parent: IntArray


def strikes(
    side: Sideways,
    model: SplashModel | None,
    begin_mm: FloatArray,
    landing: Landing,
    u_m_s: FloatArray,
    diameter_mm: FloatArray,
    mass: FloatArray,
) -> Struck:
    """Return what ribs take from drops.

    Parameters
    ----------
    side
        the ribs
    model
        splash model; ``None`` where every contact catches
    begin_mm
        where the drops began, z and y, (2, n), mm
    landing
        where they would land without ribs
    u_m_s
        their speed sideways at the beginning, m/s
    diameter_mm
        their diameters, mm
    mass
        their masses, in any unit of which each label has one
    """
    share, part = side.struck(u_m_s, landing.time_s)
    z = begin_mm[0] + part * (landing.z_mm - begin_mm[0])
    y = begin_mm[1] + part * (landing.y_mm - begin_mm[1])
    u = u_m_s + side.gravity_m_s2 * part * landing.time_s
    stays = share.copy()
    hit = np.flatnonzero(share > 0.0)
    if model is not None:
        speed = np.sqrt(landing.w_m_s**2 + landing.v_m_s**2 + u**2)
        decisive = speed if model.whole_velocity else np.abs(u)
        hit = hit[splash_k(diameter_mm[hit], decisive[hit]) > K_SPLASH]
        hit = hit[share[hit] * mass[hit] > LIGHTEST]
        stays[hit] *= 1.0 - model.thrown
    else:
        hit = hit[:0]
    along = np.hypot(landing.w_m_s[hit], landing.v_m_s[hit])
    speed = np.hypot(along, u[hit])
    way = np.stack([landing.w_m_s[hit], landing.v_m_s[hit]]) / np.maximum(along, 1e-12)
    lot = np.arange(hit.size)
    angle = np.radians(np.array(ANGLES_DEG)[lot % len(ANGLES_DEG)])
    sizes = (0.0 if model is None else model.size) * np.array(SPREAD)
    children = []
    for k, sign in enumerate((1.0, -1.0)):
        t = ALONG.now * along + EJECTION.now * speed * sign * np.cos(angle)
        off = -np.sign(u[hit]) * EJECTION.now * speed * np.sin(angle)
        size = sizes[(lot + k) % sizes.size] * diameter_mm[hit]
        children.append((t * way[0], t * way[1], off, size))
    w, v, off, size = (np.concatenate(c) for c in zip(*children, strict=True))
    thrown = 0.0 if model is None else model.thrown
    return Struck(
        left=1.0 - share,
        stays=stays,
        end=side.ends(z, y),
        z_mm=np.tile(z[hit], 2),
        y_mm=np.tile(y[hit], 2),
        w_m_s=w,
        v_m_s=v,
        u_m_s=off,
        diameter_mm=size,
        share=np.tile(0.5 * thrown * share[hit], 2),
        parent=np.tile(hit, 2),
    )

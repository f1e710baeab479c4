"""How much of the water runs down ribs and side walls, and how much of that ends inside.

No model says how much of the water that a bank catches lands on the ribs and walls it hangs
between. It is bounded by the share of the wetted surface that they are (house assumption): drops
that come square to the vent strike slats, and only splash and slanting water strike ribs.
The films begin evenly over a rib's face where a bank stands; each is followed to its end. The lower
end of the range leaves the air out, the upper has the most that air can drag.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Final

import numpy as np
import shapely

from vent_family.base.arrays import FloatArray
from vent_family.evidence.facts import Fact
from vent_family.evidence.water.house import RIB_FILM
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.mounted import rib_end_mm, rib_face
from vent_family.evidence.water.posture.ribs import INSIDE, RibFace, air_drift
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec

STARTS: Final = (4, 12)
"""Films that are followed per bank: places across its depth, and over its height."""
_CLOSEST: Final = 1000
"""Places over a bank's height after which none is looked for between slats."""


@dataclass(frozen=True, slots=True)
class RibFilm:
    """Film on ribs and side walls; shares are of the arriving water, lower and upper bound.

    ``end_mm`` is how far in front of the sill the innermost film ends, negative behind it; a round
    head's sill is its back plate.
    """

    on_ribs_share: Annotated[float, Fact("share of the water that runs on ribs, at most", "1")]
    inside_low_share: Annotated[float, Fact("share that gets inside along ribs, air left out", "1")]
    inside_high_share: Annotated[
        float, Fact("share that gets inside along ribs, air dragging it", "1")
    ]
    end_mm: Annotated[
        float, Fact("where the innermost film ends, in front of the sill; negative: behind", "mm")
    ]
    drift_mm: Annotated[
        float, Fact("drift inwards of a film down the whole rib, slats left out", "mm")
    ]

    def sentence(self) -> str:
        """Return where the film ends, in words."""
        if self.end_mm > -1e-6 and self.inside_high_share > 0.0:
            return "the film on a rib gets to the back plate above the bore"
        side = "in front of" if self.end_mm >= 0.0 else "behind"
        back = " and runs back" if self.end_mm < 0.0 and self.inside_high_share == 0.0 else ""
        return f"the film on a rib ends {abs(self.end_mm):.1f} mm {side} the sill{back}"


@dataclass(frozen=True, eq=False)
class RibWays:
    """What becomes of films on the ribs of a vent in one mounting, bank by bank.

    ``on_ribs`` is the share of a bank's water that ribs carry, at most; ``inside_low`` and
    ``inside_high`` the share of those films that end inside; ``end_mm`` where the innermost of each
    bank's films ends in front of the sill, air left out and dragging.
    """

    on_ribs: FloatArray
    inside_low: FloatArray
    inside_high: FloatArray
    end_mm: FloatArray
    drift_mm: float

    def film(self, bank_share: tuple[float, ...]) -> RibFilm:
        """Return the film of water that the banks catch; ``bank_share`` is of what arrives."""
        share = np.array(bank_share) * self.on_ribs
        wet = share > 0.0
        return RibFilm(
            on_ribs_share=float(share.sum()),
            inside_low_share=float((share * self.inside_low).sum()),
            inside_high_share=float((share * self.inside_high).sum()),
            end_mm=float(self.end_mm[wet].min() if wet.any() else self.end_mm.max()),
            drift_mm=self.drift_mm,
        )


def rib_ways(vent: VentSpec, posture: Posture, face_velocity_m_s: float) -> RibWays:
    """Return what becomes of films on a vent's ribs; air of ``face_velocity_m_s`` drags them."""
    section = vent.section
    end_z = rib_end_mm(vent)
    sill_z = section.foot[0] if vent.body.neck is None else end_z
    slant = wall_steepness(vent)
    speed = fastest_m_s(section, face_velocity_m_s)
    drag = air_drift(speed, section.front_z_mm - end_z, RIB_FILM.now)
    # Ribs are flat; side walls may be round, and a film's way down a round wall is longer.
    faces = [
        [rib_face(section, posture, end_z, drift=d, steepness=k) for k in sorted({1.0, slant})]
        for d in (0.0, drag)
    ]
    low, high, ends = [], [], []
    for bank in range(section.stack.bank_count):
        z, y = starts(section, bank)
        parts = [[_inside(face, z, y) for face in kind] for kind in faces]
        low.append(max(p[0] for p in parts[0]))
        high.append(max(p[0] for kind in parts for p in kind))
        ends.append(min(p[1] for kind in parts for p in kind) - sill_z)
    height = section.ceiling_mm - section.drain_mm[0]
    dz, dy = faces[1][0].down
    return RibWays(
        on_ribs=np.array([rib_share(vent, bank) for bank in range(section.stack.bank_count)]),
        inside_low=np.array(low),
        inside_high=np.array(high),
        end_mm=np.array(ends),
        drift_mm=-height * dz / abs(dy) if abs(dy) > 1e-3 else math.copysign(height * 1e3, -dz),
    )


def _inside(face: RibFace, z: FloatArray, y: FloatArray) -> tuple[float, float]:
    """Return the share of films that end inside, and the innermost z (mm) of all their ends."""
    code, at = face.followed(z, y)
    return float((code == INSIDE).mean()), float(at.min())


@lru_cache(maxsize=256)
def starts(section: Section, bank: int) -> tuple[FloatArray, FloatArray]:
    """Return where films begin in one bank, z and y in mm: evenly over the face between slats.

    Where slats as evenly spaced hide every place, the places are taken closer.
    """
    across, up = STARTS
    z0, z1 = section.stack.bank_z(bank)
    outer = section.stack_z_mm[1]
    z = outer + z0 + (z1 - z0) * (np.arange(across) + 0.5) / across
    low, high = section.drain_mm[1], section.ceiling_mm
    while True:
        y = low + (high - low) * (np.arange(up) + 0.5) / up
        zs, ys = (grid.ravel() for grid in np.meshgrid(z, y))
        free = shapely.contains_xy(section.air, zs, ys)
        if free.any() or up > _CLOSEST:
            return zs[free], ys[free]
        up *= 3


@lru_cache(maxsize=256)
def rib_share(vent: VentSpec, bank: int) -> float:
    """Return the share of a bank's wetted surface that ribs and side walls are."""
    section = vent.section
    z0, z1 = section.stack.bank_z(bank)
    height = section.ceiling_mm - section.drain_mm[0]
    width = sum(b - a for a, b in vent.bays)
    walls = 2.0 * len(vent.bays) * (z1 - z0) * height
    slats = sum(
        math.dist(p, q)
        for slat in section.slats
        if slat.bank == bank
        for p, q in zip(slat.outline, (*slat.outline[1:], slat.outline[0]), strict=True)
    )
    return walls / (walls + slats * width)


@lru_cache(maxsize=64)
def wall_steepness(vent: VentSpec) -> float:
    """Return by how much longer the way down the side wall is than down a flat rib, a ratio.

    On a wall that leans by a from the vertical, weight pulls a film down by cos a only, and its way
    is 1 / cos a as long: the drift grows with 1 / cos^2 a, the mean over the height.
    """
    section, body = vent.section, vent.body
    y = np.linspace(section.drain_mm[0], section.ceiling_mm, 201)
    x = np.array([body.clear_half_width_mm(float(level)) for level in y])
    return float(np.mean(1.0 + (np.diff(x) / np.diff(y)) ** 2))


def fastest_m_s(section: Section, face_velocity_m_s: float) -> float:
    """Return the air's speed where the section is narrowest; ``face_velocity_m_s`` on its face."""
    return abs(face_velocity_m_s) * section.front_height_mm / section.narrowest_mm

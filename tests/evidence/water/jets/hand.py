"""Sections laid out by hand for jets: plates in front of a wide hole, channel slats."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from tests.helpers.rows import spec
from vent_family.evidence.water.jets.rules import CLEAN, Assumption, rules_of
from vent_family.evidence.water.jets.trace import Trail, follow
from vent_family.evidence.water.jets.walls import Walls, walls_of
from vent_family.spec.section import Outline, Section, Slat

NO_GRAVITY = (0.0, -1e-9)


def plate(z0: float, z1: float, y0: float, y1: float) -> Outline:
    """Return a rectangle."""
    return ((z0, y0), (z1, y0), (z1, y1), (z0, y1))


@cache
def _pattern() -> Section:
    return spec(slat_form="flat").section


def section_of(
    slats: list[tuple[int, Outline]],
    *,
    half_mm: float = 150.0,
    lower: tuple[Outline, tuple[float, float], tuple[float, float], tuple[float, float]]
    | None = None,
    apron: Outline | None = None,
    ceiling_mm: float | None = None,
    inner_z_mm: float = -40.0,
) -> Section:
    """Return a section with these slats (bank, outline); without a floor a hole, z = 0 in front."""
    shelf, sill, foot, brink = lower or (
        ((inner_z_mm, -half_mm),),
        (-2.0, -half_mm),
        (-2.0, -half_mm - 5.0),
        (0.0, -half_mm - 6.0),
    )
    top = half_mm if ceiling_mm is None else ceiling_mm
    corners = [p for _, ring in slats for p in ring]
    return replace(
        _pattern(),
        stack=replace(_pattern().stack, gaps_mm=(3.0,) * max(b for b, _ in slats)),
        slats=tuple(Slat(b, r, (r,), (r,), True, False) for b, r in slats),
        shelf=shelf,
        sill=sill,
        foot=foot,
        brink=brink,
        upper=((inner_z_mm, top), (brink[0], top)),
        apron=apron or plate(-1.0, 0.0, brink[1] + 3.0, brink[1] + 4.0),
        stack_z_mm=(min(z for z, _ in corners), max(z for z, _ in corners)),
        ceiling_mm=top,
        drain_mm=(brink[1], brink[1] + 3.0),
    )


class Shot:
    """One jet through a section: shares by place, and the paths."""

    def __init__(
        self,
        section: Section,
        height_mm: float,
        *,
        elevation_deg: float = 0.0,
        bore_mm: float = 6.0,
        speed_m_s: float = 11.8,
        assumption: Assumption = CLEAN,
        gravity_m_s2: tuple[float, float] = NO_GRAVITY,
        pool_mm: float = 0.0,
    ) -> None:
        self.walls: Walls = walls_of(section, pool_mm)
        c, s = np.cos(np.radians(elevation_deg)), np.sin(np.radians(elevation_deg))
        start = [
            self.walls.front_z_mm + 2.0,
            height_mm - 0.5 * bore_mm / c + 2.0 * s / c,
            0.0,
            bore_mm / c,
            -speed_m_s * c,
            -speed_m_s * s,
        ]
        trail = Trail.of(20_000, 20_000)
        rules = rules_of(assumption, gravity_m_s2, cut=0.002, grain=0.01, rays=48)
        columns = self.walls.slats + 4
        aims, seeds = np.array([start]), np.array([0.5])
        self.out = follow(self.walls.arrays, rules, aims, bore_mm, seeds, columns, trail)[0]
        self.nodes = trail.nodes[: int(trail.tally[0])]
        self.leaves = trail.leaves[: int(trail.tally[1])]

    @property
    def inside(self) -> float:
        """Share that got inside without dripping."""
        return float(self.out[self.walls.inside])

    @property
    def returned(self) -> float:
        """Share that left in front."""
        return float(self.out[self.walls.returned])

    def ends(self) -> list[tuple[float, float, float, float]]:
        """Return z, y, weight and direction (deg, 0 inwards, 90 upwards) of every end in the air.

        The direction is that of the last straight stretch.
        """
        found = []
        for node, _, weight in self.leaves:
            z, y, parent, _ = self.nodes[int(node)]
            z0, y0 = self.nodes[int(parent), :2]
            angle = float(np.degrees(np.arctan2(y - y0, z0 - z)))
            found.append((float(z), float(y), float(weight), angle))
        return found


def channels() -> Section:
    """Return four banks of channel slats, the first in front of the trough, a drain downwards.

    Upright webs of 1.2 mm with lips of 2.5 mm outwards at both edges, 9 mm high at a pitch of 12,
    gaps 6, 3 and 3 mm.
    """
    slats = []
    for bank, face in enumerate((0.0, -9.7, -16.4, -23.1)):
        for k in range(-3, 4):
            middle = 12.0 * k + (6.0 if bank % 2 else 0.0)
            low, high = middle - 4.5, middle + 4.5
            cut = bank == 2 and k == -2
            if cut:
                low = -24.5
            if low < -28.6 or high > 30.0:
                continue
            back, web = face - 3.7, face - 2.5
            ring = [(back, low), (face, low), (face, low + 1.2), (web, low + 1.2)]
            if cut:
                ring = [(back, low), (web, low)]
            ring += [(web, high - 1.2), (face, high - 1.2), (face, high), (back, high)]
            slats.append((bank, tuple(ring)))
    return section_of(
        slats,
        lower=(((-31.4, -20.0),), (-29.8, -20.0), (-29.8, -28.0), (-10.5, -29.5)),
        apron=plate(-7.5, -5.7, -35.0, -24.0),
        ceiling_mm=30.0,
        inner_z_mm=-31.4,
    )

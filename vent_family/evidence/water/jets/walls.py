"""What a jet can run along: the outlines of a section as rings of edges, with who owns them.

Slats, apron, floor, sill and ceiling are joined into one solid first, so that a sheet which runs
along one of them finds the corner where it meets the next. Water that stands in the trough is a
region of its own, and takes up what enters it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, NamedTuple

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.evidence.water.boundary import CELL_MM, cells
from vent_family.spec.section import Section

BEFORE_MM: Final = 12.0
"""Depth of free air in front of the outermost solid."""
ASIDE_MM: Final = 60.0
"""Free air above and below, more than the steepest, thickest jet comes from."""
GRAIN_MM: Final = 1e-6
"""Outlines are joined on this grid."""
INTO_MM: Final = 1e-3
"""How far behind its edge a solid is asked for."""

# Owners beyond the slats, counted from the number of slats: ``FLOOR`` is floor and sill, ``FRONT``
# the outer face of the apron and all that lies past the brink, ``INSIDE`` the inner plane and what
# else lies behind the sill or above a bore.
CEILING, FLOOR, APRON, FRONT, INSIDE, OUTSIDE, POOL = range(7)
COLUMN: Final = (0, 0, 2, 1, 2, 0)
"""Where water on each of them but the ceiling is booked: trough, inside, returned."""


class Arrays(NamedTuple):
    """The walls as the compiled code takes them; see :class:`Walls`."""

    edges: FloatArray
    tangent: FloatArray
    normal: FloatArray
    length: FloatArray
    after: IntArray
    before: IntArray
    opening: BoolArray
    sink: BoolArray
    slot: IntArray
    start: IntArray
    items: IntArray
    grid: FloatArray
    shape: IntArray


@dataclass(frozen=True, eq=False)
class Walls:
    """Edges around the air of a section, air on their left.

    ``arrays`` holds, per edge: ``edges`` (n, 4) z0, y0, z1, y1 in mm; ``tangent`` and ``normal``
    (into the air), unit vectors; ``length`` in mm; ``after`` and ``before``, the neighbours round
    the ring; ``opening``, no wall but the end of the domain; ``sink``, water that strikes it has
    come to its end; ``slot``, the column in which water that stays there is booked. ``start``,
    ``items``, ``grid`` and ``shape`` list the edges per cell as in the boundary of drops.

    Columns are the ``slats`` in the order of the section, the ceiling, and then ``trough``,
    ``inside`` and ``returned``. ``front_z_mm`` is the outermost solid's front.
    """

    arrays: Arrays
    owner: IntArray
    slats: int
    front_z_mm: float

    @property
    def trough(self) -> int:
        """Column of the trough."""
        return self.slats + 1

    @property
    def inside(self) -> int:
        """Column of the inside."""
        return self.slats + 2

    @property
    def returned(self) -> int:
        """Column of water thrown back out."""
        return self.slats + 3


@lru_cache(maxsize=64)
def walls_of(section: Section, pool_mm: float = 0.0) -> Walls:
    """Return the walls of a section whose trough is filled to a depth over the drain's edge, mm."""
    outlines = [s.outline for s in section.slats] + [section.apron]
    front = max(section.front_z_mm, *(z for ring in outlines for z, _ in ring))
    low, high = section.lowest_mm - ASIDE_MM, section.highest_mm + ASIDE_MM
    domain = box(section.inner_z_mm, low, front + BEFORE_MM, high)
    ground, roof = section.ground(low - 1.0), section.roof(high + 1.0)
    solids = [Polygon(ring) for ring in outlines]
    pool = _pool(section, pool_mm)
    solid = unary_union([shapely.set_precision(s, GRAIN_MM) for s in (*solids, ground, roof, pool)])
    air = shapely.set_precision(domain.difference(solid), GRAIN_MM)
    rings = _rings(air)
    edges = np.concatenate([np.hstack([r, np.roll(r, -1, axis=0)]) for r in rings])
    count = np.array([len(r) for r in rings])
    first = np.repeat(np.concatenate([[0], np.cumsum(count)[:-1]]), count)
    place = np.arange(len(edges))
    size = np.repeat(count, count)
    step = edges[:, 2:] - edges[:, :2]
    length = np.hypot(step[:, 0], step[:, 1])
    tangent = step / length[:, None]
    normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
    behind = 0.5 * (edges[:, :2] + edges[:, 2:]) - INTO_MM * normal
    owner, opening = _owners(section, behind, solids, ground, roof, pool, domain)
    grid = np.array([section.inner_z_mm - CELL_MM, low - CELL_MM, CELL_MM])
    shape = (
        math.ceil((front + BEFORE_MM - section.inner_z_mm) / CELL_MM) + 3,
        math.ceil((high - low) / CELL_MM) + 3,
    )
    start, items = cells(edges, grid, shape)
    n = len(section.slats)
    column = np.array([*range(n + 1), *(n + 1 + k for k in COLUMN)], dtype=np.int64)
    arrays = Arrays(
        edges=np.ascontiguousarray(edges),
        tangent=np.ascontiguousarray(tangent),
        normal=np.ascontiguousarray(normal),
        length=length,
        after=first + (place - first + 1) % size,
        before=first + (place - first - 1) % size,
        opening=opening,
        sink=opening | (owner >= n + INSIDE),
        slot=column[owner],
        start=start,
        items=items,
        grid=grid,
        shape=np.array(shape, dtype=np.int64),
    )
    return Walls(arrays, owner, n, front)


def _pool(section: Section, depth_mm: float) -> Any:
    """Return the water standing in the trough, level, up to a depth over the drain's edge."""
    level = min(section.brink[1] + depth_mm, section.sill_top_mm)
    (z0, _), (z1, low) = section.foot, section.brink
    # A trough that stands over a step reaches down to its own floor only.
    bottom = low - 1e-3 if section.sheltered else section.lowest_mm - 1.0
    surface = box(z0 - 1e-3, bottom, z1, level)
    return surface.difference(section.ground(section.lowest_mm - 2.0))


def _rings(air: Any) -> list[FloatArray]:
    """Return the rings of the air, air on their left, each without its repeated last point."""
    rings = []
    for part in getattr(air, "geoms", [air]):
        turned = orient(part, 1.0)
        for ring in (turned.exterior, *turned.interiors):
            rings.append(np.array(ring.coords)[:-1])
    return rings


def _owners(
    section: Section,
    behind: FloatArray,
    solids: list[Polygon],
    ground: Polygon,
    roof: Polygon,
    pool: Any,
    domain: Polygon,
) -> tuple[IntArray, BoolArray]:
    """Return who owns the edges with solid at these points, and which edges are open."""
    n = len(section.slats)
    z, y = behind[:, 0], behind[:, 1]
    owner = np.full(len(behind), n + OUTSIDE, dtype=np.int64)
    opening = ~shapely.contains_xy(domain, z, y)
    owner[opening & (z < section.inner_z_mm)] = n + INSIDE

    def claim(shape: Any, who: int, where: BoolArray | None = None) -> None:
        mine = shapely.contains_xy(shape, z, y) & ~opening
        owner[mine if where is None else mine & where] = who

    # Later claims win: a slat that grows out of the ceiling is a slat.
    in_front = z > section.front_z_mm - 2.0 * INTO_MM
    claim(pool, n + POOL)
    claim(ground, n + FLOOR)
    claim(ground, n + INSIDE, z < section.sill[0] - 2.0 * INTO_MM)
    if section.sheltered:
        past_brink = (z > section.brink[0] - 2.0 * INTO_MM) | (
            y < section.outlet[0][1] + 2.0 * INTO_MM
        )
        # What leads out below the trough turns a jet and returns what stays on it.
        claim(ground, n + FRONT, past_brink)
    claim(ground, n + OUTSIDE, in_front & (y < section.lower[-1][1]))
    claim(roof, n + CEILING)
    # What runs down a back plate above its bore gets there.
    claim(roof, n + INSIDE, z < section.upper[-2][0])
    claim(roof, n + OUTSIDE, in_front & (y > section.upper[-1][1] + 0.5 * INTO_MM))
    claim(solids[-1], n + APRON)
    claim(solids[-1], n + FRONT, None if section.sheltered else in_front)
    for k, shape in enumerate(solids[:-1]):
        claim(shape, k)
    return owner, opening

"""What a drop can hit: the edges of slats and walls, with who owns them, sorted into cells."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.compiled import compiled
from vent_family.spec.section import Section

CELL_MM: Final = 1.0
OUTSIDE_MM: Final = 8.0
"""A drop this far in front of the outer plane has left."""


@dataclass(frozen=True, eq=False)
class Boundary:
    """Edges of the section and the cells they run through.

    ``edges`` has the shape (n, 4): z0, y0, z1, y1 in mm. ``owner`` numbers the surfaces: slats
    first (in the order of the section), then ``ceiling``, ``trough`` (runs to the drain),
    ``inside`` (behind the sill: counts as passed) and ``face`` (outer face and what leads out below
    the trough: counts as returned).
    ``start`` and ``items`` list the edges per cell; ``grid`` holds z and y of the first cell and
    the cells' size, mm; ``limits`` holds z and y bounds of the domain, mm.
    """

    edges: FloatArray
    owner: IntArray
    bank: IntArray
    start: IntArray
    items: IntArray
    grid: FloatArray
    shape: tuple[int, int]
    limits: FloatArray

    @property
    def slat_count(self) -> int:
        """Number of slats."""
        return len(self.bank)

    @property
    def ceiling(self) -> int:
        """Owner number of the ceiling."""
        return len(self.bank)

    @property
    def trough(self) -> int:
        """Owner number of floor, sill's front and apron."""
        return len(self.bank) + 1

    @property
    def inside(self) -> int:
        """Owner number of the surfaces behind the sill."""
        return len(self.bank) + 2

    @property
    def face(self) -> int:
        """Owner number of the outer face."""
        return len(self.bank) + 3


@lru_cache(maxsize=32)
def boundary_of(section: Section) -> Boundary:
    """Return the boundary of a section."""
    edges: list[tuple[float, float, float, float]] = []
    owner: list[int] = []
    n = len(section.slats)

    def add(p: tuple[float, float], q: tuple[float, float], who: int) -> None:
        edges.append((*p, *q))
        owner.append(who)

    for k, slat in enumerate(section.slats):
        ring = slat.outline
        for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
            add(p, q, k)
    for p, q in itertools.pairwise(section.upper):
        # What runs down a back plate above its bore gets there.
        add(p, q, n if q == section.upper[-1] else n + 2)
    for p, q in itertools.pairwise((*section.shelf, section.sill)):
        add(p, q, n + 2)
    for p, q in itertools.pairwise(section.trough_line):
        add(p, q, n + 1)
    for p, q in itertools.pairwise((section.brink, *section.outlet)):
        # Past the brink all runs out.
        add(p, q, n + 3)
    ring = section.apron
    front = section.front_z_mm
    for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
        outer = abs(p[0] - front) < 1e-9 and abs(q[0] - front) < 1e-9
        # An apron that shelters the drain stands over the floor below it.
        add(p, q, n + 3 if outer or section.sheltered else n + 1)
    low, high = section.lowest_mm - OUTSIDE_MM, section.highest_mm + OUTSIDE_MM
    add(section.lower[-1], (front, low - 1.0), n + 3)
    add(section.upper[-1], (front, high + 1.0), n + 3)

    array = np.array(edges, dtype=float)
    limits = np.array([section.inner_z_mm, front + OUTSIDE_MM, low, high])
    grid = np.array([limits[0] - CELL_MM, limits[2] - CELL_MM, CELL_MM])
    shape = (
        math.ceil((limits[1] - limits[0]) / CELL_MM) + 3,
        math.ceil((limits[3] - limits[2]) / CELL_MM) + 3,
    )
    start, items = cells(array, grid, shape)
    return Boundary(
        edges=array,
        owner=np.array(owner, dtype=np.int64),
        bank=np.array([s.bank for s in section.slats], dtype=np.int64),
        start=start,
        items=items,
        grid=grid,
        shape=shape,
        limits=limits,
    )


def cells(edges: FloatArray, grid: FloatArray, shape: tuple[int, int]) -> tuple[IntArray, IntArray]:
    """Return the edges per cell, each edge in every cell its bounding box touches piecewise.

    ``edges`` (n, 4) and ``grid`` (z and y of the first cell, size) in mm; the edges of cell k are
    ``items[start[k] : start[k + 1]]`` of the two arrays returned.
    """
    size = float(grid[2])
    # Long edges are cut up, so that a slanting one does not fill its whole box.
    parts = [
        max(1, math.ceil(math.hypot(z1 - z0, y1 - y0) / size)) for z0, y0, z1, y1 in edges.tolist()
    ]
    start, items = _sorted_in(
        np.ascontiguousarray(edges, dtype=float),
        np.array(parts, dtype=np.int64),
        np.ascontiguousarray(grid, dtype=float),
        shape[0],
        shape[1],
    )
    return start, items


@compiled(error_model="numpy")
def _sorted_in(
    edges: FloatArray, parts: IntArray, grid: FloatArray, nz: int, ny: int
) -> tuple[IntArray, IntArray]:
    """Return the edges per cell; ``parts`` says into how many each edge is cut up."""
    size = grid[2]
    start = np.zeros(nz * ny + 1, dtype=np.int64)
    items = np.empty(0, dtype=np.int64)
    filled = np.zeros(nz * ny, dtype=np.int64)
    # First the edges of each cell are counted, then they are put in, in their own order.
    for put_in in (False, True):
        last = np.full(nz * ny, -1, dtype=np.int64)
        for k in range(edges.shape[0]):
            z0, y0, z1, y1 = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
            n = parts[k]
            for m in range(n):
                za, zb = z0 + (z1 - z0) * m / n, z0 + (z1 - z0) * (m + 1) / n
                ya, yb = y0 + (y1 - y0) * m / n, y0 + (y1 - y0) * (m + 1) / n
                ia, ib = int((za - grid[0]) // size), int((zb - grid[0]) // size)
                ja, jb = int((ya - grid[1]) // size), int((yb - grid[1]) // size)
                for i in range(max(min(ia, ib), 0), min(max(ia, ib), nz - 1) + 1):
                    for j in range(max(min(ja, jb), 0), min(max(ja, jb), ny - 1) + 1):
                        cell = i * ny + j
                        if last[cell] == k:
                            continue
                        last[cell] = k
                        if put_in:
                            items[start[cell] + filled[cell]] = k
                            filled[cell] += 1
                        else:
                            start[cell + 1] += 1
        if not put_in:
            start = np.cumsum(start)
            items = np.empty(start[-1], dtype=np.int64)
    return start, items

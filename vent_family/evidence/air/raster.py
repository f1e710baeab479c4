"""From outlines to a lattice: which nodes are solid, and how far each link runs to the wall.

The point of a sharp edge may lie between the nodes, its last step or so without one inside. Links
that cross it from air to air are walls on both sides; without them sharp edges come out blunt, and
folded slats and planks 3 to 10 % too easy to pass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.ops import unary_union

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.evidence.air.lattice import (
    CX,
    CY,
    Links,
    bounce_links,
)

Ring = Sequence[tuple[float, float]]

NEAR_CORNER: Final = 2.5
"""How far from a corner links are looked at that may cross a sharp edge, in steps."""
THIN: Final = 1e-6
"""Least thickness of a wall between two nodes, as a share of the link through it."""


@dataclass(frozen=True)
class Grid:
    """A regular grid over a plane (s, y): s along the flow, y up; lengths in mm.

    Node (j, i) lies at ``s0 + (i + 0.5) step``, ``y0 + (j + 0.5) step``; rows wrap around.

    Examples
    --------
    >>> grid = Grid(s0_mm=-1.0, y0_mm=0.0, step_mm=0.5, ny=4, nx=3)
    >>> grid.height_mm, grid.s_mm().tolist(), grid.y_mm().tolist()
    (2.0, [-0.75, -0.25, 0.25], [0.25, 0.75, 1.25, 1.75])
    """

    s0_mm: float
    y0_mm: float
    step_mm: float
    ny: int
    nx: int

    @property
    def height_mm(self) -> float:
        """Height after which the grid repeats."""
        return self.ny * self.step_mm

    def s_mm(self) -> FloatArray:
        """Return the (nx,) positions of the columns."""
        return self.s0_mm + (np.arange(self.nx, dtype=np.float64) + 0.5) * self.step_mm

    def y_mm(self) -> FloatArray:
        """Return the (ny,) heights of the rows."""
        return self.y0_mm + (np.arange(self.ny, dtype=np.float64) + 0.5) * self.step_mm


@dataclass(frozen=True)
class Raster:
    """A grid with its solid nodes and wall links."""

    grid: Grid
    solid: BoolArray
    links: Links


def rasterise(grid: Grid, rings: Sequence[Ring]) -> Raster:
    """Return the lattice of closed outlines (s, y) in mm, repeated by the grid's height.

    Examples
    --------
    A square of 1 mm holds 2 x 2 nodes of a grid of half a millimetre:

    >>> square = [(0.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0)]
    >>> int(rasterise(Grid(-1.0, 0.0, 0.5, 8, 8), [square]).solid.sum())
    4
    """
    period = grid.height_mm
    copies = [[(s, y + m * period) for s, y in ring] for ring in rings for m in (-1, 0, 1)]
    window = shapely.box(
        grid.s0_mm - 1,
        grid.y0_mm - 2 * grid.step_mm,
        grid.s0_mm + grid.nx * grid.step_mm + 1,
        grid.y0_mm + period + 2 * grid.step_mm,
    )
    # Touching pieces (the legs of a folded slat) become one body: no wall inside a body.
    body = unary_union([Polygon(c) for c in copies]).intersection(window)
    shapely.prepare(body)
    ss, yy = np.meshgrid(grid.s_mm(), grid.y_mm())
    solid = np.asarray(shapely.contains_xy(body, ss, yy), dtype=bool)
    edges = _edges(body)
    distance = np.full((9, grid.ny, grid.nx), 0.5)
    crossed = np.zeros((9, grid.ny, grid.nx), dtype=bool)
    pointed = _near_corners(grid, edges, ss, yy)
    for k in range(1, 9):
        behind = np.roll(solid, (-CY[k], -CX[k]), (0, 1))
        step = grid.step_mm * np.array([CX[k], CY[k]], dtype=float)
        j, i = np.nonzero(~solid & behind)
        if len(j):
            first = _crossings(np.column_stack([ss[j, i], yy[j, i]]), step, edges).min(axis=1)
            # A node grazing a corner may find no edge: the wall is then taken half way.
            distance[k, j, i] = np.where(np.isfinite(first), first, 0.5)
        j, i = np.nonzero(~solid & ~behind & pointed)
        if len(j):
            met = _crossings(np.column_stack([ss[j, i], yy[j, i]]), step, edges)
            first = met.min(axis=1)
            last = np.where(np.isfinite(met), met, -np.inf).max(axis=1)
            through = np.isfinite(first) & (last > first + THIN)
            crossed[k, j[through], i[through]] = True
            distance[k, j[through], i[through]] = first[through]
    return Raster(grid, solid, bounce_links(solid, distance, crossed=crossed))


def _near_corners(grid: Grid, edges: FloatArray, ss: FloatArray, yy: FloatArray) -> BoolArray:
    """Return the nodes (ny, nx) from which a link can cross a body's sharp edge, and few others.

    ``ss`` and ``yy`` are the nodes' places, mm.
    """
    near = np.zeros(ss.shape, dtype=bool)
    reach = NEAR_CORNER * grid.step_mm
    for s, y in edges[:, :2]:
        near |= (np.abs(ss - s) < reach) & (np.abs(yy - y) < reach)
    return near


def _edges(body: shapely.Geometry) -> FloatArray:
    """Return the boundary edges (n, 4) as s, y of both ends."""
    rows: list[FloatArray] = []
    parts = getattr(body, "geoms", [body])
    for part in parts:
        if not isinstance(part, Polygon) or part.is_empty:
            continue
        for ring in (part.exterior, *part.interiors):
            xy = np.asarray(ring.coords)
            rows.append(np.hstack([xy[:-1], xy[1:]]))
    return np.vstack(rows) if rows else np.zeros((0, 4))


def _crossings(start: FloatArray, step: FloatArray, edges: FloatArray) -> FloatArray:
    """Return for each start point (rows) the shares of ``step`` at which it meets each edge.

    Infinite where it does not.
    """
    a, d = edges[:, :2], edges[:, 2:] - edges[:, :2]
    cross = step[0] * d[:, 1] - step[1] * d[:, 0]
    gap_s = a[None, :, 0] - start[:, None, 0]
    gap_y = a[None, :, 1] - start[:, None, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap_s * d[:, 1] - gap_y * d[:, 0]) / cross
        r = (gap_s * step[1] - gap_y * step[0]) / cross
    good = (t > -1e-9) & (t <= 1 + 1e-9) & (r >= -1e-9) & (r <= 1 + 1e-9)
    return np.where(good, t, np.inf)

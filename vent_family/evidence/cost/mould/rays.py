"""Rays along an axis from points beside a mesh: how far up and down nothing stands in the way.

All rays of one call run along the same axis, so a point meets those triangles only whose shadow on
the plane across it holds the point. The shadows are sorted into square cells once.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.compiled import compiled

CELL_MM: Final = 1.5
"""Side of a cell, mm: some slat thicknesses, so that a cell holds few triangles of each level."""
CELLS_MAX: Final = 1_000_000
"""Most cells; a larger part gets larger ones."""
EDGE_SHARE: Final = 1e-9
"""A point so little outside a shadow, as a share of its edge, still lies in it: no ray slips
between two triangles."""


def clear_ways(
    vertices: FloatArray, triangles: IntArray, points: FloatArray, axis: int
) -> tuple[FloatArray, FloatArray]:
    """Return how far each point sees along an axis before it meets a triangle, mm; inf if never.

    Parameters
    ----------
    vertices, triangles : (n, 3) and (m, 3) arrays
        What may stand in the way, mm; the mesh may have holes.
    points : (k, 3) array
        Where the rays begin, mm; none may lie in a triangle.
    axis : int
        0, 1 or 2 for x, y or z.

    Returns
    -------
    tuple of (k,) arrays
        Ways in the axis's sense and against it, mm.

    Examples
    --------
    From the middle between two plates, 4 mm apart, and from beside them:

    >>> plate = [[-1.0, -1, 0], [3, -1, 0], [-1, 3, 0]]
    >>> both = np.array([*plate, *(np.array(plate) + [0, 0, 4.0])])
    >>> up, down = clear_ways(both, np.array([[0, 1, 2], [3, 4, 5]]),
    ...                       np.array([[0.0, 0, 2], [9, 9, 2]]), 2)
    >>> up.tolist(), down.tolist()
    ([2.0, inf], [2.0, inf])
    """
    u, v = ((1, 2), (2, 0), (0, 1))[axis]
    above = np.full(len(points), np.inf)
    below = np.full(len(points), np.inf)
    if len(triangles) == 0 or len(points) == 0:
        return above, below
    corners = np.ascontiguousarray(vertices[triangles][:, :, [u, v, axis]])
    sides = corners[:, 1:, :2] - corners[:, :1, :2]
    shadow = sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0]
    # A triangle that stands along the rays has no shadow, and no ray meets it.
    corners = corners[np.abs(shadow) > 1e-9]
    if len(corners) == 0:
        return above, below
    low, high = corners[:, :, :2].min(axis=(0, 1)), corners[:, :, :2].max(axis=(0, 1))
    spread = high - low
    cell = max(CELL_MM, math.sqrt(float(spread[0] * spread[1]) / CELLS_MAX))
    shape = np.maximum(np.ceil(spread / cell), 1.0).astype(np.int64)
    first = ((corners[:, :, :2].min(axis=1) - low) / cell).astype(np.int64)
    last = ((corners[:, :, :2].max(axis=1) - low) / cell).astype(np.int64)
    first, last = np.minimum(first, shape - 1), np.minimum(last, shape - 1)
    starts, held = _cells(first, last, shape)
    mine = np.ascontiguousarray(points[:, [u, v, axis]])
    _search(mine, corners, starts, held, low, cell, shape, EDGE_SHARE, above, below)
    return above, below


def _cells(first: IntArray, last: IntArray, shape: IntArray) -> tuple[IntArray, IntArray]:
    """Return the triangles of all cells one after another, and where each cell's begin."""
    counts = (last - first + 1).prod(axis=1)
    triangle = np.repeat(np.arange(len(first)), counts)
    within = np.arange(len(triangle)) - np.repeat(np.cumsum(counts) - counts, counts)
    rows = (last[:, 1] - first[:, 1] + 1)[triangle]
    i = first[triangle, 0] + within // rows
    j = first[triangle, 1] + within % rows
    cell = i * shape[1] + j
    order = np.argsort(cell, kind="stable")
    starts = np.searchsorted(cell[order], np.arange(shape[0] * shape[1] + 1))
    return starts.astype(np.int64), triangle[order].astype(np.int64)


@compiled()
def _search(
    points: FloatArray,
    corners: FloatArray,
    starts: IntArray,
    held: IntArray,
    low: FloatArray,
    cell: float,
    shape: IntArray,
    edge_share: float,
    above: FloatArray,
    below: FloatArray,
) -> None:
    """Fill ``above`` and ``below`` (mm) with the nearest crossings; the axis comes last."""
    for k in range(len(points)):
        x, y, z = points[k, 0], points[k, 1], points[k, 2]
        i = math.floor((x - low[0]) / cell)
        j = math.floor((y - low[1]) / cell)
        if i < 0 or j < 0 or i > shape[0] or j > shape[1]:
            continue
        i, j = min(i, shape[0] - 1), min(j, shape[1] - 1)
        place = i * shape[1] + j
        for at in range(starts[place], starts[place + 1]):
            t = held[at]
            x0, y0, z0 = corners[t, 0, 0] - x, corners[t, 0, 1] - y, corners[t, 0, 2]
            x1, y1, z1 = corners[t, 1, 0] - x, corners[t, 1, 1] - y, corners[t, 1, 2]
            x2, y2, z2 = corners[t, 2, 0] - x, corners[t, 2, 1] - y, corners[t, 2, 2]
            a = x1 * y2 - x2 * y1
            b = x2 * y0 - x0 * y2
            c = x0 * y1 - x1 * y0
            whole = a + b + c
            slack = edge_share * abs(whole)
            if whole > 0.0:
                if a < -slack or b < -slack or c < -slack:
                    continue
            elif a > slack or b > slack or c > slack:
                continue
            way = (a * z0 + b * z1 + c * z2) / whole - z
            if way >= 0.0:
                above[k] = min(above[k], way)
            else:
                below[k] = min(below[k], -way)

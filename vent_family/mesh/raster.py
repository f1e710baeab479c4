"""Which triangle of a mesh is nearest at each pixel, and how light from one direction falls there.

Compiled, without a graphics library: a picture is the same bytes on every machine.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from vent_family.base.arrays import FloatArray, IntArray


def foremost(
    points: FloatArray, triangles: IntArray, rows: int, columns: int
) -> tuple[IntArray, FloatArray]:
    """Return the nearest triangle at each pixel's middle, -1 for none, and its height there.

    Parameters
    ----------
    points : (n, 3) array
        Vertices: columns from the left and rows from the top, px, and a height that grows towards
        the viewer, -inf where nothing is.
    triangles : (m, 3) array
        Vertices of each triangle.
    rows, columns : int
        Size of the picture, px.

    Examples
    --------
    A triangle over the left lower half of 3 x 3 pixels, and one above it in the corner:

    >>> low = [[0.0, 0, 1], [0, 3, 1], [3, 3, 1]]
    >>> high = [[0.0, 2, 4], [0, 3, 4], [1, 3, 4]]
    >>> ids, _ = foremost(np.array(low + high), np.array([[0, 1, 2], [3, 4, 5]]), 3, 3)
    >>> ids.tolist()
    [[0, -1, -1], [0, 0, -1], [1, 0, 0]]
    """
    ids = np.full((rows, columns), -1, dtype=np.int64)
    heights = np.full((rows, columns), -np.inf)
    _fill(np.ascontiguousarray(points), np.ascontiguousarray(triangles), ids, heights)
    return ids, heights


def lit_share(
    places: FloatArray,
    normals: FloatArray,
    frame: FloatArray,
    map_mm: float,
    heights: FloatArray,
    bias_mm: float,
) -> FloatArray:
    """Return which share of each place light from one direction reaches, from 0 to 1 (1).

    Parameters
    ----------
    places, normals : (n, 3) arrays
        Places, mm from the map's middle, and the faces' unit normals (1) there.
    frame : (3, 3) array
        Unit vectors (1) to the right and down in the map, and towards the light.
    map_mm : float
        Length that the map's side stands for, mm.
    heights : (m, m) array
        Height of the nearest face towards the light, mm, as :func:`foremost` returns it.
    bias_mm : float
        How far before a face a place is looked up, mm: pixels are no points.
    """
    found = np.empty(len(places))
    _look_up(places, normals, frame, map_mm, heights, bias_mm, found)
    return found


@njit(cache=True)  # type: ignore[untyped-decorator]
def _fill(points: FloatArray, triangles: IntArray, ids: IntArray, heights: FloatArray) -> None:
    rows, columns = ids.shape
    for k in range(len(triangles)):
        a, b, c = points[triangles[k, 0]], points[triangles[k, 1]], points[triangles[k, 2]]
        bx, by, cx, cy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
        area = bx * cy - cx * by
        if area == 0.0:
            continue
        top, bottom = min(a[1], b[1], c[1]), max(a[1], b[1], c[1])
        left, right = min(a[0], b[0], c[0]), max(a[0], b[0], c[0])
        for row in range(max(0, math.ceil(top - 0.5)), min(rows - 1, math.floor(bottom - 0.5)) + 1):
            y = row + 0.5 - a[1]
            # Each share of the three corners is linear along the row: where are all positive?
            low, high = left - a[0], right - a[0]
            for side in range(3):
                if side == 0:
                    step, at = cy / area, -cx * y / area
                elif side == 1:
                    step, at = -by / area, bx * y / area
                else:
                    step, at = (by - cy) / area, 1.0 - (bx - cx) * y / area
                if step > 0.0:
                    low = max(low, -at / step)
                elif step < 0.0:
                    high = min(high, -at / step)
                elif at < 0.0:
                    high = low - 1.0
            first = max(0, math.ceil(low + a[0] - 0.5))
            last = min(columns - 1, math.floor(high + a[0] - 0.5))
            for column in range(first, last + 1):
                x = column + 0.5 - a[0]
                u, v = (x * cy - cx * y) / area, (bx * y - x * by) / area
                height = a[2] + u * (b[2] - a[2]) + v * (c[2] - a[2])
                if height > heights[row, column]:
                    heights[row, column] = height
                    ids[row, column] = k


@njit(cache=True)  # type: ignore[untyped-decorator]
def _look_up(
    places: FloatArray,
    normals: FloatArray,
    frame: FloatArray,
    map_mm: float,
    heights: FloatArray,
    bias_mm: float,
    found: FloatArray,
) -> None:
    size = heights.shape[0]
    scale = size / map_mm
    for i in range(len(places)):
        n, d = normals[i], frame[2]
        if n[0] * d[0] + n[1] * d[1] + n[2] * d[2] <= 0.0:
            found[i] = 0.0
            continue
        x = places[i, 0] + bias_mm * n[0]
        y = places[i, 1] + bias_mm * n[1]
        z = places[i, 2] + bias_mm * n[2]
        column = (x * frame[0, 0] + y * frame[0, 1] + z * frame[0, 2]) * scale + 0.5 * (size - 1)
        row = (x * frame[1, 0] + y * frame[1, 1] + z * frame[1, 2]) * scale + 0.5 * (size - 1)
        height = x * d[0] + y * d[1] + z * d[2] + bias_mm
        if not (-1.0 <= column < size and -1.0 <= row < size):
            found[i] = 1.0
            continue
        left, top = math.floor(column), math.floor(row)
        total = 0.0
        # The four pixels around it, each by its nearness.
        for down in range(2):
            for across in range(2):
                r, c = top + down, left + across
                weight = 1.0 - abs(row - r)
                weight *= 1.0 - abs(column - c)
                if r < 0 or c < 0 or r >= size or c >= size or heights[r, c] <= height:
                    total += weight
        found[i] = total


@njit(cache=True)  # type: ignore[untyped-decorator]
def shine(
    seen: FloatArray,
    normals: FloatArray,
    towards: FloatArray,
    light: FloatArray,
    brightness: float,
    sums: FloatArray,
) -> None:
    """Add one light to what places send to the viewer.

    Parameters
    ----------
    seen : (n,) array
        Share of the light that reaches each place (1).
    normals, towards : (n, 3) arrays
        Unit vectors (1) off the face and to the viewer at each place.
    light : (3,) array
        Unit vector (1) towards the light.
    brightness : float
        What a white face square to the light sends on (1).
    sums : (n, 3) array
        What a white dull face sends, what it would send if nothing stood in the way, and the
        sheen of a half smooth one (1); the light's part is added.
    """
    for i in range(len(seen)):
        n, v = normals[i], towards[i]
        square = n[0] * light[0] + n[1] * light[1] + n[2] * light[2]
        if square <= 0.0:
            continue
        sums[i, 0] += brightness * square * seen[i]
        sums[i, 1] += brightness * square
        x, y, z = v[0] + light[0], v[1] + light[1], v[2] + light[2]
        along = n[0] * x + n[1] * y + n[2] * z
        if along > 0.0:
            # Blinn's model, with an exponent of 32: (cosine squared) to the sixteenth.
            sheen = along * along / (x * x + y * y + z * z)
            for _ in range(4):
                sheen *= sheen
            sums[i, 2] += brightness * square * seen[i] * sheen


@njit(cache=True)  # type: ignore[untyped-decorator]
def soft_normals(
    normals: FloatArray, depths: FloatArray, reach_px: float, apart: float
) -> FloatArray:
    """Return the unit normals (1) that rounded edges would have: each with those around it.

    Parameters
    ----------
    normals : (rows, columns, 3) array
        Unit normals (1); zero where nothing is seen.
    depths : (rows, columns) array
        Distance from the viewer, any unit.
    reach_px : float
        How far round a pixel is looked, px.
    apart : float
        Pixels whose depths differ by more belong to other faces, in the unit of the depths.
    """
    rows, columns = depths.shape
    found = np.zeros_like(normals)
    most = math.ceil(reach_px)
    for row in range(rows):
        for column in range(columns):
            n = normals[row, column]
            if n[0] == 0.0 and n[1] == 0.0 and n[2] == 0.0:
                continue
            x, y, z = 0.0, 0.0, 0.0
            for r in range(max(0, row - most), min(rows, row + most + 1)):
                for c in range(max(0, column - most), min(columns, column + most + 1)):
                    way = ((r - row) ** 2 + (c - column) ** 2) / (reach_px * reach_px)
                    if way <= 1.0 and abs(depths[r, c] - depths[row, column]) <= apart:
                        weight = 1.0 - way
                        x += weight * normals[r, c, 0]
                        y += weight * normals[r, c, 1]
                        z += weight * normals[r, c, 2]
            length = math.sqrt(x * x + y * y + z * z)
            if length > 0.0:
                found[row, column, 0] = x / length
                found[row, column, 1] = y / length
                found[row, column, 2] = z / length
    return found

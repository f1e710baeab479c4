"""Plane sections of a closed mesh, all levels at once.

Every crossing of a level with a mesh edge is one node, named by level and edge; every triangle
that a level crosses joins two nodes. In a closed mesh each node has one way in and one way out, so
the outlines follow by counting, without comparing coordinates. A corner that lies exactly on a
level counts as above it: no level ever touches a corner, an edge or a face, and no section is
degenerate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from vent_family.base.arrays import FloatArray, IntArray, ObjectArray

Region: TypeAlias = Polygon | MultiPolygon

_GRID_MM: Final = 1e-5
"""Heights of corners are rounded to this, mm."""
_STRAIGHT_MM: Final = 1e-6
"""A point this near to the line between its neighbours is no corner, mm."""
EMPTY: MultiPolygon = MultiPolygon()


class OpenMeshError(ValueError):
    """The mesh is not closed, so its sections are not closed outlines."""


@dataclass(frozen=True, eq=False)
class Layers:
    """A sliced body.

    ``bottoms_mm`` and ``heights_mm`` (n,) give the layers; ``regions`` holds, per layer, the
    material cut at half its height. A layer without material holds an empty region.
    """

    bottoms_mm: FloatArray
    heights_mm: FloatArray
    regions: tuple[Region, ...]

    @property
    def tops_mm(self) -> FloatArray:
        """Top of every layer, mm."""
        return self.bottoms_mm + self.heights_mm

    @property
    def middles_mm(self) -> FloatArray:
        """Height at which every layer was cut, mm."""
        return self.bottoms_mm + 0.5 * self.heights_mm

    @property
    def areas_mm2(self) -> FloatArray:
        """Area of material of every layer, mm2."""
        return np.asarray(shapely.area(np.array(self.regions, dtype=object)), dtype=np.float64)

    @property
    def volume_mm3(self) -> float:
        """Sum of the layers' prisms, mm3 (Cavalieri; midpoint rule)."""
        return float(np.dot(self.areas_mm2, self.heights_mm))


def layer_plan(
    height_mm: float,
    layer_mm: float,
    fine: Sequence[tuple[float, float, float]] = (),
) -> tuple[FloatArray, FloatArray]:
    """Return bottoms and heights (n,) of the layers that fill ``height_mm`` from the bed up.

    ``fine`` holds ranges (from, to, layer height), mm, printed with layers of their own, in order
    and not overlapping. Inside a range, and between ranges, all layers are equally high and at
    most as high as asked.

    Raises
    ------
    ValueError
        for heights that are not positive or ranges out of order
    """
    if not (height_mm > 0.0 and layer_mm > 0.0):
        raise ValueError("heights must be positive")
    stretches: list[tuple[float, float, float]] = []
    here = 0.0
    for low, high, step in fine:
        low, high = max(low, 0.0), min(high, height_mm)
        if low < here - 1e-9 or step <= 0.0:
            raise ValueError("ranges of fine layers overlap or run backwards")
        if high <= low:
            continue
        stretches += [(here, low, layer_mm), (low, high, step)]
        here = high
    stretches.append((here, height_mm, layer_mm))
    edges = [np.zeros(1)]
    for low, high, step in stretches:
        count = int(np.ceil((high - low) / step - 1e-6))
        if count > 0:
            edges.append(np.linspace(low, high, count + 1)[1:])
    levels = np.concatenate(edges)
    return levels[:-1], np.diff(levels)


def slice_layers(
    vertices: FloatArray, triangles: IntArray, bottoms_mm: FloatArray, heights_mm: FloatArray
) -> Layers:
    """Slice a closed mesh standing on z = 0 into layers, each cut at half its height."""
    regions = section_regions(vertices, triangles, bottoms_mm + 0.5 * heights_mm)
    return Layers(bottoms_mm, heights_mm, tuple(regions))


def section_regions(
    vertices: FloatArray, triangles: IntArray, levels_mm: FloatArray
) -> list[Region]:
    """Return the section region (x, y) of a closed mesh at every level z, mm.

    ``vertices`` (n, 3) in mm, ``triangles`` (m, 3) with outward normals, ``levels_mm`` (k,)
    increasing.

    Raises
    ------
    OpenMeshError
        if an outline does not close: the mesh is open or its triangles disagree in sense
    """
    points, loop_of, level_of = section_loops(vertices, triangles, levels_mm)
    regions: list[Region] = [EMPTY] * len(levels_mm)
    if len(points) == 0:
        return regions
    rings = shapely.linearrings(points, indices=loop_of)
    starts = np.flatnonzero(np.diff(level_of, prepend=-1))
    for begin, end in zip(starts, [*starts[1:], len(level_of)], strict=True):
        regions[level_of[begin]] = _region(rings[begin:end])
    return regions


def section_loops(
    vertices: FloatArray, triangles: IntArray, levels_mm: FloatArray
) -> tuple[FloatArray, IntArray, IntArray]:
    """Return the outlines of all sections: points (p, 2), loop of each point (p,), level (l,).

    Loops run with the material on their left and come in order of level; ``level`` is given per
    loop. Loops of fewer than three points, or without area, are left out.
    """
    # Faces often lie exactly at a cut. On a grid, with cuts half a step off it, all corners of
    # such a face fall on the same side.
    crossings = _crossings(vertices, triangles, levels_mm)
    if crossings is None:
        return np.empty((0, 2)), np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    source = _node(crossings.lone, crossings.tail, crossings.level, len(vertices))
    target = _node(crossings.lone, crossings.head, crossings.level, len(vertices))
    order_s, order_t = np.argsort(source, kind="stable"), np.argsort(target, kind="stable")
    if not np.array_equal(source[order_s], target[order_t]):
        raise OpenMeshError("an outline of a section does not close: the mesh is not watertight")
    # Position, among the sorted sources, at which each segment ends: the segment that follows.
    follows = np.empty(len(source), dtype=np.int64)
    follows[order_t] = order_s
    return _loops(follows, crossings.start, crossings.level)


@dataclass(frozen=True, eq=False)
class _Crossings:
    """All cuts of levels with triangles: corners, level, triangle, start and end (x, y)."""

    lone: IntArray
    tail: IntArray
    head: IntArray
    level: IntArray
    owner: IntArray
    start: FloatArray
    end: FloatArray


def _crossings(
    vertices: FloatArray, triangles: IntArray, levels_mm: FloatArray
) -> _Crossings | None:
    """Return every cut of a level with a triangle, or None if there is none."""
    levels = (np.round(np.asarray(levels_mm, dtype=np.float64) / _GRID_MM) + 0.5) * _GRID_MM
    z = np.round(vertices[:, 2] / _GRID_MM) * _GRID_MM
    # rank: how many levels lie at or below a corner; a triangle crosses those between its ranks.
    rank = np.searchsorted(levels, z, side="right")
    corner = rank[triangles]
    low, high = corner.min(axis=1), corner.max(axis=1)
    count = high - low
    crossed = np.flatnonzero(count)
    if len(crossed) == 0:
        return None
    count = count[crossed]
    owner = np.repeat(crossed, count)
    first = np.cumsum(count) - count
    level = np.arange(len(owner)) - np.repeat(first, count) + np.repeat(low[crossed], count)
    above = corner[owner] > level[:, None]
    # The corner that is alone on its side; the two sides that meet there are crossed.
    lone_above = above.sum(axis=1) == 1
    alone = np.argmax(above == lone_above[:, None], axis=1)
    rows = np.arange(len(owner))
    here = triangles[owner]
    lone = here[rows, alone]
    after, before = here[rows, (alone + 1) % 3], here[rows, (alone + 2) % 3]
    # Seen from above, material on the left: with the lone corner above, from its edge to the
    # corner after it, over to its edge to the corner before it; below, the other way round.
    tail = np.where(lone_above, after, before)
    head = np.where(lone_above, before, after)

    def cut(other: IntArray) -> FloatArray:
        a, b = vertices[lone, :2], vertices[other, :2]
        t = (levels[level] - z[lone]) / (z[other] - z[lone])
        return np.asarray(a + t[:, None] * (b - a))

    return _Crossings(lone, tail, head, level, owner, cut(tail), cut(head))


def section_segments(
    vertices: FloatArray, triangles: IntArray, level_mm: float
) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return the cut of one level as segments: starts and ends (n, 2), and triangles (n,).

    Material lies to the left of every segment; its triangle tells how the surface leans there.
    """
    found = _crossings(vertices, triangles, np.array([level_mm]))
    if found is None:
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0, dtype=np.int64)
    return found.start, found.end, found.owner


def _node(a: IntArray, b: IntArray, level: IntArray, n: int) -> IntArray:
    """Return one number for each crossing of a level with an edge."""
    edge = np.minimum(a, b) * n + np.maximum(a, b)
    number: IntArray = level * (n * n) + edge
    return number


def _loops(
    follows: IntArray, xy: FloatArray, level: IntArray
) -> tuple[FloatArray, IntArray, IntArray]:
    """Walk the segments in order of level and return points, loop numbers and loop levels."""
    following = follows.tolist()
    seen = bytearray(len(following))
    walk: list[int] = []
    ends: list[int] = []
    for start in np.argsort(level, kind="stable").tolist():
        if seen[start]:
            continue
        here = start
        while not seen[here]:
            seen[here] = 1
            walk.append(here)
            here = following[here]
        ends.append(len(walk))
    order = np.array(walk, dtype=np.int64)
    sizes = np.diff(ends, prepend=0)
    loop = np.repeat(np.arange(len(ends)), sizes)
    points = xy[order]
    after = np.arange(1, len(order) + 1)
    last = np.array(ends) - 1
    after[last] = last - sizes + 1
    twice = points[:, 0] * points[after, 1] - points[after, 0] * points[:, 1]
    area = 0.5 * np.add.reduceat(twice, last - sizes + 1)
    # Points in the middle of a straight line say nothing and slow every later step.
    onward = points[after] - points
    back = np.empty_like(onward)
    back[after] = onward
    cross = np.abs(back[:, 0] * onward[:, 1] - back[:, 1] * onward[:, 0])
    long = np.maximum(np.hypot(*back.T), np.hypot(*onward.T))
    corner = cross > _STRAIGHT_MM * np.maximum(long, _STRAIGHT_MM)
    corners = np.add.reduceat(corner.astype(np.int64), last - sizes + 1)
    kept = (corners >= 3) & (np.abs(area) > 1e-9)
    inside = kept[loop] & corner
    _, renumbered = np.unique(loop[inside], return_inverse=True)
    return points[inside], renumbered.reshape(-1).astype(np.int64), level[order[last]][kept]


def _region(rings: ObjectArray) -> Region:
    """Return the region bounded by one level's rings: outlines anticlockwise, holes clockwise."""
    anticlockwise = shapely.is_ccw(rings)
    outer, inner = rings[anticlockwise], rings[~anticlockwise]
    if len(inner) == 0:
        polygons = list(shapely.polygons(outer))
    elif len(outer) == 1:
        polygons = [Polygon(outer[0], list(inner))]
    else:
        polygons = _with_holes(outer, inner)
    region = polygons[0] if len(polygons) == 1 else MultiPolygon(polygons)
    return region if shapely.is_valid(region) else _mended(region)


def _with_holes(outer: ObjectArray, inner: ObjectArray) -> list[Polygon]:
    """Return polygons with every hole in the smallest outline around it."""
    bodies = shapely.polygons(outer)
    order = np.argsort(shapely.area(bodies))
    bodies, outer = bodies[order], outer[order]
    holes: list[list[object]] = [[] for _ in bodies]
    tree = shapely.STRtree(bodies)
    probe = shapely.points(shapely.get_coordinates(shapely.get_point(inner, 0)))
    which, owner = tree.query(probe, predicate="within")
    found: dict[int, int] = {}
    for hole, body in zip(which.tolist(), owner.tolist(), strict=True):
        found[hole] = min(found.get(hole, body), body)
    for hole, body in found.items():
        holes[body].append(inner[hole])
    return [Polygon(ring, inside) for ring, inside in zip(outer, holes, strict=True)]


def _mended(region: Region) -> Region:
    """Return the region with rings that touch themselves taken apart, crumbs of lines dropped."""
    mended = shapely.make_valid(region)
    if isinstance(mended, Polygon | MultiPolygon):
        return mended
    parts = [p for p in shapely.get_parts(mended) if isinstance(p, Polygon | MultiPolygon)]
    union = shapely.union_all(parts)
    return union if isinstance(union, Polygon | MultiPolygon) else EMPTY

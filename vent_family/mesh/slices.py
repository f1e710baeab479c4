"""Plane sections of a closed mesh as outlines, all levels at once.

Every crossing of a level with a mesh edge is one node, named by level and edge; every triangle
that a level crosses joins two nodes. In a closed mesh each node has one way in and one way out, so
the outlines follow by counting, without comparing coordinates. A corner that lies exactly on a
level counts as below it: no level ever touches a corner, an edge or a face, and no section is
degenerate. What an outline encloses is told in :mod:`vent_family.mesh.regions`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray, IntArray

_GRID_MM: Final = 1e-5
"""Heights of corners are rounded to this, mm."""
_STRAIGHT_MM: Final = 1e-6
_STRAIGHT: Final = 1e-3
"""A point this near to the line between its neighbours (mm), and at which the outline turns by no
more than this (sine of the angle), is no corner."""


class OpenMeshError(ValueError):
    """The mesh is not closed, so its sections are not closed outlines."""


def beside_faces(levels_mm: FloatArray) -> FloatArray:
    """Return the heights (mm) at which cuts are made that are asked for at some levels, mm.

    Faces often lie exactly at a cut. On a grid, with cuts half a step off it, all corners of such a
    face fall on the same side.

    Examples
    --------
    >>> beside_faces(np.array([0.1, 0.2])).round(6).tolist()
    [0.100005, 0.200005]
    """
    grid = np.round(np.asarray(levels_mm, dtype=np.float64) / _GRID_MM)
    return np.asarray((grid + 0.5) * _GRID_MM)


@dataclass(frozen=True, eq=False)
class Outlines:
    """The outlines of all sections of a mesh, in order of level, corners only.

    Attributes
    ----------
    points : (p, 2) array
        Corners (x, y), mm, outline after outline; material lies to the left of the way from one
        corner to the next, and from the last back to the first.
    loop_of : (p,) array
        The outline each corner belongs to, counted from 0.
    level_of : (l,) array
        The level each outline lies at, as its place among the levels.
    """

    points: FloatArray
    loop_of: IntArray
    level_of: IntArray


@dataclass(frozen=True, eq=False)
class Segments:
    """The cut of one level, triangle by triangle, in no order.

    Attributes
    ----------
    starts, ends : (n, 2) arrays
        Ends (x, y), mm; material lies to the left of the way from start to end.
    triangle : (n,) array
        The triangle cut; it tells how the surface leans there.
    """

    starts: FloatArray
    ends: FloatArray
    triangle: IntArray


@dataclass(frozen=True, eq=False)
class Cuts:
    """A closed mesh and the levels it is cut at; each part is worked out when first asked for.

    Parameters
    ----------
    vertices : (n, 3) array
        Corners, mm.
    triangles : (m, 3) array
        Corners of every triangle, outward normals by the right hand.
    levels_mm : (k,) array
        Heights z of the cuts, mm, increasing.

    Examples
    --------
    A tetrahedron with edges 10, 10 and 10 mm along the axes, cut 2 and 6 mm above its base:

    >>> corners = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 10]])
    >>> sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    >>> cuts = Cuts(corners, sides, np.array([2.0, 6.0]))
    >>> cuts.outlines.level_of.tolist(), len(cuts.outlines.points)
    ([0, 1], 6)
    >>> first = cuts.segments(0)
    >>> float(np.hypot(*(first.ends - first.starts).T).sum().round(2))
    27.31
    """

    vertices: FloatArray
    triangles: IntArray
    levels_mm: FloatArray

    @cached_property
    def _crossings(self) -> _Crossings | None:
        return _crossings(self.vertices, self.triangles, self.levels_mm)

    @cached_property
    def outlines(self) -> Outlines:
        """The outlines of all levels; those without three corners or without area are left out.

        Raises
        ------
        OpenMeshError
            if an outline does not close: the mesh is open or its triangles disagree in sense
        """
        found = self._crossings
        if found is None:
            none = np.empty(0, dtype=np.int64)
            return Outlines(np.empty((0, 2)), none, none)
        source = _node(found.lone, found.tail, found.level, len(self.vertices))
        target = _node(found.lone, found.head, found.level, len(self.vertices))
        order_s, order_t = np.argsort(source, kind="stable"), np.argsort(target, kind="stable")
        if not np.array_equal(source[order_s], target[order_t]):
            raise OpenMeshError(
                "an outline of a section does not close: the mesh is not watertight"
            )
        # Position, among the sorted sources, at which each segment ends: the one that follows.
        follows = np.empty(len(source), dtype=np.int64)
        follows[order_t] = order_s
        return _outlines(follows, found.start, found.level)

    def segments(self, index: int) -> Segments:
        """Return the cut of one level, given its place among the levels."""
        found = self._crossings
        if found is None:
            return Segments(np.empty((0, 2)), np.empty((0, 2)), np.empty(0, dtype=np.int64))
        here = found.level == index
        return Segments(found.start[here], found.end[here], found.owner[here])


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
    levels = beside_faces(levels_mm)
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


def _node(a: IntArray, b: IntArray, level: IntArray, n: int) -> IntArray:
    """Return one number for each crossing of a level with an edge."""
    edge = np.minimum(a, b) * n + np.maximum(a, b)
    number: IntArray = level * (n * n) + edge
    return number


def _outlines(follows: IntArray, xy: FloatArray, level: IntArray) -> Outlines:
    """Walk the segments in order of level, from each to the one that follows it."""
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
    points, of_level = xy[order], level[order[np.array(ends) - 1]]
    loop = np.repeat(np.arange(len(ends)), sizes)
    # A level through a corner of the mesh makes nodes in one place; they have no direction.
    apart = (points != points[_next(loop)]).any(axis=1)
    points, loop = points[apart], loop[apart]
    after = _next(loop)
    onward = points[after] - points
    back = np.empty_like(onward)
    back[after] = onward
    # Points in the middle of a straight line say nothing and slow every later step. Nearness to
    # that line does not tell alone: a level just above a corner of the mesh makes two nodes a
    # hair apart, and the true corner among them is as near to its neighbours' line as the other.
    cross = np.abs(back[:, 0] * onward[:, 1] - back[:, 1] * onward[:, 0])
    before_mm, after_mm = np.hypot(*back.T), np.hypot(*onward.T)
    corner = cross > np.minimum(
        _STRAIGHT_MM * np.maximum(before_mm, after_mm), _STRAIGHT * before_mm * after_mm
    )
    _keep_shallow_corners(points, loop, corner)
    twice = points[:, 0] * points[after, 1] - points[after, 0] * points[:, 1]
    count = len(ends)
    area = 0.5 * np.bincount(loop, twice, count)
    kept = (np.bincount(loop, corner, count) >= 3) & (np.abs(area) > 1e-9)
    inside = kept[loop] & corner
    _, renumbered = np.unique(loop[inside], return_inverse=True)
    return Outlines(points[inside], renumbered.reshape(-1).astype(np.int64), of_level[kept])


def _next(loop: IntArray) -> IntArray:
    """Return the place (n,) of the point after each; points of one loop stand side by side."""
    first = np.flatnonzero(np.diff(loop, prepend=-1))
    after = np.arange(1, len(loop) + 1)
    after[np.append(first[1:], len(loop)) - 1] = first
    return after


def _keep_shallow_corners(points: FloatArray, loop: IntArray, corner: BoolArray) -> None:
    """Put back, in ``corner``, points off the line (mm) between the corners kept beside them.

    Two nodes a hair apart may share a bend so slight that neither is a corner by itself, though
    the outline without both would run past the true one.
    """
    while True:
        kept = np.flatnonzero(corner)
        per_loop = np.bincount(loop[kept], minlength=int(loop[-1]) + 1 if len(loop) else 0)
        first = np.cumsum(per_loop) - per_loop
        between = np.flatnonzero(~corner)
        between = between[per_loop[loop[between]] > 0]
        own = loop[between]
        onward = np.searchsorted(kept, between)
        last = first[own] + per_loop[own] - 1
        before = np.where(onward - 1 < first[own], last, onward - 1)
        a = points[kept[before]]
        b = points[kept[np.where(onward > last, first[own], onward)]]
        line, out = b - a, points[between] - a
        length = np.hypot(*line.T)
        off = np.where(
            length > 0.0,
            np.abs(line[:, 0] * out[:, 1] - line[:, 1] * out[:, 0]) / np.maximum(length, 1e-300),
            np.hypot(*out.T),
        )
        lost = np.flatnonzero(off > _STRAIGHT_MM)
        if len(lost) == 0:
            return
        # One a stretch, the farthest; the next round asks the others again.
        lost = lost[np.argsort(-off[lost], kind="stable")]
        corner[between[lost[np.unique(before[lost], return_index=True)[1]]]] = True

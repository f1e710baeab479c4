"""The room between a part's walls by mean values over stretches, without cutting it in planes.

A plane square to an axis cuts a prism along x in a box for each interval and each span. How many
there are, how much they cover and how long their edges are follows, on average over a stretch, from
the sides of the outline alone: each enters by turns and leaves. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import shapely

from vent_family.base.arrays import BoolArray, FloatArray, ObjectArray
from vent_family.spec.pieces import Axis, Lofted, Prism, Span, crossed
from vent_family.spec.section import BEYOND_MM

_END_MM: Final = 1e-6
"""A side so near to where an outline ends is its end, mm."""
_HEIGHTS: Final = 96
"""Heights at which the width is looked at of a room that is not as wide everywhere."""


@dataclass(frozen=True, eq=False)
class RoomMeans:
    """Mean values of the room in planes of each of some stretches (n,).

    ``open_mm2`` is its area, of so many ``boxes`` (1); ``edges_mm`` is by how much the outlines of
    what is around it are longer for it, and ``rings`` how many more they are (1).
    ``low_mm`` and ``high_mm`` bound it in the outline's plane, ``spans`` along x, and ``forms``
    besides, where it is not as wide everywhere; ``axis`` is that of the planes.
    """

    axis: Axis
    open_mm2: FloatArray
    edges_mm: FloatArray
    rings: FloatArray
    boxes: FloatArray
    low_mm: FloatArray
    high_mm: FloatArray
    spans: tuple[set[Span], ...]
    forms: ObjectArray | None

    def around(self, more_mm: float) -> ObjectArray:
        """Return what the room lies in, every side moved out by so much, mm; empty for none."""
        found = np.full(len(self.low_mm), shapely.Polygon(), dtype=object)
        there = np.flatnonzero(self.boxes > 0.0)
        if len(there) == 0:
            return found
        ends, owner = [], []
        for k in there.tolist():
            reached = _merged(sorted(self.spans[k]), more_mm)
            ends += reached
            owner += [k] * len(reached)
        (x0, x1), of = np.array(ends).T, np.array(owner)
        low, high = self.low_mm[of] - more_mm, self.high_mm[of] + more_mm
        # In layers square to y the first axis is z, square to z it is x.
        boxes = (x0, low, x1, high) if self.axis == 2 else (low, x0, high, x1)
        places, index = np.unique(of, return_inverse=True)
        found[places] = shapely.multipolygons(shapely.box(*boxes), indices=index)
        if self.forms is not None:
            wider = shapely.buffer(self.forms[places], more_mm, quad_segs=8)
            found[places] = shapely.intersection(found[places], wider)
        return found


def room_means(
    room: Sequence[Prism], axis: Axis, low_mm: FloatArray, high_mm: FloatArray
) -> RoomMeans:
    """Return the mean values of prisms along x over stretches along an axis.

    Parameters
    ----------
    room
        The prisms, the bays first; none lies in another.
    axis
        The axis that planes are square to.
    low_mm, high_mm : (n,) arrays
        Lower and upper ends of the stretches, mm.

    Examples
    --------
    A triangle over two bays of 3 mm: cut square to its depth, from 0 to 4 mm, it is on average 1 mm
    high in each, with edges of 2 x (3 + 1) mm:

    >>> triangle = shapely.Polygon([(0.0, 0.0), (4.0, 0.0), (0.0, 2.0)])
    >>> found = room_means(
    ...     [Prism(0, triangle, ((0.0, 3.0), (4.0, 7.0)))], 2, np.array([0.0]), np.array([4.0])
    ... )
    >>> found.open_mm2.tolist(), found.edges_mm.tolist(), found.rings.tolist()
    ([6.0], [16.0], [2.0])
    """
    count = len(low_mm)
    area, edges, rings, boxes = np.zeros((4, count))
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    spans: list[set[Span]] = [set() for _ in range(count)]
    form = room[0].within if room and axis == 2 else None
    for here, chords in _by_form(form, 0.5 * (low_mm + high_mm)):
        for prism in room:
            found = _sides(prism, axis, low_mm[here], high_mm[here])
            wide = _Width.of(prism, chords)
            for k in np.flatnonzero(here)[found.share.any(axis=1)].tolist():
                spans[k].update(prism.spans_mm)
            # Of what a side bounds, its share of the stretch counts, out of it or into it.
            share, at, way = found.share, found.at_mm, found.way
            number = 0.5 * (share * wide.number(at)).sum(axis=1)
            beside = (way * share * wide.sides(at)).sum(axis=1)
            if _joins(prism, room[0]):
                # A rib's one window joins two holes; of what stands between more each is an island.
                beside, rings[here] = -beside, rings[here] + number - 2.0 * np.minimum(number, 1.0)
            else:
                rings[here] += number
            area[here] += (way * share * wide.area(at)).sum(axis=1)
            edges[here] += (share * wide.width(at)).sum(axis=1) + beside
            boxes[here] += number
            if axis == 1:
                ends = share * found.end
                edges[here] -= 2.0 * (ends * wide.width(at)).sum(axis=1)
                rings[here] -= (ends * wide.number(at)).sum(axis=1)
            low[here] = np.minimum(low[here], np.where(share > 0.0, at, np.inf).min(axis=1))
            high[here] = np.maximum(high[here], np.where(share > 0.0, at, -np.inf).max(axis=1))
    none = boxes <= 0.0
    return RoomMeans(
        axis=axis,
        open_mm2=area,
        edges_mm=edges,
        rings=np.maximum(rings, 0.0),
        boxes=boxes,
        low_mm=np.where(none, 0.0, low),
        high_mm=np.where(none, 0.0, high),
        spans=tuple(spans),
        forms=_forms(form, 0.5 * (low_mm + high_mm)),
    )


def _joins(prism: Prism, bays: Prism) -> bool:
    """Return whether a prism opens a rib between bays: beside it neither has sides."""
    ends = {x for span in bays.spans_mm for x in span}
    return prism is not bays and all(x in ends for span in prism.spans_mm for x in span)


def _merged(spans: Sequence[Span], more_mm: float) -> list[Span]:
    """Return spans in order, each so much wider at both ends (mm), those that meet as one."""
    found: list[Span] = []
    for a, b in spans:
        low, high = a - more_mm, b + more_mm
        if found and low <= found[-1][1] + _END_MM:
            found[-1] = (found[-1][0], max(high, found[-1][1]))
        else:
            found.append((low, high))
    return found


@dataclass(frozen=True, eq=False)
class _Chords:
    """From where to where a form reaches along x at heights (n,), rising, mm."""

    heights_mm: FloatArray
    left_mm: FloatArray
    right_mm: FloatArray

    @staticmethod
    def of(form: Lofted | None, depth_mm: float) -> _Chords:
        """Return those of a form at a depth, mm; endless where there is none."""
        if form is None:
            ends = np.array([-BEYOND_MM, BEYOND_MM])
            return _Chords(ends, np.full(2, -BEYOND_MM), np.full(2, BEYOND_MM))
        outline = form.at(depth_mm)
        heights = np.linspace(outline.bounds[1], outline.bounds[3], _HEIGHTS)
        left, right = np.zeros(_HEIGHTS), np.zeros(_HEIGHTS)
        level, low, high = crossed(outline, 1, heights)
        left[level], right[level] = low, high
        return _Chords(heights, left, right)


@dataclass(frozen=True, eq=False)
class _Width:
    """How wide a room is in all its spans at a height, by heights (n,), rising, mm.

    ``width_mm`` and ``number`` of spans are those there, ``area_mm2`` and ``sides_mm`` their sums
    up to there: of the width, and of all spans' two sides.
    """

    heights_mm: FloatArray
    width_mm: FloatArray
    count: FloatArray
    area_mm2: FloatArray
    sides_mm: FloatArray

    @staticmethod
    def of(prism: Prism, chords: _Chords) -> _Width:
        """Return the widths of a prism as far as it lies within chords."""
        spans, heights = np.array(prism.spans_mm), chords.heights_mm
        right = np.minimum(spans[:, 1], chords.right_mm[:, None])
        inside = right - np.maximum(spans[:, 0], chords.left_mm[:, None])
        width, count = np.maximum(inside, 0.0).sum(axis=1), (inside > 0.0).sum(axis=1)

        def sums(values: FloatArray) -> FloatArray:
            steps = 0.5 * (values[1:] + values[:-1]) * np.diff(heights)
            return np.append(0.0, np.cumsum(steps))

        return _Width(heights, width, 1.0 * count, sums(width), 2.0 * sums(1.0 * count))

    def width(self, at_mm: FloatArray) -> FloatArray:
        """Return the width at heights, mm."""
        return np.asarray(np.interp(at_mm, self.heights_mm, self.width_mm, 0.0, 0.0))

    def number(self, at_mm: FloatArray) -> FloatArray:
        """Return how many spans there are at heights, mm."""
        return np.asarray(np.interp(at_mm, self.heights_mm, self.count, 0.0, 0.0))

    def area(self, at_mm: FloatArray) -> FloatArray:
        """Return the area below heights (mm), mm2."""
        return np.asarray(np.interp(at_mm, self.heights_mm, self.area_mm2))

    def sides(self, at_mm: FloatArray) -> FloatArray:
        """Return the length of the spans' sides below heights, mm."""
        return np.asarray(np.interp(at_mm, self.heights_mm, self.sides_mm))


@dataclass(frozen=True, eq=False)
class _Sides:
    """What each side (m,) of an outline is to each of some stretches (n,).

    ``share`` (n, m) of the stretch it runs over, its mean height ``at_mm`` (n, m) there, whether it
    bounds the outline above (1) or below (-1), and whether it is one of its ends (1).
    """

    share: FloatArray
    at_mm: FloatArray
    way: FloatArray
    end: FloatArray


def _sides(prism: Prism, axis: Axis, low_mm: FloatArray, high_mm: FloatArray) -> _Sides:
    parts = shapely.get_parts(prism.outline)
    rings, part = shapely.get_rings(parts, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    u, v = points.T if axis == 2 else points[:, ::-1].T
    same = ring[1:] == ring[:-1]
    u0, u1, v0, v1, of = u[:-1][same], u[1:][same], v[:-1][same], v[1:][same], ring[1:][same]
    turn = np.sign(np.bincount(of, u0 * v1 - u1 * v0, len(rings)))
    # A hole's sides bound what is around it.
    turn[np.diff(part, prepend=-1) == 0] *= -1.0
    low, high = np.minimum(u0, u1), np.maximum(u0, u1)
    run = high > low
    u0, u1, v0, v1, of, low, high = (a[run] for a in (u0, u1, v0, v1, of, low, high))
    a, b = np.maximum(low, low_mm[:, None]), np.minimum(high, high_mm[:, None])
    share = np.maximum(b - a, 0.0) / (high_mm - low_mm)[:, None]
    at = v0 + (0.5 * (a + b) - u0) * (v1 - v0) / (u1 - u0)
    at = np.where(share > 0.0, at, 0.0)
    end = (np.maximum(v0, v1) <= v.min() + _END_MM) | (np.minimum(v0, v1) >= v.max() - _END_MM)
    return _Sides(share, at, -np.sign(u1 - u0) * turn[of], 1.0 * end)


def _by_form(form: Lofted | None, depths_mm: FloatArray) -> Iterator[tuple[BoolArray, _Chords]]:
    """Yield which stretches at depths (mm) lie where a form is alike, and its chords there."""
    if form is None:
        yield np.full(len(depths_mm), True), _Chords.of(None, 0.0)
        return
    for z0, z1 in pairwise(form.depths_mm):
        here = (z0 < depths_mm) & (depths_mm < z1)
        if here.any():
            yield here, _Chords.of(form, 0.5 * (z0 + z1))


def _forms(form: Lofted | None, depths_mm: FloatArray) -> ObjectArray | None:
    """Return the outline (n,) of the form that bounds all of a room at depths, mm, if one does."""
    if form is None:
        return None
    low, high = form.depths_mm[0], form.depths_mm[-1]
    found = [form.at(z) if low < z < high else shapely.Polygon() for z in depths_mm.tolist()]
    return np.array(found, dtype=object)

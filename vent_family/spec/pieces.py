"""What a part is made of as plain drawn shapes: outlines along an axis, and forms that change.

A part is what its pieces fill less what others take from it. That says where material is without
a kernel: any plane square to one of the axes cuts a drawn outline in boxes, a changing form in its
outline there. Lengths in mm, part coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from vent_family.base.arrays import FloatArray, IntArray, ObjectArray
from vent_family.base.limits import STL_ANGLE, STL_CHORD

Span = tuple[float, float]
Axis = Literal[0, 1, 2]
"""x, y or z."""
Edges = FloatArray
"""Edges (n, 3) along an axis: lower and upper end, mm, and how far each moves per mm (1)."""

_LEVEL_MM: Final = 1e-9
"""An edge shorter than this along an axis lies square to it, mm."""
_JOINED_MM: Final = 1e-6
"""Stretches so near to one another are one, mm."""
_BESIDE_MM: Final = 1e-9
"""How far from where a form changes it is looked at, mm."""
_PLANES: Final[tuple[tuple[Axis, Axis], ...]] = ((2, 1), (0, 2), (0, 1))
"""The axes of an outline that is drawn along x, y or z: (z, y), (x, z), (x, y)."""


@dataclass(frozen=True, eq=False)
class Prism:
    """An outline drawn along an axis over each of some spans; none of them touches another.

    ``outline`` is (z, y), (x, z) or (x, y) for one drawn along x, y or z. With ``within`` only
    what lies inside that form counts.
    """

    axis: Axis
    outline: BaseGeometry
    spans_mm: tuple[Span, ...]
    within: Lofted | None = None


@dataclass(frozen=True, eq=False)
class Lofted:
    """A form along z that changes with the depth: ``at`` gives its outline (x, y) at a depth (z).

    ``depths_mm`` are the depths, rising, at which it begins, ends, or changes otherwise than
    between; ``leans`` is how far its outline moves per mm of depth in each stretch between two (1).
    """

    at: Callable[[float], BaseGeometry]
    depths_mm: tuple[float, ...]
    leans: tuple[float, ...]


Piece = Prism | Lofted


@dataclass(frozen=True, eq=False)
class Pieces:
    """A part: everything that ``fills`` it, less everything that is ``taken`` from it.

    So is the ``room`` between its walls, drawn from rib to rib around what stands in it.
    """

    fills: tuple[Piece, ...]
    taken: tuple[Piece, ...] = ()
    room: tuple[Prism, ...] = ()

    @property
    def open(self) -> tuple[Piece, ...]:
        """All that is taken from it, its room included."""
        return (*self.room, *self.taken)

    def box_mm(self) -> tuple[Span, Span, Span]:
        """Return the ranges of x, y and z that what fills it reaches over."""
        boxes = np.array([_box(piece) for piece in self.fills])
        low, high = boxes[..., 0].min(axis=0), boxes[..., 1].max(axis=0)
        x, y, z = zip(low.tolist(), high.tolist(), strict=True)
        return x, y, z


def edges_along(piece: Piece, axis: Axis) -> Edges:
    """Return where a piece begins, ends and changes along an axis, and how fast it moves between.

    Examples
    --------
    >>> roof = Polygon([(0.0, 0.0), (0.0, 4.0), (2.0, 5.0), (2.0, 0.0)])
    >>> edges_along(Prism(0, roof, ((-1.0, 1.0),)), 2).tolist()
    [[0.0, 2.0, 0.5], [0.0, 2.0, 0.0]]
    """
    if isinstance(piece, Lofted):
        if axis != 2:
            return np.concatenate([edges_along(slab, axis) for slab in slabs(piece)])
        ends = np.array(piece.depths_mm)
        return np.column_stack([ends[:-1], ends[1:], np.array(piece.leans)])
    if piece.axis == axis:
        return np.array([(low, high, 0.0) for low, high in piece.spans_mm])
    a, b = _sides(piece.outline, _PLANES[piece.axis].index(axis))
    low, high = np.minimum(a[:, 0], b[:, 0]), np.maximum(a[:, 0], b[:, 0])
    real = high - low > _LEVEL_MM
    lean = np.abs(b[real, 1] - a[real, 1]) / (high - low)[real]
    own = np.column_stack([low[real], high[real], lean])
    return own if piece.within is None else np.concatenate([own, edges_along(piece.within, axis)])


def quarter_chords(radius_mm: float) -> int:
    """Return in how many chords a quarter of a circle (mm) stands in exported meshes.

    Examples
    --------
    >>> quarter_chords(1.0), quarter_chords(40.0)
    (6, 16)
    """
    angle = min(STL_ANGLE.value, 2.0 * math.acos(max(1.0 - STL_CHORD.value / radius_mm, -1.0)))
    return math.ceil(0.5 * math.pi / angle)


def disc(radius_mm: float, x_mm: float = 0.0, y_mm: float = 0.0) -> Polygon:
    """Return a circle about a place, mm, in such chords."""
    return Point(x_mm, y_mm).buffer(radius_mm, quad_segs=quarter_chords(radius_mm))


def cut_at(piece: Piece, axis: Axis, levels_mm: FloatArray) -> ObjectArray:
    """Return what planes square to an axis cut from a piece, at each level (mm); empty for none.

    In layers square to z the outlines are (x, y), square to y (z, x), square to x (y, z).

    Examples
    --------
    Two bars, 2 mm high at one end and 1 mm at the other, cut across their height and lengthwise:

    >>> bar = Polygon([(0.0, 0.0), (0.0, 2.0), (4.0, 1.0), (4.0, 0.0)])
    >>> bars = Prism(0, bar, ((0.0, 3.0), (5.0, 6.0)))
    >>> [shape.area for shape in cut_at(bars, 2, np.array([2.0, 5.0]))]
    [6.0, 0.0]
    >>> [shape.bounds for shape in cut_at(bars, 1, np.array([1.5]))]
    [(0.0, 0.0, 2.0, 6.0)]
    """
    if isinstance(piece, Lofted):
        return _lofted_at(piece, axis, levels_mm)
    found = np.full(len(levels_mm), Polygon(), dtype=object)
    if piece.axis == axis:
        inside = [any(low < v < high for low, high in piece.spans_mm) for v in levels_mm]
        straight = _PLANES[piece.axis][0] == (axis + 1) % 3
        found[inside] = (
            piece.outline if straight else shapely.transform(piece.outline, lambda at: at[:, ::-1])
        )
        return found
    level, low, high = crossed(piece.outline, _PLANES[piece.axis].index(axis), levels_mm)
    if len(level) == 0:
        return found
    spans = np.array(piece.spans_mm)
    x0, x1 = (np.tile(ends, len(level)) for ends in spans.T)
    y0, y1 = np.repeat(low, len(spans)), np.repeat(high, len(spans))
    # The layer's first axis is the one that follows its own in turn.
    first_is_drawn = piece.axis == (axis + 1) % 3
    boxes = shapely.box(x0, y0, x1, y1) if first_is_drawn else shapely.box(y0, x0, y1, x1)
    places, index = np.unique(np.repeat(level, len(spans)), return_inverse=True)
    found[places] = shapely.multipolygons(boxes, indices=index)
    if piece.within is not None:
        bound = cut_at(piece.within, axis, levels_mm[places])
        found[places] = shapely.intersection(found[places], bound)
    return found


def material_at(pieces: Pieces, axis: Axis, levels_mm: FloatArray) -> ObjectArray:
    """Return what is made of material in planes square to an axis, at each level (mm).

    Examples
    --------
    >>> plate = Prism(2, shapely.box(0.0, 0.0, 4.0, 3.0), ((0.0, 2.0),))
    >>> hole = Prism(2, shapely.box(1.0, 1.0, 2.0, 2.0), ((1.0, 2.0),))
    >>> [shape.area for shape in material_at(Pieces((plate,), (hole,)), 2, np.array([0.5, 1.5]))]
    [12.0, 11.0]
    """
    found = np.full(len(levels_mm), Polygon(), dtype=object)
    for piece in pieces.fills:
        more = cut_at(piece, axis, levels_mm)
        here = ~shapely.is_empty(more)
        found[here] = shapely.union(found[here], more[here])
    for piece in pieces.open:
        less = cut_at(piece, axis, levels_mm)
        here = ~shapely.is_empty(less)
        found[here] = shapely.difference(found[here], less[here])
    return found


def slabs(form: Lofted, step_mm: float = 0.5) -> list[Prism]:
    """Return a changing form as slabs of even outline, each at most so thick (mm)."""
    found = []
    for (z0, z1), lean in zip(pairwise(form.depths_mm), form.leans, strict=True):
        count = max(1, math.ceil((z1 - z0) * min(lean, 1.0) / step_mm))
        ends = np.linspace(z0, z1, count + 1).tolist()
        found += [Prism(2, form.at(0.5 * (a + b)), ((a, b),)) for a, b in pairwise(ends)]
    return found


def _lofted_at(form: Lofted, axis: Axis, levels_mm: FloatArray) -> ObjectArray:
    found = np.full(len(levels_mm), Polygon(), dtype=object)
    if axis == 2:
        low, high = form.depths_mm[0], form.depths_mm[-1]
        for k, v in enumerate(levels_mm.tolist()):
            if low < v < high:
                found[k] = form.at(v)
        return found
    cuts = np.stack([cut_at(slab, axis, levels_mm) for slab in slabs(form)])
    return np.asarray(shapely.union_all(cuts, axis=0))


def _box(piece: Piece) -> tuple[Span, Span, Span]:
    if isinstance(piece, Lofted):
        low, high = piece.depths_mm[0], piece.depths_mm[-1]
        ends = [z + side for z in piece.depths_mm for side in (-_BESIDE_MM, _BESIDE_MM)][1:-1]
        x0, y0, x1, y1 = np.array([piece.at(z).bounds for z in ends]).T
        return (x0.min(), x1.max()), (y0.min(), y1.max()), (low, high)
    a0, b0, a1, b1 = piece.outline.bounds
    a, b = _PLANES[piece.axis]
    along = min(s[0] for s in piece.spans_mm), max(s[1] for s in piece.spans_mm)
    found = {a: (a0, a1), b: (b0, b1), piece.axis: along}
    return found[0], found[1], found[2]


def _sides(outline: BaseGeometry, place: int) -> tuple[FloatArray, FloatArray]:
    """Return the ends of all sides of an outline; the coordinate at a place comes first."""
    rings = shapely.get_rings(shapely.get_parts(outline))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    if place == 1:
        points = points[:, ::-1]
    same = ring[1:] == ring[:-1]
    return points[:-1][same], points[1:][same]


def crossed(
    outline: BaseGeometry, place: int, levels_mm: FloatArray
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return the stretches of lines across an outline that lie inside: level, from, to (mm).

    A line enters and leaves by turns; a corner on it counts as above.
    """
    a, b = _sides(outline, place)
    low, high = np.minimum(a[:, 0], b[:, 0]), np.maximum(a[:, 0], b[:, 0])
    level, side = np.nonzero((low <= levels_mm[:, None]) & (levels_mm[:, None] < high))
    share = (levels_mm[level] - a[side, 0]) / (b[side, 0] - a[side, 0])
    across = a[side, 1] + share * (b[side, 1] - a[side, 1])
    order = np.lexsort((across, level))
    level, across = level[order], across[order]
    level, start, end = level[::2], across[::2], across[1::2]
    # A corner that just touches the line parts nothing, and one that it just misses is no stretch.
    joins = np.flatnonzero((level[1:] == level[:-1]) & (start[1:] - end[:-1] < _JOINED_MM))
    level, start, end = (
        np.delete(level, joins + 1),
        np.delete(start, joins + 1),
        np.delete(end, joins),
    )
    wide = end - start > _JOINED_MM
    return level[wide], start[wide], end[wide]

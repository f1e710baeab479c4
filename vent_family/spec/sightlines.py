"""Exact straight-path test on a 2-D section: critical lines through corners, no sampling.

A non-vertical line is ``y = a + b z``. A convex solid blocks it exactly when ``a`` lies between
the least and the greatest ``y_i - b z_i`` of its corners, so at a fixed slope ``b`` the blocked
offsets are a union of intervals. Between two neighbouring critical slopes (slopes of lines through
two corners) the order of all interval ends stays the same and every end is linear in ``b``;
whether a gap exists, and how wide it is, is therefore decided at the critical slopes alone.

A drop path with a component along the slats projects onto the section as such a line, because the
slats are prisms along x; ribs only ever block more. The 2-D answer thus covers all directions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import SIGHT_MARGIN_MIN
from vent_family.spec.sightsearch import (
    NARROWER,
    UNTOLD,
    pair_slopes_within,
    ranges_of_widest,
    widest_among,
    widest_is,
    widest_within,
)

Points = Sequence[tuple[float, float]]
_ROUNDING_MM: Final = 1e-9
"""By how much heights may be off that were reckoned in two ways."""


@dataclass(frozen=True, slots=True)
class SightResult:
    """Answer of the straight-path test.

    ``margin_mm`` is the width, normal to the line, by which the nearest line misses (positive: no
    straight path) or the width of the widest straight path (negative). ``elevation_deg`` is the
    elevation of that line, seen from outside looking in: positive climbs towards the inside.
    ``line`` holds its two ends (z, y) on the inner and outer plane, in mm.
    """

    margin_mm: float
    elevation_deg: float
    line: tuple[tuple[float, float], tuple[float, float]]

    @property
    def is_open(self) -> bool:
        """True if a straight path of non-zero width leads through.

        Examples
        --------
        >>> SightResult(-0.4, 10.0, ((-20.0, 3.0), (0.0, 0.0))).is_open
        True
        """
        return self.margin_mm < 0.0


ENOUGH_MM: Final = SIGHT_MARGIN_MIN.value - _ROUNDING_MM
"""The required margin, less what rounding may hide, mm."""


def closes(margin_mm: float) -> bool:
    """Return whether straight lines miss by the required margin, which rounding may hide.

    Parameters
    ----------
    margin_mm
        by how much the nearest line misses, mm

    Examples
    --------
    >>> closes(SIGHT_MARGIN_MIN.value - 1e-12), closes(SIGHT_MARGIN_MIN.value - 1e-6)
    (True, False)
    """
    return margin_mm >= ENOUGH_MM


def sight_margin(
    solids: Sequence[Points],
    lower: Points,
    upper: Points,
    *,
    chunk: int = 2048,
) -> SightResult:
    """Return by how much straight lines are stopped in a section.

    Parameters
    ----------
    solids
        convex outlines, each a sequence of (z, y) corners in mm; any order of rotation
    lower, upper
        polylines (z, y) from the inner to the outer plane; everything below ``lower`` and above
        ``upper`` is solid. Both must begin and end at the same z.
    chunk
        number of slopes examined at once (bounds the memory used)

    Raises
    ------
    ValueError
        if the polylines do not span the same depth or the depth is not positive

    Examples
    --------
    A duct 4 mm high and 10 mm deep with a post that leaves 1 mm free above it: the widest straight
    path is 1 mm wide and level. A second post, hanging 3 mm down behind it, stops every line; the
    nearest one just clears the floor's inner end: (2 - 1/3) / sqrt(1 + 1/9).

    >>> walls = [(-10.0, 0.0), (0.0, 0.0)], [(-10.0, 4.0), (0.0, 4.0)]
    >>> post = [(-1.0, -9.0), (0.0, -9.0), (0.0, 3.0), (-1.0, 3.0)]
    >>> found = sight_margin([post], *walls)
    >>> round(found.margin_mm, 3)
    -1.0
    >>> hanging = [(-3.0, 1.0), (-2.0, 1.0), (-2.0, 13.0), (-3.0, 13.0)]
    >>> round(sight_margin([post, hanging], *walls).margin_mm, 3)
    1.581
    """
    low, high = _walls(lower, upper)
    corners = padded(solids)
    slopes = _with_level(low, high)
    ranges, is_free = ranges_of_widest(corners, low, high, slopes)
    points = _points(corners, low, high)
    ends = _within(ranges, np.array([0.0, *_possible(low, high)]))

    def widest(*, square: bool) -> tuple[float, float, float]:
        pairs = pair_slopes_within(ranges, points, square=square)
        near = widest_among(_each_once(np.append(pairs, ends)), corners, low, high)
        return _widest(near, corners, low, high, chunk)

    found = widest(square=False)
    if is_free or found[0] > 0.0:
        # The widest free strip may touch two corners whose connection is square to it.
        found = max(found, widest(square=True), key=lambda f: f[0])
    return _result(found, (float(low[0, 0]), float(low[-1, 0])))


def all_miss_by(margin_mm: float, corners: FloatArray, lower: Points, upper: Points) -> bool:
    """Return whether straight lines miss by a margin: what :func:`sight_margin` says, but sooner.

    Parameters
    ----------
    margin_mm
        the margin, mm, more than 0
    corners
        convex outlines as :func:`padded` gives them, mm
    lower, upper
        as for :func:`sight_margin`

    Raises
    ------
    ValueError
        if the polylines do not span the same depth or the depth is not positive

    Examples
    --------
    >>> walls = [(-10.0, 0.0), (0.0, 0.0)], [(-10.0, 4.0), (0.0, 4.0)]
    >>> post = [(-1.0, -9.0), (0.0, -9.0), (0.0, 3.0), (-1.0, 3.0)]
    >>> hanging = [(-3.0, 1.0), (-2.0, 1.0), (-2.0, 13.0), (-3.0, 13.0)]
    >>> [all_miss_by(margin, padded([post, hanging]), *walls) for margin in (1.5, 1.6)]
    [True, False]
    """
    told = misses_by(margin_mm, corners, lower, upper)
    if told is None:
        return sight_margin(list(corners.tolist()), lower, upper).margin_mm >= margin_mm
    return told


def misses_by(margin_mm: float, corners: FloatArray, lower: Points, upper: Points) -> bool | None:
    """Return what :func:`all_miss_by` does, or ``None`` where rounding would decide.

    ``margin_mm`` and ``corners`` (mm), and the walls, are those of that function; corners may be
    off by rounding.

    Raises
    ------
    ValueError
        if the polylines do not span the same depth or the depth is not positive
    """
    low, high = _walls(lower, upper)
    answer = widest_is(corners, low, high, _with_level(low, high), -margin_mm)
    return None if answer == UNTOLD else answer == NARROWER


def margin_within(corners: FloatArray, lower: Points, upper: Points) -> tuple[float, float]:
    """Return margins (mm) between which that of :func:`sight_margin` lies, but for rounding.

    ``corners`` (mm) and the walls are those of :func:`all_miss_by`.

    Raises
    ------
    ValueError
        if the polylines do not span the same depth or the depth is not positive

    Examples
    --------
    >>> walls = [(-10.0, 0.0), (0.0, 0.0)], [(-10.0, 4.0), (0.0, 4.0)]
    >>> post = [(-1.0, -9.0), (0.0, -9.0), (0.0, 3.0), (-1.0, 3.0)]
    >>> hanging = [(-3.0, 1.0), (-2.0, 1.0), (-2.0, 13.0), (-3.0, 13.0)]
    >>> least, most = margin_within(padded([post, hanging]), *walls)
    >>> least <= sight_margin([post, hanging], *walls).margin_mm <= most
    True
    """
    low, high = _walls(lower, upper)
    least, most = widest_within(corners, low, high, _with_level(low, high))
    return -most - _ROUNDING_MM, -least + _ROUNDING_MM


def _walls(lower: Points, upper: Points) -> tuple[FloatArray, FloatArray]:
    """Return both polylines as arrays.

    Raises
    ------
    ValueError
        if they do not span the same positive depth
    """
    low = np.asarray(lower, dtype=float)
    high = np.asarray(upper, dtype=float)
    z_in, z_out = low[0, 0], low[-1, 0]
    near = 1e-8 + 1e-5 * max(abs(z_in), abs(z_out))
    ends = abs(high[0, 0] - z_in), abs(high[-1, 0] - z_out)
    if not z_out > z_in or max(ends) > near:
        raise ValueError("lower and upper must span the same positive depth")
    return low, high


def _possible(low: FloatArray, high: FloatArray) -> tuple[float, float]:
    """Return the least and the greatest slope of lines between two walls."""
    depth = low[-1, 0] - low[0, 0]
    return (low[-1, 1] - high[0, 1]) / depth, (high[-1, 1] - low[0, 1]) / depth


def _with_level(low: FloatArray, high: FloatArray) -> tuple[float, float]:
    """Return the least and the greatest slope looked at: level lines are, whatever the walls."""
    shallowest, steepest = _possible(low, high)
    return min(shallowest, 0.0), max(steepest, 0.0)


def nearest_between(solids: Sequence[Points], lower: Points, upper: Points) -> SightResult | None:
    """Return the nearest of the lines that keep off both walls; ``None`` where there is none.

    The nearest line of all may be one along a wall that a slat's end is sunk into: it would lie
    within the wall, and shows nobody what stops it. The arguments are those of
    :func:`sight_margin`; for a section that is open it need not be the middle of the widest path.

    Examples
    --------
    A duct 4 mm high and 10 mm deep with two posts: one stands 2.5 mm high, the other hangs down to
    2 mm close behind it, sunk 0.2 mm into the ceiling. The nearest line of all lies along the
    ceiling; between the posts 0.5 mm are missing to level lines, and least to the steepest, which
    touches the floor at its end: 0.5 x cos(atan(2 / 9)).

    >>> walls = [(-10.0, 0.0), (0.0, 0.0)], [(-10.0, 4.0), (0.0, 4.0)]
    >>> places = ((-1.0, -1.0, 2.5), (-2.0, 2.0, 4.2))
    >>> posts = [[(z, a), (z + 1.0, a), (z + 1.0, b), (z, b)] for z, a, b in places]
    >>> found = nearest_between(posts, *walls)
    >>> round(sight_margin(posts, *walls).margin_mm, 3), found and round(found.margin_mm, 3)
    (0.2, 0.488)
    """
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    corners = padded(solids)
    slopes, _ = critical_slopes(corners, low, high)
    found = _widest(slopes, corners, low, high, 2048, between=True)
    if not np.isfinite(found[0]):
        return None
    return _result(found, (float(low[0, 0]), float(low[-1, 0])))


def _result(found: tuple[float, float, float], z_mm: tuple[float, float]) -> SightResult:
    """Return width, slope and offset of a gap as an answer; ``z_mm`` are inner and outer plane."""
    width_mm, slope, offset_mm = found
    z_in, z_out = z_mm
    line = ((z_in, offset_mm + slope * z_in), (z_out, offset_mm + slope * z_out))
    return SightResult(-width_mm, float(np.degrees(np.arctan(-slope))), line)


def free_widths(
    slopes: FloatArray, solids: Sequence[Points], lower: Points, upper: Points
) -> FloatArray:
    """Return, per slope, the width (mm, normal to the line) left free; negative: covered by.

    ``slopes`` are dy/dz, the other arguments those of :func:`sight_margin`.

    Examples
    --------
    A post 2 mm high in a duct 4 mm high and 4 mm deep leaves 2 mm to level lines, nothing to those
    at 45 degrees:

    >>> post = [(-1.0, 0.0), (0.0, 0.0), (0.0, 2.0), (-1.0, 2.0)]
    >>> walls = [(-4.0, 0.0), (0.0, 0.0)], [(-4.0, 4.0), (0.0, 4.0)]
    >>> [float(w) for w in free_widths(np.array([0.0, 1.0]), [post], *walls)]
    [2.0, 0.0]
    """
    low = np.asarray(lower, dtype=float)
    high = np.asarray(upper, dtype=float)
    corners = padded(solids)
    gap, _ = _widest_gap(np.asarray(slopes, dtype=float), corners, low, high)
    return np.asarray(gap / np.sqrt(1.0 + np.asarray(slopes) ** 2))


def critical_slopes(
    corners: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the sorted slopes along, and square to, all lines through two corners.

    ``corners`` (n, k, 2) in mm, ``low`` and ``high`` (m, 2) in mm. Slopes that
    no line between the two walls can have are left out; the steepest possible ones are kept.

    Examples
    --------
    An empty duct as high as it is deep: level lines, and the two diagonals.

    >>> low, high = np.array([(-4.0, 0.0), (0.0, 0.0)]), np.array([(-4.0, 4.0), (0.0, 4.0)])
    >>> along, square = critical_slopes(np.empty((0, 1, 2)), low, high)
    >>> along.tolist()
    [-1.0, 0.0, 1.0]
    """
    along, across = _pair_slopes(corners, low, high)
    return _each_once(along), _each_once(across)


def _pair_slopes(
    corners: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the slopes along and square to lines through two corners, in no order."""
    z, y = _points(corners, low, high).T
    dz, dy = z[:, None] - z[None, :], y[:, None] - y[None, :]
    shallowest, steepest = _possible(low, high)

    def possible(slopes: FloatArray) -> FloatArray:
        inside = slopes[(slopes >= shallowest) & (slopes <= steepest)]
        return np.append(inside, [0.0, steepest, shallowest])

    forward = dz > 1e-9
    upward = dy > 1e-9
    return possible(dy[forward] / dz[forward]), possible(-dz[upward] / dy[upward])


def _points(corners: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Return all corners (n, 2), mm, those that are one to nine decimals once."""
    points = np.round(np.vstack([corners.reshape(-1, 2), low, high]), 9)
    # As complex numbers, since sorting rows of two is several times slower.
    once = np.unique(points[:, 0] + 1j * points[:, 1])
    return np.stack([once.real, once.imag], axis=1)


def _each_once(slopes: FloatArray) -> FloatArray:
    """Return slopes sorted, those that are one to nine decimals once."""
    return np.unique(np.round(slopes, 9))


def _within(ranges: FloatArray, slopes: FloatArray) -> FloatArray:
    """Return the slopes that lie in one of some ranges, least and greatest, in ascending order."""
    # Ranges overlap by a hair at most, so that the last one to begin before a slope decides.
    i = np.searchsorted(ranges[:, 0], slopes, side="right") - 1
    return np.asarray(slopes[(i >= 0) & (slopes <= ranges[np.maximum(i, 0), 1])])


def _widest(
    slopes: FloatArray,
    corners: FloatArray,
    low: FloatArray,
    high: FloatArray,
    chunk: int,
    *,
    between: bool = False,
) -> tuple[float, float, float]:
    """Return width, slope and offset of the widest gap over the given slopes."""
    best = (-np.inf, 0.0, 0.0)
    for start in range(0, len(slopes), chunk):
        b = slopes[start : start + chunk]
        gap, offset = _widest_gap(b, corners, low, high, between=between)
        width = gap / np.sqrt(1.0 + b * b)
        i = int(np.argmax(width))
        if width[i] > best[0]:
            best = (float(width[i]), float(b[i]), float(offset[i]))
    return best


def padded(solids: Sequence[Points]) -> FloatArray:
    """Return convex outlines (n, k, 2) of unequal length, mm: the last corner is repeated.

    Examples
    --------
    >>> padded([[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)], [(5.0, 5.0)]])[1].tolist()
    [[5.0, 5.0], [5.0, 5.0], [5.0, 5.0]]
    """
    if not solids:
        return np.empty((0, 1, 2))
    most = max(len(s) for s in solids)
    points: list[tuple[float, float]] = []
    for solid in solids:
        points += solid
        if len(solid) < most:
            points += [solid[-1]] * (most - len(solid))
    # Number by number: an array made of nested tuples takes three times as long.
    flat = np.fromiter(chain.from_iterable(points), float, 2 * len(points))
    return flat.reshape(len(solids), most, 2)


def _widest_gap(
    b: FloatArray,
    corners: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    between: bool = False,
) -> tuple[FloatArray, FloatArray]:
    """Return the widest uncovered interval per slope (negative: least cover) and its middle.

    With ``between`` only intervals between two solids count that lie off the walls.
    """
    floor = (low[:, 1][None] - b[:, None] * low[:, 0][None]).max(axis=1)
    roof = (high[:, 1][None] - b[:, None] * high[:, 0][None]).min(axis=1)
    start = np.full((len(b), corners.shape[0]), np.inf)
    end = np.full((len(b), corners.shape[0]), -np.inf)
    # Corner by corner: reducing over a short last axis would be several times slower.
    for j in range(corners.shape[1]):
        shadow = corners[None, :, j, 1] - b[:, None] * corners[None, :, j, 0]
        np.minimum(start, shadow, out=start)
        np.maximum(end, shadow, out=end)
    order = np.argsort(start, axis=1)
    start = np.take_along_axis(start, order, axis=1)
    end = np.take_along_axis(end, order, axis=1)
    # Solids beyond the roof or below the floor must not shrink or widen the free interval.
    begin_next = np.minimum(np.concatenate([start, roof[:, None]], axis=1), roof[:, None])
    covered = np.maximum.accumulate(np.concatenate([floor[:, None], end], axis=1), axis=1)
    gaps = begin_next - covered
    if between:
        ends = np.stack([np.maximum.accumulate(end, axis=1)[:, :-1], start[:, 1:]])
        off = (ends > floor[:, None] - _ROUNDING_MM) & (ends < roof[:, None] + _ROUNDING_MM)
        gaps[:, 1:-1] = np.where(off.all(axis=0), gaps[:, 1:-1], -np.inf)
        gaps[:, [0, -1]] = -np.inf
    i = np.argmax(gaps, axis=1)
    rows = np.arange(len(b))
    middle = 0.5 * (begin_next[rows, i] + covered[rows, i])
    return gaps[rows, i], middle

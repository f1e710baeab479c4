"""Where the nearest straight line of a section can lie: bounds that spare most slopes a look.

The widths that solids leave free change little from one slope to the next: every end of a shadow
moves by its depth (z) for a change of one in the slope, so a gap between two of them by the depth
of all at most. A look at the middle of a range of slopes thus bounds the whole range, and ranges
that cannot matter are left out, the others halved. Compiled, since thousands of looks make one
answer; exact widths are those of :mod:`vent_family.spec.sightlines`.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.compiled import compiled

NARROWER, WIDER, UNTOLD = -1, 1, 0
"""Answers: no line is as wide, some line is wider, rounding decides."""
_HAIR: Final = 1e-6
"""Widths (mm) nearer to each other than this are not told apart."""
_FIRST: Final = 48
"""Ranges looked into at first."""
_DEEPEST: Final = 40
"""So often a range is halved, at most."""
_FINE: Final = 2e-3
"""Half of a range of slopes that is worth no further halving where exact widths follow."""
_MOST: Final = 512
"""Ranges that can be left over."""


def widest_is(
    corners: FloatArray,
    low: FloatArray,
    high: FloatArray,
    slopes: tuple[float, float],
    width_mm: float,
) -> int:
    """Return whether the widest gap is wider than a width, which is negative where lines are cut.

    Parameters
    ----------
    corners
        outlines of convex solids (n, k, 2), mm
    low, high
        walls (m, 2), mm
    slopes
        least and greatest slope that a line can have (1)
    width_mm
        the width, mm, below 0

    Returns
    -------
    int
        ``WIDER``, ``NARROWER``, or ``UNTOLD`` where the two are within a millionth of a millimetre

    Examples
    --------
    A post 3 mm high in a duct of 4 mm leaves 1 mm:

    >>> post = np.array([[(-1.0, 0.0), (0.0, 0.0), (0.0, 3.0), (-1.0, 3.0)]])
    >>> low, high = np.array([(-9.0, 0.0), (0.0, 0.0)]), np.array([(-9.0, 4.0), (0.0, 4.0)])
    >>> widest_is(post, low, high, (-0.4, 0.4), -0.5) == WIDER
    True
    """
    answer, _ = _widest_is(corners, low, high, slopes[0], slopes[1], width_mm, math.nan)
    return int(answer)


def ranges_of_widest(
    corners: FloatArray, low: FloatArray, high: FloatArray, slopes: tuple[float, float]
) -> tuple[FloatArray, bool]:
    """Return ranges of slopes in which the widest gap lies, and whether a gap was met that is free.

    The ranges, least and greatest slope (1), are in ascending order; ``corners``, ``low`` and
    ``high`` (mm) and ``slopes`` (1) are those of :func:`widest_is`.
    """
    found = np.empty((_MOST, 2))
    count, least, _ = _ranges(corners, low, high, slopes[0], slopes[1], found)
    return found[:count], bool(least > 0.0)


def widest_within(
    corners: FloatArray, low: FloatArray, high: FloatArray, slopes: tuple[float, float]
) -> tuple[float, float]:
    """Return widths (mm) between which that of the widest gap lies; negative where lines are cut.

    ``corners``, ``low`` and ``high`` (mm) and ``slopes`` (1) are those of :func:`widest_is`.

    Examples
    --------
    A post 3 mm high in a duct of 4 mm leaves 1 mm:

    >>> post = np.array([[(-1.0, 0.0), (0.0, 0.0), (0.0, 3.0), (-1.0, 3.0)]])
    >>> low, high = np.array([(-9.0, 0.0), (0.0, 0.0)]), np.array([(-9.0, 4.0), (0.0, 4.0)])
    >>> [round(width, 1) for width in widest_within(post, low, high, (-0.4, 0.4))]
    [1.0, 1.0]
    """
    _, least, most = _ranges(corners, low, high, slopes[0], slopes[1], np.empty((_MOST, 2)))
    return float(least), float(most)


def pair_slopes_within(ranges: FloatArray, points: FloatArray, *, square: bool) -> FloatArray:
    """Return the slopes along lines through two points, or square to them, that lie in some ranges.

    Parameters
    ----------
    ranges
        least and greatest slope (n, 2), in ascending order (1)
    points
        places (z, y), mm, each once, in ascending order of z
    square
        whether the slopes square to the lines are meant

    Returns
    -------
    array
        slopes (1)

    Examples
    --------
    >>> points = np.array([(0.0, 0.0), (1.0, 0.5), (2.0, 2.0)])
    >>> pair_slopes_within(np.array([(0.4, 0.6), (0.9, 1.1)]), points, square=False).tolist()
    [0.5, 1.0]
    """
    return np.asarray(_pairs_within(ranges, points, square)) if len(ranges) else np.empty(0)


def widest_among(
    slopes: FloatArray, corners: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    """Return those of some ``slopes`` (1) that have the widest gap, but for rounding.

    ``corners``, ``low`` and ``high`` (mm) are those of :func:`widest_is`.
    """
    widths = _widths(slopes, corners, low, high)
    return np.asarray(slopes[widths >= widths.max(initial=-np.inf) - _HAIR])


@compiled()
def _gap(
    b: float,
    corners: FloatArray,
    low: FloatArray,
    high: FloatArray,
    start: FloatArray,
    end: FloatArray,
    order: IntArray,
) -> float:
    """Return the widest uncovered interval of offsets at a slope; ``order`` serves the next."""
    floor, roof = -np.inf, np.inf
    for i in range(low.shape[0]):
        floor = max(floor, low[i, 1] - b * low[i, 0])
    for i in range(high.shape[0]):
        roof = min(roof, high[i, 1] - b * high[i, 0])
    for s in range(corners.shape[0]):
        first, last = np.inf, -np.inf
        for j in range(corners.shape[1]):
            shadow = corners[s, j, 1] - b * corners[s, j, 0]
            first, last = min(first, shadow), max(last, shadow)
        start[s], end[s] = first, last
    # Neighbouring slopes have nearly the same order.
    for i in range(1, order.shape[0]):
        s = order[i]
        k = i - 1
        while k >= 0 and start[order[k]] > start[s]:
            order[k + 1] = order[k]
            k -= 1
        order[k + 1] = s
    covered, widest = floor, -np.inf
    for i in range(order.shape[0]):
        s = order[i]
        widest = max(widest, min(start[s], roof) - covered)
        covered = max(covered, end[s])
    return float(max(widest, roof - covered))


@compiled()
def _depth(corners: FloatArray, low: FloatArray) -> float:
    """Return the depth of all solids and walls (mm)."""
    z0, z1 = low[0, 0], low[-1, 0]
    for s in range(corners.shape[0]):
        for j in range(corners.shape[1]):
            z0, z1 = min(z0, corners[s, j, 0]), max(z1, corners[s, j, 0])
    return float(z1 - z0)


@compiled()
def greatest_width(gap: float, slope: float, half: float, depth: float) -> float:
    """Return the greatest width (mm) within ``half`` (1) of a ``slope`` (1) with a ``gap`` (mm).

    For compiled callers; ``depth`` (mm) is that of what casts the shadows.
    """
    most = gap + depth * half
    steep, level = abs(slope) + half, max(abs(slope) - half, 0.0)
    reach = steep if most < 0.0 else level
    return most / math.sqrt(1.0 + reach * reach)


@compiled()
def _widest_is(
    corners: FloatArray,
    low: FloatArray,
    high: FloatArray,
    shallowest: float,
    steepest: float,
    width: float,
    met: float,
) -> tuple[int, float]:
    """Return the answer, and the slope at which a gap is wider; that at ``met`` is tried first."""
    start, end = np.empty(corners.shape[0]), np.empty(corners.shape[0])
    order = np.arange(corners.shape[0])
    if shallowest <= met <= steepest:
        gap = _gap(met, corners, low, high, start, end, order)
        if gap > 0.0 or gap / math.sqrt(1.0 + met * met) > width + _HAIR:
            return WIDER, met
    depth = _depth(corners, low)
    slopes = np.empty(_FIRST + 2 * _DEEPEST)
    halves = np.empty(_FIRST + 2 * _DEEPEST)
    count = 0
    half = 0.5 * (steepest - shallowest) / _FIRST
    for i in range(_FIRST):
        b = shallowest + (2 * i + 1) * half
        gap = _gap(b, corners, low, high, start, end, order)
        if gap > 0.0 or gap / math.sqrt(1.0 + b * b) > width + _HAIR:
            return WIDER, b
        if greatest_width(gap, b, half, depth) > width - _HAIR:
            slopes[count], halves[count] = b, half
            count += 1
    least = half * 0.5**_DEEPEST
    while count > 0:
        count -= 1
        middle, half = slopes[count], 0.5 * halves[count]
        if half < least:
            return UNTOLD, math.nan
        for b in (middle - half, middle + half):
            gap = _gap(b, corners, low, high, start, end, order)
            if gap > 0.0 or gap / math.sqrt(1.0 + b * b) > width + _HAIR:
                return WIDER, b
            if greatest_width(gap, b, half, depth) > width - _HAIR:
                slopes[count], halves[count] = b, half
                count += 1
    return NARROWER, math.nan


@compiled()
def widest_from(
    corners: FloatArray, low: FloatArray, high: FloatArray, width: float, met: float
) -> tuple[int, float]:
    """Return what :func:`widest_is` does over all slopes between two walls, and where.

    For compiled callers. ``corners``, ``low`` and ``high`` are in mm. The slope ``met`` (1), if it
    is one, is looked at first; the second answer is the slope (1) at which a gap is wider than
    ``width`` (mm), ``nan`` without one.
    """
    depth = low[-1, 0] - low[0, 0]
    shallowest = min((low[-1, 1] - high[0, 1]) / depth, 0.0)
    steepest = max((high[-1, 1] - low[0, 1]) / depth, 0.0)
    found: tuple[int, float] = _widest_is(corners, low, high, shallowest, steepest, width, met)
    return found


@compiled()
def _is_within(slope: float, ranges: FloatArray) -> bool:
    """Return whether a slope lies in one of some ranges; they overlap by a hair at most."""
    first, last = 0, ranges.shape[0]
    while first < last:
        middle = (first + last) // 2
        if ranges[middle, 0] <= slope:
            first = middle + 1
        else:
            last = middle
    return first > 0 and slope <= ranges[first - 1, 1]


@compiled()
def _pairs_within(ranges: FloatArray, points: FloatArray, square: bool) -> FloatArray:
    found = np.empty(points.shape[0] * (points.shape[0] - 1) // 2)
    count = 0
    least, most = ranges[0, 0], ranges[-1, 1]
    for i in range(points.shape[0]):
        for j in range(i):
            dz, dy = points[i, 0] - points[j, 0], points[i, 1] - points[j, 1]
            if square:
                if abs(dy) <= 1e-9:
                    continue
                slope = -dz / dy
            else:
                if dz <= 1e-9:
                    continue
                slope = dy / dz
            if least <= slope <= most and _is_within(slope, ranges):
                found[count] = slope
                count += 1
    return found[:count].copy()


@compiled()
def _widths(
    slopes: FloatArray, corners: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    start, end = np.empty(corners.shape[0]), np.empty(corners.shape[0])
    order = np.arange(corners.shape[0])
    widths = np.empty(slopes.shape[0])
    for i in range(slopes.shape[0]):
        b = slopes[i]
        widths[i] = _gap(b, corners, low, high, start, end, order) / math.sqrt(1.0 + b * b)
    return widths


@compiled()
def _ranges(
    corners: FloatArray,
    low: FloatArray,
    high: FloatArray,
    shallowest: float,
    steepest: float,
    found: FloatArray,
) -> tuple[int, float, float]:
    """Fill in the ranges in which the widest gap can lie.

    Returned are how many, and the least and the greatest width that it can have.
    """
    start, end = np.empty(corners.shape[0]), np.empty(corners.shape[0])
    order = np.arange(corners.shape[0])
    depth = _depth(corners, low)
    half = 0.5 * (steepest - shallowest) / _FIRST
    slopes, gaps = np.empty(_MOST), np.empty(_MOST)
    for i in range(_FIRST):
        slopes[i] = shallowest + (2 * i + 1) * half
        gaps[i] = _gap(slopes[i], corners, low, high, start, end, order)
    count, best = _FIRST, -np.inf
    while True:
        for i in range(count):
            best = max(best, gaps[i] / math.sqrt(1.0 + slopes[i] * slopes[i]))
        kept = 0
        for i in range(count):
            if greatest_width(gaps[i], slopes[i], half, depth) > best - _HAIR:
                slopes[kept], gaps[kept] = slopes[i], gaps[i]
                kept += 1
        count = kept
        if half < _FINE or 2 * count > _MOST:
            break
        half *= 0.5
        # From the last to the first, so that none is overwritten before it is halved.
        for i in range(count - 1, -1, -1):
            middle = slopes[i]
            for k in (1, 0):
                slopes[2 * i + k] = middle + half if k else middle - half
        count *= 2
        for i in range(count):
            gaps[i] = _gap(slopes[i], corners, low, high, start, end, order)
    most = best
    for i in range(count):
        found[i, 0], found[i, 1] = slopes[i] - half - 1e-8, slopes[i] + half + 1e-8
        most = max(most, greatest_width(gaps[i], slopes[i], half, depth))
    return count, best, most

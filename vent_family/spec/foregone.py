"""What is foregone: rows that no layout closes, told before any is laid out.

A lattice of slats without floor and ceiling repeats from pitch to pitch: at any slope, the gap
between the shadows of its slats comes once in every pitch, or overlaps that are less than the
margin do. Where between floor and ceiling more than a pitch is free at that slope, such a line
passes, wherever the lattice hangs: what channel and ceiling take off the slats only opens more.
Coordinates as in :mod:`vent_family.spec.section`, in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.compiled import compiled
from vent_family.base.limits import SLIVER_MIN
from vent_family.spec import defaults
from vent_family.spec.bounds import Bounds
from vent_family.spec.choice import StackChoice, possible_stacks
from vent_family.spec.families import Family
from vent_family.spec.places import Frame
from vent_family.spec.row import FilledRow
from vent_family.spec.sightlines import ENOUGH_MM
from vent_family.spec.sightsearch import greatest_width
from vent_family.spec.stack import Stack, patterns_of

_FIRST: Final = 48
"""Ranges of slopes looked into at first."""
_FINE_MM: Final = 0.02
"""A range in which lines may pass is halved until within it shadows move by less, mm."""
_DEEPEST: Final = 24
"""So often a range is halved, at most."""
_HAIR_MM: Final = 1e-6
"""Less than this is left to the exact test."""
_WIDE_MM: Final = _HAIR_MM - ENOUGH_MM
"""Lines that pass this width, or miss by less, are too near."""


def sill_steps(row: FilledRow, stack: Stack, bounds: Bounds) -> int:
    """Return how many steps a blank sill may be raised until no straight line passes."""
    if row.sill_height_mm is not None or bounds.throat is not None:
        return 0  # a bore ends on the sill's top
    room = bounds.ceiling_max_mm - 2 * stack.pitch_mm - bounds.sill_top_mm
    return max(0, min(defaults.SILL_STEPS, math.floor(room / defaults.SILL_STEP_MM)))


def open_whatever(family: Family, row: FilledRow, choice: StackChoice) -> bool:
    """Return whether lines pass, or nearly, every layout of every stack that a row may choose.

    Where they do, the row is refused; where not, nothing is said.
    """
    return all(
        passing_mm(stack, bounds, top, at_once=True) > _WIDE_MM
        for stack, bounds, top in _possible(family, row, choice)
    )


def sight_lack_mm(family: Family, row: FilledRow, choice: StackChoice) -> float:
    """Return how far the stack nearest to closing is from the margin it needs, mm.

    Nothing, where there is one of which :func:`passing_mm` knows no such line.
    """
    least = min(
        passing_mm(stack, bounds, top) for stack, bounds, top in _possible(family, row, choice)
    )
    return max(least + ENOUGH_MM, 0.0)


def _possible(
    family: Family, row: FilledRow, choice: StackChoice
) -> Iterator[tuple[Stack, Bounds, float]]:
    """Yield every stack that a row may choose, its bounds and the height of its highest sill, mm.

    Slopes do not move the bounds.
    """
    met: dict[tuple[float, ...], Bounds] = {}
    for stack in possible_stacks(choice):
        if stack.gaps_mm not in met:
            met[stack.gaps_mm] = family.bounds(row, stack)
        bounds = met[stack.gaps_mm]
        highest = bounds.sill_top_mm + sill_steps(row, stack, bounds) * defaults.SILL_STEP_MM
        yield stack, bounds, highest


def passing_mm(stack: Stack, bounds: Bounds, sill_top_mm: float, *, at_once: bool = False) -> float:
    """Return the width of a strip that passes a stack wherever within bounds it hangs, mm.

    Negative is by how much the nearest line misses; what it finds is met by looking at some slopes,
    so that wider ones may pass. Minus infinity where no line has room.

    Parameters
    ----------
    stack, bounds
        the stack, and what it hangs in
    sill_top_mm
        height of the highest sill, mm
    at_once
        whether the first line will do that misses by less than it must

    Examples
    --------
    Plates, and the same with a wider gap behind the outermost bank, in a vent 90 mm high; the
    second miss all lines that are looked at by half a millimetre:

    >>> bounds = Bounds(
    ...     front_z_mm=3.0, front_margin_mm=1.0, floor_front_mm=-30.0, slope_deg=5.0,
    ...     drain_height_mm=4.0, apron_thickness_mm=2.0, ceiling_max_mm=60.0, ceiling_min_mm=48.0,
    ...     inner_z_mm=-25.6, foot_z_mm=-24.0, sill_top_mm=-20.0)
    >>> open, closed = (Stack("flat", 1.5, 12.0, 9.0, (g, 4.0, 4.0), 0.5, (1,) * 4) for g in (4, 9))
    >>> round(passing_mm(open, bounds, -20.0), 2), passing_mm(closed, bounds, -20.0) < -0.5
    (0.92, True)
    """
    frame = Frame.of(stack, bounds)
    patterns = patterns_of(stack)
    corners = patterns.pieces + np.array([frame.front_mm, 0.0])
    corners[..., 1] += np.asarray(stack.offsets_mm)[patterns.banks][:, None]
    low = (*bounds.lower(sill_top_mm), *frame.apron(_lowest_front_mm(frame)))
    return float(
        _passing(
            corners.reshape(stack.bank_count, -1, 2),
            stack.pitch_mm,
            np.asarray(low, dtype=float),
            np.asarray(bounds.upper(bounds.ceiling_min_mm), dtype=float),
            _WIDE_MM if at_once else np.inf,
        )
    )


def _lowest_front_mm(frame: Frame) -> float:
    """Return the greatest height (mm) at which the outermost bank begins, wherever it hangs."""
    stack = frame.stack
    # A slat of which the channel leaves less is left out, and the next one is the lowest.
    left = max(stack.shape.remnant_mm(stack.thickness_mm), SLIVER_MIN.value)
    return frame.cuts_mm[0] + max(left + stack.pitch_mm - stack.slat_height_mm, 0.0)


@compiled()
def _passing(
    corners: FloatArray, pitch: float, low: FloatArray, high: FloatArray, enough: float
) -> float:
    """Return the widest gap of the lattice that is met with room for it, or one wide enough."""
    starts, ends = np.empty(corners.shape[0]), np.empty(corners.shape[0])
    z0, z1 = low[:, 0].min(), low[:, 0].max()
    steepest = (high[:, 1].max() - low[:, 1].min()) / (z1 - z0)
    depth = corners[:, :, 0].max() - corners[:, :, 0].min()
    slopes, halves = np.empty(_FIRST + _DEEPEST), np.empty(_FIRST + _DEEPEST)
    count, widest = _FIRST, -np.inf
    for i in range(_FIRST):
        # Level lines first: what is open mostly is so there.
        k = i // 2 if i % 2 else -1 - i // 2
        half = steepest / _FIRST
        slopes[_FIRST - 1 - i], halves[_FIRST - 1 - i] = (2 * k + 1) * half, half
    while count > 0:
        count -= 1
        b, half = slopes[count], halves[count]
        floor, roof = -np.inf, np.inf
        for i in range(low.shape[0]):
            floor = max(floor, low[i, 1] - b * low[i, 0])
        for i in range(high.shape[0]):
            roof = min(roof, high[i, 1] - b * high[i, 0])
        # Slopes near this one have that much more room at most.
        if roof - floor + (z1 - z0) * half < pitch:
            continue
        gap = _endless_gap(b, corners, pitch, starts, ends)
        if roof - floor > pitch + max(gap, 0.0) + _HAIR_MM:
            widest = max(widest, gap / math.sqrt(1.0 + b * b))
            if widest > enough:
                return float(widest)
        is_coarse = depth * half > _FINE_MM and count < slopes.shape[0] - 2
        if is_coarse and greatest_width(gap, b, half, depth) > max(widest, _WIDE_MM):
            for side in (-0.5, 0.5):
                slopes[count], halves[count] = b + side * half, 0.5 * half
                count += 1
    return float(widest)


@compiled()
def _endless_gap(
    b: float, corners: FloatArray, pitch: float, starts: FloatArray, ends: FloatArray
) -> float:
    """Return the widest gap between shadows of an endless lattice at a slope; negative: overlap."""
    covered = -np.inf
    for s in range(corners.shape[0]):
        first, last = np.inf, -np.inf
        for j in range(corners.shape[1]):
            shadow = corners[s, j, 1] - b * corners[s, j, 0]
            first, last = min(first, shadow), max(last, shadow)
        begin = first % pitch
        end = begin + last - first
        covered = max(covered, end - pitch)
        # Kept in order of their starts.
        k = s - 1
        while k >= 0 and starts[k] > begin:
            starts[k + 1], ends[k + 1] = starts[k], ends[k]
            k -= 1
        starts[k + 1], ends[k + 1] = begin, end
    widest = -np.inf
    for s in range(corners.shape[0]):
        widest = max(widest, starts[s] - covered)
        covered = max(covered, ends[s])
    return float(widest)

"""The loss of a slat stack: published coefficients, corrected by solved flows.

First by the plane solver's table (:mod:`vent_family.evidence.air.calibration`), then by what
solutions in three dimensions change about that (:mod:`vent_family.evidence.air.three_d`). Both
corrections belong to a slat form. Outside its form's table a stack gets the table's edge, and a
form that has no table gets none; both are said to be out of range.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN
from vent_family.evidence.air import calibration, solved, three_d
from vent_family.evidence.air.calibration import widest_feet
from vent_family.evidence.air.coefficients import StackBatch, StackLoss, quick_loss
from vent_family.spec.stack import Stack


def plane_loss(batch: StackBatch, re: FloatArray | float) -> StackLoss:
    """Return the loss corrected by the plane solver's table alone.

    Beyond the table's Reynolds numbers the correction at its edge is kept.

    Parameters
    ----------
    batch
        n stacks
    re
        passage Reynolds number, one number, (m,), or (n, m)

    Raises
    ------
    UncalibratedError
        if the table lacks runs of a form's grid
    """
    raw, factor, covered, last = _plane(batch, re)
    terms = {name: term * factor for name, term in raw.terms.items()}
    inside = raw.in_range & covered & (_numbers(raw, re) <= last[:, None])
    return StackLoss(terms, raw.plane_k * factor, factor, inside)


def corrected_loss(batch: StackBatch, re: FloatArray | float) -> StackLoss:
    """Return the loss corrected by the solved flows.

    Below the least Reynolds number the correction of that number is kept, above the greatest
    likewise, and ``in_range`` is False.

    Parameters
    ----------
    batch
        n stacks
    re
        passage Reynolds number, one number, (m,), or (n, m)

    Raises
    ------
    UncalibratedError
        if the table lacks runs of a form's grid

    Examples
    --------
    >>> stack = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> found = corrected_loss(StackBatch.of([stack]), np.array([5.0, 400.0]))
    >>> found.k.round(1).tolist(), found.in_range.tolist()
    ([[152.8, 43.5]], [[False, True]])
    >>> round(float(found.shares()["turns"][0, 1]), 2)
    0.48
    """
    raw, factor, covered, last = _plane(batch, re)
    numbers = _numbers(raw, re)
    total, passage = raw.k, batch.passage_mm / batch.bay_mm
    plane_k = raw.plane_k * factor
    for form, rows in batch.rows():
        change = three_d.change_of(form)
        if change is None:
            continue
        free = change.factor(numbers[rows])
        ribs = raw.plane_k[rows] / total[rows] * change.ribs(numbers[rows], passage[rows])
        factor[rows] *= free * ribs
        plane_k[rows] *= free
        last[rows] = np.maximum(last[rows], change.last_re)
    return StackLoss(
        {name: term * factor for name, term in raw.terms.items()},
        plane_k,
        factor,
        raw.in_range & covered & (numbers <= last[:, None] * (1.0 + 1e-9)),
    )


def _plane(
    batch: StackBatch, re: FloatArray | float
) -> tuple[StackLoss, FloatArray, BoolArray, FloatArray]:
    """Return the coefficients' loss, the table's factor, where it holds, and its last Re (1)."""
    raw = quick_loss(batch, re)
    factor, covered = calibration.correction(batch, _numbers(raw, re))
    last = batch.by_form(
        lambda form, _: form.air_table.reynolds[-1] if form.air_table is not None else 0.0
    )
    return raw, factor, covered, last


def _numbers(found: StackLoss, re: FloatArray | float) -> FloatArray:
    """Return the Reynolds numbers (1) of every stack, (n, m)."""
    return np.broadcast_to(np.atleast_1d(np.asarray(re, dtype=float)), found.correction.shape)


PLANE_SYSTEMATIC: Final = 0.07
"""The plane solver's own error, a share of K, for a form that was never solved in three dimensions:
that of slanted slats (``data/three_d_losses.csv``)."""
TREND: Final = 0.18
"""Largest departure (natural logarithm) of one stack's change of K from Re 400 to 2000 from its
form's mean, over 54 stacks solved in the plane. Above the table's last Reynolds number one stack
solved in three dimensions stands for all of its form."""
TREND_RE: Final = 2000.0
"""Passage Reynolds number (1) at which :data:`TREND` was found."""
RIB_SHARE: Final = 0.5
"""How far off the part of the ribs may be, as a share of it: one bay width a form was solved."""


def band(stack: Stack, re: float, bay_mm: float) -> tuple[float, float]:
    """Return the factors (1) on the corrected K between which the true K lies.

    What is known of the error is added as the sum of squares of logarithms, each at the largest
    value seen: runs of the plane solver that corrected nothing (``data/unseen_runs.csv``), by form
    and flow; the solutions' own error; above the table's Reynolds numbers the change from there,
    known for one stack a form; the ribs' part. Outside the table the worst of the runs outside
    is added. A form that was never solved gets what the coefficients alone are off in the table.

    Parameters
    ----------
    stack
        the stack
    re
        passage Reynolds number
    bay_mm
        clear width between ribs, mm

    Raises
    ------
    UncalibratedError
        if the table lacks runs of the form's grid

    Examples
    --------
    >>> stack = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> [round(factor, 2) for factor in band(stack, 200.0, 20.0)]
    [0.84, 1.19]
    >>> [round(factor, 2) for factor in band(stack, 2000.0, 20.0)]
    [0.78, 1.28]
    """
    return bands(stack, [re], bay_mm)[0]


def bands(stack: Stack, numbers: Sequence[float], bay_mm: float) -> list[tuple[float, float]]:
    """Return :func:`band` at many passage Reynolds numbers (1) at once, in their order.

    Raises
    ------
    UncalibratedError
        if the table lacks runs of the form's grid
    """
    form = stack.shape
    table, change = form.air_table, three_d.change_of(form)
    if table is None:
        return [calibration.coefficients_off()] * len(numbers)
    loss = corrected_loss(StackBatch.of([stack], bay_mm), np.array(numbers))
    seen, found = _unseen(), []
    for i, re in enumerate(numbers):
        steady = re <= three_d.STEADY_RE
        parts = [
            seen.inside.get((form.name, steady), max(seen.inside.values())),
            PLANE_SYSTEMATIC if change is None else change.systematic,
            TREND * math.log(max(re / table.reynolds[-1], 1.0)) / math.log(TREND_RE / 400.0),
            RIB_SHARE * abs(math.log(loss.k[0, i] / loss.plane_k[0, i])),
        ]
        if not loss.in_range[0, i]:
            parts.append(seen.outside)
        width = math.hypot(*parts)
        found.append((math.exp(-width), math.exp(width)))
    return found


@dataclass(frozen=True)
class _Unseen:
    """Largest logarithms of model over unseen run: by form and steadiness, and outside."""

    inside: dict[tuple[str, bool], float]
    outside: float


@lru_cache(maxsize=1)
def _unseen() -> _Unseen:
    inside: dict[tuple[str, bool], float] = {}
    outside = 0.0
    for run in solved.read_unseen():
        model = corrected_loss(StackBatch.of([run.stack]), run.re)
        off = abs(math.log(float(model.k[0, 0]) / run.k))
        if model.in_range[0, 0]:
            key = run.stack.form, run.re <= three_d.STEADY_RE
            inside[key] = max(inside.get(key, 0.0), off)
        else:
            outside = max(outside, off)
    return _Unseen(inside, outside)


def beyond_table(stack: Stack, re: float) -> list[str]:
    """Return in words where a stack or its Reynolds number lies outside the calibrated range.

    Examples
    --------
    >>> stack = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (1, 1, 1))
    >>> beyond_table(stack, 5.0)
    ['passage Reynolds number 5 is outside 10 to 2000', 'neighbouring banks slope the same way']
    """
    return [*beyond_numbers(re, *calibrated_numbers(stack)), *beyond_stacks(stack)]


def calibrated_numbers(stack: Stack) -> tuple[float, float]:
    """Return the least and greatest passage Reynolds number (1) that a stack's form was solved at.

    Examples
    --------
    >>> calibrated_numbers(Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (1, -1, 1)))
    (10.0, 2000.0)
    """
    table = stack.shape.air_table
    change = three_d.change_of(stack.shape)
    first, last = AIR_RE_MIN.value, AIR_RE_MAX.value
    if table is not None:
        solved = change.last_re if change is not None else 0.0
        first = max(first, table.reynolds[0])
        last = min(last, max(table.reynolds[-1], solved))
    # Tables keep logarithms, from which 2000 comes back a hair less.
    return round(float(first), 6), round(float(last), 6)


def beyond_numbers(re: float, first: float, last: float) -> list[str]:
    """Return in words that a passage Reynolds number lies outside two others.

    Parameters
    ----------
    re, first, last
        passage Reynolds numbers: the one asked about, and the least and greatest of the others
    """
    if first <= re <= last * (1.0 + 1e-9):
        return []
    return [f"passage Reynolds number {re:.0f} is outside {first:g} to {last:g}"]


def beyond_stacks(stack: Stack) -> list[str]:
    """Return in words where a stack lies outside its form's calibration table."""
    found: list[str] = []
    table = stack.shape.air_table
    if table is None:
        return [f"the flow solver was never run on {stack.form} slats"]
    thin, thick = (t / table.pitch_mm for t in (table.thicknesses_mm[0], table.thicknesses_mm[-1]))
    slack = calibration.THICKNESS_SLACK
    heights = table.height_ratios if stack.gaps_mm else table.single_height_ratios
    p = stack.pitch_mm
    found += _outside("thickness over pitch", stack.thickness_mm / p, thin / slack, thick * slack)
    if heights:
        found += _outside("slat height over pitch", stack.slat_height_mm / p, *_ends(heights))
    else:
        found.append(f"the flow solver was never run on a single bank of {stack.form} slats")
    if stack.gaps_mm:
        gap = sum(stack.gaps_mm) / len(stack.gaps_mm) / stack.passage_mm
        found += _outside("bank gap over passage", gap, *_ends(table.gap_ratios))
        found += _outside("shift from bank to bank over pitch", stack.shift, *table.shifts)
    found += _outside("width of feet over pitch", stack.foot_mm / p, 0.0, widest_feet(table))
    if stack.shape.slopes_chosen and any(
        a == b for a, b in zip(stack.slopes, stack.slopes[1:], strict=False)
    ):
        found.append("neighbouring banks slope the same way")
    return found


def _ends(axis: tuple[float, ...]) -> tuple[float, float]:
    return axis[0], axis[-1]


def _outside(what: str, value: float, low: float, high: float) -> list[str]:
    """Return a sentence if a ratio (1) lies outside two others."""
    if low - 1e-9 <= value <= high + 1e-9:
        return []
    return [f"{what} {value:.2f} is outside {low:.2f} to {high:.2f}"]

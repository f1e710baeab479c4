"""The loss of a slat stack: published coefficients, corrected by the flow solver's table.

The correction belongs to a slat form. Outside its form's table a stack gets the table's edge, and a
form that has no table gets none; both are said to be out of range.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.limits import AIR_RE_MAX, AIR_RE_MIN
from vent_family.evidence.air import calibration
from vent_family.evidence.air.coefficients import StackBatch, StackLoss, quick_loss
from vent_family.spec.stack import Stack

NO_GAP: Final = 3.0
"""Gap ratio a single bank counts with: its wake is free, as behind a wide gap."""


def corrected_loss(batch: StackBatch, re: FloatArray | float) -> StackLoss:
    """Return the loss corrected by the solver's table.

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
    >>> stack = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> found = corrected_loss(StackBatch.of([stack]), np.array([10.0, 400.0]))
    >>> found.k.round(1).tolist(), found.in_range.tolist()
    ([[84.7, 21.7]], [[False, True]])
    >>> round(float(found.shares()["turns"][0, 1]), 2)
    0.47
    """
    raw = quick_loss(batch, re)
    re = np.broadcast_to(np.atleast_1d(np.asarray(re, dtype=float)), raw.correction.shape)
    factor, inside = correction(batch, re)
    terms = {name: term * factor for name, term in raw.terms.items()}
    return StackLoss(terms, factor, raw.in_range & inside)


def correction(batch: StackBatch, re: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return solver over quick model (n, m), and where the stacks lie within the table.

    Parameters
    ----------
    batch
        n stacks
    re
        passage Reynolds numbers (n, m)

    Raises
    ------
    UncalibratedError
        if the table lacks runs of a form's grid
    """
    # A form without a table keeps its plain coefficients: no other form's ratio is borrowed.
    factor = np.ones_like(re)
    inside = np.zeros(re.shape, dtype=bool)
    thickness = batch.thickness_mm / batch.pitch_mm
    overlap = batch.overlap_mm / batch.pitch_mm
    gap = batch.mean_gap_mm / batch.passage_mm
    gap = np.where(np.isnan(gap), NO_GAP, gap)
    alternating = (batch.changes == np.maximum(batch.banks - 1, 1)) | (batch.banks == 1)
    for form, rows in batch.rows():
        if form.air_table is None:
            continue
        factor[rows], covered = calibration.ratio(
            form, thickness[rows], overlap[rows], gap[rows], re[rows]
        )
        usual = alternating[rows] if form.slopes_chosen else np.ones(len(rows), dtype=bool)
        inside[rows] = covered & usual[:, None]
    return factor, inside


STEADY: Final = (0.8, 1.2)
UNSTEADY: Final = {True: (0.85, 1.15), False: (0.7, 1.1)}
"""Above this module's :data:`VORTICES`, by whether jets strike: slanted slats come out too high."""
BEYOND: Final = (0.6, 1.6)
VORTICES: Final = 400.0
"""Passage Reynolds number (1) above which wakes are three-dimensional."""


def band(stack: Stack, re: float, bay_mm: float) -> tuple[float, float]:
    """Return the factors (1) on the corrected K between which the true K lies.

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
    >>> stack = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (1, -1, 1))
    >>> band(stack, 200.0, 20.0), band(stack, 1000.0, 20.0)
    ((0.8, 1.2), (0.7, 1.1))
    """
    found = corrected_loss(StackBatch.of([stack], bay_mm), re)
    if not found.in_range[0, 0]:
        return BEYOND
    return STEADY if re <= VORTICES else UNSTEADY[stack.shape.jets_strike]


def beyond_table(stack: Stack, re: float) -> list[str]:
    """Return in words where a stack or its Reynolds number lies outside the calibrated range.

    Examples
    --------
    >>> stack = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (1, 1, 1))
    >>> beyond_table(stack, 10.0)
    ['passage Reynolds number 10 is outside 50 to 2000', 'neighbouring banks slope the same way']
    """
    found = []
    if not AIR_RE_MIN.value <= re <= AIR_RE_MAX.value:
        found.append(
            f"passage Reynolds number {re:.0f} is outside {AIR_RE_MIN.value:g} to"
            f" {AIR_RE_MAX.value:g}"
        )
    table = stack.shape.air_table
    if table is None:
        return [*found, f"the flow solver was never run on {stack.form} slats"]
    thin, thick = (t / table.pitch_mm for t in (table.thicknesses_mm[0], table.thicknesses_mm[-1]))
    slack = calibration.THICKNESS_SLACK
    if not thin / slack <= stack.thickness_mm / stack.pitch_mm <= thick * slack:
        found.append(
            f"thickness over pitch {stack.thickness_mm / stack.pitch_mm:.2f} is outside"
            f" {thin / slack:.2f} to {thick * slack:.2f}"
        )
    overlaps = table.overlap_ratios
    overlap = stack.overlap_mm / stack.pitch_mm
    if not overlaps[0] <= overlap <= overlaps[-1]:
        found.append(
            f"overlap over pitch {overlap:.2f} is outside {overlaps[0]:g} to {overlaps[-1]:g}"
        )
    if stack.gaps_mm:
        gaps = table.gap_ratios
        gap = sum(stack.gaps_mm) / len(stack.gaps_mm) / stack.passage_mm
        if not gaps[0] <= gap <= gaps[-1]:
            found.append(f"bank gap over passage {gap:.2f} is outside {gaps[0]:g} to {gaps[-1]:g}")
    if stack.shape.slopes_chosen and any(
        a == b for a, b in zip(stack.slopes, stack.slopes[1:], strict=False)
    ):
        found.append("neighbouring banks slope the same way")
    return found

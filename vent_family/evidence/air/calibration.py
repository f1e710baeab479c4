"""The correction of the quick loss model, from the table of solver runs.

It is the ratio of the runs' K (:mod:`vent_family.evidence.air.runs`) to the quick model's answer
for the same stack, interpolated linearly in thickness over pitch, height over pitch, log of gap
over passage and the root of Re (in log Re unseen runs come out a sixth further off), and held
constant beyond the grid's edge. Slats on feet have the K of sharp ones of the same height times the
ratio of runs with and without feet, interpolated likewise and in the feet's width, of which one was
solved.

The coordinate is the slat's height, not its overlap: height sets the passages a bank has, and with
another shift or a single bank the same overlap belongs to slats of quite another height.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.evidence.air.coefficients import StackBatch, quick_loss
from vent_family.evidence.air.runs import NO_GAP, Place, read_runs, sample_stack, table_of
from vent_family.spec.forms import FORMS, AirTable, SlatForm

THICKNESS_SLACK: Final = 1.15
"""Thickness ratios up to this factor beyond the grid count as covered (held-out runs agree)."""


class UncalibratedError(RuntimeError):
    """The table lacks runs; names the edge one missing."""


@lru_cache(maxsize=1)
def _solved() -> Mapping[Place, float]:
    """Return K by place."""
    return {run.place: run.k for run in read_runs()}


Shape = tuple[float, float, float]
"""Thickness (mm), height and gap ratio of a place."""


def _k(form: SlatForm, shape: Shape, reynolds: Sequence[float], foot_mm: float) -> FloatArray:
    """Return the solver's K of one stack at some Reynolds numbers, in face velocity heads."""
    found = []
    for number in reynolds:
        k = _solved().get(Place(form.name, *shape, number, foot_mm))
        if k is None:
            raise UncalibratedError(
                f"no run of {form.name} slats {shape[0]} mm thick, height {shape[1]} of the pitch,"
                f" gap {shape[2]} of the passage, feet of {foot_mm:g} mm, Re {number:g}: run"
                " python -m vent_family.tools.calibrate_air"
            )
        found.append(k)
    return np.array(found)


Grids = tuple[RegularGridInterpolator, RegularGridInterpolator | None]
"""Interpolators of a ratio: of several banks, and of a single one."""


@lru_cache
def _ratios(form: SlatForm, table: AirTable) -> Grids:
    """Return solver over quick model."""

    def found(shape: Shape) -> FloatArray:
        quick = quick_loss(StackBatch.of([sample_stack(form, *shape)]), np.array(table.reynolds))
        return np.asarray(_k(form, shape, table.reynolds, 0.0) / quick.k[0])

    return _grids(table, table.thicknesses_mm, table.reynolds, found)


@lru_cache
def _foot_ratios(form: SlatForm, table: AirTable) -> Grids:
    """Return K with feet over K without."""
    reynolds = table.foot_reynolds

    def found(shape: Shape) -> FloatArray:
        sharp = _k(form, shape, reynolds, 0.0)
        return np.asarray(_k(form, shape, reynolds, table.foot_mm) / sharp)

    return _grids(table, table.foot_thicknesses_mm, reynolds, found)


def _grids(
    table: AirTable,
    thicknesses: Sequence[float],
    reynolds: Sequence[float],
    found: Callable[[Shape], FloatArray],
) -> Grids:
    """Return what was ``found`` of shapes at Reynolds numbers over the table's heights and gaps."""
    ratios = np.array(thicknesses) / table.pitch_mm
    root_re = np.sqrt(reynolds)
    many = np.array(
        [
            [[found((t, h, g)) for g in table.gap_ratios] for h in table.height_ratios]
            for t in thicknesses
        ]
    )
    several = RegularGridInterpolator(
        (ratios, table.height_ratios, np.log(table.gap_ratios), root_re), many
    )
    if not table.single_height_ratios:
        return several, None
    one = np.array(
        [[found((t, h, NO_GAP)) for h in table.single_height_ratios] for t in thicknesses]
    )
    return several, RegularGridInterpolator((ratios, table.single_height_ratios, root_re), one)


@lru_cache(maxsize=1)
def coefficients_off() -> tuple[float, float]:
    """Return the least and greatest ratio (1) of solver over coefficients alone in the table."""
    ratios = []
    for run in read_runs():
        if run.foot_mm > 0.0:
            continue
        stack = sample_stack(FORMS[run.form], run.thickness_mm, run.height_ratio, run.gap_ratio)
        ratios.append(run.k / float(quick_loss(StackBatch.of([stack]), run.re).k[0, 0]))
    return min(ratios), max(ratios)


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
    height = batch.slat_height_mm / batch.pitch_mm
    gap = batch.mean_gap_mm / batch.passage_mm
    gap = np.where(np.isnan(gap), NO_GAP, gap)
    alternating = (batch.changes == np.maximum(batch.banks - 1, 1)) | (batch.banks == 1)
    for form, rows in batch.rows():
        table = form.air_table
        if table is None:
            continue
        axes = (thickness[rows], height[rows], gap[rows])
        factor[rows], covered = ratio(form, *axes, re[rows])
        low, high = table.shifts
        shift = batch.shift[rows]
        usual = ((shift > low - 1e-9) & (shift < high + 1e-9)) | (batch.banks[rows] == 1)
        if form.slopes_chosen:
            usual &= alternating[rows]
        feet = batch.foot_mm[rows] / batch.pitch_mm[rows]
        usual &= feet <= widest_feet(table) + 1e-9
        factor[rows] *= foot_ratio(form, feet, *axes, re[rows])
        inside[rows] = covered & usual[:, None]
    return factor, inside


def widest_feet(table: AirTable) -> float:
    """Return the widest feet that a table covers, a share of the pitch (1); 0: none at all."""
    solved = table.foot_mm / table.pitch_mm if table.foot_reynolds else 0.0
    return THICKNESS_SLACK * solved


def foot_ratio(
    form: SlatForm,
    foot_share: FloatArray,
    thickness_ratio: FloatArray,
    height_ratio: FloatArray,
    gap_ratio: FloatArray,
    re: FloatArray,
) -> FloatArray:
    """Return K of slats on feet over K of sharp ones of the same height, (n, m).

    Linear in the feet's width up to the one that was solved, and held there.

    Parameters
    ----------
    form
        a slat form that the flow solver was run on
    foot_share, thickness_ratio, height_ratio
        width of the feet, thickness and height of the slats over the pitch, (n,) each
    gap_ratio
        clear distance between banks over the passage width, (n,); 0 for a single bank
    re
        passage Reynolds numbers, (n, m)

    Raises
    ------
    ValueError
        if the form has no table of solver runs
    UncalibratedError
        if the table lacks runs of the form's grid
    """
    table = table_of(form)
    if not table.foot_reynolds or not foot_share.any():
        return np.ones(re.shape)
    axes = (thickness_ratio, height_ratio, gap_ratio)
    found, _ = _looked_up(table, _foot_ratios(form, table), axes, re)
    share = np.clip(foot_share * table.pitch_mm / table.foot_mm, 0.0, 1.0)
    return np.asarray(1.0 + share[:, None] * (found - 1.0))


def ratio(
    form: SlatForm,
    thickness_ratio: FloatArray,
    height_ratio: FloatArray,
    gap_ratio: FloatArray,
    re: FloatArray,
) -> tuple[FloatArray, BoolArray]:
    """Return the correction for n stacks at (n, m) Reynolds numbers, and where the table covers it.

    Beyond its edge the table is held constant; a Reynolds number beyond its last is the caller's
    to judge. A single bank of a form whose table has none gets the widest gap's.

    Parameters
    ----------
    form
        a slat form that the flow solver was run on
    thickness_ratio, height_ratio
        slat thickness and height over the pitch, (n,) each
    gap_ratio
        clear distance between banks over the passage width, (n,); 0 for a single bank
    re
        passage Reynolds numbers, (n, m)

    Raises
    ------
    ValueError
        if the form has no table of solver runs
    UncalibratedError
        if the table lacks runs of the form's grid
    """
    table = table_of(form)
    axes = (thickness_ratio, height_ratio, gap_ratio)
    return _looked_up(table, _ratios(form, table), axes, re)


def _looked_up(
    table: AirTable,
    grids: Grids,
    axes: tuple[FloatArray, FloatArray, FloatArray],
    re: FloatArray,
) -> tuple[FloatArray, BoolArray]:
    """Return what grids hold at thickness, height and gap ratios, and where they cover them."""
    (several, single), (thickness_ratio, height_ratio, gap_ratio) = grids, axes
    factor, covered = np.empty(re.shape), np.zeros(re.shape, dtype=bool)
    alone = gap_ratio == NO_GAP
    one = alone if single is not None else np.zeros_like(alone)
    if single is not None and one.any():
        factor[one], covered[one] = _read(
            single, (thickness_ratio[one], height_ratio[one]), re[one]
        )
    if not one.all():
        widest = np.where(alone, table.gap_ratios[-1], gap_ratio)
        point = (thickness_ratio[~one], height_ratio[~one], np.log(widest[~one]))
        factor[~one], inside = _read(several, point, re[~one])
        covered[~one] = inside & ~alone[~one, None]
    return factor, covered


def _read(
    table: RegularGridInterpolator, axes: tuple[FloatArray, ...], re: FloatArray
) -> tuple[FloatArray, BoolArray]:
    """Return a table's values at (n,) places and (n, m) Reynolds numbers, and where it holds."""
    low = np.array([axis[0] for axis in table.grid])
    high = np.array([axis[-1] for axis in table.grid])
    columns = (*(axis[:, None] for axis in axes), np.sqrt(re))
    point = np.stack(np.broadcast_arrays(*columns), axis=-1)
    slack = np.ones(len(low))
    slack[0] = THICKNESS_SLACK
    above, below = point <= high * slack + 1e-9, point >= low / slack - 1e-9
    covered = np.all((above & below)[..., :-1], axis=-1)
    return np.asarray(table(np.clip(point, low, high))), np.asarray(covered)

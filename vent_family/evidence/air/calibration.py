"""The correction of the quick loss model, from a table of solver runs kept beside this module.

``data/stack_losses.csv`` holds K (face velocity heads) of the 2-D solver over slat form, thickness,
height, bank gap and Reynolds number: for stacks of three banks at half a pitch of shift with equal
gaps, and for single banks. Each form names a grid of its own
(:class:`vent_family.spec.forms.AirTable`). The correction is the ratio of these values to the quick
model's answer for the same stack, interpolated linearly in thickness over pitch, height over pitch,
log of gap over passage and the root of Re (in log Re unseen runs come out a sixth further off),
and held constant beyond the grid's edge.

The coordinate is the slat's height, not its overlap: height sets the passages a bank has, and with
another shift or a single bank the same overlap belongs to slats of quite another height.
``tools/calibrate_air.py`` fills the table.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.evidence.air.coefficients import StackBatch, quick_loss
from vent_family.evidence.air.solved import rows_of
from vent_family.spec.forms import FORMS, IN, OUT, AirTable, SlatForm
from vent_family.spec.stack import Stack

RUNS: Final = Path(__file__).with_name("data") / "stack_losses.csv"

THICKNESS_SLACK: Final = 1.15
"""Thickness ratios up to this factor beyond the grid count as covered (held-out runs agree)."""
SAMPLE_BANKS: Final = 3
NO_GAP: Final = 0.0
"""Gap ratio that stands for a single bank."""
SLAT_NODES: Final = 2.75
"""Least number of nodes across a slat's thickness: thinner ones come out too easy to pass."""


@dataclass(frozen=True, slots=True)
class Place:
    """One point of the table.

    ``height_ratio`` is slat height over pitch, ``gap_ratio`` gap over passage (0: a single bank),
    ``re`` the passage Reynolds number.
    """

    form: str
    thickness_mm: float
    height_ratio: float
    gap_ratio: float
    re: float


@dataclass(frozen=True, slots=True)
class Run:
    """One solver run of the table; ``k`` and ``k_spread`` in face velocity heads.

    ``cells`` are the nodes across a passage; ``speed`` (lattice units), ``blocks``, ``unsteady``
    (1) and ``settled`` are those of :class:`vent_family.evidence.air.flow2d.MeanFlow`.
    """

    form: str
    thickness_mm: float
    height_ratio: float
    gap_ratio: float
    re: float
    cells: int
    speed: float
    blocks: int
    k: float
    k_spread: float
    unsteady: float
    settled: bool

    @property
    def place(self) -> Place:
        """Where in the table the run stands."""
        return Place(self.form, self.thickness_mm, self.height_ratio, self.gap_ratio, self.re)


_NUMBERS: Final = tuple(f.name for f in fields(Run) if f.type == "float")
"""The columns that hold a number with a point."""


def grid_places(form: SlatForm) -> Iterator[Place]:
    """Yield every place of one form's table: none where it has no table.

    Examples
    --------
    >>> next(grid_places(FORMS["flat"]))
    Place(form='flat', thickness_mm=0.75, height_ratio=0.6, gap_ratio=0.9, re=10.0)
    """
    table = form.air_table
    if table is None:
        return
    shapes = itertools.chain(
        itertools.product(table.thicknesses_mm, table.height_ratios, table.gap_ratios),
        itertools.product(table.thicknesses_mm, table.single_height_ratios, (NO_GAP,)),
    )
    for thickness, height, gap in shapes:
        for re in table.reynolds:
            yield Place(form.name, thickness, height, gap, re)


def sample_stack(
    form: SlatForm, thickness_mm: float, height_ratio: float, gap_ratio: float
) -> Stack:
    """Return the stack a table row stands for.

    Parameters
    ----------
    form
        a slat form that the flow solver was run on
    thickness_mm
        slat thickness, mm
    height_ratio
        slat height over the pitch
    gap_ratio
        clear distance between banks over the passage width; 0 for a single bank

    Raises
    ------
    ValueError
        if the form has no table of solver runs

    Examples
    --------
    >>> stack = sample_stack(FORMS["flat"], 1.5, 0.75, 1.6)
    >>> stack.slat_height_mm, stack.passage_mm, stack.gaps_mm
    (9.0, 3.0, (4.800000000000001, 4.800000000000001))
    >>> sample_stack(FORMS["folded"], 1.5, 1.25, 0.0).bank_count
    1
    """
    if form.air_table is None:
        raise ValueError(f"the flow solver was never run on {form.name} slats")
    pitch = form.air_table.pitch_mm
    banks = 1 if gap_ratio == NO_GAP else SAMPLE_BANKS
    slopes = tuple(OUT if i % 2 == 0 else IN for i in range(banks))
    no_gaps = (0.0,) * (banks - 1)
    bare = Stack(form.name, thickness_mm, pitch, height_ratio * pitch, no_gaps, 0.5, slopes)
    return replace(bare, gaps_mm=(gap_ratio * bare.passage_mm,) * (banks - 1))


def nodes_across(stack: Stack) -> int:
    """Return the nodes across a passage that the solver needs for a stack.

    Examples
    --------
    >>> flat = Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (1, 1))
    >>> nodes_across(flat), nodes_across(replace(flat, thickness_mm=0.6))
    (12, 14)
    """
    thin = SLAT_NODES * stack.passage_mm / stack.thickness_mm
    return max(stack.shape.solver_cells, math.ceil(thin - 1e-9))


def read_runs() -> list[Run]:
    """Return the table's rows."""
    return [
        Run(
            form=row["form"],
            cells=int(row["cells"]),
            blocks=int(row["blocks"]),
            settled=row["settled"] == "True",
            **{name: float(row[name]) for name in _NUMBERS},
        )
        for row in rows_of(RUNS)
    ]


class UncalibratedError(RuntimeError):
    """The table lacks runs; names the edge one missing."""


@lru_cache(maxsize=1)
def _solved() -> Mapping[Place, float]:
    """Return K by place."""
    return {run.place: run.k for run in read_runs()}


def _found(form: SlatForm, table: AirTable, place: tuple[float, float, float]) -> FloatArray:
    """Return solver over quick model of one stack at the table's Reynolds numbers."""
    re = np.array(table.reynolds)
    quick = quick_loss(StackBatch.of([sample_stack(form, *place)]), re).k[0]
    solved = np.empty(len(re))
    for m, number in enumerate(table.reynolds):
        k = _solved().get(Place(form.name, *place, number))
        if k is None:
            raise UncalibratedError(
                f"no run of {form.name} slats {place[0]} mm thick, height {place[1]} of the pitch,"
                f" gap {place[2]} of the passage, Re {number:g}: run"
                " python -m vent_family.tools.calibrate_air"
            )
        solved[m] = k
    return np.asarray(solved / quick)


@lru_cache
def _ratios(
    form: SlatForm, table: AirTable
) -> tuple[RegularGridInterpolator, RegularGridInterpolator | None]:
    """Return interpolators of solver / quick model: of several banks, and of a single one."""
    ratios = np.array(table.thicknesses_mm) / table.pitch_mm
    root_re = np.sqrt(table.reynolds)
    many = np.array(
        [
            [
                [_found(form, table, (t, h, g)) for g in table.gap_ratios]
                for h in table.height_ratios
            ]
            for t in table.thicknesses_mm
        ]
    )
    several = RegularGridInterpolator(
        (ratios, table.height_ratios, np.log(table.gap_ratios), root_re), many
    )
    if not table.single_height_ratios:
        return several, None
    one = np.array(
        [
            [_found(form, table, (t, h, NO_GAP)) for h in table.single_height_ratios]
            for t in table.thicknesses_mm
        ]
    )
    return several, RegularGridInterpolator((ratios, table.single_height_ratios, root_re), one)


@lru_cache(maxsize=1)
def coefficients_off() -> tuple[float, float]:
    """Return the least and greatest ratio (1) of solver over coefficients alone in the table."""
    ratios = []
    for run in read_runs():
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
        factor[rows], covered = ratio(form, thickness[rows], height[rows], gap[rows], re[rows])
        low, high = table.shifts
        shift = batch.shift[rows]
        usual = ((shift > low - 1e-9) & (shift < high + 1e-9)) | (batch.banks[rows] == 1)
        if form.slopes_chosen:
            usual &= alternating[rows]
        footed = batch.foot_mm[rows] > 0.0
        factor[rows] *= np.where(footed, table.foot_factor, 1.0)[:, None]
        inside[rows] = covered & (usual & ~footed)[:, None]
    return factor, inside


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
    if form.air_table is None:
        raise ValueError(f"the flow solver was never run on {form.name} slats")
    several, single = _ratios(form, form.air_table)
    factor, covered = np.empty(re.shape), np.zeros(re.shape, dtype=bool)
    alone = gap_ratio == NO_GAP
    one = alone if single is not None else np.zeros_like(alone)
    if single is not None and one.any():
        factor[one], covered[one] = _read(
            single, (thickness_ratio[one], height_ratio[one]), re[one]
        )
    if not one.all():
        widest = np.where(alone, form.air_table.gap_ratios[-1], gap_ratio)
        axes = (thickness_ratio[~one], height_ratio[~one], np.log(widest[~one]))
        factor[~one], inside = _read(several, axes, re[~one])
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

"""The correction of the quick loss model, from a table of solver runs kept beside this module.

``data/stack_losses.csv`` holds K (face velocity heads) of the 2-D solver for stacks of three banks
at half a pitch of shift, with equal gaps, over slat form, thickness, overlap, bank gap and Reynolds
number; each form names a grid of its own (:class:`vent_family.spec.forms.AirTable`). The correction
is the ratio of these values to the quick model's answer for the same stack, interpolated linearly
in thickness over pitch, overlap over pitch, log of gap over passage and log Re, and held constant
beyond the grid's edge. ``tools/calibrate_air.py`` fills the table.
"""

from __future__ import annotations

import csv
import itertools
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.evidence.air.coefficients import StackBatch, quick_loss
from vent_family.spec.forms import FORMS, IN, OUT, AirTable, SlatForm
from vent_family.spec.stack import Stack

RUNS: Final = Path(__file__).with_name("data") / "stack_losses.csv"

RE_GRID: Final = (50.0, 150.0, 400.0, 900.0, 2000.0)
THICKNESS_SLACK: Final = 1.15
"""Thickness ratios up to this factor beyond the grid count as covered (held-out runs agree)."""
SAMPLE_BANKS: Final = 3


@dataclass(frozen=True, slots=True)
class Run:
    """One solver run of the table; ``k`` and ``k_spread`` in face velocity heads.

    ``unsteady`` is that of :class:`vent_family.evidence.air.flow2d.MeanFlow` (1).
    """

    form: str
    thickness_mm: float
    overlap_ratio: float
    gap_ratio: float
    re: float
    cells: int
    k: float
    k_spread: float
    unsteady: float
    settled: bool


_NUMBERS: Final = tuple(f.name for f in fields(Run) if f.type == "float")
"""The columns that hold a number with a point."""


def grid_points() -> Iterator[tuple[SlatForm, float, float, float, float]]:
    """Yield every (form, thickness in mm, overlap ratio, gap ratio, Re) of the table.

    Examples
    --------
    >>> form, *place = next(grid_points())
    >>> form.name, place
    ('flat', [0.75, 0.1, 0.9, 50.0])
    """
    for form in FORMS:
        if form.air_table is not None:
            t = form.air_table
            for point in itertools.product(
                t.thicknesses_mm, t.overlap_ratios, t.gap_ratios, RE_GRID
            ):
                yield (form, *point)


def sample_stack(
    form: SlatForm, thickness_mm: float, overlap_ratio: float, gap_ratio: float
) -> Stack:
    """Return the stack a table row stands for.

    Parameters
    ----------
    form
        a slat form that the flow solver was run on
    thickness_mm
        slat thickness, mm
    overlap_ratio
        overlap over the pitch
    gap_ratio
        clear distance between banks over the passage width

    Raises
    ------
    ValueError
        if the form has no table of solver runs

    Examples
    --------
    >>> stack = sample_stack(FORMS["flat"], 1.5, 0.25, 1.6)
    >>> stack.slat_height_mm, stack.passage_mm, stack.gaps_mm
    (9.0, 3.0, (4.800000000000001, 4.800000000000001))
    """
    if form.air_table is None:
        raise ValueError(f"the flow solver was never run on {form.name} slats")
    pitch = form.air_table.pitch_mm
    height = pitch / 2 + overlap_ratio * pitch
    slopes = tuple(OUT if i % 2 == 0 else IN for i in range(SAMPLE_BANKS))
    no_gaps = (0.0,) * (SAMPLE_BANKS - 1)
    bare = Stack(form.name, thickness_mm, pitch, height, no_gaps, 0.5, slopes)
    gap = gap_ratio * bare.passage_mm
    return replace(bare, gaps_mm=(gap,) * (SAMPLE_BANKS - 1))


def read_runs() -> list[Run]:
    """Return the table's rows."""
    with RUNS.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return [
        Run(
            form=row["form"],
            cells=int(row["cells"]),
            settled=row["settled"] == "True",
            **{name: float(row[name]) for name in _NUMBERS},
        )
        for row in rows
    ]


class UncalibratedError(RuntimeError):
    """The table lacks runs; names the edge one missing."""


@lru_cache(maxsize=1)
def _solved() -> dict[tuple[str, float, float, float, float], float]:
    """Return K by form, thickness (mm), overlap ratio, gap ratio and Reynolds number."""
    return {(r.form, r.thickness_mm, r.overlap_ratio, r.gap_ratio, r.re): r.k for r in read_runs()}


@lru_cache
def _ratios(form: SlatForm, table: AirTable) -> RegularGridInterpolator:
    """Return the interpolator of the ratio solver / quick model of one slat form."""
    axes = (table.thicknesses_mm, table.overlap_ratios, table.gap_ratios)
    values = np.zeros((*(len(a) for a in axes), len(RE_GRID)))
    for index in np.ndindex(*values.shape[:-1]):
        place = tuple(axis[i] for axis, i in zip(axes, index, strict=True))
        quick = quick_loss(StackBatch.of([sample_stack(form, *place)]), np.array(RE_GRID)).k[0]
        for m, re in enumerate(RE_GRID):
            solved = _solved().get((form.name, *place, re))
            if solved is None:
                raise UncalibratedError(
                    f"no run of {form.name} slats {place[0]} mm thick, overlap {place[1]}, gap"
                    f" {place[2]}, Re {re:g}: run vent_family/tools/calibrate_air.py"
                )
            values[(*index, m)] = solved / quick[m]
    ratios = np.array(table.thicknesses_mm) / table.pitch_mm
    return RegularGridInterpolator(
        (ratios, table.overlap_ratios, np.log(table.gap_ratios), np.log(RE_GRID)), values
    )


def ratio(
    form: SlatForm,
    thickness_ratio: FloatArray,
    overlap_ratio: FloatArray,
    gap_ratio: FloatArray,
    re: FloatArray,
) -> tuple[FloatArray, BoolArray]:
    """Return the correction for n stacks at (n, m) Reynolds numbers, and where the table covers it.

    Beyond its edge the table is held constant.

    Parameters
    ----------
    form
        a slat form that the flow solver was run on
    thickness_ratio, overlap_ratio
        slat thickness and overlap over the pitch, (n,) each
    gap_ratio
        clear distance between banks over the passage width, (n,)
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
    table = _ratios(form, form.air_table)
    low = np.array([axis[0] for axis in table.grid])
    high = np.array([axis[-1] for axis in table.grid])
    point = np.stack(
        np.broadcast_arrays(
            thickness_ratio[:, None],
            overlap_ratio[:, None],
            np.log(gap_ratio)[:, None],
            np.log(re),
        ),
        axis=-1,
    )
    edge = low.copy(), high.copy()
    edge[0][0] /= THICKNESS_SLACK
    edge[1][0] *= THICKNESS_SLACK
    covered = np.all((point >= edge[0] - 1e-9) & (point <= edge[1] + 1e-9), axis=-1)
    return np.asarray(table(np.clip(point, low, high))), np.asarray(covered)

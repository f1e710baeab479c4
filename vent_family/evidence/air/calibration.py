"""The correction of the quick loss model, from a table of solver runs kept beside this module.

``data/stack_losses.csv`` holds K (face velocity heads) of the 2-D solver for stacks of three banks
at half a pitch of shift, with equal gaps, over slat form, thickness, overlap, bank gap and Reynolds
number. The correction is the ratio of these values to the quick model's answer for the same stack,
interpolated linearly in thickness over pitch, overlap over pitch, log of gap over passage and log
Re, and held constant beyond the grid's edge. ``tools/calibrate_air.py`` fills the table.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, fields
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
from scipy.interpolate import RegularGridInterpolator

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.base.atomic import write_bytes
from vent_family.spec.stack import IN, OUT, Form, Stack

RUNS: Final = Path(__file__).with_name("data") / "stack_losses.csv"

RE_GRID: Final = (50.0, 150.0, 400.0, 900.0, 2000.0)
GAP_GRID: Final[dict[Form, tuple[float, ...]]] = {
    "inclined": (0.6, 0.9, 1.6, 3.0),
    "folded": (0.6, 1.6),
    "flat": (0.9, 1.6, 3.0),
}
"""Clear distance between banks over the passage width."""
CELLS: Final[dict[Form, int]] = {"inclined": 12, "folded": 18, "flat": 12}
"""Nodes across a passage; the flow that parts at a fold needs the finer grid."""
OVERLAP_GRID: Final[dict[Form, tuple[float, ...]]] = {
    "inclined": (0.20, 0.45, 0.70),
    "folded": (0.20, 0.40, 0.60),
    "flat": (0.10, 0.20, 0.30),
}
"""Overlap over the pitch."""
SAMPLE_PITCH_MM: Final[dict[Form, float]] = {"flat": 12.0, "inclined": 6.5, "folded": 8.0}
SAMPLE_THICKNESS_MM: Final[dict[Form, tuple[float, ...]]] = {
    "flat": (0.75, 1.5),
    "inclined": (0.7, 1.5),
    "folded": (0.7, 1.5),
}
THICKNESS_SLACK: Final = 1.15
"""Thickness ratios up to this factor beyond the grid count as covered (held-out runs agree)."""
SAMPLE_BANKS: Final = 3


@dataclass(frozen=True, slots=True)
class Run:
    """One solver run of the table; ``k`` and ``k_spread`` in face velocity heads."""

    form: Form
    thickness_mm: float
    overlap_ratio: float
    gap_ratio: float
    re: float
    cells: int
    k: float
    k_spread: float
    unsteady: float
    settled: bool


def grid_points() -> Iterator[tuple[Form, float, float, float, float]]:
    """Yield every (form, thickness in mm, overlap ratio, gap ratio, Re) of the table."""
    for form, overlaps in OVERLAP_GRID.items():
        for point in itertools.product(
            SAMPLE_THICKNESS_MM[form], overlaps, GAP_GRID[form], RE_GRID
        ):
            yield (form, *point)


def sample_stack(form: Form, thickness_mm: float, overlap_ratio: float, gap_ratio: float) -> Stack:
    """Return the stack a table row stands for."""
    pitch = SAMPLE_PITCH_MM[form]
    height = pitch / 2 + overlap_ratio * pitch
    slopes = tuple(OUT if i % 2 == 0 else IN for i in range(SAMPLE_BANKS))
    bare = Stack(form, thickness_mm, pitch, height, (0.0,) * (SAMPLE_BANKS - 1), 0.5, slopes)
    gap = gap_ratio * bare.passage_mm
    return Stack(form, thickness_mm, pitch, height, (gap,) * (SAMPLE_BANKS - 1), 0.5, slopes)


def read_runs() -> list[Run]:
    """Return the table's rows."""
    table = pd.read_csv(RUNS, comment="#")
    names = [f.name for f in fields(Run)]
    return [
        Run(**dict(zip(names, row, strict=True))) for row in table[names].itertuples(index=False)
    ]


def write_runs(rows: Sequence[Run]) -> None:
    """Write the table, whole or not at all."""
    RUNS.parent.mkdir(exist_ok=True)
    order = sorted(rows, key=lambda r: (r.form, r.thickness_mm, r.overlap_ratio, r.gap_ratio, r.re))
    text = "# K of the 2-D flow solver in face velocity heads; three banks, equal gaps.\n"
    text += "# Written by tools/calibrate_air.py; ratios: air/calibration.py.\n"
    text += pd.DataFrame([asdict(r) for r in order]).to_csv(index=False, lineterminator="\n")
    write_bytes(RUNS, text.encode("utf-8"))


class UncalibratedError(RuntimeError):
    """The table lacks runs; names the edge one missing."""


@lru_cache(maxsize=1)
def _tables() -> dict[Form, RegularGridInterpolator]:
    """Return one interpolator of the ratio solver / quick model per slat form."""
    from vent_family.evidence.air.losses import StackBatch, quick_loss

    runs = {_place(r): r.k for r in read_runs()}
    tables: dict[Form, RegularGridInterpolator] = {}
    for form, overlaps in OVERLAP_GRID.items():
        thicknesses = SAMPLE_THICKNESS_MM[form]
        axes = (thicknesses, overlaps, GAP_GRID[form])
        values = np.zeros((*(len(a) for a in axes), len(RE_GRID)))
        for index in np.ndindex(*values.shape[:-1]):
            place = tuple(axis[i] for axis, i in zip(axes, index, strict=True))
            quick = quick_loss(StackBatch.of([sample_stack(form, *place)]), np.array(RE_GRID)).k[0]
            for m, re in enumerate(RE_GRID):
                if (form, *place, re) not in runs:
                    raise UncalibratedError(
                        f"no run of {form} slats {place[0]} mm thick, overlap {place[1]}, gap"
                        f" {place[2]}, Re {re:g}: run vent_family/tools/calibrate_air.py"
                    )
                values[(*index, m)] = runs[(form, *place, re)] / quick[m]
        ratios = np.array(thicknesses) / SAMPLE_PITCH_MM[form]
        tables[form] = RegularGridInterpolator(
            (ratios, overlaps, np.log(GAP_GRID[form]), np.log(RE_GRID)), values
        )
    return tables


def _place(run: Run) -> tuple[Form, float, float, float, float]:
    return run.form, run.thickness_mm, run.overlap_ratio, run.gap_ratio, run.re


def ratio(
    form: Form,
    thickness_ratio: FloatArray,
    overlap_ratio: FloatArray,
    gap_ratio: FloatArray,
    re: FloatArray,
) -> tuple[FloatArray, BoolArray]:
    """Return the correction for n stacks at (n, m) Reynolds numbers, and where the table covers it.

    Beyond its edge the table is held constant.
    """
    table = _tables()[form]
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

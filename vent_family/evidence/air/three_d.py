"""What solutions in three dimensions change about the plane model, by slat form.

``data/three_d_losses.csv`` holds K of a few stacks solved in three dimensions, with and without
ribs. From them come, for each slat form and over log Re:

- a factor on the plane model. Above a Reynolds number of a few hundred plane wakes shed vortices
  that stay whole, as real ones do not; and above the last of its table's the plane model holds its
  ratio and has no other guide. At Re 50 the flow is steady and plane: how far finite elements lie
  above a solution there is the error of its grid, which is made up for at every Reynolds number,
  and how far they lie above the plane model, the mean over stacks, is the factor there;
- the strip beside a rib that carries no flow, as a share of the passage width. It narrows the bay,
  and K goes with the square of the velocity in what is left:
  ``K = K_plane / (1 - strip * passage / bay)^2``. At low Re this is the profile of a slit's flow
  near its short side (0.63 passages for both sides of a rectangular duct, Shah & London 1978,
  where K is all friction), at high Re a thin boundary layer.

Planks were not solved in three dimensions: their rows are plane solutions times the ratio that bars
standing on an edge had, and their error is stated greater for it.

Where a solution with ribs lies below the one without, which is within the solutions' own error,
the strip is taken as nil and their geometric mean as K. A form that was never solved keeps the
plane model and the friction on its ribs.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.air.calibration import correction
from vent_family.evidence.air.coefficients import StackBatch, quick_loss
from vent_family.evidence.air.solved import rows_of, stack_of
from vent_family.spec.forms import SlatForm
from vent_family.spec.stack import Stack

STEADY_RE: Final = 100.0
"""Passage Reynolds number (1) up to which the flow is steady and, between ribs, plane."""
SOLUTIONS: Final = Path(__file__).with_name("data") / "three_d_losses.csv"


@dataclass(frozen=True, slots=True)
class Solution:
    """``k`` (face velocity heads) of one stack in three dimensions, its grid's error made up for.

    ``bay_mm`` is the clear width between ribs, infinite without; ``re`` the passage Reynolds
    number; ``systematic`` the solution's own error, a share of K.
    """

    stack: Stack
    bay_mm: float
    re: float
    k: float
    systematic: float


def read_solutions() -> list[Solution]:
    """Return the file's rows."""
    return [
        Solution(
            stack_of(row),
            float(row["bay_mm"] or math.inf),
            float(row["re"]),
            float(row["k"]) * float(row["grid"]),
            float(row["systematic"]),
        )
        for row in rows_of(SOLUTIONS)
    ]


@dataclass(frozen=True)
class SpatialChange:
    """Factor on the plane model and strip beside a rib over log Re, of one slat form.

    ``log_re`` holds natural logarithms of passage Reynolds numbers, ``log_factor`` (1) those of the
    factor; ``strip`` is a share of the passage width, ``systematic`` the solutions' own error, a
    share of K.
    """

    log_re: FloatArray
    log_factor: FloatArray
    strip: FloatArray
    systematic: float

    def factor(self, re: FloatArray) -> FloatArray:
        """Return the factor (1) on the plane model."""
        return np.asarray(np.exp(np.interp(np.log(re), self.log_re, self.log_factor)))

    def ribs(self, re: FloatArray, passage_over_bay: FloatArray) -> FloatArray:
        """Return by how much ribs raise K (1), at (n, m) Reynolds numbers and n bays.

        Parameters
        ----------
        re
            passage Reynolds numbers, (n, m)
        passage_over_bay
            passage width over the clear width between ribs, a ratio, (n,)
        """
        strip = np.interp(np.log(re), self.log_re, self.strip)
        # No bay is all strip: ribs a passage apart leave more than half of it.
        blocked = np.minimum(strip * passage_over_bay[:, None], 0.5)
        return np.asarray((1.0 - blocked) ** -2.0)

    @property
    def last_re(self) -> float:
        """Greatest passage Reynolds number (1) solved."""
        return float(np.exp(self.log_re[-1]))


def change_of(form: SlatForm) -> SpatialChange | None:
    """Return what three dimensions change for a slat form; ``None`` if it was never solved.

    Raises
    ------
    UncalibratedError
        if the plane table lacks runs of the form's grid
    """
    solutions = _by_form().get(form.name, [])
    # A form of the same name but other slats was not the one that was solved.
    if form.air_table is None or not solutions or solutions[0].stack.shape != form:
        return None
    return _change(form, tuple(solutions))


@lru_cache(maxsize=1)
def _by_form() -> dict[str, list[Solution]]:
    found: dict[str, list[Solution]] = defaultdict(list)
    for solution in read_solutions():
        found[solution.stack.form].append(solution)
    return dict(found)


@lru_cache
def _change(form: SlatForm, solutions: Sequence[Solution]) -> SpatialChange:
    numbers = sorted({s.re for s in solutions})
    factors: dict[Stack, dict[float, float]] = defaultdict(dict)
    strips: dict[float, list[float]] = {re: [] for re in numbers}
    for stack, re in dict.fromkeys((s.stack, s.re) for s in solutions):
        alike = [s for s in solutions if s.stack == stack and s.re == re]
        free = next(s.k for s in alike if math.isinf(s.bay_mm))
        for ribbed in (s for s in alike if not math.isinf(s.bay_mm)):
            share = 1.0 - math.sqrt(free / max(free, ribbed.k))
            strips[re].append(share * ribbed.bay_mm / stack.passage_mm)
            free = math.sqrt(free * min(free, ribbed.k))
        factors[stack][re] = math.log(free / _plane_k(stack, re))
    # How far the plane model is off one stack is no matter of three dimensions: all stacks say how
    # far it is off where the flow is plane, those solved beyond how that changes.
    steady = numbers[0]
    level = np.mean([of_stack[steady] for of_stack in factors.values()])
    changes = [np.mean([f[re] - f[steady] for f in factors.values() if re in f]) for re in numbers]
    return SpatialChange(
        np.log(numbers),
        level + np.array(changes),
        np.array([np.mean(strips[re]) for re in numbers]),
        max(s.systematic for s in solutions),
    )


def _plane_k(stack: Stack, re: float) -> float:
    """Return the plane model's K, in face velocity heads."""
    batch, number = StackBatch.of([stack]), np.array([[re]])
    factor, _ = correction(batch, number)
    return float((quick_loss(batch, number).k * factor)[0, 0])

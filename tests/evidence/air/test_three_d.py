"""The correction from solutions in three dimensions, row by row, and the part of the ribs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.helpers.leaning import LEANING
from vent_family.evidence.air import three_d
from vent_family.evidence.air.coefficients import StackBatch, quick_loss
from vent_family.evidence.air.losses import band, corrected_loss, plane_loss
from vent_family.spec.forms import FORMS, IN, OUT
from vent_family.spec.stack import Stack

INCLINED = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (OUT, IN, OUT))
FOLDED = Stack("folded", 1.5, 8.0, 7.0, (3.0,), 0.5, (OUT, OUT))
FOLDS = Stack("folded", 1.5, 8.0, 7.2, (2.4941125497,) * 2, 0.5, (OUT, IN, OUT))
HIGH_FOLDS = replace(FOLDS, slat_height_mm=8.8)
THIN = Stack("flat", 0.8, 12.0, 9.0, (8.0, 4.0, 4.0), 0.5, (OUT,) * 4)
FLAT = replace(THIN, thickness_mm=1.5)

# K in three dimensions (own lattice solutions, the program's file names the method; planks carried
# over from bars; two stacks of folds by finite elements) and how far the model is off them, their
# grid's error made up for, in per cent:
# stack, clear width between ribs, Re, K, model off.
ROWS = [
    (INCLINED, math.inf, 50.0, 38.9, 0.0),
    (INCLINED, math.inf, 400.0, 45.8, 0.0),
    (INCLINED, math.inf, 1000.0, 43.3, 0.0),
    (INCLINED, math.inf, 2000.0, 45.8, -0.4),
    (INCLINED, 20.0, 50.0, 43.7, 0.0),
    (INCLINED, 20.0, 400.0, 46.5, 0.0),
    (INCLINED, 20.0, 1000.0, 43.7, 0.0),
    (INCLINED, 20.0, 2000.0, 45.4, 0.4),
    (FOLDED, math.inf, 50.0, 34.6, 6.1),
    (FOLDED, math.inf, 400.0, 50.3, 3.8),
    (FOLDED, math.inf, 1000.0, 51.3, 4.6),
    (FOLDED, math.inf, 2000.0, 49.5, 1.8),
    (FOLDED, 20.0, 50.0, 38.4, 6.1),
    (FOLDED, 20.0, 400.0, 48.1, 8.5),
    (FOLDED, 20.0, 1000.0, 49.8, 7.7),
    (FOLDED, 20.0, 2000.0, 45.5, 10.7),
    (FOLDS, math.inf, 50.0, 62.6, -3.8),
    (HIGH_FOLDS, math.inf, 50.0, 60.6, -2.1),
    (THIN, math.inf, 50.0, 112.0, -0.2),
    (THIN, math.inf, 400.0, 133.0, 1.0),
    (THIN, math.inf, 1000.0, 143.0, -0.2),
    (THIN, math.inf, 2000.0, 151.0, -3.8),
    (THIN, 12.65, 50.0, 125.0, -0.2),
    (THIN, 12.65, 400.0, 141.0, 1.0),
    (THIN, 12.65, 1000.0, 147.0, -1.2),
    (THIN, 12.65, 2000.0, 154.0, -2.3),
    (FLAT, math.inf, 50.0, 113.0, 0.2),
    (FLAT, math.inf, 400.0, 121.0, -1.0),
    (FLAT, math.inf, 1000.0, 126.5, 0.2),
    (FLAT, math.inf, 2000.0, 124.0, 3.9),
    (FLAT, 20.0, 1000.0, 127.0, 0.8),
    (FLAT, 20.0, 2000.0, 128.0, 2.9),
]
# Finite elements over these solutions where the flow is steady and plane, Re 50: 36.92, 35.66,
# 113.70 and 113.69 (tests/helpers/fe_flow.py, steps of 0.18 to 1 mm).
GRID = {
    INCLINED: 36.92 / 38.9,
    FOLDED: 35.66 / 34.6,
    FOLDS: 1.0,
    HIGH_FOLDS: 1.0,
    THIN: 113.70 / 112.0,
    FLAT: 113.69 / 113.0,
}


def model(stack: Stack, bay_mm: float, re: float) -> float:
    return float(corrected_loss(StackBatch.of([stack], bay_mm), re).k[0, 0])


@pytest.mark.parametrize(("stack", "bay_mm", "re", "k", "off"), ROWS)
def test_model_meets_the_solutions_in_three_dimensions(
    stack: Stack, bay_mm: float, re: float, k: float, off: float
) -> None:
    found = model(stack, bay_mm, re)
    k *= GRID[stack]
    assert 100.0 * (found / k - 1.0) == pytest.approx(off, abs=0.3)
    assert abs(off) < 11.0
    low, high = band(stack, re, bay_mm)
    assert low * found < k < high * found


def test_every_row_of_the_file_is_told() -> None:
    told = {(stack, bay_mm, re): k * GRID[stack] for stack, bay_mm, re, k, _ in ROWS}
    file = {(s.stack, s.bay_mm, s.re): s.k for s in three_d.read_solutions()}
    assert file == pytest.approx(told, rel=1e-3)


def test_ribs_leave_less_of_a_bay_the_narrower_it_is() -> None:
    """By hand: at Re 50 ribs 20 mm apart cost 43.7 against 38.9, so each bay lacks 1.13 mm."""
    missing = 20.0 * (1.0 - math.sqrt(38.9 / 43.7))
    wide = model(INCLINED, math.inf, 50.0)
    for bay in (10.0, 14.0, 40.0):
        expected = wide * (bay / (bay - missing)) ** 2
        assert model(INCLINED, bay, 50.0) == pytest.approx(expected, rel=1e-6)
    strip = missing / INCLINED.passage_mm
    # A rectangular duct's short sides take 0.63 passages from flow that is all friction
    # (Shah & London 1978, from memory: flow of a slit falls by 1 - 0.63 height / width).
    assert 0.0 < strip < 0.63


def test_very_narrow_bays_stay_finite() -> None:
    narrow = model(INCLINED, 0.5, 50.0)
    assert narrow == pytest.approx(4.0 * model(INCLINED, math.inf, 50.0))


def test_factors_run_on_from_the_last_solution_and_pass_smoothly_between() -> None:
    ratios = {}
    for re in (10.0, 50.0, 400.0, 632.0, 1000.0, 2000.0, 9000.0):
        batch = StackBatch.of([INCLINED])
        ratios[re] = float(corrected_loss(batch, re).k[0, 0] / plane_loss(batch, re).k[0, 0])
    assert ratios[10.0] == pytest.approx(ratios[50.0])
    assert ratios[9000.0] == pytest.approx(ratios[2000.0])
    # 632 is the middle of 400 and 1000 in log Re: the factor is the geometric mean.
    assert ratios[632.0] == pytest.approx(math.sqrt(ratios[400.0] * ratios[1000.0]), rel=1e-3)


def test_forms_never_solved_keep_the_plane_model() -> None:
    assert three_d.change_of(LEANING) is None
    stack = replace(INCLINED, form="leaning", pitch_mm=8.0)
    with FORMS.registered(LEANING):
        batch = StackBatch.of([stack], 20.0)
        found, raw = corrected_loss(batch, 80.0), quick_loss(batch, 80.0)
        low, high = band(stack, 80.0, 20.0)
    np.testing.assert_array_equal(found.k, raw.k)
    # Coefficients alone are off by as much as the table says of the forms it knows.
    assert low < 0.9
    assert high > 3.0


def test_plane_loss_is_that_without_ribs() -> None:
    wide, narrow = (StackBatch.of([INCLINED, FOLDED, FLAT], bay) for bay in (math.inf, 15.0))
    re = np.array([10.0, 300.0, 1100.0, 1900.0])
    for loss in (quick_loss, plane_loss, corrected_loss):
        np.testing.assert_allclose(loss(narrow, re).plane_k, loss(wide, re).k, rtol=1e-12)
        np.testing.assert_allclose(loss(wide, re).plane_k, loss(wide, re).k, rtol=1e-12)

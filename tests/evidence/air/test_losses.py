"""The quick loss model: its pieces against handbook values, and against the flow solver."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from fluids.fittings import bend_miter, contraction_sharp, diffuser_sharp

from vent_family.evidence.air import calibration
from vent_family.evidence.air.coefficients import (
    StackBatch,
    plates_friction,
    quick_loss,
    smooth_friction,
)
from vent_family.evidence.air.flow2d import solve_stack
from vent_family.evidence.air.losses import band, corrected_loss
from vent_family.spec.forms import FORMS, IN, OUT
from vent_family.spec.stack import Stack
from vent_family.tools.calibrate_air import table_text

INCLINED = Stack("inclined", 1.5, 6.5, 6.25, (3.0, 3.0), 0.5, (OUT, IN, OUT))
FLAT = Stack("flat", 1.5, 12.0, 9.0, (8.0, 4.0, 4.0), 0.5, (OUT,) * 4)
FOLDED = Stack("folded", 1.5, 8.0, 7.0, (3.0,), 0.5, (OUT, OUT))
STACKS = [FLAT, INCLINED, FOLDED]


def test_fluids_gives_the_published_values() -> None:
    """Check values read off fluids for a diameter ratio of one half; Borda-Carnot is exact."""
    assert contraction_sharp(1.0, 0.5) == pytest.approx(0.4956, abs=1e-3)
    assert diffuser_sharp(0.5, 1.0) == pytest.approx((1 - 0.25) ** 2)
    assert bend_miter(90.0, Di=1.0, Re=1e5, method="Rennels") == pytest.approx(1.202, abs=1e-3)
    assert bend_miter(45.0, Di=1.0, Re=1e5, method="Rennels") == pytest.approx(0.304, abs=1e-3)


def test_friction_of_smooth_passages_is_blasiuss() -> None:
    """0.3164 / Re^(1/4), Blasius 1913, as every textbook of fluid mechanics gives it."""
    reynolds = np.array([1e4, 1e5, 2.56e6])
    assert smooth_friction(reynolds) == pytest.approx([0.03164, 0.017793, 0.00791], rel=1e-4)


def test_expansion_behind_one_flat_bank_is_borda_carnots() -> None:
    """(1 - A1/A2)^2 heads of the jet: Borda-Carnot, through fluids."""
    single = replace(FLAT, gaps_mm=(), slopes=(OUT,))
    batch = StackBatch.of([single])
    sigma = single.free_fraction
    expected = diffuser_sharp(math.sqrt(sigma), 1.0) / sigma**2
    assert quick_loss(batch, 500.0).terms["expansion"][0, 0] == pytest.approx(expected)


def series_friction(aspect: float, terms: int = 60) -> float:
    """Return f Re (Darcy, hydraulic diameter) of laminar flow in a rectangle, exact series.

    White, Viscous Fluid Flow, eq. for rectangular ducts (from memory): with half sides a >= b,
    Q = 4 b a^3 G / (3 mu) [1 - 192 a / (pi^5 b) sum tanh(i pi b / 2a) / i^5] for odd i.
    """
    a, b = aspect, 1.0
    total = sum(math.tanh(i * math.pi * b / (2 * a)) / i**5 for i in range(1, 2 * terms, 2))
    flow = 4 * b * a**3 / 3 * (1 - 192 * a / (math.pi**5 * b) * total)
    mean = flow / (4 * a * b)
    diameter = 4 * (4 * a * b) / (4 * (a + b))
    return 2 * diameter**2 / mean


@pytest.mark.parametrize("aspect", [0.02, 0.1, 0.15, 0.3, 0.5, 0.8, 1.0])
def test_slit_friction_against_the_exact_series(aspect: float) -> None:
    assert float(plates_friction(np.array(aspect))) == pytest.approx(
        series_friction(aspect), rel=2e-3
    )


def test_laminar_friction_of_plates_is_96_over_re() -> None:
    """Plane Poiseuille flow, exact."""
    batch = StackBatch.of([FOLDED])
    length = 2 * math.sqrt(2) * (7.0 - 1.5 * math.sqrt(2))
    w = FOLDED.passage_mm
    heads = 96 / (2 * 100.0) * 2 * length / (2 * w) * (8.0 / w) ** 2
    assert quick_loss(batch, 100.0).terms["friction"][0, 0] == pytest.approx(heads)


def test_many_stacks_at_once_equal_each_alone() -> None:
    re = np.array([60.0, 300.0, 1500.0])
    stacks = [replace(s, pitch_mm=s.pitch_mm * f) for s in STACKS for f in (1.0, 1.05, 1.2)]
    together = corrected_loss(StackBatch.of(stacks, 22.0), re)
    for i, stack in enumerate(stacks):
        alone = corrected_loss(StackBatch.of([stack], 22.0), re)
        np.testing.assert_allclose(together.k[i], alone.k[0], rtol=1e-12)
        assert (together.in_range[i] == alone.in_range[0]).all()


def test_shares_sum_to_one_and_narrow_bays_cost_more() -> None:
    batch = StackBatch.of(STACKS)
    shares = corrected_loss(batch, 400.0).shares()
    np.testing.assert_allclose(sum(shares.values()), 1.0)
    wide = quick_loss(StackBatch.of(STACKS, 25.0), 400.0).k
    narrow = quick_loss(StackBatch.of(STACKS, 6.0), 400.0).k
    assert (narrow > wide).all()


def test_range_is_enforced() -> None:
    re = np.array([10.0, 50.0, 2000.0, 9000.0])
    assert corrected_loss(StackBatch.of([INCLINED]), re).in_range[0].tolist() == [
        False,
        True,
        True,
        False,
    ]
    strange = replace(INCLINED, slopes=(OUT, OUT, OUT))
    assert not corrected_loss(StackBatch.of([strange]), 400.0).in_range.any()
    with pytest.raises(ValueError, match="outside 50 to 2000"):
        solve_stack(INCLINED, 10.0)


def test_table_is_complete_and_its_nodes_are_given_back() -> None:
    runs = calibration.read_runs()
    assert len(runs) == sum(1 for _ in calibration.grid_points())
    for run in runs:
        stack = calibration.sample_stack(
            FORMS[run.form], run.thickness_mm, run.overlap_ratio, run.gap_ratio
        )
        found = corrected_loss(StackBatch.of([stack]), run.re)
        assert found.k[0, 0] == pytest.approx(run.k, rel=1e-9)
        assert found.in_range.all()
        assert run.k > 0
        assert run.k_spread < 0.35 * run.k


@pytest.mark.parametrize(("form", "overlap"), [("inclined", 0.45), ("flat", 0.10)])
def test_table_row_can_be_solved_again(form: str, overlap: float) -> None:
    """A row of the committed table, solved anew at the table's own resolution."""
    run = next(
        r
        for r in calibration.read_runs()
        if r.form == form
        and r.overlap_ratio == overlap
        and r.gap_ratio == 0.9
        and r.re == 50
        and r.thickness_mm == 1.5
    )
    stack = calibration.sample_stack(
        FORMS[run.form], run.thickness_mm, run.overlap_ratio, run.gap_ratio
    )
    flow = solve_stack(stack, run.re, cells=run.cells)
    assert flow.settled
    assert flow.k == pytest.approx(run.k, rel=5e-3)


@pytest.mark.parametrize("stack", STACKS, ids=["flat", "inclined", "folded"])
def test_stacks_off_the_table_meet_the_solver(stack: Stack) -> None:
    """Hold-out: default stacks with other bank counts and uneven gaps, unknown to the table.

    The bound is the uncertainty the documents state for the corrected model.
    """
    flow = solve_stack(stack, 100.0, cells=stack.shape.solver_cells, tolerance=0.02)
    model = corrected_loss(StackBatch.of([stack]), 100.0).k[0, 0]
    assert model == pytest.approx(flow.k, rel=0.2)


def test_the_table_is_what_the_tool_writes() -> None:
    assert table_text(calibration.read_runs()) == calibration.RUNS.read_text(encoding="utf-8")
    assert table_text(calibration.read_runs()[::-1]) == calibration.RUNS.read_text(encoding="utf-8")


# Three-dimensional lattice solutions of the three default stacks without ribs, K by Re.
THREE_D = [
    (INCLINED, {50.0: 26.7, 400.0: 21.2, 1000.0: 20.7, 2000.0: 21.2}),
    (FOLDED, {400.0: 50.3, 1000.0: 51.3, 2000.0: 49.5}),
    (replace(FLAT, thickness_mm=0.8, gaps_mm=(8.0, 4.0, 4.0)), {400.0: 133.0, 2000.0: 151.0}),
]


@pytest.mark.parametrize(("stack", "known"), THREE_D, ids=["inclined", "folded", "flat"])
def test_band_holds_the_solutions_in_three_dimensions(
    stack: Stack, known: dict[float, float]
) -> None:
    for re, k in known.items():
        low, high = band(stack, re, math.inf)
        model = float(corrected_loss(StackBatch.of([stack]), re).k[0, 0])
        assert low * model < k < high * model
        outside = band(replace(stack, pitch_mm=stack.pitch_mm * 3), re, math.inf)
        assert outside[0] < low
        assert outside[1] > high

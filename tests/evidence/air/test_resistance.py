"""The resistance of whole vents: areas, splits, directions, extras."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import bisect

from tests.helpers.rows import spec
from vent_family.evidence.air.airway import Direction, ExtraLoss
from vent_family.evidence.air.coefficients import StackBatch
from vent_family.evidence.air.losses import corrected_loss
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at
from vent_family.evidence.air.summary import summarise

AIR = air_at(20.0)
ROWS = [
    ("rectangular", {}),
    ("rectangular", {"slat_form": "flat"}),
    ("round", {}),
    ("flanged", {"slat_form": "folded"}),
]


@pytest.mark.parametrize(("family", "cells"), ROWS)
def test_flow_and_pressure_are_inverse(family: str, cells: dict) -> None:
    vent = vent_air(spec(family, **cells))
    for direction in ("in", "out"):
        found = vent.flow(np.array([2.0, 10.0, 50.0]), AIR, direction)
        np.testing.assert_allclose(found.drop_pa, [2.0, 10.0, 50.0], rtol=1e-8)
        again = vent.loss(found.flow_m3_s, AIR, direction)
        np.testing.assert_allclose(again.drop_pa, found.drop_pa, rtol=1e-12)
        assert (np.diff(found.flow_m3_s) > 0).all()


@pytest.mark.parametrize(("family", "cells"), ROWS)
def test_terms_sum_and_definitions_hold(family: str, cells: dict) -> None:
    vent = vent_air(spec(family, **cells))
    found = vent.flow(25.0, AIR)
    assert sum(t[0] for t in found.terms_pa.values()) == pytest.approx(25.0)
    velocity = found.flow_m3_s[0] / (vent.opening_mm2 * 1e-6)
    assert found.k[0] == pytest.approx(25.0 / (0.5 * AIR.density_kg_m3 * velocity**2))
    ideal = vent.opening_mm2 * 1e-6 * math.sqrt(2 * 25.0 / AIR.density_kg_m3)
    assert found.discharge_coefficient[0] == pytest.approx(found.flow_m3_s[0] / ideal)
    gap = found.gap_m_s[0] * vent.stack.passage_mm * 1e-3 / AIR.kinematic_m2_s
    assert gap == pytest.approx(found.re[0])


def test_stack_and_drain_see_the_same_pressure() -> None:
    vent = vent_air(spec("rectangular"))
    found = vent.loss(0.004, AIR)
    share = found.drain_share[0]
    drain = 0.5 * AIR.density_kg_m3 * vent.drain_k * (share * 0.004 / (vent.drain_mm2 * 1e-6)) ** 2
    stack = sum(found.terms_pa[n][0] for n in ("contraction", "friction", "turns", "expansion"))
    assert drain == pytest.approx(stack, rel=1e-6)
    assert 0.05 < share < 0.4


@pytest.mark.parametrize("cells", [{}, {"screen_mm": 1.0}, {"drain_height_mm": 8.0}])
@pytest.mark.parametrize("direction", ["in", "out"])
def test_what_goes_by_the_drain_is_found_for_creeping_and_for_fast_air(
    cells: dict, direction: Direction
) -> None:
    """One flow at a time by bisection, on the model's own table of the slats' loss."""
    vent = vent_air(spec("rectangular", **cells))
    flows = np.geomspace(1e-7, 0.5, 41)
    face, drain = vent.face_mm2 * 1e-6, vent.drain_mm2 * 1e-6

    def lack(share: float, flow: float) -> float:
        re = share * flow / face * vent.pitch_mm * 1e-3 / AIR.kinematic_m2_s
        slats = float(vent.curve().k(np.array([re]))[0]) * (share * flow / face) ** 2
        return slats - vent.drain_k * ((1.0 - share) * flow / drain) ** 2

    by_drain = [1.0 - bisect(lack, 1e-9, 1.0, args=(q,), xtol=1e-13) for q in flows]
    found = vent.loss(flows, AIR, direction)
    assert found.drain_share == pytest.approx(by_drain, abs=1e-9)
    # A search asks for the drops alone, of two vents together: no other pressure than these.
    many = vent.drops_pa(2 * flows * AIR.density_kg_m3, AIR, AIR, direction, 2)
    assert many == pytest.approx(found.drop_pa, rel=1e-12)


def test_stack_loss_is_the_models() -> None:
    vent = vent_air(spec("flanged", size="150x150"))
    found = vent.loss(0.01, AIR)
    face = (1 - found.drain_share[0]) * 0.01 / (vent.face_mm2 * 1e-6)
    k = corrected_loss(StackBatch.of([vent.stack], vent.bay_mm), found.re[0]).k[0, 0]
    stack = sum(found.terms_pa[n][0] for n in ("contraction", "friction", "turns", "expansion"))
    assert stack == pytest.approx(k * 0.5 * AIR.density_kg_m3 * face**2, rel=1e-3)


def test_neck_is_the_narrowest_and_costs_most_in_a_small_round_vent() -> None:
    vent = vent_air(spec("round", size="M20x1.5"))
    assert vent.smallest.name == "neck"
    found = vent.flow(25.0, AIR)
    assert max(found.terms_pa, key=lambda n: found.terms_pa[n][0]) == "neck"
    # More than a sharp orifice of the bore (Cd 0.6 to 0.62, from memory): the throat is a cone;
    # less than an ideal nozzle.
    ideal = vent.smallest.area_mm2 * 1e-6 * math.sqrt(2 * 25.0 / AIR.density_kg_m3)
    assert 0.6 * ideal < found.flow_m3_s[0] < 0.95 * ideal


def test_drawing_in_and_blowing_out_differ() -> None:
    for family, cells in ROWS:
        vent = vent_air(spec(family, **cells))
        drawn, blown = vent.flow(25.0, AIR, "in"), vent.flow(25.0, AIR, "out")
        assert drawn.flow_m3_s[0] != blown.flow_m3_s[0]
        assert blown.flow_m3_s[0] == pytest.approx(drawn.flow_m3_s[0], rel=0.2)


def test_guard_and_filter_add_their_loss() -> None:
    bare = vent_air(spec("rectangular"))
    dressed = bare.with_extras(ExtraLoss("guard", k=1.5), ExtraLoss("filter", linear_pa_s_m=30.0))
    q = 0.005
    velocity = q / (bare.opening_mm2 * 1e-6)
    added = dressed.loss(q, AIR).drop_pa[0] - bare.loss(q, AIR).drop_pa[0]
    assert added == pytest.approx(0.5 * AIR.density_kg_m3 * 1.5 * velocity**2 + 30.0 * velocity)


def test_a_larger_vent_passes_more() -> None:
    flows = [summarise(spec("rectangular", size=s)).flows[1] for s in ("40x40", "80x80", "120x120")]
    assert flows[0].flow_in_m3_h < flows[1].flow_in_m3_h < flows[2].flow_in_m3_h


def test_default_rows_lie_within_the_calibrated_range() -> None:
    for family, cells in ROWS:
        assert all(f.in_range for f in summarise(spec(family, **cells)).flows), (family, cells)


@pytest.mark.parametrize("bad", [0.0, -1.0])
def test_nonsense_flows_are_refused(bad: float) -> None:
    vent = vent_air(spec("rectangular"))
    with pytest.raises(ValueError, match="above zero"):
        vent.loss(bad, AIR)
    with pytest.raises(ValueError, match="above zero"):
        vent.flow(bad, AIR)

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from fluids import Q_weir_rectangular_full_Rehbock
from hypothesis import given
from hypothesis import strategies as st

from tests.helpers.rows import spec
from vent_family.evidence.water.drainage import (
    Trough,
    capillary_head_mm,
    drain_height_for_mm,
    drainage,
    head_for_mm,
    meniscus_head_mm,
    orifice_l_min,
    outflow_l_min,
    overfall_l_min,
    overflow_depression_pa,
    pool_volume_l,
    tilt_limit_deg,
    trough_of,
)
from vent_family.evidence.water.frontage import frontage

TROUGH = Trough(slot_mm=4.0, width_mm=24.0, length_mm=26.0, slope_deg=5.0, sill_mm=10.3, bays=3)


def test_overfall_is_the_broad_crested_weir() -> None:
    # Q = 1.705 b H^1.5 in SI units (textbook form of critical depth over a broad crest).
    q = 1.705 * 2.0 * 0.3**1.5 * 60_000.0
    assert overfall_l_min(300.0, 2000.0) == pytest.approx(q, rel=1e-3)


def test_a_sharp_crest_passes_more_than_the_brink() -> None:
    # fluids' documented example of Rehbock's weir: 0.3 m head, 0.4 m crest, 2 m wide: 0.648686
    # m3/s. A broad brink passes 0.8 to 1 times that.
    sharp = Q_weir_rectangular_full_Rehbock(0.3, 0.4, 2)
    assert sharp == pytest.approx(0.648686, abs=1e-5)
    assert 0.8 < overfall_l_min(300.0, 2000.0) / 60_000.0 / sharp < 1.0


def test_orifice_by_hand() -> None:
    # Torricelli: 1 m over the middle of a 10 x 100 mm slot, Cd 0.61: 0.61 * 1e-3 * 4.4287 m3/s.
    assert orifice_l_min(1005.0, 10.0, 100.0) == pytest.approx(0.61e-3 * 4.4287 * 60_000, rel=1e-4)


def test_outflow_never_falls_with_the_head() -> None:
    flows = [outflow_l_min(0.1 * k, 4.0, 24.0)[0] for k in range(600)]
    assert all(b >= a for a, b in itertools.pairwise(flows))
    assert outflow_l_min(5.0, 4.0, 24.0)[1] == "weir"
    assert outflow_l_min(30.0, 4.0, 24.0)[1] == "orifice"


@given(st.floats(1e-3, 40.0))
def test_head_and_flow_are_inverse(flow: float) -> None:
    head = head_for_mm(flow, 4.0, 24.0)
    assert outflow_l_min(head, 4.0, 24.0)[0] == pytest.approx(flow, rel=1e-3, abs=1e-4)


def test_low_slots_stay_bridged() -> None:
    # 2 sigma / (rho g h): 1 mm bears 14.9 mm of water; above the capillary length none is bridged.
    assert meniscus_head_mm(1.0) == pytest.approx(14.87, abs=0.05)
    head, bridged = capillary_head_mm(1.0)
    assert bridged
    assert head == pytest.approx(14.87, abs=0.05)
    assert not capillary_head_mm(4.0)[1]


def test_suction_lifts_the_pool() -> None:
    calm = drainage(TROUGH, 0.5, 60.0, suction_pa=0.0)
    fan = drainage(TROUGH, 0.5, 60.0, suction_pa=50.0)
    # p / (rho g): 50 Pa are 5.1 mm.
    assert fan.level_mm - calm.level_mm == pytest.approx(50.0 / (998.2 * 9.80665) * 1e3)
    assert overflow_depression_pa(TROUGH) == pytest.approx(10.3e-3 * 998.2 * 9.80665)


def test_overflow_time_and_volume_by_hand() -> None:
    report = drainage(TROUGH, 30.0, 60.0, suction_pa=0.0)
    assert report.overflow_s is not None
    excess = 30.0 - report.capacity_l_min
    # The free volume is a wedge: (10.3 - 26 tan 5 / 2) * 26 * 24 mm3 per bay.
    free_l = (10.3 - 26.0 * math.tan(math.radians(5.0)) / 2) * 26.0 * 72.0 * 1e-6
    assert pool_volume_l(TROUGH, 10.3) == pytest.approx(free_l, rel=1e-9)
    assert report.overflow_s == pytest.approx(free_l / excess * 60.0)
    assert report.overflow_l == pytest.approx(excess * (60.0 - report.overflow_s) / 60.0)


def test_one_wet_bay_drains_less_than_all() -> None:
    spread = drainage(TROUGH, 2.0, 60.0, suction_pa=0.0)
    jet = drainage(TROUGH, 2.0, 60.0, suction_pa=0.0, concentration=3.0)
    assert jet.capacity_l_min == pytest.approx(spread.capacity_l_min / 3.0)
    assert jet.margin_mm < spread.margin_mm


@given(
    st.floats(0.0, 5.0),
    st.floats(0.0, 60.0),
    st.floats(-5.0, 5.0),
    st.floats(0.0, 3.0),
)
def test_everything_that_is_worse_raises_the_level(
    flow: float, suction: float, tilt: float, more: float
) -> None:
    base = drainage(TROUGH, flow, 60.0, suction_pa=suction, tilt_deg=tilt)
    worse = [
        drainage(TROUGH, flow + more, 60.0, suction_pa=suction, tilt_deg=tilt),
        drainage(TROUGH, flow, 60.0, suction_pa=suction + more, tilt_deg=tilt),
        drainage(TROUGH, flow, 60.0, suction_pa=suction, tilt_deg=tilt + more),
        drainage(TROUGH, flow, 60.0, suction_pa=suction, tilt_deg=tilt, roll_deg=more),
    ]
    for other in worse:
        assert other.level_mm >= base.level_mm - 1e-9
        assert other.capacity_l_min <= base.capacity_l_min + 1e-9


def test_tilt_limit_is_where_the_margin_ends() -> None:
    limit = tilt_limit_deg(TROUGH, 0.5, suction_pa=20.0)
    assert drainage(TROUGH, 0.5, 0.0, suction_pa=20.0, tilt_deg=limit).margin_mm >= 0.0
    assert drainage(TROUGH, 0.5, 0.0, suction_pa=20.0, tilt_deg=limit + 0.5).margin_mm < 0.0
    assert tilt_limit_deg(replace(TROUGH, sill_mm=1.0), 40.0, suction_pa=0.0) == -90.0


def test_advised_drain_height_does_carry_the_flow() -> None:
    slot = drain_height_for_mm(TROUGH, 6.0, suction_pa=20.0)
    assert slot is not None
    bigger = replace(TROUGH, slot_mm=slot, sill_mm=TROUGH.sill_mm + slot - TROUGH.slot_mm)
    assert drainage(bigger, 6.0, 0.0, suction_pa=20.0).margin_mm >= 0.0
    assert drain_height_for_mm(TROUGH, 200.0, suction_pa=20.0) is None


@pytest.mark.parametrize(
    ("flow", "duration", "words"),
    [
        (-1.0, 60.0, "inflow must be zero or more"),
        (float("nan"), 60.0, "inflow must be zero or more"),
        (1.0, -5.0, "duration must be zero or more"),
    ],
)
def test_impossible_flows_are_refused(flow: float, duration: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        drainage(TROUGH, flow, duration, suction_pa=0.0)


def test_no_drain_is_refused() -> None:
    with pytest.raises(ValueError, match="no drain"):
        drainage(replace(TROUGH, slot_mm=0.0), 1.0, 1.0, suction_pa=0.0)


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_trough_of_real_parts(family: str) -> None:
    vent = spec(family)
    front = frontage(vent)
    trough = trough_of(vent.section, front.floor_width_mm, front.bays)
    assert trough.slot_mm == pytest.approx(4.0)
    assert trough.slope_deg == pytest.approx(5.0)
    assert trough.sill_mm > trough.length_mm * math.tan(math.radians(5.0))
    assert 0.0 < trough.width_mm <= front.bay_mm + 1e-9


@pytest.mark.parametrize("suction_pa", [10.0, 20.0, 40.0])
def test_capacity_is_the_inflow_at_which_the_sill_is_reached(suction_pa: float) -> None:
    """By hand: what is left of the sill over capillary level and suction drives the overfall.

    Q = (2/3)^1.5 sqrt(g) b h^1.5 for each of the three bays, 24 mm wide (critical depth, textbook).
    """
    report = drainage(TROUGH, 0.5, 60.0, suction_pa=suction_pa)
    room = 10.3 - report.capillary_mm - suction_pa / (998.2 * 9.80665) * 1e3
    # Below one and a half slots the overfall rules.
    assert 2.0 < room < 6.0
    by_hand = (2.0 / 3.0) ** 1.5 * math.sqrt(9.80665) * (room * 1e-3) ** 1.5 * 0.024 * 60_000.0
    assert report.capacity_l_min == pytest.approx(3.0 * by_hand)
    full = drainage(TROUGH, report.capacity_l_min, 60.0, suction_pa=suction_pa)
    assert full.margin_mm == pytest.approx(0.0, abs=1e-3)
    over = drainage(TROUGH, 1.02 * report.capacity_l_min, 600.0, suction_pa=suction_pa)
    assert over.margin_mm < 0.0
    assert over.overflow_s is not None

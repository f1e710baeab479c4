from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.helpers.rows import spec
from vent_family.evidence.water.drainage import (
    Relief,
    Trough,
    air_in_drain,
    drainage,
    overflow_depression_pa,
    pool_volume_l,
    relief_of,
    tilt_limit_deg,
    trough_of,
)
from vent_family.evidence.water.frontage import frontage
from vent_family.evidence.water.house import CONTACT_ANGLE, ORIFICE_CD, varied

TROUGH = Trough(slot_mm=4.0, width_mm=24.0, length_mm=26.0, slope_deg=5.0, sill_mm=10.3, bays=3)


HELD_MM = 2e3 * math.sqrt(0.0728 / (998.2 * 9.80665)) * math.sin(math.radians(85.0))
"""Held at the edge of the floor: 5.433 mm, by hand."""


def test_suction_lifts_the_pool() -> None:
    calm = drainage(TROUGH, 0.5, 60.0, suction_pa=0.0)
    fan = drainage(TROUGH, 0.5, 60.0, suction_pa=50.0)
    # p / (rho g): 50 Pa are 5.1 mm.
    assert fan.level_mm - calm.level_mm == pytest.approx(50.0 / (998.2 * 9.80665) * 1e3)
    bears_mm = 10.3 - HELD_MM
    assert overflow_depression_pa(TROUGH) == pytest.approx(bears_mm * 1e-3 * 998.2 * 9.80665)
    assert overflow_depression_pa(replace(TROUGH, sill_mm=5.0)) == 0.0


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


@given(st.floats(0.0, 20.0), st.floats(0.0, 60.0), st.integers(1, 8))
def test_all_water_in_one_bay_is_a_vent_of_one_bay(flow: float, suction: float, bays: int) -> None:
    """Ribs divide the floor: the bay that a jet strikes has its own drain and apron, no more."""
    high = replace(TROUGH, sill_mm=24.0, relief=(Relief(6.0, 3.0), Relief(12.0, 3.0)))
    many, one = replace(high, bays=bays), replace(high, bays=1)
    struck = drainage(many, flow, 60.0, suction_pa=suction, concentration=float(bays))
    alone = drainage(one, flow, 60.0, suction_pa=suction)
    for name in ("level_mm", "margin_mm", "capacity_l_min", "over_apron_l_min", "overflow_l"):
        assert getattr(struck, name) == pytest.approx(getattr(alone, name), abs=1e-6), name


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
    assert trough.slot_mm == pytest.approx(3.0 if family == "round" else 4.0)
    assert trough.slope_deg == pytest.approx(5.0)
    assert trough.sill_mm > trough.length_mm * math.tan(math.radians(5.0))
    assert trough.sill_mm < trough.length_mm
    if family == "round":
        # No rib stands on its floor, which is one as wide as the chord of its front edge.
        head = vent.body.head  # type: ignore[attr-defined]
        half = math.sqrt((head.radius_mm - 2.4) ** 2 - vent.section.brink[1] ** 2)
        assert (trough.bays, trough.width_mm) == (1, pytest.approx(2.0 * half))
        return
    assert 0.0 < trough.width_mm <= front.bay_mm + 1e-9


@pytest.mark.parametrize("suction_pa", [0.0, 10.0, 20.0])
def test_capacity_is_the_inflow_at_which_the_sill_is_reached(suction_pa: float) -> None:
    """By hand: what is left of the sill over held height and suction drives the overfall.

    Q = (2/3)^1.5 sqrt(g) b h^1.5 for each of the three bays, 24 mm wide (critical depth, textbook).
    """
    report = drainage(TROUGH, 0.5, 60.0, suction_pa=suction_pa)
    room = 10.3 - HELD_MM - suction_pa / (998.2 * 9.80665) * 1e3
    # Below one and a half slots the overfall rules.
    assert 2.0 < room < 6.0
    by_hand = (2.0 / 3.0) ** 1.5 * math.sqrt(9.80665) * (room * 1e-3) ** 1.5 * 0.024 * 60_000.0
    assert report.capacity_l_min == pytest.approx(3.0 * by_hand)
    full = drainage(TROUGH, report.capacity_l_min, 60.0, suction_pa=suction_pa)
    assert full.margin_mm == pytest.approx(0.0, abs=1e-3)
    over = drainage(TROUGH, 1.02 * report.capacity_l_min, 600.0, suction_pa=suction_pa)
    assert over.margin_mm < 0.0
    assert over.overflow_s is not None


def test_parts_of_the_level_add_up_by_hand() -> None:
    """Held 5.433; 2.043 of 20 Pa; 26 sin 2 + 12 tan 2; (q / 1.7046 b)^(2/3) of flow."""
    found = drainage(
        TROUGH, 0.6, 60.0, suction_pa=20.0, wind_pa=12.0, extra_pa=3.0, tilt_deg=2.0, roll_deg=2.0
    )
    two = math.radians(2.0)
    tilt = 26.0 * math.sin(two) + 12.0 * math.tan(two)
    flow = 1e3 * (0.2 / 60_000.0 / (1.7046 * 0.024)) ** (2.0 / 3.0)
    assert found.capillary_mm == pytest.approx(HELD_MM)
    assert found.suction_mm == pytest.approx(2.0431, abs=1e-4)
    assert found.fan_mm == pytest.approx(5.0 / 9.789, rel=1e-3)
    assert found.wind_mm == pytest.approx(12.0 / 9.789, rel=1e-3)
    assert found.extra_mm == pytest.approx(3.0 / 9.789, rel=1e-3)
    assert found.tilt_mm == pytest.approx(tilt)
    assert found.flow_mm == pytest.approx(flow, rel=1e-4)
    assert found.level_mm == pytest.approx(HELD_MM + 2.0431 + tilt + flow, abs=1e-3)
    assert found.margin_mm == pytest.approx(10.3 - found.level_mm)


def test_wind_that_presses_the_pool_down_lowers_it() -> None:
    found = drainage(TROUGH, 0.5, 60.0, suction_pa=-5.0, wind_pa=-15.0)
    assert found.suction_mm == pytest.approx(-5.0 / 9.789, rel=1e-3)
    assert found.fan_mm == pytest.approx(10.0 / 9.789, rel=1e-3)
    calm = drainage(TROUGH, 0.5, 60.0, suction_pa=0.0)
    assert found.level_mm - calm.level_mm == pytest.approx(found.suction_mm)


def test_a_high_sill_lets_the_pool_out_over_the_apron() -> None:
    """Drain 4 mm full, Cd 0.61; over an apron at 6 mm a weir, 1.7046 b H^1.5; three bays by hand.

    The sill is 30 mm high and 40 Pa lift 4.086 mm, so the level in front may reach 25.914 mm.
    """
    high = replace(TROUGH, sill_mm=30.0, relief=(Relief(6.0, 25.0),))
    found = drainage(high, 2.0, 60.0, suction_pa=40.0)
    room = 30.0 - 40.0 / (998.2 * 9.80665) * 1e3
    over = 3 * 1.7046 * 0.024 * ((room - 6.0 - HELD_MM) * 1e-3) ** 1.5 * 60_000.0
    head = (room - HELD_MM - 2.0) * 1e-3
    drain = 3 * 0.61 * 0.004 * 0.024 * math.sqrt(2 * 9.80665 * head) * 60_000.0
    assert found.over_apron_l_min == pytest.approx(over, rel=1e-4)
    assert found.capacity_l_min == pytest.approx(over + drain, rel=1e-4)
    # Little water stays below the apron, much of it goes over it and stands lower than without.
    bare = replace(high, relief=())
    calm = drainage(high, 2.0, 60.0, suction_pa=0.0)
    assert calm.level_mm == pytest.approx(drainage(bare, 2.0, 60.0, suction_pa=0.0).level_mm)
    much, more = (drainage(t, 18.0, 60.0, suction_pa=0.0) for t in (high, bare))
    assert much.overflow_s is None
    assert much.level_mm < 30.0 < more.level_mm


def test_drain_shut_by_air_stands_full() -> None:
    """Wallis: 20 Pa draw 3.46 m/s in, jg* of 0.61 > 0.49: no water leaves a drain that is not full.

    A drain of 12 mm holds 5.433 and 1.7 mm of head when no air comes; with air it fills up.
    """
    high = replace(TROUGH, slot_mm=12.0, sill_mm=25.0)
    calm = drainage(high, 0.5, 60.0, suction_pa=0.0)
    assert not air_in_drain(high, 0.5, suction_pa=0.0).flooded
    assert calm.level_mm < 8.0
    blown = drainage(high, 0.5, 60.0, suction_pa=60.0)
    assert air_in_drain(high, 0.5, suction_pa=60.0).flooded
    assert blown.level_mm == pytest.approx(12.0 + 60.0 / (998.2 * 9.80665) * 1e3)
    # With a sill that the full drain overtops nothing but the air's remainder is held back.
    low = drainage(replace(high, sill_mm=15.0), 0.5, 600.0, suction_pa=60.0)
    assert low.capacity_l_min == 0.0
    assert low.overflow_s is not None


@pytest.mark.parametrize(
    ("form", "gap_mm", "pitch_mm", "passage_mm"),
    # Inclined slats end 2.7 mm above the apron, flat ones a passage. Passages: 6.5 cos 45 less the
    # slat of 1.5, and 12 less 9.
    [("inclined", 2.7, 6.5, 3.096), ("flat", 3.0, 12.0, 3.0)],
)
def test_ways_out_above_the_drain_of_a_real_part(
    form: str, gap_mm: float, pitch_mm: float, passage_mm: float
) -> None:
    vent = spec("rectangular", slat_form=form, sill_height_mm=34.0, size="80x80")
    sill = vent.section.sill_top_mm - vent.section.drain_mm[0]
    first, second, third, *more = relief_of(vent.section)
    # A drain of 4 mm and an apron of 2 mm or more.
    assert first.crest_mm >= 6.0 - 1e-9
    assert first.height_mm == pytest.approx(gap_mm, abs=1e-3)
    # Over the lowest slat, which may be cut short, then a pitch higher each time, up to the sill.
    lowest = first.crest_mm + gap_mm
    assert lowest < second.crest_mm <= lowest + pitch_mm
    assert third.crest_mm - second.crest_mm == pytest.approx(pitch_mm)
    assert second.height_mm == third.height_mm == pytest.approx(passage_mm, abs=1e-3)
    crests = [third.crest_mm, *(r.crest_mm for r in more)]
    assert crests[-1] < sill <= crests[-1] + pitch_mm


def test_no_way_out_over_an_apron_above_the_sill() -> None:
    low = spec("rectangular", slat_form="flat", sill_height_mm=6.0)
    assert low.section.window_bottom_mm > low.section.sill_top_mm
    assert relief_of(low.section) == ()


def test_a_level_is_not_remembered_across_other_house_numbers() -> None:
    """What an edge holds goes with the sine of half the angle, an orifice's head with 1 / Cd^2."""
    low, high = TROUGH.level_mm(0.0), TROUGH.level_mm(12.0)
    with varied(CONTACT_ANGLE, 60.0):
        by_hand = HELD_MM * math.sin(math.radians(75.0)) / math.sin(math.radians(85.0))
        assert TROUGH.level_mm(0.0) == pytest.approx(by_hand, rel=1e-4)
    with varied(ORIFICE_CD, 0.58):
        # The head counts from the slot's middle, 2 mm over its lower edge.
        head = (high - HELD_MM - 2.0) * (0.61 / 0.58) ** 2
        assert TROUGH.level_mm(12.0) == pytest.approx(HELD_MM + 2.0 + head, rel=1e-3)
    assert (TROUGH.level_mm(0.0), TROUGH.level_mm(12.0)) == (low, high)

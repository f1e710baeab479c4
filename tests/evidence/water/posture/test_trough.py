"""Drainage of a turned vent: the upright laws where it stands upright, hand sums where it lies."""

from __future__ import annotations

import math

import pytest

from tests.helpers.rows import spec
from vent_family.evidence.water.drainage import DrainageReport, drainage, trough_of
from vent_family.evidence.water.frontage import frontage
from vent_family.evidence.water.posture.basin import basin_of
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.trough import PosedTrough, posed
from vent_family.spec.vent import VentSpec


def turned(vent: VentSpec, tilt: float = 0.0, roll: float = 0.0) -> PosedTrough:
    section = vent.section
    sill = section.sill_top_mm - section.drain_mm[0]
    return posed(basin_of(vent), Posture(tilt, roll), sill)


def upright(vent: VentSpec, inflow: float, tilt: float = 0.0) -> DrainageReport:
    front = frontage(vent)
    trough = trough_of(vent.section, front.floor_width_mm, front.bays)
    return drainage(trough, inflow, 60.0, suction_pa=10.0, tilt_deg=tilt)


@pytest.mark.parametrize("family", ["rectangular", "flanged"])
@pytest.mark.parametrize("inflow", [0.0, 0.4, 1.2])
def test_upright_it_is_the_upright_trough(family: str, inflow: float) -> None:
    vent = spec(family)
    was, now = upright(vent, inflow), turned(vent).drained(inflow, 60.0, suction_pa=10.0)
    assert now.margin_mm == pytest.approx(was.margin_mm, abs=1e-5)
    assert now.capillary_mm == was.capillary_mm
    assert now.suction_mm == pytest.approx(was.suction_mm)


def test_a_small_lean_costs_what_the_upright_law_says() -> None:
    vent = spec("rectangular")
    deep = vent.section.sill[0] - vent.section.inner_z_mm
    for tilt in (-2.0, 1.0, 2.0):
        was = upright(vent, 0.5, tilt)
        now = turned(vent, tilt).drained(0.5, 60.0, suction_pa=10.0)
        # Leaning forwards, the inner edge of the sill's top is the higher one.
        more = deep * math.sin(math.radians(max(-tilt, 0.0)))
        # Sill height times (1 - cos tilt) is left out there: 10 mm x 0.0006.
        assert now.tilt_mm == pytest.approx(was.tilt_mm - more, abs=0.01)


def test_a_small_roll_costs_half_a_bay_times_its_slope_under_a_high_flow() -> None:
    # With the whole edge under water the flow's mean depth stays, so the level over the lowest
    # corner rises by half of what the edge rises: 24 / 2 x tan 0.5 deg.
    vent = spec("rectangular", size="80x60", rib_count=2)
    low, high = vent.bays[0]
    flat = turned(vent).drained(2.0, 60.0, suction_pa=0.0)
    rolled = turned(vent, roll=0.5).drained(2.0, 60.0, suction_pa=0.0)
    lost = flat.margin_mm - rolled.margin_mm
    assert lost == pytest.approx(0.5 * (high - low) * math.tan(math.radians(0.5)), rel=0.05)


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_left_and_right_drain_alike(family: str) -> None:
    vent = spec(family)
    for roll in (5.0, 40.0, 95.0, 160.0):
        a = turned(vent, 2.0, roll).drained(0.3, 60.0, suction_pa=5.0)
        b = turned(vent, 2.0, -roll).drained(0.3, 60.0, suction_pa=5.0)
        assert a.margin_mm == pytest.approx(b.margin_mm, abs=1e-6)
        assert a.capacity_l_min == pytest.approx(b.capacity_l_min, rel=1e-6)


def test_a_block_on_its_side_or_head_has_no_sill() -> None:
    vent = spec("rectangular")
    for roll in (90.0, 180.0):
        report = turned(vent, roll=roll).drained(0.2, 60.0, suction_pa=0.0)
        assert report.capacity_l_min == 0.0
        assert report.margin_mm < 0.0
        assert report.tilt_mm == pytest.approx(report.sill_mm, abs=1e-9)
        # Nothing stands there, so everything runs in.
        assert report.overflow_l == pytest.approx(0.2, rel=1e-3)


def test_in_a_roof_all_runs_in_and_in_a_floor_all_runs_out() -> None:
    for family in ("rectangular", "round"):
        vent = spec(family)
        roof = turned(vent, 90.0).drained(0.5, 60.0, suction_pa=0.0)
        assert roof.overflow_l == pytest.approx(0.5, rel=1e-3)
        floor = turned(vent, -90.0).drained(0.5, 60.0, suction_pa=0.0)
        depth = vent.section.front_z_mm - vent.section.foot[0]
        # The whole depth of the part is its sill.
        assert floor.margin_mm > depth - 9.0
        assert floor.overflow_s is None


def test_a_round_head_upside_down_is_held_by_its_bore() -> None:
    vent = spec("round")
    neck = vent.body.neck
    assert neck is not None
    report = turned(vent, roll=180.0).drained(0.1, 60.0, suction_pa=0.0)
    # The ceiling is the floor; water leaves over its outer edge, or first over the edge of a slat
    # that grows out of it, and the bore stands above both.
    ceiling = vent.section.ceiling_mm
    edges = [min(y for _, y in s.outline) for s in vent.section.slats if s.grown]
    dam = min([ceiling, *edges]) - neck.bore_radius_mm
    held = dam - report.capillary_mm - report.flow_mm
    assert report.margin_mm == pytest.approx(held, abs=1e-6)


def test_what_comes_in_excess_runs_in() -> None:
    vent = spec("rectangular")
    trough = turned(vent, 10.0)
    report = trough.drained(6.0, 120.0, suction_pa=0.0)
    assert report.overflow_s is not None
    excess = 6.0 - report.capacity_l_min
    assert report.overflow_l == pytest.approx(excess * (120.0 - report.overflow_s) / 60.0)


def test_a_blocked_trough_fills_to_its_sill() -> None:
    vent = spec("rectangular")
    front, section = frontage(vent), vent.section
    # Upright, by hand: a wedge under a level sill.
    (foot_z, foot_y), (front_z, brink_y) = section.foot, section.brink
    mean = section.sill_top_mm - 0.5 * (foot_y + brink_y)
    volume_l = mean * (front_z - foot_z) * front.floor_width_mm * 1e-6
    full_s = turned(vent).full_after_s(0.5)
    assert full_s == pytest.approx(volume_l / 0.5 * 60.0, rel=1e-6)
    assert turned(vent).full_after_s(0.0) is None


@pytest.mark.parametrize(("inflow", "duration"), [(-1.0, 1.0), (math.nan, 1.0), (1.0, -1.0)])
def test_nonsense_is_refused(inflow: float, duration: float) -> None:
    with pytest.raises(ValueError, match="zero or more"):
        turned(spec("rectangular")).drained(inflow, duration, suction_pa=0.0)

"""The joint in the water check: arcs searched for what a gap holds, profiles added up for leaks."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from tests.helpers.rows import spec
from vent_family.evidence.joint.report import Side, gasket_record, joint_of
from vent_family.evidence.water.arrival import arrival
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.frontage import frontage
from vent_family.evidence.water.house import CONTACT_ANGLE, PANEL_ABOVE, varied
from vent_family.evidence.water.joint import edge_head_mm, flow_l_min, held_pa, joint_water
from vent_family.evidence.water.joint_report import JOINT, JointWater
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.predicted import Verdict
from vent_family.evidence.water.setup import Setup


def strongest_arc_pa(gap_mm: float, contact_deg: float) -> float:
    """Return the greatest pressure of an arc from a plate's end down to a wall that goes on.

    The plate's lower side is y = gap at x < 0, the wall y = 0, and water lies left of the arc. One
    that meets the wall at x under the contact angle has its radius by both points. It stays on the
    plate's end as long as it leaves no more than the contact angle past the end face, downwards.
    """
    angle, g = math.radians(contact_deg), gap_mm * 1e-3
    x = np.linspace(0.01 * g, 8.0 * g, 200_000)
    bulge = x * math.sin(angle) - g * math.cos(angle)
    x, bulge = x[bulge > 0.0], bulge[bulge > 0.0]
    radius = (x**2 + g**2) / (2.0 * bulge)
    out_x, out_y = radius * math.sin(angle) - x, g + radius * math.cos(angle)
    leaves_deg = np.degrees(np.arctan2(-out_x, out_y))
    stays = leaves_deg <= contact_deg - 90.0
    return float((0.0728 / radius[stays]).max(initial=0.0))


@pytest.mark.parametrize("contact_deg", [60.0, 70.0, 80.0, 89.0])
@pytest.mark.parametrize("gap_mm", [0.1, 0.4])
def test_a_gap_holds_what_the_strongest_arc_does(gap_mm: float, contact_deg: float) -> None:
    """Young and Laplace: an arc of radius R stands against sigma / R; all arcs are tried."""
    with varied(CONTACT_ANGLE, contact_deg):
        assert held_pa(gap_mm) == pytest.approx(strongest_arc_pa(gap_mm, contact_deg), rel=1e-3)


def test_water_that_wets_is_not_held() -> None:
    """Below 45 degrees water creeps along a square corner (Concus and Finn 1969, from memory)."""
    with varied(CONTACT_ANGLE, 45.0):
        assert held_pa(0.2) == pytest.approx(0.0, abs=1e-9)
    with varied(CONTACT_ANGLE, 30.0):
        assert held_pa(0.2) == 0.0


def test_a_slow_leak_is_the_flow_between_plates() -> None:
    """0.1 x 80 mm, 10 mm deep, 100 Pa: mu u'' = dp / L solved on a grid, and added up.

    White, Viscous Fluid Flow (from memory) has w g^3 dp / (12 mu L) for it.
    """
    n, gap, viscosity = 400, 1e-4, 1.002e-3
    step = gap / n
    second = (np.eye(n - 1, k=1) - 2.0 * np.eye(n - 1) + np.eye(n - 1, k=-1)) / step**2
    speed = np.linalg.solve(second, np.full(n - 1, -100.0 / 0.01 / viscosity))
    m3_s = speed.sum() * step * 0.08
    assert m3_s == pytest.approx(1e-12 * 100.0 * 0.08 / (12.0 * 1.002e-3 * 0.01), rel=1e-4)
    assert flow_l_min(0.1, 80.0, 10.0, 100.0) == pytest.approx(m3_s * 60_000.0, rel=2e-3)


def test_a_fast_leak_is_as_fast_as_its_pressure_allows() -> None:
    """A wide, short slit at 70 kPa: 1.5 velocity heads, 9.67 m/s; all in all between both laws."""
    metre_s = math.sqrt(2.0 * 70_000.0 / (1.5 * 998.2))
    fast = metre_s * 2e-3 * 0.01 * 60_000.0
    assert flow_l_min(2.0, 10.0, 0.1, 70_000.0) == pytest.approx(fast, rel=1e-3)
    # Both losses are there: each alone would let more through.
    both = flow_l_min(0.4, 10.0, 6.0, 70_000.0)
    plates = 0.4e-3**3 * 70_000.0 * 0.01 / (12.0 * 1.002e-3 * 6e-3) * 60_000.0
    ends = metre_s * 0.4e-3 * 0.01 * 60_000.0
    speed = both / 60_000.0 / (0.4e-3 * 0.01)
    assert both < min(plates, ends)
    lost = 12.0 * 1.002e-3 * 6e-3 * speed / 0.4e-3**2 + 0.75 * 998.2 * speed**2
    assert lost == pytest.approx(70_000.0, rel=1e-9)
    assert flow_l_min(0.2, 80.0, 6.0, 0.0) == flow_l_min(0.2, 80.0, 6.0, -5.0) == 0.0


def test_water_stands_over_the_edge_that_is_up() -> None:
    """An edge holds 5.433 mm (2 x 2.7271 x sin 85 degrees, Jurin's length in it), 6 mm overlap."""
    sides = {name: Side(name, 6.0, 80.0) for name in ("left", "right", "bottom", "top")}

    def heads(tilt: float, roll: float) -> dict[str, float]:
        up = Posture(tilt, roll).up
        return {name: round(edge_head_mm(side, up), 2) + 0.0 for name, side in sides.items()}

    assert heads(0.0, 0.0) == {"left": 0.0, "right": 0.0, "bottom": -6.0, "top": 11.43}
    # Clockwise by a right angle: the left side is up.
    assert heads(0.0, 90.0) == {"left": 11.43, "right": -6.0, "bottom": 0.0, "top": 0.0}
    assert set(heads(90.0, 0.0).values()) == {5.43}
    assert set(heads(-90.0, 0.0).values()) == {0.0}
    c, s = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    assert heads(30.0, 0.0)["top"] == round(c * 11.433, 2)
    assert heads(30.0, 0.0)["left"] == round(s * 5.433, 2)


def joint_at(**cells: Any) -> JointWater:
    """Return the joint of a row under its first exposure, no drop sent off."""
    vent = spec(**cells)
    states = next(conditions_of(vent).singles())[0]
    (exposure,) = states.table
    point, front = states.point(exposure.name), frontage(vent)
    came = arrival(exposure, front, point.face_velocity_m_s, states.posture, states.cabinet_m2)
    setup = cast(Setup, SimpleNamespace(vent=vent, posture=states.posture, front=front))
    return joint_water(setup, exposure, point, came)


STILL = {"face_velocity_m_s": 0.0, "other_openings": "same_side"}
HEAD_PA = 998.2 * 9.80665 * 11.433e-3


def test_a_bare_lip_holds_rain_by_surface_tension() -> None:
    """80 x 60 mm, no wind that counts: 111.9 Pa of head against 295 Pa of 0.2 mm, 148 of 0.4."""
    found = joint_at(size="80x60", exposure="rain", **STILL)
    assert (found.outcome, found.side, found.gap_mm) == ("holds", "top", 0.2)
    assert found.drive_pa == pytest.approx(HEAD_PA, abs=0.5)
    assert found.leak_high_l_min == 0.0
    arc = strongest_arc_pa(0.2, 80.0)
    held = (found.holds_low_pa, found.holds_pa, found.holds_high_pa)
    assert held == pytest.approx((arc / 2.0, arc, 2.0 * arc), rel=1e-3)


def test_flatness_or_the_depression_decides_and_is_named() -> None:
    more = {"size": "80x60", "exposure": "rain", **STILL}
    flatness = joint_at(**more, extra_depression_pa=60.0)
    assert flatness.outcome == "marginal"
    assert flatness.drive_pa == pytest.approx(HEAD_PA + 60.0, abs=0.5)
    assert "flatness decides: 591 Pa in class H, 148 Pa in class L" in flatness.reason
    assert "run in and down behind the panel" in flatness.reason
    assert flatness.leak_l_min == 0.0 < flatness.leak_high_l_min
    beyond = joint_at(**more, extra_depression_pa=490.0)
    assert beyond.outcome == "fails"
    assert beyond.leak_l_min > 0.0
    # A narrower lip: 2 mm less of water over the edge.
    narrow = joint_at(**more, lip_width_mm=4.0, extra_depression_pa=30.0)
    assert narrow.outcome == "holds"
    assert narrow.drive_pa == pytest.approx(HEAD_PA + 30.0 - 19.58, abs=0.5)


def test_no_more_runs_in_than_comes_down_to_the_joint() -> None:
    """A lip 3 mm thick meets 10 mm/h, and 0.3 m of panel above what the open face gets by its area.

    At 490 Pa all four sides are pressed through, 280 mm of them.
    """
    vent = spec(size="80x60")
    front = frontage(vent)
    found = joint_at(size="80x60", exposure="rain", extra_depression_pa=490.0, **STILL)
    states = conditions_of(spec(size="80x60", exposure="rain", **STILL))
    came = arrival(
        states.table[0], front, states.point("rain").face_velocity_m_s, states.posture, 1.0
    )
    per_m2 = float(came.total_l_min[0]) / front.face_m2
    by_hand = 0.28 * (0.3 * per_m2 + 10.0 / 60.0 * 0.003)
    assert found.leak_l_min == pytest.approx(by_hand, rel=1e-6)
    with varied(PANEL_ABOVE, 1.0):
        more = joint_at(size="80x60", exposure="rain", extra_depression_pa=490.0, **STILL)
    assert more.leak_l_min == pytest.approx(0.28 * (per_m2 + 0.0005), rel=1e-6)


def test_a_hose_is_pressed_through_a_bare_joint_and_stopped_by_a_gasket() -> None:
    """20 L/min through 6 mm: 11.79 m/s, 69.4 kPa on 6 mm of a gap of 0.4 mm, 6 mm deep."""
    jet_pa = 0.5 * 998.2 * (20e-3 / 60.0 / (math.pi * 0.003**2)) ** 2
    bare = joint_at(size="120x120", exposure="hose_down", **STILL)
    assert (bare.outcome, bare.side, bare.gap_mm) == ("fails", "top", 0.4)
    assert bare.drive_pa == pytest.approx(jet_pa + HEAD_PA, rel=1e-4)
    assert bare.leak_l_min == pytest.approx(flow_l_min(0.4, 6.0, 6.0, bare.drive_pa), rel=1e-6)
    assert "69.4 kPa of push" in bare.reason
    sealed = joint_at(size="120x120", exposure="hose_down", seal="gasket", **STILL)
    assert (sealed.outcome, sealed.gap_mm, sealed.leak_high_l_min) == ("holds", None, 0.0)
    assert "on a gasket that holds 120 kPa for years" in sealed.reason


def test_a_spray_pushes_by_its_momentum() -> None:
    """10 L/min at 9.27 m/s on a spot of 300 mm: 0.1664 kg/s x 9.27 m/s / 0.0707 m2 = 21.8 Pa."""
    sprayed = joint_at(size="40x40", exposure="spraying", **STILL)
    speed = 10e-3 / 60.0 / (143.0 * math.pi * 0.0002**2)
    push = 998.2 * 10e-3 / 60.0 * speed / (math.pi * 0.15**2)
    assert sprayed.push_pa == pytest.approx(push, rel=1e-6)
    assert sprayed.drive_pa == pytest.approx(push + HEAD_PA, abs=0.5)


def test_a_gasket_holds_twice_its_push_and_half_of_that_for_years() -> None:
    """0.12 MPa over m = 0.5; M75 wants 9.27 N m for it, of which a hand gives 7.5."""
    small = gasket_record(spec("round"))
    assert small is not None
    assert (small.holds_pa, small.holds_new_pa) == pytest.approx((120_000.0, 240_000.0))
    large = gasket_record(spec("round", size="M75x1.5"))
    assert large is not None
    assert large.holds_new_pa == pytest.approx(240_000.0)
    assert large.holds_pa == pytest.approx(120_000.0 * 7.5 / 9.274, rel=1e-4)
    jet = joint_at(family="round", size="M75x1.5", exposure="strong_jets", **STILL)
    assert 92_000.0 < jet.drive_high_pa < large.holds_pa
    assert jet.outcome == "holds"


def test_the_record_tells_gap_or_gasket() -> None:
    assert joint_of(spec(size="80x60")).gap_mm == 0.2
    assert joint_of(spec(size="120x60")).gap_mm == 0.4
    assert joint_of(spec(size="80x60", seal="gasket")).gap_mm is None


def test_the_worse_of_vent_and_joint_counts() -> None:
    joint = joint_at(size="120x120", exposure="hose_down", **STILL)
    vent = Verdict("marginal", "splash", "much splash", "", "a test")
    worse = joint.worse_of(vent)
    assert (worse.outcome, worse.mechanism) == ("fails", JOINT)
    assert worse.reason.endswith("; otherwise much splash")
    fails = Verdict("fails", "splash", "much splash", "", "a test")
    assert joint.worse_of(fails) is fails

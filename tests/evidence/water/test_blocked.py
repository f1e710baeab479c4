from __future__ import annotations

import math
from dataclasses import replace

import pytest

from vent_family.evidence.water.blocked import (
    blocked_drain,
    full_after_s,
    trough_outcome,
)
from vent_family.evidence.water.drainage import DrainageReport, Relief, Trough, drainage
from vent_family.evidence.water.held import held_mm

HIGH = Trough(8.0, 24.0, 26.0, slope_deg=5.0, sill_mm=30.0, bays=3)


def drained(trough: Trough, inflow: float = 1.0) -> DrainageReport:
    return drainage(trough, inflow, 600.0, suction_pa=0.0)


def test_half_the_width_needs_the_head_of_twice_the_flow() -> None:
    """Weir law: half the width carries the flow at 2^(2/3) of the head."""
    whole = drained(HIGH)
    half = drained(replace(HIGH, clear_share=0.5))
    assert half.flow_mm == pytest.approx(2.0 ** (2.0 / 3.0) * whole.flow_mm)
    # The pool itself is as wide as before.
    assert half.held_l == pytest.approx(whole.held_l)


def test_the_lower_half_lifts_the_crest() -> None:
    silted = drained(replace(HIGH, silted_mm=4.0))
    # 4 mm of the 8 are closed; the rest still holds what an edge holds.
    assert silted.capillary_mm == pytest.approx(4.0 + held_mm(8.0))
    assert silted.level_mm == pytest.approx(drained(HIGH).level_mm + 4.0)


def test_each_half_is_told() -> None:
    found = blocked_drain(HIGH, drained, 7.0)
    for half, changed in (
        (found.half_width, replace(HIGH, width_mm=12.0)),
        (found.lower_half, replace(HIGH, slot_mm=4.0, sill_mm=26.0)),
    ):
        # Half as wide, or a drain half as high under a sill that stands that much less over it:
        # 4 mm hold as much as 8.
        assert half.margin_mm == pytest.approx(drained(changed).margin_mm)
        assert half.capacity_l_min == pytest.approx(drained(changed).capacity_l_min)
        assert half.outcome == "holds"
    assert found.full_s == 7.0
    # More than either half carries.
    assert blocked_drain(HIGH, lambda t: drained(t, 60.0), None).half_width.outcome == "fails"


def test_the_trough_alone_holds_by_a_millimetre() -> None:
    report = drained(HIGH)
    assert trough_outcome(replace(report, margin_mm=1.0)) == "holds"
    assert trough_outcome(replace(report, margin_mm=0.99)) == "marginal"
    assert trough_outcome(replace(report, overflow_s=3.0)) == "fails"


def test_time_to_fill_by_hand() -> None:
    # A wedge of (30 - 26 tan 5 / 2) x 26 x 24 mm3 in each of three bays; 2 L/min into all.
    litres = 3 * (30.0 - 13.0 * math.tan(math.radians(5.0))) * 26.0 * 24.0 * 1e-6
    assert full_after_s(HIGH, 2.0, suction_pa=0.0) == pytest.approx(litres / 2.0 * 60.0)
    # All of it into one bay fills that three times as soon.
    one = full_after_s(HIGH, 2.0, suction_pa=0.0, concentration=3.0)
    assert one == pytest.approx(litres / 6.0 * 60.0)
    leaning = full_after_s(HIGH, 2.0, suction_pa=0.0, tilt_deg=3.0)
    less = 26.0 * math.sin(math.radians(3.0)) * 26.0 * 24.0 * 3e-6
    assert leaning == pytest.approx((litres - less) / 2.0 * 60.0)


def test_a_blocked_drain_never_fills_a_trough_that_the_apron_relieves() -> None:
    """Over an apron of 10 mm 24 mm of width let out, at the sill: 1.705 b H^1.5, three times."""
    relieved = replace(HIGH, relief=(Relief(10.0, 20.0),))
    head = 30.0 - 10.0 - 5.4334
    carried = 3 * 1.705 * 0.024 * (head * 1e-3) ** 1.5 * 60_000.0
    assert full_after_s(relieved, 0.99 * carried, suction_pa=0.0) is None
    assert full_after_s(relieved, 1.01 * carried, suction_pa=0.0) is not None
    # 40 Pa lift 4.1 mm of that head away.
    assert full_after_s(relieved, 0.99 * carried, suction_pa=40.0) is not None

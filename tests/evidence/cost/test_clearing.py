"""Plates cleared by hand or by the machine: minutes and days, against a walk through the hours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.helpers.shops import shop_with
from vent_family.base.shop import Shop
from vent_family.evidence.cost.clearing import hours_by_hand, hours_for, plate_minutes
from vent_family.evidence.cost.sheet import PartToPrint, order_cost, plate_of


def shop(share: float) -> Shop:
    return shop_with(labour={"unattended_share": share})


def walked(rounds: int, plate_h: float, attended_h: float) -> float:
    """Return when the last plate is done, hour by hour: nobody starts one after hours."""
    clock = 0.0
    for _ in range(rounds):
        if clock % 24.0 > attended_h:
            clock += 24.0 - clock % 24.0
        clock += plate_h
    return clock


@settings(max_examples=200, deadline=None)
@given(
    st.integers(1, 60),
    st.integers(16, 4480).map(lambda n: n / 64.0),  # exact in binary, ends of the day included
    st.sampled_from([4.0, 8.0, 10.0, 23.5, 24.0]),
)
def test_plates_started_by_hand(rounds: int, plate_h: float, attended_h: float) -> None:
    assert hours_by_hand(rounds, plate_h, attended_h) == pytest.approx(
        walked(rounds, plate_h, attended_h)
    )


def test_plates_by_hand_in_a_day_of_ten_hours() -> None:
    """15 h: begun every morning. 26 h: at hours 0, 26 to 130, and as 156 is at twelve, at 168."""
    assert hours_by_hand(5, 15.0, 10.0) == 4 * 24.0 + 15.0
    assert [hours_by_hand(n, 26.0, 10.0) for n in (2, 4, 5, 6)] == [52.0, 104.0, 130.0, 156.0]
    assert [hours_by_hand(n, 26.0, 10.0) for n in (7, 9)] == [194.0, 246.0]


def test_a_machine_that_clears_itself_works_through_the_night() -> None:
    assert hours_for(6, 15.0, True, shop(1.0)) == 6 * 15.0
    assert hours_for(6, 15.0, True, shop(0.0)) == hours_for(6, 15.0, False, shop(1.0)) == 135.0
    assert hours_for(6, 15.0, True, shop(0.8)) == pytest.approx(90.0 + 0.2 * 45.0)


def test_labour_on_a_plate() -> None:
    """3 minutes by hand; pushed off half a minute, and by hand what does not come off."""
    assert plate_minutes(False, shop(0.8)) == 3.0
    assert plate_minutes(True, shop(0.8)) == pytest.approx(0.8 * 0.5 + 0.2 * 3.0)
    assert plate_minutes(True, shop(0.0)) == 3.0


def test_price_and_days_follow() -> None:
    """12 on a plate of 20.1 h that never fails: 2.25 min a plate are saved at 26 an hour.

    With 2 % scrap 1000 parts are 86 plates, 5 on the busiest of 20 machines.
    """
    own = shop_with(machine={"failures_per_h": 0.0})
    by_hand = PartToPrint((80.0, 60.0, 30.0), np.full(150, 40.0), 50.0, "ASA")
    pushed = PartToPrint((80.0, 60.0, 30.0), np.full(150, 40.0), 50.0, "ASA", pushed_off=True)
    plate_h = plate_of(by_hand, 1000, own).seconds / 3600.0
    hand, pushed_on = order_cost((by_hand,), 1000, own), order_cost((pushed,), 1000, own)
    assert (hand.rounds, pushed_on.rounds) == (5, 5)
    saved = 2.25 / 60.0 * 26.0 / 12
    assert hand.labour - pushed_on.labour == pytest.approx(saved)
    assert hand.cost - pushed_on.cost == pytest.approx(saved / 0.98)
    assert hand.days == pytest.approx((4 * 24.0 + plate_h) / 24.0)
    waits = 4 * (24.0 - plate_h)
    assert pushed_on.days == pytest.approx((5 * plate_h + 0.1 * waits) / 24.0)

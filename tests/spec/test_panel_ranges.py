"""Which walls a vent fits: by hand from neck, locknut, thread and what grips or stands behind."""

from __future__ import annotations

from typing import Any

import pytest

from tests.helpers.families import vent_of
from vent_family.spec.body import PanelRange


def range_of(family: str, **cells: Any) -> PanelRange:
    vent = vent_of(family, **cells)
    return vent.body.panel_range(vent.section)


def test_a_neck_reaches_through_wall_and_locknut_and_two_pitches_beyond() -> None:
    # M20x1.5: the printed nut is 6 mm high; 15 - 6 - 2 x 1.5.
    found = range_of("round", size="M20x1.5", neck_length_mm=15.0)
    assert (found.least_mm, found.most_mm) == pytest.approx((0.5, 6.0))
    # A screen's ring, 5 mm and more of thread, takes the place of the two pitches.
    held = range_of("round", size="M20x1.5", neck_length_mm=19.0, screen_mm=1.0)
    assert held.most_mm < 19.0 - 6.0 - 3.0


def test_a_key_must_not_hold_off_the_locknut() -> None:
    # It is 0.8 mm deep behind a wall of 2 mm, and a wall is a tenth thicker than that.
    found = range_of("round", size="M20x1.5", locating_key="notch", panel_thickness_mm=2.0)
    assert found.least_mm == pytest.approx(0.9)


@pytest.mark.parametrize(
    "cells", [{"fixing": "snap"}, {"print_orientation": "upright", "slat_thickness_mm": 1.5}]
)
def test_what_grips_the_wall_takes_little_more_and_little_less(cells: dict[str, Any]) -> None:
    found = range_of("rectangular", size="80x60", panel_thickness_mm=2.0, **cells)
    assert (found.least_mm, found.most_mm) == pytest.approx((1.8, 2.2))


def test_a_screwed_block_takes_any_wall_that_it_reaches_through() -> None:
    found = range_of("flanged", size="80x60")
    assert (found.least_mm, found.most_mm) == pytest.approx((0.5, 12.0))
    fan = range_of("flanged", size="120x120", fan_mount="120")
    assert "fan" in fan.why

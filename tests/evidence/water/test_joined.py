"""Bays joined by windows, against pools that are filled in time until nothing changes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vent_family.base.constants import GRAVITY_M_S2
from vent_family.evidence.water.drainage import Trough, drainage
from vent_family.evidence.water.held import held_mm
from vent_family.evidence.water.joined import Window

WIDE, SLOT, SILL = 24.0, 8.0, 27.0
WINDOW = Window(12.0, 0.7, 8.0)


def settled_mm(inflow_l_min: float, bays: int) -> float:
    """Return the level (mm) of the first of some bays, each 20 mm long, after a long time.

    Weir and orifice are written out here: critical depth over the brink, 0.61 for windows.
    """
    held = held_mm(SLOT)
    level = np.full(bays, held)
    area = WIDE * 20.0
    step = 2e-3
    for _ in range(60_000):
        head = np.maximum(level - held, 0.0) * 1e-3
        out = (2.0 / 3.0) ** 1.5 * math.sqrt(GRAVITY_M_S2) * head**1.5 * WIDE * 1e-3
        flow = -out
        flow[0] += inflow_l_min / 60_000.0
        for k in range(bays - 1):
            high, low = level[k], level[k + 1]
            wet = min(max(low - WINDOW.low_mm, 0.0), WINDOW.height_mm)
            fall = math.sqrt(2.0 * GRAVITY_M_S2 * max(high - low, 0.0) * 1e-3)
            over = 0.61 * WINDOW.length_mm * wet * 1e-6 * fall
            flow[k] -= over
            flow[k + 1] += over
        level = level + step * flow * 1e9 / area
    return float(level[0])


@pytest.mark.parametrize(("bays", "inflow"), [(1, 1.0), (2, 2.5), (3, 3.5)])
def test_level_is_that_of_pools_filled_in_time(bays: int, inflow: float) -> None:
    trough = Trough(SLOT, WIDE, 20.0, 5.0, SILL, bays, window=WINDOW).joined
    # Below 1.5 slots of head the drain is a weir, as written out above.
    level = trough.level_mm(inflow)
    assert level < held_mm(SLOT) + 1.5 * SLOT
    assert level == pytest.approx(settled_mm(inflow, bays), abs=0.02)
    assert trough.outflow_l_min(level) == pytest.approx(inflow, rel=1e-4)


def test_neighbours_help_only_a_bay_that_gets_all() -> None:
    trough = Trough(SLOT, WIDE, 20.0, 5.0, SILL, 4, window=WINDOW)
    even = drainage(trough, 4.0, 60.0, suction_pa=10.0)
    walled = drainage(Trough(SLOT, WIDE, 20.0, 5.0, SILL, 4), 4.0, 60.0, suction_pa=10.0)
    assert even == walled
    alone = drainage(trough, 4.0, 60.0, suction_pa=10.0, concentration=4.0)
    helped = drainage(trough.joined, 4.0, 60.0, suction_pa=10.0, concentration=4.0)
    assert helped.level_mm < alone.level_mm
    assert helped.capacity_l_min > 1.2 * alone.capacity_l_min
    # Never more than as if its neighbours stood as high.
    assert helped.capacity_l_min < 3.0 * alone.capacity_l_min


def test_a_part_without_windows_has_no_neighbours() -> None:
    trough = Trough(SLOT, WIDE, 20.0, 5.0, SILL, 4)
    assert trough.joined == trough


def test_a_window_is_as_wet_as_the_bay_beyond_lets_it() -> None:
    """By hand: 0.61 x 10 mm x 3 mm x sqrt(2 x 9.80665 x 0.02 m) = 0.688 l/min; none while dry."""
    window = Window(10.0, 1.0, 8.0)
    assert window.flow_l_min(24.0, 4.0) == pytest.approx(0.688, abs=0.001)
    assert window.flow_l_min(24.0, 1.0) == 0.0
    # Under water on both sides no more than its height is wet: 0.61 x 10 x 8 mm under 5 mm.
    assert window.flow_l_min(24.0, 19.0) == pytest.approx(0.917, abs=0.001)

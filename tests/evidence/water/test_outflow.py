from __future__ import annotations

import itertools
import math

import pytest
from fluids import Q_weir_rectangular_full_Rehbock
from hypothesis import given
from hypothesis import strategies as st

from vent_family.evidence.water.outflow import (
    Slot,
    level_for_mm,
    orifice_l_min,
    outflow_l_min,
    overfall_l_min,
    rest_mm,
    total_l_min,
)

HELD_MM = 2e3 * math.sqrt(0.0728 / (998.2 * 9.80665)) * math.sin(math.radians(85.0))
"""Height held at an edge: 5.433 mm, by hand."""


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
def test_level_and_flow_are_inverse(flow: float) -> None:
    slots = [Slot(0.0, 4.0, 24.0), Slot(6.0, 3.0, 24.0)]
    level = level_for_mm(flow, slots)
    assert total_l_min(slots, level) == pytest.approx(flow, rel=1e-3, abs=1e-4)


def test_a_slot_above_the_drain_lets_go_at_its_own_edge() -> None:
    """Two broad weirs side by side in height, by hand: 1.705 b H^1.5 each.

    Crests at 0 and 8 mm, both 5.433 mm higher in effect; at a level of 16 mm the heads are 10.567
    and 2.567 mm over slots too high to run full.
    """
    slots = [Slot(0.0, 20.0, 50.0), Slot(8.0, 20.0, 50.0)]
    heads = [16.0 - HELD_MM, 16.0 - 8.0 - HELD_MM]
    by_hand = sum(1.705 * 0.05 * (h * 1e-3) ** 1.5 * 60_000.0 for h in heads)
    assert total_l_min(slots, 16.0) == pytest.approx(by_hand, rel=1e-3)
    assert total_l_min(slots, 8.0 + HELD_MM) == total_l_min(slots[:1], 8.0 + HELD_MM)
    assert rest_mm(slots) == pytest.approx(HELD_MM)


def test_no_way_out_and_too_much_water() -> None:
    assert rest_mm([]) == math.inf
    assert total_l_min([], 50.0) == 0.0
    assert level_for_mm(1.0, []) == math.inf
    assert level_for_mm(1e9, [Slot(0.0, 4.0, 24.0)]) == math.inf
    assert level_for_mm(0.0, [Slot(0.0, 4.0, 24.0)]) == pytest.approx(HELD_MM)

"""What surface tension holds, against surfaces integrated step by step from Young and Laplace.

Nothing of the program's formulas is used: water at 20 degrees by its textbook values, 80 degrees of
contact angle on the face below the edge.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from vent_family.base import limits
from vent_family.base.constants import CAPILLARY_LENGTH_MM
from vent_family.evidence.water.held import (
    clear_slot_mm,
    edge_angle_deg,
    edge_mm,
    held_mm,
    puddle_mm,
)

SIGMA, WEIGHT = 0.0728, 998.2 * 9.80665
STEEPEST_DEG = 170.0
"""80 degrees past an upright face, which stands at 90 to the level."""


def surface(level_mm: float, top_mm: float) -> tuple[float, float]:
    """Return x (mm) and slope angle (deg) where the surface from an edge has risen to a height.

    It starts at the edge as steep as the edge can hold it. Per metre of it the pressure
    weight x (level - y) bends it by pressure / sigma.
    """

    def bend(_s: float, at: np.ndarray) -> list[float]:
        _, y, angle = at
        # Up along the surface: away from the edge and outwards first.
        return [-math.cos(angle), math.sin(angle), -WEIGHT * (level_mm * 1e-3 - y) / SIGMA]

    def there(_s: float, at: np.ndarray) -> float:
        return float(at[1]) - top_mm * 1e-3

    there.terminal = True  # type: ignore[attr-defined]
    start = [0.0, 0.0, math.radians(STEEPEST_DEG)]
    found = solve_ivp(bend, (0.0, 0.1), start, events=there, rtol=1e-10, atol=1e-12)
    (x, _, angle) = found.y_events[0][0]
    return 1e3 * float(x), math.degrees(float(angle))


def test_held_at_the_edge_by_hand() -> None:
    # 2 l sin 85 deg with l = sqrt(0.0728 / 9789) m = 2.727 mm; on wax (110 degrees) a puddle is
    # about 5 mm deep (de Gennes, Brochard-Wyart and Quere 2004, from memory).
    assert edge_mm() == pytest.approx(2e3 * math.sqrt(SIGMA / WEIGHT) * math.sin(math.radians(85)))
    assert edge_mm() == pytest.approx(5.433, abs=5e-4)
    assert puddle_mm(110.0) == pytest.approx(4.5, abs=0.1)


def test_a_face_that_leans_lets_go_at_another_angle() -> None:
    # Lying on its back (face up) the water runs level with the face: 80 degrees, as on a floor.
    assert edge_angle_deg(0.0) == 80.0
    assert edge_mm(0.0) == pytest.approx(3.506, abs=1e-3)
    assert edge_mm(120.0) == pytest.approx(2.0 * CAPILLARY_LENGTH_MM)


def test_the_surface_at_the_edge_runs_out_level_at_its_height() -> None:
    _, angle = surface(edge_mm(), edge_mm() - 0.01)
    # 0.01 mm below a level pool the angle is 0.01 / l in radians: depth = 2 l sin(angle / 2).
    assert math.radians(angle) == pytest.approx(0.01 / CAPILLARY_LENGTH_MM, rel=0.01)


def test_the_clear_slot_is_where_the_surface_crosses_the_front() -> None:
    x, _ = surface(edge_mm(), clear_slot_mm())
    assert x == pytest.approx(0.0, abs=1e-5)
    assert clear_slot_mm() == pytest.approx(3.692, abs=5e-4)
    # Just below it the surface still hangs out over the edge, just above it has gone back inside.
    assert surface(edge_mm(), clear_slot_mm() - 0.1)[0] > 0.0
    assert surface(edge_mm(), clear_slot_mm() + 0.1)[0] < 0.0


@pytest.mark.parametrize("slot_mm", [0.5, 1.0, 2.0, 2.7, 2.73, 3.3, 3.69])
def test_low_slots_hold_a_surface_that_ends_at_both_edges(slot_mm: float) -> None:
    x, angle = surface(held_mm(slot_mm), slot_mm)
    assert x == pytest.approx(0.0, abs=1e-5)
    # At the upper edge it hangs on as well: less than 10 degrees there the water would climb.
    assert 10.0 < angle < 90.0


def test_the_lowest_slots_hold_what_stands_between_two_plates() -> None:
    # Capillary rise between plates (Jurin; textbook): 2 sigma cos a / (rho g h), over the middle.
    for slot_mm in (0.05, 0.1):
        rise = 2e6 * SIGMA * math.cos(math.radians(10.0)) / (WEIGHT * slot_mm)
        assert held_mm(slot_mm) == pytest.approx(rise + slot_mm / 2.0, rel=1e-4)


@given(st.floats(0.2, 20.0), st.floats(1e-6, 0.02))
def test_held_falls_with_the_height_of_the_slot_without_a_jump(slot: float, more: float) -> None:
    low, high = held_mm(slot), held_mm(slot + more)
    assert high <= low + 1e-7
    # The steepest it can fall is that between plates, 2 l^2 / h^2.
    assert low - high <= 15.0 / slot**2 * more + 1e-7


def test_nothing_jumps_at_the_capillary_length() -> None:
    assert held_mm(2.72) - held_mm(2.73) == pytest.approx(0.015, abs=0.003)
    assert held_mm(2.72) == pytest.approx(6.51, abs=0.01)
    assert held_mm(20.0) == held_mm(4.0) == edge_mm()


def test_the_least_gap_and_the_least_drain_are_the_capillary_length() -> None:
    by_hand = 1e3 * math.sqrt(SIGMA / WEIGHT)
    assert by_hand == pytest.approx(2.727, abs=5e-4)
    for limit in (limits.GAP_MIN, limits.DRAIN_MIN):
        # Rounded to the tenth of a millimetre that parts are drawn in, as their sources say.
        assert limit.value == round(by_hand, 1) == 2.7
        assert "rounded to 0.1 mm" in limit.source
        assert "0.0728 N/m and 998.2 kg/m3" in limit.source


@pytest.mark.parametrize("slot_mm", [0.0, -1.0, math.nan])
def test_a_closed_slot_is_refused(slot_mm: float) -> None:
    with pytest.raises(ValueError, match="must be open"):
        held_mm(slot_mm)

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.helpers.rows import spec
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at
from vent_family.evidence.water.drain_air import (
    blown_film_mm,
    counter_flow_l_min,
    drain_air,
    lifting_m_s,
    slot_air_m_s,
)


def flooding(gas_m_s: float, water_m_s: float, height_m: float) -> float:
    """Return sqrt(jg*) + sqrt(jl*), Wallis 1969 (from memory), with the slot's height."""
    scale = 9.80665 * height_m * (998.2 - 1.2041)
    gas = math.sqrt(gas_m_s * math.sqrt(1.2041 / scale))
    return gas + math.sqrt(water_m_s * math.sqrt(998.2 / scale))


@given(st.floats(0.05, 2.5), st.floats(2.7, 20.0))
def test_the_largest_outflow_lies_on_the_flooding_line(gas_m_s: float, slot_mm: float) -> None:
    found = counter_flow_l_min(gas_m_s, slot_mm, 72.0)
    water_m_s = found / 60_000.0 / (slot_mm * 72.0e-6)
    line = flooding(gas_m_s, water_m_s, slot_mm * 1e-3)
    if found > 0.0:
        assert line == pytest.approx(0.7)
    else:
        assert line >= 0.7


def test_flooding_by_hand() -> None:
    # 1 m/s over a slot of 10 mm: jg* = sqrt(1.2041 / (9.80665 x 0.01 x 997)) = 0.11097, root
    # 0.33312; left for the water 0.36688, squared 0.13460, times sqrt(9.80665 x 0.01 x 997 / 998.2)
    # = 0.31297 m/s: 0.042126 m/s over 10 x 72 mm.
    assert counter_flow_l_min(1.0, 10.0, 72.0) == pytest.approx(1.8198, rel=1e-3)
    # Air alone stops all water at jg* = 0.49: 0.49 / 0.11097 m/s.
    assert counter_flow_l_min(4.40, 10.0, 72.0) > 0.0
    assert counter_flow_l_min(4.43, 10.0, 72.0) == 0.0


def test_air_in_the_drain_is_that_of_the_air_model() -> None:
    """The pressure that the stack loses drives the drain beside it: same share of the flow."""
    vent, air = vent_air(spec("rectangular", size="80x60")), air_at(20.0)
    loss = vent.loss(4e-3, air)
    stack_pa = float(sum(p[0] for name, p in loss.terms_pa.items() if name not in _mouths(vent)))
    by_share = float(loss.drain_share[0]) * 4e-3 / (vent.drain_mm2 * 1e-6)
    assert slot_air_m_s(stack_pa) == pytest.approx(by_share, rel=2e-3)


def _mouths(vent: object) -> set[str]:
    return {m.name for m in (*vent.entry["in"], *vent.leave["in"])}  # type: ignore[attr-defined]


def test_film_driven_up_the_floor_is_where_drag_and_weight_cancel() -> None:
    """Speed profile of a film added up: the drag pulls inwards, the weight outwards (textbook).

    Layers of u = (t y - w (d y - y^2 / 2)) / mu from the floor up, w the weight down the slope.
    """
    speed, slot_m = 3.46, 4e-3
    re = 1.2041 * speed * 2.0 * slot_m / 1.8134e-5
    drag = 24.0 / re * 1.2041 * speed**2 / 2.0
    weight = 998.2 * 9.80665 * math.sin(math.radians(5.0))

    def flow(depth: float) -> float:
        layers = [depth * (i + 0.5) / 2000 for i in range(2000)]
        return sum(drag * y - weight * (depth * y - y * y / 2.0) for y in layers)

    depth = blown_film_mm(speed, 4.0, 5.0) * 1e-3
    assert flow(0.98 * depth) > 0.0 > flow(1.02 * depth)
    # Fast air rubs turbulently: Blasius' law, above 24 / Re from Re 2053 on.
    assert blown_film_mm(8.0, 4.0, 5.0) == pytest.approx(
        1500.0 * 0.079 * (1.2041 * 8.0 * 8e-3 / 1.8134e-5) ** -0.25 * 0.60205 * 64.0 / weight
    )


def test_drops_are_carried_above_fifteen_metres_a_second() -> None:
    # 3.2 in the critical Kutateladze number (Pushkina and Sorokin 1969, from memory).
    unit = (0.0728 * 9.80665 * (998.2 - 1.2041) / 1.2041**2) ** 0.25
    assert lifting_m_s() == pytest.approx(3.2 * unit)
    # 15.06^2 x 1.2041 / 2 x 2.78 heads are 380 Pa.
    assert not drain_air(370.0, 4.0, 24.0, 5.0, 1.0).lifts_drops
    assert drain_air(400.0, 4.0, 24.0, 5.0, 1.0).lifts_drops


@pytest.mark.parametrize("depression_pa", [0.0, -30.0])
def test_air_that_is_blown_out_or_still_holds_no_water(depression_pa: float) -> None:
    found = drain_air(depression_pa, 4.0, 24.0, 5.0, 100.0)
    assert found.speed_m_s == found.blown_film_mm == 0.0
    assert found.counter_flow_l_min is None
    assert not found.flooded


def test_more_water_than_the_limit_floods() -> None:
    limit = drain_air(3.0, 4.0, 24.0, 5.0, 0.0).counter_flow_l_min
    assert limit is not None
    assert limit > 0.0
    assert not drain_air(3.0, 4.0, 24.0, 5.0, 0.99 * limit).flooded
    assert drain_air(3.0, 4.0, 24.0, 5.0, 1.01 * limit).flooded

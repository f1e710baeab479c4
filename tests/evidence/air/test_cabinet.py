"""The cabinet that is asked about: what is refused, the flow it needs, the sun on it."""

from __future__ import annotations

import math

import pytest

from vent_family.base.constants import CFM_M3_S
from vent_family.base.problems import InputError
from vent_family.evidence.air.cabinet import Cabinet, Sunlit, required_flow_m3_s, sunlit_of


def test_the_cooling_rule() -> None:
    """flow[cfm] = 3.16 heat[W] / rise[degF] (common practice, no source).

    First principles at 1.2041 kg/m3 and 1006 J/kgK give 3.149 (computed).
    """
    cabinet = Cabinet(heat_w=350.0, ambient_c=20.0, limit_c=35.0)
    cfm = required_flow_m3_s(cabinet) / CFM_M3_S
    factor = cfm * (15.0 * 1.8) / 350.0
    assert factor == pytest.approx(3.149, abs=0.004)
    assert factor == pytest.approx(3.16, rel=0.01)


@pytest.mark.parametrize(
    ("altitude_m", "factor"), [(50.0, 3.1), (175.0, 3.2), (375.0, 3.3), (625.0, 3.4), (875.0, 3.5)]
)
def test_the_cabinet_makers_rule(altitude_m: float, factor: float) -> None:
    """V[m3/h] = f P[W] / dT[K], f 3.1 to 3.5 by altitude up to 1000 m (trade's rule, from memory).

    At 30 degC outside, where such cabinets are dimensioned.
    """
    cabinet = Cabinet(heat_w=500.0, ambient_c=30.0, limit_c=40.0, altitude_m=altitude_m)
    found = 3600.0 * required_flow_m3_s(cabinet) * 10.0 / 500.0
    assert found == pytest.approx(factor, rel=0.04)


def test_a_quarter_in_hand_takes_more_than_a_quarter_more_air_where_walls_help() -> None:
    """By hand: without walls a fourth of the rise less takes a quarter more air."""
    bare = Cabinet(200.0, 25.0, 45.0)
    walled = Cabinet(200.0, 25.0, 45.0, wall_w_k=5.0)
    assert required_flow_m3_s(bare, 0.25) == pytest.approx(1.25 * required_flow_m3_s(bare))
    # 200 - 5 * 16 W over 16 K against 200 - 5 * 20 W over 20 K.
    ratio = required_flow_m3_s(walled, 0.25) / required_flow_m3_s(walled)
    assert ratio == pytest.approx((120.0 / 16.0) / (100.0 / 20.0))


def test_sun_adds_to_the_flow_that_is_needed() -> None:
    """Half of what the skin takes up comes in: as much as so many watts lost inside."""
    sunny = Cabinet(100.0, 25.0, 45.0, sunlit=sunlit_of(0.5, absorptance=0.8))
    assert required_flow_m3_s(sunny) == pytest.approx(
        required_flow_m3_s(Cabinet(300.0, 25.0, 45.0))
    )


def test_sun_inwards_by_a_thin_wall_of_nodes() -> None:
    """Skin and inside air as two nodes, relaxed step by step: U (T_sol-air - T_inside) comes in.

    The wall as in the balance: heat of the sun inwards as stated, less U A times the rise.
    """
    area, absorbed, h, rise = 0.7, 600.0, 11.0, 12.0
    skin = 0.0
    for _ in range(20000):
        skin += 0.01 * (absorbed - h * skin - h * (skin - rise)) / h
    inwards = area * h * (skin - rise)
    sunlit = sunlit_of(area, absorptance=0.6)
    assert sunlit is not None
    assert sunlit.inwards_w - area * (h / 2.0) * rise == pytest.approx(inwards, rel=1e-6)


def test_range_of_the_sun_holds_its_value() -> None:
    stated, named = sunlit_of(1.0, absorptance=0.85), sunlit_of(1.0, "dark_grey")
    assert isinstance(stated, Sunlit)
    assert isinstance(named, Sunlit)
    for sunlit in (stated, named):
        low, high = sunlit.inwards_range_w
        assert low < sunlit.inwards_w < high
    # The colour's range widens what moving air alone does: 11 to 20 W/m2K on either side.
    ends = [850.0 * 11.0 / 31.0, 850.0 * 20.0 / 31.0]
    assert list(stated.inwards_range_w) == pytest.approx(ends)
    assert named.inwards_range_w[1] > stated.inwards_range_w[1]


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        ({"heat_w": 0.0}, "the heat is not more than zero"),
        ({"heat_w": -5.0}, "the heat is not more than zero"),
        ({"heat_w": math.nan}, "the heat is not a finite number"),
        ({"heat_w": math.inf}, "the heat is not a finite number"),
        ({"heat_w": 1e9}, "the heat is more than the model is offered for"),
        ({"ambient_c": 45.0}, "limit is not above the ambient"),
        ({"ambient_c": 60.0}, "limit is not above the ambient"),
        ({"ambient_c": math.nan}, "the air temperature is out of range"),
        ({"limit_c": 900.0}, "limit is out of range"),
        ({"limit_c": math.nan}, "limit is out of range"),
        ({"altitude_m": math.inf}, "the altitude is out of range"),
        ({"wall_w_k": -1.0}, "the wall conductance is negative"),
        ({"wall_w_k": math.nan}, "the wall conductance is not a finite number"),
    ],
)
def test_impossible_cabinets_are_refused(cells: dict, message: str) -> None:
    with pytest.raises(InputError, match=message):
        Cabinet(**({"heat_w": 200.0, "ambient_c": 25.0, "limit_c": 45.0} | cells))


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ({"area_m2": 0.0}, "the sunlit area is not more than zero"),
        ({"area_m2": math.nan}, "the sunlit area is not a finite number"),
        ({"area_m2": 1e6}, "the sunlit area is more than"),
        ({"area_m2": 1.0, "absorptance": 1.2}, "the absorptance is more than"),
        ({"area_m2": 1.0, "absorptance": 0.0}, "the absorptance is not more than zero"),
        ({"area_m2": 1.0, "irradiance_w_m2": math.inf}, "the sun is not a finite number"),
        ({"area_m2": 1.0, "irradiance_w_m2": 2000.0}, "the sun is more than"),
        ({"area_m2": 1.0, "colour": "pink"}, "no absorptance is known for this colour"),
        ({"area_m2": 1.0, "colour": "white", "absorptance": 0.3}, "both say"),
        ({"area_m2": None, "colour": "white"}, "cabinet in the shade"),
        ({"area_m2": None, "absorptance": 0.5}, "cabinet in the shade"),
        ({"area_m2": None, "irradiance_w_m2": 800.0}, "cabinet in the shade"),
    ],
)
def test_impossible_suns_are_refused(words: dict, message: str) -> None:
    with pytest.raises(InputError, match=message):
        sunlit_of(**words)


def test_a_cabinet_that_only_the_sun_heats() -> None:
    sunny = Cabinet(0.0, 25.0, 45.0, sunlit=sunlit_of(0.5, "black"))
    assert required_flow_m3_s(sunny) > 0.0

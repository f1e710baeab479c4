"""The cabinet's heat balance against first principles."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.helpers.air_vents import parabola, plain_vent
from tests.helpers.rows import spec
from vent_family.base.constants import AIR_CP_J_KGK, GRAVITY_M_S2
from vent_family.base.problems import InputError
from vent_family.evidence.air.balance import (
    Cooling,
    NoBalanceError,
    fan_forced,
    natural_draught,
    walls_only,
)
from vent_family.evidence.air.cabinet import Cabinet, sunlit_of
from vent_family.evidence.air.operating import Place, System, VentGroup, operating_point
from vent_family.evidence.air.resistance import VentAir, vent_air

CABINET = Cabinet(heat_w=200.0, ambient_c=25.0, limit_c=45.0)


def both_sides(vent: VentAir) -> System:
    return System((VentGroup(vent, "in"), VentGroup(vent, "out")))


def breathing(cabinet: Cabinet, vent: VentAir, height_m: float) -> Cooling:
    return natural_draught(cabinet, VentGroup(vent, "in"), VentGroup(vent, "out"), height_m)


def test_heat_balance_closes() -> None:
    cabinet = Cabinet(heat_w=200.0, ambient_c=25.0, limit_c=45.0, wall_w_k=3.0, altitude_m=400.0)
    found = fan_forced(cabinet, parabola(), both_sides(vent_air(spec("flanged"))))
    assert found.heat_air_w + found.heat_wall_w == pytest.approx(200.0, rel=1e-6)
    assert found.heat_air_w == pytest.approx(found.mass_kg_s * AIR_CP_J_KGK * found.rise_k)
    assert found.inside_c == pytest.approx(25.0 + found.rise_k)
    assert found.margin_k == pytest.approx(45.0 - found.inside_c)
    assert found.reserve == pytest.approx((20.0 - found.rise_k) / found.rise_k)
    assert found.flow_m3_s == pytest.approx(found.mass_kg_s / cabinet.outside.density_kg_m3)


@pytest.mark.parametrize("place", ["intake", "outlet"])
def test_the_balance_is_the_same_from_wherever_it_is_looked_for(place: Place) -> None:
    system = both_sides(vent_air(spec("flanged")))
    told = fan_forced(CABINET, parabola(), system, place)
    for near in (told.rise_k, 0.3, 39.0):
        again = fan_forced(CABINET, parabola(), system, place, near_k=near)
        assert again.rise_k == pytest.approx(told.rise_k, rel=1e-9)
        assert again.point.flow_m3_s == pytest.approx(told.point.flow_m3_s, rel=1e-9)
        # What it settles on is what the fan settles on in air as warm as that.
        outside = CABINET.outside
        point = operating_point(parabola(), system, outside, outside.at(again.inside_c), place)
        assert again.point.mass_kg_s == pytest.approx(point.mass_kg_s, rel=1e-9)
        assert again.drops_pa == pytest.approx(point.drops_pa, rel=1e-8)


@pytest.mark.parametrize("mode", ["fan", "draught", "closed"])
@pytest.mark.parametrize("area", [None, 0.4])
def test_terms_of_the_balance_sum_to_zero(mode: str, area: float | None) -> None:
    """Each term by its own rule: sun by area, walls by U A, air by mass and heat capacity."""
    cabinet = replace(CABINET, wall_w_k=6.0, sunlit=sunlit_of(area, None))
    vent = vent_air(spec("flanged"))
    found = {
        "fan": lambda: fan_forced(cabinet, parabola(), both_sides(vent)),
        "draught": lambda: breathing(cabinet, vent, 1.0),
        "closed": lambda: walls_only(cabinet),
    }[mode]()
    terms = {term.name: term.heat_w for term in found.terms()}
    assert sum(terms.values()) == pytest.approx(0.0, abs=1e-4)
    assert terms["lost inside"] == 200.0
    assert terms["through the walls"] == pytest.approx(-6.0 * found.rise_k)
    carried = -1006.0 * found.mass_kg_s * found.rise_k
    assert terms.get("with the air", 0.0) == pytest.approx(carried)
    assert ("with the air" in terms) is (mode != "closed")
    # Light grey takes up half of 1000 W/m2, half of that comes in.
    assert terms.get("sun taken up", 0.0) == pytest.approx(500.0 * (area or 0.0))
    back = terms.get("sun given back outside at once", 0.0)
    assert back == pytest.approx(-250.0 * (area or 0.0))


def test_words_name_the_larger_term_first() -> None:
    sunny = Cabinet(50.0, 25.0, 65.0, wall_w_k=10.0, sunlit=sunlit_of(0.6, absorptance=0.5))
    words = walls_only(sunny).balance_words()
    assert words == "the sun brings 75 %, what is lost inside brings 25 %; the walls take 100 %"


def test_more_heat_less_margin_and_walls_help() -> None:
    system = both_sides(vent_air(spec("flanged")))
    margins = [
        fan_forced(Cabinet(w, 25.0, 45.0), parabola(), system).margin_k for w in (50, 150, 400)
    ]
    assert margins[0] > margins[1] > margins[2]
    helped = fan_forced(Cabinet(400, 25.0, 45.0, wall_w_k=5.0), parabola(), system)
    assert helped.margin_k > margins[2]


def test_natural_draught_with_constant_loss() -> None:
    """Stack pressure g H (rho_o - rho_i) equals the losses; the rise from heat over m cp."""
    found = breathing(CABINET, plain_vent(5.0), 1.2)
    out, warm = CABINET.outside, CABINET.outside.at(found.inside_c)
    head = GRAVITY_M_S2 * 1.2 * (out.density_kg_m3 - warm.density_kg_m3)
    area = 4000e-6
    loss = 0.5 * 5.0 * (found.mass_kg_s / area) ** 2
    loss *= 1 / out.density_kg_m3 + 1 / warm.density_kg_m3
    assert loss == pytest.approx(head, rel=1e-6)
    assert found.draught_pa == pytest.approx(head, rel=1e-9)
    assert sum(found.drops_pa) == pytest.approx(head, rel=1e-6)
    assert found.mass_kg_s * AIR_CP_J_KGK * found.rise_k == pytest.approx(200.0, rel=1e-6)


def test_draught_grows_as_the_cube_root_for_small_heat() -> None:
    """m ~ rise^(1/2) and heat ~ m rise, so rise ~ heat^(2/3) while densities change little."""
    rises = [
        breathing(Cabinet(w, 25.0, 45.0), plain_vent(5.0, 40000.0), 2.0).rise_k for w in (5.0, 40.0)
    ]
    assert rises[1] / rises[0] == pytest.approx(4.0, rel=0.01)


@pytest.mark.parametrize("heat", [1e-9, 1e-3])
def test_next_to_no_heat_moves_next_to_no_air(heat: float) -> None:
    found = breathing(Cabinet(heat, 25.0, 45.0, wall_w_k=1.0), vent_air(spec()), 0.01)
    assert 0.0 < found.rise_k <= heat
    assert found.mass_kg_s > 0.0


def test_walls_only() -> None:
    found = walls_only(Cabinet(100.0, 20.0, 50.0, wall_w_k=5.0))
    assert found.rise_k == pytest.approx(20.0)
    assert found.margin_k == pytest.approx(10.0)


def test_no_temperature_is_predicted_beyond_what_the_balance_is_offered_for() -> None:
    """151 K over ambient is refused, 149 K is told."""
    told = walls_only(Cabinet(149.0, 20.0, 150.0, wall_w_k=1.0))
    assert told.rise_k == pytest.approx(149.0)
    with pytest.raises(NoBalanceError, match="hotter than 170 degC"):
        walls_only(Cabinet(151.0, 20.0, 150.0, wall_w_k=1.0))
    with pytest.raises(NoBalanceError, match="the fan moves"):
        fan_forced(Cabinet(9e4, 20.0, 150.0), parabola(), both_sides(plain_vent(5.0)))
    with pytest.raises(NoBalanceError, match="the draught moves next to no air"):
        breathing(Cabinet(2000.0, 20.0, 150.0), vent_air(spec()), 0.1)


@pytest.mark.parametrize("height", [0.0, -1.0, math.nan, math.inf, 1e9])
def test_draught_needs_a_height(height: float) -> None:
    with pytest.raises(InputError, match="natural draught needs a height between"):
        breathing(CABINET, plain_vent(5.0), height)

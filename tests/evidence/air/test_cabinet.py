"""The cabinet's heat balance against first principles and the trade's rule."""

from __future__ import annotations

import pytest

from tests.evidence.air.test_operating import parabola, plain_vent
from tests.helpers.rows import spec
from vent_family.base.constants import AIR_CP_J_KGK, CFM_M3_S, GRAVITY_M_S2
from vent_family.base.problems import InputError
from vent_family.evidence.air.cabinet import (
    Cabinet,
    both_sides,
    fan_forced,
    fewest_vents,
    natural_draught,
    required_flow_m3_s,
    smallest_vent,
    walls_only,
)
from vent_family.evidence.air.operating import VentGroup
from vent_family.evidence.air.resistance import vent_air

CABINET = Cabinet(heat_w=200.0, ambient_c=25.0, limit_c=45.0)


def test_the_cooling_rule() -> None:
    """flow[cfm] = 3.16 heat[W] / rise[degF] (common practice, no source).

    First principles at 1.2041 kg/m3 and 1006 J/kgK give 3.149 (computed).
    """
    cabinet = Cabinet(heat_w=350.0, ambient_c=20.0, limit_c=35.0)
    cfm = required_flow_m3_s(cabinet) / CFM_M3_S
    factor = cfm * (15.0 * 1.8) / 350.0
    assert factor == pytest.approx(3.149, abs=0.004)
    assert factor == pytest.approx(3.16, rel=0.01)


def test_heat_balance_closes() -> None:
    cabinet = Cabinet(heat_w=200.0, ambient_c=25.0, limit_c=45.0, wall_w_k=3.0, altitude_m=400.0)
    found = fan_forced(cabinet, parabola(), both_sides(vent_air(spec("flanged")), 1))
    assert found.heat_air_w + found.heat_wall_w == pytest.approx(200.0, rel=1e-6)
    assert found.heat_air_w == pytest.approx(found.mass_kg_s * AIR_CP_J_KGK * found.rise_k)
    assert found.inside_c == pytest.approx(25.0 + found.rise_k)
    assert found.margin_k == pytest.approx(45.0 - found.inside_c)
    assert found.flow_m3_s == pytest.approx(found.mass_kg_s / cabinet.outside.density_kg_m3)


def test_more_heat_less_margin_and_walls_help() -> None:
    system = both_sides(vent_air(spec("flanged")), 1)
    margins = [
        fan_forced(Cabinet(w, 25.0, 45.0), parabola(), system).margin_k for w in (50, 150, 400)
    ]
    assert margins[0] > margins[1] > margins[2]
    helped = fan_forced(Cabinet(400, 25.0, 45.0, wall_w_k=5.0), parabola(), system)
    assert helped.margin_k > margins[2]


def test_natural_draught_with_constant_loss() -> None:
    """Stack pressure g H (rho_o - rho_i) equals the losses; the rise from heat over m cp."""
    vent = plain_vent(5.0)
    found = natural_draught(CABINET, VentGroup(vent, "in"), VentGroup(vent, "out"), 1.2)
    out, warm = CABINET.outside, CABINET.outside.at(found.inside_c)
    head = GRAVITY_M_S2 * 1.2 * (out.density_kg_m3 - warm.density_kg_m3)
    area = 4000e-6
    loss = 0.5 * 5.0 * (found.mass_kg_s / area) ** 2
    loss *= 1 / out.density_kg_m3 + 1 / warm.density_kg_m3
    assert loss == pytest.approx(head, rel=1e-6)
    assert found.draught_pa == pytest.approx(head, rel=1e-9)
    assert found.mass_kg_s * AIR_CP_J_KGK * found.rise_k == pytest.approx(200.0, rel=1e-6)


def test_draught_grows_as_the_cube_root_for_small_heat() -> None:
    """m ~ rise^(1/2) and heat ~ m rise, so rise ~ heat^(2/3) while densities change little."""
    vent = plain_vent(5.0, 40000.0)
    rises = [
        natural_draught(
            Cabinet(w, 25.0, 45.0), VentGroup(vent, "in"), VentGroup(vent, "out"), 2.0
        ).rise_k
        for w in (5.0, 40.0)
    ]
    assert rises[1] / rises[0] == pytest.approx(4.0, rel=0.01)


def test_walls_only() -> None:
    found = walls_only(Cabinet(100.0, 20.0, 50.0, wall_w_k=5.0))
    assert found.rise_k == pytest.approx(20.0)
    assert found.margin_k == pytest.approx(10.0)


def test_fewest_vents_is_the_fewest() -> None:
    vent = vent_air(spec("rectangular", size="40x40"))

    def solve(v, count):
        return fan_forced(CABINET, parabola(), both_sides(v, count))

    found = fewest_vents(vent, solve)
    assert found.count > 1
    assert found.cooling is not None
    assert found.cooling.holds
    assert not solve(vent, found.count - 1).holds


def test_smallest_vent_is_the_smallest() -> None:
    sizes = ["40x40", "60x60", "80x80", "120x120", "200x150"]
    vents = [vent_air(spec("rectangular", size=s, part_number=f"R{s}")) for s in sizes]

    def solve(v, count):
        return fan_forced(CABINET, parabola(), both_sides(v, count))

    found = smallest_vent(vents, solve)
    assert found.vent is not None
    chosen = vents.index(found.vent)
    assert chosen > 0
    assert solve(vents[chosen], 1).holds
    assert not solve(vents[chosen - 1], 1).holds


def test_sizing_that_cannot_succeed_says_by_how_much() -> None:
    hot = Cabinet(5000.0, 40.0, 45.0)
    vent = vent_air(spec("rectangular"))
    found = fewest_vents(vent, lambda v, n: fan_forced(hot, parabola(), both_sides(v, n)))
    assert found.vent is None
    assert "K over the limit" in found.reason


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        ({"heat_w": 0.0}, "no heat to carry away"),
        ({"heat_w": -5.0}, "no heat to carry away"),
        ({"heat_w": float("nan")}, "no heat to carry away"),
        ({"ambient_c": 45.0}, "limit is not above the ambient"),
        ({"ambient_c": 60.0}, "limit is not above the ambient"),
        ({"limit_c": 900.0}, "limit is out of range"),
        ({"wall_w_k": -1.0}, "not negative"),
    ],
)
def test_impossible_cabinets_are_refused(cells: dict, message: str) -> None:
    with pytest.raises(InputError, match=message):
        Cabinet(**({"heat_w": 200.0, "ambient_c": 25.0, "limit_c": 45.0} | cells))


def test_draught_needs_a_height() -> None:
    vent = plain_vent(5.0)
    with pytest.raises(InputError, match="height between"):
        natural_draught(CABINET, VentGroup(vent, "in"), VentGroup(vent, "out"), 0.0)

"""Vents side by side against parallel resistances by hand, and draughts against bisection."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.helpers.air_vents import AIR, parabola, plain_vent
from tests.helpers.rows import spec
from vent_family.evidence.air.airway import ExtraLoss
from vent_family.evidence.air.asked import balance_of
from vent_family.evidence.air.beside import Beside, SideBySide
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.mixed import MixedQuestion
from vent_family.evidence.air.predicted import predict
from vent_family.evidence.air.question import Question
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.sizing import greatest_heat_w

G = 9.80665
CP = 1006.0
RHO = AIR.density_kg_m3
MASSES = np.array([1e-3, 5e-3, 0.02])


def conductance(k: float, area_mm2: float) -> float:
    """Return what K and area (m2) make of a velocity head: A / sqrt(K)."""
    return area_mm2 * 1e-6 / math.sqrt(k)


def side(*members: Beside) -> SideBySide:
    return SideBySide(members)


def test_parallel_resistances_by_hand() -> None:
    """Drops are equal and flows add: A / sqrt(K) of all of them add up."""
    both = side(Beside(plain_vent(4.0, 3000.0), 2), Beside(plain_vent(25.0, 8000.0)))
    total = 2.0 * conductance(4.0, 3000.0) + conductance(25.0, 8000.0)
    by_hand = 0.5 * RHO * (MASSES / RHO / total) ** 2
    assert both.drops_pa(MASSES, AIR, AIR, "in") == pytest.approx(by_hand, rel=1e-4)
    parts = both.masses_kg_s(0.02, AIR, AIR, "in")
    share = 2.0 * conductance(4.0, 3000.0) / total
    assert parts == pytest.approx([0.02 * share, 0.02 * (1.0 - share)], rel=1e-4)


@pytest.mark.parametrize("way", ["in", "out"])
def test_each_vent_has_its_own_drop_at_its_share(way: object) -> None:
    """Of real vents, whose K depends on the flow: each alone takes the common pressure."""
    inside = AIR.at(45.0)
    small, large = (vent_air(spec(size=size)) for size in ("40x40", "120x80"))
    screened = vent_air(spec(size="60x60", screen_mm=1.0))
    filtered = small.with_extras(ExtraLoss("filter", linear_pa_s_m=40.0))
    found = side(Beside(small, 3), Beside(large), Beside(screened), Beside(filtered, 2))
    for mass in MASSES.tolist():
        (drop,) = found.drops_pa(mass, AIR, inside, way)  # type: ignore[arg-type]
        shares = found.masses_kg_s(mass, AIR, inside, way)  # type: ignore[arg-type]
        assert sum(shares) == pytest.approx(mass, rel=1e-4)
        for member, own in zip(found.members, shares, strict=True):
            alone = member.vent.drops_pa(own, AIR, inside, way, member.count)  # type: ignore[arg-type]
            # Friction jumps where a passage's flow turns turbulent; a table crosses that slanting.
            assert alone[0] == pytest.approx(drop, rel=1e-3)


def test_a_side_of_one_kind_is_that_kind() -> None:
    vent = vent_air(spec(size="80x60"))
    alone = vent.drops_pa(MASSES, AIR, AIR, "in", 3)
    assert side(Beside(vent, 3)).drops_pa(MASSES, AIR, AIR, "in") == pytest.approx(alone, rel=1e-4)
    assert side(Beside(vent)).drops_pa(MASSES, AIR, AIR, "in", 3) == pytest.approx(alone, rel=1e-4)


def test_heights_add_what_buoyancy_gives() -> None:
    """Two equal inlets, 0.4 m below and above: the lower has 2 g drho 0.4 m more to drive it."""
    inside = AIR.at(50.0)
    lighter = RHO - inside.density_kg_m3
    vent, own = plain_vent(5.0), conductance(5.0, 4000.0)
    found = side(Beside(vent, 1, -0.4), Beside(vent, 1, 0.4))
    for mean_pa in (3.0, 0.9):
        drops = (mean_pa + G * lighter * 0.4, mean_pa - G * lighter * 0.4)
        masses = [own * math.sqrt(2.0 * RHO * p) for p in drops]
        assert found.drops_pa(sum(masses), AIR, inside, "in")[0] == pytest.approx(mean_pa, rel=1e-3)
        assert found.masses_kg_s(sum(masses), AIR, inside, "in") == pytest.approx(masses, rel=1e-3)


def test_where_buoyancy_turns_the_difference_round_air_goes_the_other_way() -> None:
    inside = AIR.at(50.0)
    lift = G * (RHO - inside.density_kg_m3) * 0.4
    vent, own = plain_vent(5.0), conductance(5.0, 4000.0)
    found = side(Beside(vent, 1, -0.4), Beside(vent, 1, 0.4))
    mean_pa = 0.25 * lift
    drawn = own * math.sqrt(2.0 * RHO * 1.25 * lift)
    let_out = own * math.sqrt(2.0 * inside.density_kg_m3 * 0.75 * lift)
    assert found.drops_pa(drawn - let_out, AIR, inside, "in")[0] == pytest.approx(mean_pa, rel=1e-3)
    assert found.masses_kg_s(drawn - let_out, AIR, inside, "in") == pytest.approx(
        [drawn, -let_out], rel=1e-3
    )


def test_a_draught_through_three_heights_by_bisection() -> None:
    """Inlets at 0.1 and 0.4 m, outlets at 1.2 m: one pressure inside, one balance of heat."""
    cabinet = Cabinet(heat_w=25.0, ambient_c=20.0, limit_c=60.0, wall_w_k=0.5)
    out_air = cabinet.outside
    low, mid, high = conductance(6.0, 5000.0), conductance(9.0, 3000.0), conductance(4.0, 6000.0)

    def masses(rise_k: float, excess_pa: float) -> tuple[float, float, float]:
        """Return what each passes, inwards, where the inside has so much more at the ground."""
        warm = out_air.at(20.0 + rise_k)
        found = []
        for height, own in ((0.1, low), (0.4, mid), (1.2, high)):
            over = excess_pa + G * (out_air.density_kg_m3 - warm.density_kg_m3) * height
            rho = out_air.density_kg_m3 if over < 0.0 else warm.density_kg_m3
            found.append(-math.copysign(own * math.sqrt(2.0 * rho * abs(over)), over))
        return found[0], found[1], found[2]

    def settled(rise_k: float) -> tuple[float, float, float]:
        bottom, top = -10.0, 10.0
        for _ in range(80):
            middle = 0.5 * (bottom + top)
            bottom, top = (middle, top) if sum(masses(rise_k, middle)) > 0.0 else (bottom, middle)
        return masses(rise_k, 0.5 * (bottom + top))

    cold, hot = 0.1, 100.0
    for _ in range(60):
        rise = 0.5 * (cold + hot)
        carried = (-settled(rise)[2] * CP + 0.5) * rise
        cold, hot = (rise, hot) if carried < 25.0 else (cold, rise)

    inlets = side(
        Beside(plain_vent(6.0, 5000.0), 1, -0.15), Beside(plain_vent(9.0, 3000.0), 1, 0.15)
    )
    outlets = side(Beside(plain_vent(4.0, 6000.0)))
    found = balance_of(MixedQuestion(cabinet, inlets, outlets, draught_height_m=1.2 - 0.25))
    assert found.rise_k == pytest.approx(rise, rel=1e-3)
    warm = out_air.at(20.0 + found.rise_k)
    assert inlets.masses_kg_s(found.mass_kg_s, out_air, warm, "in") == pytest.approx(
        settled(rise)[:2], rel=2e-3
    )


@pytest.mark.parametrize("fan", [True, False])
def test_one_kind_on_either_side_is_the_plain_question(fan: bool) -> None:
    """The same answer, band and greatest heat as two groups of equal vents."""
    cabinet = Cabinet(heat_w=15.0, ambient_c=25.0, limit_c=50.0, altitude_m=400.0)
    vent, other = vent_air(spec(size="80x60")), vent_air(spec(size="60x60"))
    drive = {"fan": parabola()} if fan else {"draught_height_m": 0.9}
    plain = Question(vent, cabinet, outlet=other, inlets=2, outlets=3, **drive)  # type: ignore[arg-type]
    mixed = MixedQuestion(cabinet, side(Beside(vent, 2)), side(Beside(other, 3)), **drive)  # type: ignore[arg-type]
    one, two = predict(plain), predict(mixed)
    assert one.cooling is not None
    assert two.cooling is not None
    assert two.cooling.flow_m3_s == pytest.approx(one.cooling.flow_m3_s, rel=1e-4)
    for ends in ("flow_m3_s", "inside_c"):
        for end in ("low", "high"):
            wanted = getattr(getattr(one, ends), end)
            assert getattr(getattr(two, ends), end) == pytest.approx(wanted, rel=1e-3)
    assert two.outcome == one.outcome
    assert greatest_heat_w(mixed) == pytest.approx(greatest_heat_w(plain), rel=5e-3)


def test_a_side_needs_a_vent() -> None:
    with pytest.raises(ValueError, match="a side needs a vent"):
        SideBySide(())

"""Half of the inlet clogged, against velocities by hand and a published screen."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.air_vents import AIR, parabola, plain_vent
from tests.helpers.rows import spec
from vent_family.evidence.air.airway import ExtraLoss
from vent_family.evidence.air.answer import answer
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.clogged import clogged
from vent_family.evidence.air.question import Question, extras_of
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at
from vent_family.evidence.air.summary import summarise

CABINET = Cabinet(heat_w=60.0, ambient_c=25.0, limit_c=45.0)
SLATS = ("contraction", "friction", "turns", "expansion")


def test_a_clogged_guard_costs_four_times_and_a_filter_twice() -> None:
    """The open half works twice as fast: square law by 4, linear law by 2; closed form with a fan.

    p0 (1 - (q/q0)^2) = (r + r_guard) q^2 + f q, as in the test of operating points.
    """
    vent = replace(plain_vent(5.0), extras=extras_of(3.0, 4.0))
    half = clogged(Question(vent, replace(CABINET, heat_w=1e-6, ambient_c=20.0), fan=parabola()))
    assert half is not None
    assert (half.what, half.share) == ("guard and filter", 0.5)
    assert half.predicted.cooling is not None
    q = half.predicted.cooling.flow_m3_s
    v = q / 4000e-6
    need = 0.5 * AIR.density_kg_m3 * (2 * 5.0 + 4 * 3.0) * v**2 + 2 * 4.0 * v
    assert need == pytest.approx(60.0 * (1.0 - (q / 0.03) ** 2), rel=1e-3)


def test_blocked_screen_beside_a_published_law() -> None:
    """Idelchik's woven screen, 1.3 (1 - f) + (1/f - 1)^2 (from memory), half of it closed.

    Closed in patches, the open half has the same screen at twice the speed. An even film that
    halves the open share f costs more by the same law: what is told is the lesser of the two.
    """

    def screen(f: float) -> float:
        return 1.3 * (1.0 - f) + (1.0 / f - 1.0) ** 2

    for f in (0.5, 0.6, 0.7):
        told = ExtraLoss("guard", screen(f)).blocked(0.5).k
        assert told == pytest.approx(screen(f) * 2.0**2)
        assert told < screen(f / 2.0)


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_half_the_slats_pass_half_the_air_at_the_same_loss_of_slats(family: str) -> None:
    """Half of the passages at the same velocity lose the same between the slats, at half the flow.

    Neck and sill are not clogged: they feel half the flow.
    """
    vent = vent_air(spec(family))
    half = vent.blocked(0.5)
    clean, dirty = vent.loss(0.008, AIR), half.loss(0.004, AIR)
    for term in SLATS:
        assert dirty.terms_pa[term][0] == pytest.approx(clean.terms_pa[term][0], rel=1e-9)
    assert dirty.re[0] == pytest.approx(clean.re[0], rel=1e-9)
    last = "neck" if family == "round" else "sill"
    assert dirty.terms_pa[last][0] < 0.35 * clean.terms_pa[last][0]


def test_half_clogged_is_beside_the_clean_one() -> None:
    vent = vent_air(spec("rectangular", size="80x60"))
    asked = Question(vent, CABINET, fan=parabola())
    half = clogged(asked)
    assert half is not None
    assert half.what == "slats"
    assert half.predicted.cooling is not None
    assert half.predicted.cooling.point is not None
    # Only the inlet is clogged: the outlet loses what it did at this flow.
    point = half.predicted.cooling.point
    outside = CABINET.outside
    warm = outside.at(half.predicted.cooling.inside_c)
    out = vent.loss(point.mass_kg_s / warm.density_kg_m3, warm, "out")
    assert point.drops_pa[1] == pytest.approx(float(out.drop_pa[0]), rel=1e-6)
    assert point.drops_pa[0] > 2.5 * point.drops_pa[1]


def test_the_flow_table_tells_what_half_clogged_draws_in() -> None:
    """At the flow told, drawn in through half of the slats, the pressure drop is the line's."""
    part = spec("round", size="M32x1.5")
    half, air = vent_air(part).blocked(0.5), air_at(20.0)
    for line in summarise(part).flows:
        flow = line.flow_in_half_clogged_m3_h / 3600.0
        assert half.loss(flow, air, "in").drop_pa[0] == pytest.approx(line.pressure_pa, rel=1e-6)
        assert half.loss(flow, air, "out").drop_pa[0] != pytest.approx(line.pressure_pa, rel=1e-3)


def test_flow_with_a_quarter_in_hand_by_hand() -> None:
    """Heat over c (20 K / 1.25): a quarter more air than at the limit."""
    found = answer(Question(vent_air(spec("rectangular")), CABINET, fan=parabola()))
    assert found.reserved_m3_s == pytest.approx(1.25 * found.required_m3_s)


def test_a_closed_cabinet_has_nothing_to_clog() -> None:
    assert clogged(Question(plain_vent(5.0), replace(CABINET, wall_w_k=5.0))) is None

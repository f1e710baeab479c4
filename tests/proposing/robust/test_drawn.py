"""One draw: in the middle of all ranges it is what the checks say; beside it, what it must be."""

from __future__ import annotations

import math
from functools import cache

import pytest

from tests.proposing.robust.cases import blown, closed, middle, vent
from vent_family.evidence.air.asked import balance_of
from vent_family.evidence.air.cabinet import sunlit_of
from vent_family.evidence.as_made.made import made_of
from vent_family.evidence.water.house import TOLERANCE, WIND
from vent_family.evidence.water.jets.judge import judge_jet
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.setup import setup_of
from vent_family.proposing.robust.case import Case
from vent_family.proposing.robust.drawn import Wetted, drawn, worst_state
from vent_family.proposing.robust.inputs import (
    AMBIENT,
    BEYOND,
    DRAIN,
    DROPS,
    FAN,
    GRAZING,
    IN_HEIGHT,
    IN_PLANE,
    LOSS,
    MOUNTING,
    SHEETS,
    SILL,
    SLATS,
    SUN,
    THROWN,
)
from vent_family.spec.section import SectionError


def inside_c(case: Case, **changes: float) -> float:
    found = drawn(case, 0, middle(case) | changes, wet=False).cooled
    assert found is not None
    assert found.inside_c is not None
    return found.inside_c


@cache
def wetted(exposure: str, **changes: float) -> Wetted:
    case = blown(exposure)
    found = drawn(case, 0, middle(case) | changes, wet=True).wetted
    assert found is not None
    (only,) = found
    assert only.exposure == exposure
    return only


def test_a_closed_cabinet_is_reckoned_by_hand() -> None:
    """25 degC, and 40 W of heat and the sun's through 4 W/K."""
    case = closed(sunlit=sunlit_of(0.1))
    changed = drawn(case, 7, middle(case) | {AMBIENT: -2.0, SUN: 30.0}, wet=False)
    assert changed.number == 7
    assert changed.cooled is not None
    assert changed.cooled.inside_c == pytest.approx(25.0 - 2.0 + (40.0 + 30.0) / 4.0)
    assert not changed.cooled.holds


def test_a_day_hotter_than_the_limit_is_reckoned_all_the_same() -> None:
    case = closed(limit_c=26.0)
    found = drawn(case, 0, middle(case) | {AMBIENT: 3.0}, wet=False).cooled
    assert found is not None
    assert found.inside_c == pytest.approx(38.0)
    assert not found.holds


def test_as_drawn_and_stated_the_cabinet_is_that_of_the_check() -> None:
    case = blown()
    assert case.question is not None
    shares = made_of(case.vent, case.shop).shares
    # Shrinkage is no share of what is stated: take it back to nothing.
    assert shares[0] > 0.0
    straight = {IN_PLANE: 0.0, IN_HEIGHT: 0.0}
    unshrunk = Case(
        case.vent,
        case.shop.model_copy(update={"compensate_meshes": True}),
        case.question,
        case.conditions,
    )
    assert inside_c(unshrunk) == pytest.approx(balance_of(case.question).inside_c, abs=1e-9)
    assert inside_c(case, **straight) == pytest.approx(inside_c(unshrunk), abs=1e-9)
    assert inside_c(case) > inside_c(unshrunk)


def test_every_input_of_the_cabinet_pulls_the_way_it_must() -> None:
    case = blown()
    now = inside_c(case)
    assert inside_c(case, **{AMBIENT: 3.0}) == pytest.approx(now + 3.0, abs=0.35)
    assert inside_c(case, **{FAN: 0.9}) > now + 0.1
    assert inside_c(case, **{LOSS: 1.2}) > now + 0.1
    assert inside_c(case, **{SLATS: 0.12}) > now + 0.1
    assert inside_c(case, **{DRAIN: 0.12}) < now


def test_a_weaker_fan_is_one_of_less_pressure_and_flow() -> None:
    """Heat and temperature rise go with the air: by the fan laws its flow by the root."""
    case = blown()
    assert case.question is not None
    ambient = case.question.cabinet.ambient_c
    strong, weak = (inside_c(case, **{FAN: f}) - ambient for f in (1.1, 0.9))
    # K falls a little with more flow, so slightly more than the root.
    assert weak / strong == pytest.approx((1.1 / 0.9) ** 0.5, rel=0.06)


def test_water_in_the_middle_lies_between_the_ends_of_the_check() -> None:
    case = blown("rain")
    (state,) = next(iter(case.conditions.singles()))
    point = state.states[0][0]
    setup = setup_of(vent(), point.face_velocity_m_s, state.posture)
    report = judge(setup, state.table[0], state)
    assert isinstance(report, ExposureReport)
    straight = {IN_PLANE: 0.0, IN_HEIGHT: 0.0}
    found = wetted("rain", **straight)
    low, high = 1000.0 * report.passed_l.low, 1000.0 * report.passed_l.high
    assert low < found.passed < high
    mild = wetted("rain", **straight, **{THROWN: 0.2, GRAZING: 0.0, DROPS: 0.2})
    severe = wetted("rain", **straight, **{THROWN: 0.8, GRAZING: 1.0, DROPS: 0.2})
    assert mild.passed < 0.6 * severe.passed
    assert low * 0.7 <= mild.passed
    assert severe.passed <= high * 1.3


def test_what_may_pass_is_the_less_of_volume_and_share() -> None:
    found = wetted("rain")
    case = blown("rain")
    (state,) = next(iter(case.conditions.singles()))
    setup = setup_of(vent(), state.states[0][0].face_velocity_m_s, state.posture)
    arriving_ml = 1000.0 * judge(setup, state.table[0], state).arriving_l
    assert found.allowed == pytest.approx(min(1.0, 0.01 * arriving_ml), rel=0.03)


def test_the_pools_margin_goes_with_sill_and_mounting() -> None:
    level = {MOUNTING: 0.0}
    now = wetted("rain", **level)
    assert wetted("rain", **level, **{SILL: 0.1}).margin - now.margin == pytest.approx(
        0.1, abs=0.03
    )
    margins = [wetted("rain", **{MOUNTING: t}).margin for t in (1.0, 2.0, 3.0)]
    assert margins == sorted(margins, reverse=True)
    assert margins[0] - margins[2] > 0.3


def test_more_wind_brings_more_rain_inside() -> None:
    calm, windy = (wetted("rain", **{WIND.name: f}) for f in (0.7, 1.3))
    assert windy.passed > 1.2 * calm.passed
    assert windy.margin < calm.margin


def test_numbers_of_the_checks_are_as_before_afterwards() -> None:
    wetted("rain", **{MOUNTING: 1.0, WIND.name: 1.3})
    assert (TOLERANCE.now, WIND.now) == (TOLERANCE.value, WIND.value)


def test_a_full_jet_lies_on_the_line_of_the_checks_assumptions() -> None:
    case = blown("jets")
    straight = {IN_PLANE: 0.0, IN_HEIGHT: 0.0, MOUNTING: 3.0, THROWN: 0.2, GRAZING: 0.0}
    (state,) = next(iter(case.conditions.singles()))
    setup = setup_of(vent(), state.states[0][0].face_velocity_m_s, state.posture)
    report = judge_jet(setup, state.table[0], state)
    assert isinstance(report, JetReport)
    of = {s.assumption: s.worst_inside_share for s in report.shares}

    def at(clean: float, beyond: float) -> Wetted:
        return wetted("jets", **straight, **{SHEETS: clean, BEYOND: beyond})

    assert at(0.0, 1.0).passed == pytest.approx(of["lossy"], rel=0.05, abs=1e-4)
    assert at(0.5, 1.0).passed == pytest.approx(of["mid"], rel=0.05, abs=1e-4)
    assert at(0.25, 0.0).passed == pytest.approx(0.5 * (of["lossy"] + of["mid"]), rel=0.05)
    assert at(1.0, 1.0).passed == pytest.approx(report.worst_inside_share.high, rel=0.05)
    assert at(1.0, 0.0).passed == pytest.approx(max(of["clean"], of["dry floor"]), rel=0.05)
    through = state.table[0].flow_l_min * report.bay_share
    most = through * max(s.worst_trough_share for s in report.shares)
    assert at(1.0, 0.0).margin == pytest.approx(report.capacity_l_min - most, abs=0.05 * most)


def test_of_several_states_each_thing_counts_where_it_is_worst() -> None:
    """A share of what may pass decides, not how much it is: 0.5 of 1 is worse than 0.9 of 3."""
    states = [
        Wetted("rain", "marginal", 0.9, 3.0, 2.0),
        Wetted("rain", "holds", 0.5, 1.0, 4.0),
        Wetted("rain", "holds", 0.0, 1.0, -0.5),
    ]
    assert worst_state(states) == Wetted("rain", "marginal", 0.5, 1.0, -0.5)
    free = [Wetted("rain", "fails", passed, math.inf, 1.0) for passed in (2.0, 5.0)]
    assert worst_state(free).passed == 5.0


def test_slats_that_close_the_section_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def closing(*_: object) -> None:
        raise SectionError("slats.cavity.closed", "no way through", "pitch_mm")

    monkeypatch.setattr("vent_family.proposing.robust.drawn.vent_air", closing)
    case = blown()
    found = drawn(case, 3, middle(case), wet=False)
    assert (found.number, found.cooled) == (3, None)
    assert "no way through" in found.lost

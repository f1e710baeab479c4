"""What would do: who follows the advice, with all else as asked, finds that it holds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.helpers.air_vents import parabola, plain_vent
from tests.helpers.rows import spec
from vent_family.base.problems import InputError
from vent_family.evidence.air.cabinet import Cabinet, sunlit_of
from vent_family.evidence.air.fan_files import read_fans
from vent_family.evidence.air.predicted import predict
from vent_family.evidence.air.question import Question, extras_of, question_of
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.air.sizing import fewest_inlets, greatest_heat_w, sizing, smallest_vent

HOT = Cabinet(heat_w=200.0, ambient_c=25.0, limit_c=45.0)
MILD = replace(HOT, heat_w=90.0)
SUNNY = replace(MILD, sunlit=sunlit_of(0.03, "blue"))
WARM = Cabinet(heat_w=30.0, ambient_c=25.0, limit_c=45.0, wall_w_k=1.0)
SIZES = ("40x40", "60x60", "80x80", "120x120", "200x150")


def vents(*extras: float) -> tuple[VentAir, ...]:
    return tuple(
        vent_air(spec(size=size, part_number=f"R{size}"), extras_of(*(extras or (0.0, 0.0))))
        for size in SIZES
    )


SMALL, MIDDLE, *_, LARGE = vents()
QUESTIONS = {
    "fan": Question(SMALL, HOT, candidates=vents(), fan=parabola()),
    "outlet": Question(SMALL, HOT, LARGE, vents(), parabola()),
    "outlets": Question(SMALL, HOT, MIDDLE, vents(), parabola(), outlets=3),
    "guard and filter": Question(vents(4.0, 9.0)[0], HOT, None, vents(4.0, 9.0), parabola()),
    "against": Question(SMALL, MILD, None, vents(), parabola(), counter_pa=20.0),
    "pulled": Question(SMALL, HOT, None, vents(), parabola(), "outlet"),
    "sun": Question(SMALL, SUNNY, None, vents(), parabola()),
    "draught": Question(SMALL, WARM, None, vents(), draught_height_m=1.2),
    "draught, outlets": Question(SMALL, WARM, LARGE, vents(), outlets=1, draught_height_m=1.2),
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_who_follows_the_advice_finds_that_it_holds(name: str) -> None:
    asked = QUESTIONS[name]
    found = sizing(asked)
    assert not predict(asked).holds
    assert found.inlets is not None
    assert found.inlets > 1
    assert predict(replace(asked, inlets=found.inlets)).holds
    assert not predict(replace(asked, inlets=found.inlets - 1)).holds
    chosen = [v.part_number for v in asked.candidates].index(found.smallest or "")
    assert chosen > 0
    assert predict(replace(asked, inlet=asked.candidates[chosen])).holds
    for smaller in asked.candidates[:chosen]:
        assert not predict(replace(asked, inlet=smaller)).holds
    assert found.heat_w is not None
    for factor, held in ((1.0, True), (1.02, False)):
        cabinet = replace(asked.cabinet, heat_w=factor * found.heat_w)
        assert predict(replace(asked, cabinet=cabinet)).holds is held


def test_sizing_obeys_the_outlet_that_is_stated() -> None:
    """One small outlet holds back whatever stands at the inlet."""
    stated = replace(QUESTIONS["fan"], outlet=SMALL, outlets=1)
    assert fewest_inlets(stated) is None
    assert smallest_vent(stated) is None
    freely = fewest_inlets(QUESTIONS["fan"])
    assert freely is not None


def test_sizing_does_not_advise_a_fan_in_stall() -> None:
    """The saddle of a large fan on few small vents: cool enough, but not to be advised."""
    fan = read_fans(Path("pump-hall-120"))
    asked = Question(SMALL, replace(HOT, heat_w=15.0), None, vents(), fan)
    assert predict(asked).outcome == "marginal"
    count = fewest_inlets(asked)
    assert count is not None
    point = predict(replace(asked, inlets=count)).cooling
    assert point is not None
    assert point.point is not None
    assert not point.point.stalled
    assert greatest_heat_w(asked) is None


def test_what_cannot_succeed_is_said() -> None:
    impossible = Question(SMALL, Cabinet(5000.0, 40.0, 45.0), None, vents(), parabola(20.0, 0.01))
    found = sizing(impossible)
    assert (found.inlets, found.smallest) == (None, None)
    assert found.heat_w is not None
    assert found.heat_w < 50.0


def test_a_closed_cabinet_is_told_how_much_heat_it_holds() -> None:
    """By hand: 5 W/K, 20 K allowed, a quarter in hand: 80 W."""
    closed = Question(SMALL, replace(HOT, wall_w_k=5.0))
    found = sizing(closed)
    assert (found.inlets, found.smallest) == (None, None)
    assert found.heat_w == pytest.approx(80.0, rel=2e-3)
    assert found.heat_w <= 80.0


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ({"fan": None}, r"nothing carries the heat away.*--fan.*--draught.*--walls"),
        ({"fan": None, "draught_height_m": 1.0, "counter_pa": 3.0}, "draught without a fan"),
        ({"fan": None, "draught_height_m": 1.0, "place": "outlet"}, "draught without a fan"),
        ({"draught_height_m": 1.0}, "a fan and natural draught"),
        ({"inlets": 0}, "number of vents on a side is out of range"),
        ({"outlets": 25}, "number of vents on a side is out of range"),
        ({"counter_pa": float("inf")}, "pressure against the fan is not a finite number"),
        ({"counter_pa": 1e5}, "pressure against the fan is more than"),
        ({"guard_k": float("nan")}, "guard's loss is not a finite number"),
        ({"filter_pa_s_m": -1.0}, "filter's loss is negative"),
        ({"place": "roof"}, "Allowed: intake, outlet"),
    ],
)
def test_words_that_make_no_sense_together_are_refused(words: dict, message: str) -> None:
    with pytest.raises(InputError, match=message):
        question_of(spec(), HOT, **({"fan": parabola()} | words))


@pytest.mark.parametrize(
    "words",
    [
        {"inlets": 2}, {"outlets": 2}, {"outlet": spec()}, {"guard_k": 1.0}, {"counter_pa": 5.0},
        {"filter_pa_s_m": 5.0}, {"place": "intake"},
    ],
)  # fmt: skip
def test_a_closed_cabinet_has_no_use_for_words_about_air(words: dict) -> None:
    walled = replace(HOT, wall_w_k=5.0)
    assert question_of(spec(), walled).mode == "closed"
    with pytest.raises(InputError, match="closed cabinet, in which no air moves"):
        question_of(spec(), walled, **words)


def test_vents_have_no_part_in_a_plain_question() -> None:
    assert Question(plain_vent(5.0), HOT, fan=parabola()).leaving.part_number == "T1"

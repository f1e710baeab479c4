"""The whole answer, on a closed cabinet whose chances and shares are known by hand.

40 W through 4 W/K warm it by 10 K over an ambient that is drawn from a triangle of 3 K either way
about 25 degC; the sun adds a quarter of a kelvin a watt.
"""

from __future__ import annotations

import json
import math
from functools import cache

import numpy as np
import pytest

from tests.proposing.robust.cases import blown, closed
from vent_family.evidence.air.cabinet import Sunlit, sunlit_of
from vent_family.evidence.outcomes import Outcome
from vent_family.proposing.robust.answer import Chance, Robustness
from vent_family.proposing.robust.case import Case
from vent_family.proposing.robust.drawn import Cooled, OneDraw, Wetted
from vent_family.proposing.robust.draws import DrawEffort
from vent_family.proposing.robust.inputs import AMBIENT, SUN
from vent_family.proposing.robust.pictures import robustness_figure
from vent_family.proposing.robust.robust import robustness, summed_up

EFFORT = DrawEffort(draws=600, workers=1)


@cache
def shaded() -> Robustness:
    found = robustness(closed(limit_c=36.0), EFFORT)
    assert found is not None
    return found


def sunlit() -> Sunlit:
    found = sunlit_of(0.12, colour="light_grey")
    assert found is not None
    return found


@cache
def in_the_sun() -> Robustness:
    found = robustness(closed(limit_c=52.0, sunlit=sunlit()), EFFORT)
    assert found is not None
    return found


def test_the_chance_is_that_of_the_triangle() -> None:
    """It holds up to 1 K over the stated ambient: 1 - (3 - 1)^2 / (2 x 3^2) of the triangle."""
    chance = shaded().chance
    assert chance.draws == 600
    assert chance.low_share < 7.0 / 9.0 < chance.high_share
    assert chance.high_share - chance.low_share < 0.08
    assert shaded().cooling == chance


def test_shares_are_those_of_the_variances() -> None:
    """A triangle's variance is (a2 + b2 + c2 - ab - ac - bc) / 18."""

    def variance(a: float, b: float, c: float) -> float:
        return (a * a + b * b + c * c - a * b - a * c - b * c) / 18.0

    low, high = sunlit().inwards_range_w
    sun = variance(low, sunlit().inwards_w, high) / 4.0**2
    air = variance(-3.0, 0.0, 3.0)
    (inside,) = in_the_sun().quantities
    shares = {s.name: s for s in inside.shares}
    for name, own in ((SUN, sun), (AMBIENT, air)):
        assert shares[name].first == pytest.approx(own / (sun + air), abs=0.02)
        assert shares[name].total == pytest.approx(own / (sun + air), abs=0.02)
    others = [s.total for name, s in shares.items() if name not in (SUN, AMBIENT)]
    assert max(others) < 0.005
    assert inside.explained is not None
    assert inside.explained > 0.99
    assert inside.off == pytest.approx(0.0, abs=0.1)
    assert float(np.var(inside.values)) == pytest.approx(sun + air, rel=0.12)


def test_sentences_say_what_to_measure_first() -> None:
    (inside,) = in_the_sun().quantities
    first = inside.shares[0]
    told = " ".join(in_the_sun().sentences())
    assert first.name == SUN
    assert f"Measure first what comes in of the sun: it makes {100 * first.total:.0f} %" in told
    assert f"with a chance of {in_the_sun().chance.words()}" in told
    assert "Clopper and Pearson" in told
    assert f"{in_the_sun().chance.held} of 600 draws" in told


def test_intervals_in_closed_form() -> None:
    """All of n: the lower end is the n-th root of half of what is left to doubt, and mirrored."""
    every, none = Chance.of(40, 40), Chance.of(0, 40)
    assert every.low_share == pytest.approx(0.025 ** (1 / 40))
    assert every.high_share == 1.0
    assert none.high_share == pytest.approx(1.0 - 0.025 ** (1 / 40))
    # 5 of 10 by a binomial sum: both tails hold 2.5 %.
    some = Chance.of(5, 10)
    tail = sum(
        math.comb(10, k) * some.low_share**k * (1 - some.low_share) ** (10 - k)
        for k in range(5, 11)
    )
    assert tail == pytest.approx(0.025)


def wet_draws(case: Case, outcomes: list[Outcome], *, cool: bool = True) -> Robustness:
    draws = [
        OneDraw(n, Cooled(30.0 + n, cool), (Wetted("rain", outcome, 0.1, 1.0, 2.0),))
        for n, outcome in enumerate(outcomes)
    ]
    found = summed_up(case, DrawEffort(len(draws), len(draws)), draws, whole=True)
    assert found is not None
    return found


def test_water_counts_by_what_is_asked_of_it() -> None:
    outcomes: list[Outcome] = ["holds", "marginal", "fails", "holds"]
    strict = wet_draws(blown("rain"), outcomes)
    assert (strict.chance.held, strict.waters[0][1].held) == (2, 2)
    assert wet_draws(blown("rain", "marginal"), outcomes).chance.held == 3
    hot = wet_draws(blown("rain"), outcomes, cool=False)
    assert hot.cooling is not None
    assert (hot.chance.held, hot.cooling.held, hot.waters[0][1].held) == (0, 0, 2)


def test_draws_that_could_not_be_judged_do_not_hold() -> None:
    case = closed()
    draws = [OneDraw(0, Cooled(30.0, holds=True)), OneDraw(1, lost="it took its process down")]
    found = summed_up(case, DrawEffort(2, 0), draws, whole=False)
    assert found is not None
    assert (found.chance.held, found.chance.draws, found.lost) == (1, 2, 1)
    told = found.sentences()
    assert any("1 draws could not be judged" in line for line in told)
    assert told[-1].startswith("Broken off")


def test_a_few_draws_tell_no_shares() -> None:
    found = robustness(closed(), DrawEffort(draws=20, workers=1))
    assert found is not None
    (inside,) = found.quantities
    assert inside.shares == ()
    assert inside.explained is None
    assert any("cannot be told" in line for line in found.sentences())


def test_plain_data_can_be_written() -> None:
    data = json.loads(json.dumps(in_the_sun().as_dict(), allow_nan=False))
    assert data["chance"]["draws"] == 600
    assert data["quantities"][0]["unit"] == "degC"
    assert data["quantities"][0]["shares"][0]["input"] == SUN
    assert [one["name"] for one in data["inputs"]] == [one.name for one in in_the_sun().inputs]
    assert data["quantities"][0]["limit"] == 52.0


def test_nothing_asked_is_nothing_answered() -> None:
    case = closed()
    assert robustness(Case(case.vent, case.shop, None, case.conditions), EFFORT) is None


def test_the_picture_shows_limit_and_shares() -> None:
    (inside,) = in_the_sun().quantities
    figure = robustness_figure(in_the_sun())
    left, right = figure.axes
    at = {round(float(np.asarray(line.get_xdata())[0]), 6) for line in left.lines}
    assert at == {round(inside.middle, 6), 52.0}
    assert sum(bar.get_height() for bar in left.patches) == pytest.approx(1.0)
    names = [text.get_text() for text in right.get_yticklabels()]
    assert names == [AMBIENT, SUN]
    widths = [bar.get_width() for bar in right.patches[: len(names)]]
    assert widths == pytest.approx([s.total for s in inside.shares[:2]][::-1])


def test_water_that_was_asked_and_not_judged_is_no_answer() -> None:
    case = blown("rain")
    draws = [OneDraw(n, Cooled(30.0, holds=True)) for n in range(4, 8)]
    assert summed_up(case, DrawEffort(8, 4), draws, whole=False) is None


def test_a_jet_is_told_in_per_cent_of_it() -> None:
    case = blown("jets")
    draws = [
        OneDraw(n, Cooled(30.0, holds=True), (Wetted("jets", "holds", 0.004 * n, 0.01, 1.0),))
        for n in range(1, 4)
    ]
    found = summed_up(case, DrawEffort(4, 4), draws, whole=True)
    assert found is not None
    passed = found.quantities[1]
    assert (passed.name, passed.unit[0]) == ("jets, water that passes", "%")
    assert passed.values.tolist() == pytest.approx([0.4, 0.8, 1.2])
    assert passed.limit == pytest.approx(1.0)
    assert not any("drops" in line for line in found.sentences())
    assert any("drops" in line for line in wet_draws(blown("rain"), ["holds"]).sentences())

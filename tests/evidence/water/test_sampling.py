"""Chance and the verdict: intervals, budget, the band of the depression, house numbers."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import vent_family
from tests.helpers.conditions import stated_conditions, stated_point
from tests.helpers.rows import spec
from tests.helpers.water import judged
from vent_family.evidence.water import house, sampling
from vent_family.evidence.water import sensitivity as sensitivities
from vent_family.evidence.water.arrival import arrival
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.held import edge_mm, held_mm
from vent_family.evidence.water.house import HOUSE, TOLERANCE, varied
from vent_family.evidence.water.judge import BY_CHANCE, judge
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.sampling import Sampler
from vent_family.evidence.water.setup import setup_of
from vent_family.evidence.water.splash import bracket
from vent_family.evidence.water.spray import Spray, Stream


def test_intervals_hold_the_truth() -> None:
    """Means of uniform numbers, whose truth is 1/2: 999 of 1000 intervals may not miss on a side.

    Of 2000 samples of 8 batches about 2 lie above and 2 below (Student 1908); 12 would be a chance
    of one in a thousand.
    """
    rng = np.random.default_rng(5)
    low, mean, high = sampling._interval(rng.random((8, 2000)), 0.0)
    assert mean.mean() == pytest.approx(0.5, abs=0.01)
    assert np.count_nonzero(low > 0.5) < 12
    assert np.count_nonzero(high < 0.5) < 12
    # Half as wide as it is: then far more miss.
    assert np.count_nonzero(mean - (mean - low) / 3.0 > 0.5) > 12


def of_seed(seed: int, exposure: str = "splashing") -> ExposureReport:
    setup = setup_of(spec(slat_form="flat"), 1.5, Posture(), seed=seed)
    wet = stated_conditions(exposure)
    return judge(setup, wet.table[0], wet)


def test_chance_moves_numbers_within_their_intervals_and_no_outcome() -> None:
    reports = [of_seed(seed) for seed in range(4)]
    assert len({r.verdict.outcome for r in reports}) == 1
    highs = [r.passed_share.high for r in reports]
    assert len(set(highs)) == len(highs)
    for r in reports:
        sure = r.sampling.severe_share
        assert sure.low <= r.passed_share.high <= sure.high
        # The mean of the others lies in this one's interval.
        others = (sum(highs) - r.passed_share.high) / (len(highs) - 1)
        assert sure.low <= others <= sure.high
    again = of_seed(0)
    assert again == reports[0]


def test_who_is_asked_second_meets_the_same_chance_as_who_was_asked_first() -> None:
    """The verdict does not hang on what a search for advice asked before."""
    wet = stated_conditions("splashing")

    def asked() -> tuple[ExposureReport, ExposureReport]:
        setup = setup_of(spec(slat_form="flat"), 1.5, Posture(), seed=3)
        return judge(setup, wet.table[0], wet), judge(setup, wet.table[0], wet)

    first, second = asked()
    assert first.sampling.flights > 0
    assert second == first


def test_without_a_budget_chance_decides_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """What holds after enough drops is marginal after a first look."""
    wet = stated_conditions("dripping", face_velocity_m_s=0.5, depression_pa=0.0)
    part = spec(size="60x60", sill_height_mm=16.0)
    sure = judged(part, wet)
    assert sure.verdict.outcome == "holds"
    monkeypatch.setattr(sampling, "DROPS", 20)
    monkeypatch.setattr(sampling, "LEAST", 1)
    setup = setup_of(part, 0.5, wet.posture)
    quick = judge(setup, wet.table[0], wet, flights=0)
    assert quick.sampling.flights < 0.2 * sure.sampling.flights
    assert quick.verdict.outcome == "marginal"
    assert BY_CHANCE in quick.verdict.reason


def test_the_splash_bracket_is_every_amount_with_every_size() -> None:
    corners = {(m.thrown, m.size) for m in bracket()}
    assert corners == {(t, s) for t in (0.2, 0.8) for s in (0.1, 0.2, 0.4)}
    names = {m.name for m in bracket()}
    assert len(names) == 6
    assert of_seed(1).sampling.splash in names


def banded(low_pa: float, pa: float, high_pa: float) -> Conditions:
    point = replace(stated_point(0.5, pa), depression_low_pa=low_pa, depression_high_pa=high_pa)
    return Conditions(("dripping",), point, ((point,),), 0.0)


def test_a_verdict_that_flips_within_the_band_of_the_depression_is_marginal() -> None:
    """A column of water of 1 mm weighs 9.79 Pa: by hand from the margin at no suction."""
    # With a gasket: its joint has no part in this.
    part = spec(size="60x60", sill_height_mm=16.0, seal="gasket")
    calm = judged(part, banded(0.0, 0.0, 0.0))
    assert calm.verdict.outcome == "holds"
    spare = min(calm.drainage.margin_mm - 1.0, calm.drainage_tilted.margin_mm)
    brings = spare * 998.2 * 9.80665e-3
    holding, flipping = (
        judged(part, banded(0.0, 5.0, brings - 3.0)),
        judged(part, banded(0.0, 5.0, brings + 3.0)),
    )
    assert holding.verdict.outcome == "holds"
    assert flipping.verdict.outcome == "marginal"
    assert f"would hold at 5 Pa and be marginal at {brings + 3.0:.0f} Pa" in flipping.verdict.reason
    assert flipping.verdict.mechanism in ("pool level", "mounting tilt")
    # One that fails at its nominal depression does not fail over the whole band.
    lifts = calm.drainage.margin_mm * 998.2 * 9.80665e-3 + 40.0
    failing = judged(part, banded(lifts, lifts, lifts + 5.0))
    saved = judged(part, banded(5.0, lifts, lifts + 5.0))
    assert (failing.verdict.outcome, saved.verdict.outcome) == ("fails", "marginal")


def test_every_house_number_is_read_where_it_is_used() -> None:
    root = Path(vent_family.__file__).parent / "evidence" / "water"
    code = "\n".join(p.read_text(encoding="utf-8") for p in sorted(root.rglob("*.py")))
    names = {id(v): k for k, v in vars(house).items() if isinstance(v, house.HouseNumber)}
    assert len({n.name for n in HOUSE}) == len(HOUSE) == len(names)
    for number in HOUSE:
        assert number.low <= number.value <= number.high
        name = names[id(number)]
        # Those of the splash bracket are read from the table they stand in there.
        assert re.search(rf"\b{name}\.now\b|\", {name}[,)]", code), name


def test_a_varied_number_is_put_back() -> None:
    with varied(house.CONTACT_ANGLE, 60.0):
        # 2 l sin((60 + 90) / 2 deg), l = 2.7271 mm.
        assert edge_mm() == pytest.approx(2.0 * 2.7271 * math.sin(math.radians(75.0)), abs=1e-3)
        wetting = held_mm(2.0)
        with varied(house.FILM, 0.2):
            assert (house.CONTACT_ANGLE.now, house.FILM.now) == (60.0, 0.2)
        assert house.FILM.now == 0.1
    assert edge_mm() == pytest.approx(5.433, abs=1e-3)
    assert held_mm(2.0) > wetting + 0.2


def test_the_first_batches_are_sent_once_and_whoever_asks_goes_on_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A search judges by the first batches; what it finds is judged with more, as if anew."""
    sent = []
    real = sampling.spray

    def counted(scene: object, came: Stream, *rest: Any) -> Spray:
        sent.append(came.diameter_mm.shape)
        return real(scene, came, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(sampling, "spray", counted)
    vent = spec(slat_form="flat")
    wet, rain = stated_conditions("splashing"), stated_conditions("driving_rain")
    setup = setup_of(vent, 1.5, Posture())
    quick = judge(setup, wet.table[0], wet, flights=0)
    first = len(sent)
    assert first == len(bracket())
    full = judge(setup, wet.table[0], wet)
    assert full.sampling.flights > quick.sampling.flights
    # More were sent, but not those again.
    more = len(sent) - first
    assert repr(judge(setup, wet.table[0], wet, flights=0)) == repr(quick)
    assert len(sent) == first + more
    anew = judge(setup_of(vent, 1.5, Posture()), wet.table[0], wet)
    assert repr(anew) == repr(full)
    assert len(sent) == 2 * (first + more)
    # Who goes on second draws what who went on first did.
    assert repr(judge(setup, wet.table[0], wet)) == repr(full)
    # Other water has batches of its own.
    other = judge(setup_of(vent, 1.5, Posture()), rain.table[0], rain, flights=0)
    assert repr(judge(setup, rain.table[0], rain, flights=0)) == repr(other)


def test_water_of_another_mix_of_drops_is_other_water() -> None:
    setup = setup_of(spec(slat_form="flat"), 1.5, Posture())
    rain = stated_conditions("driving_rain").table[0]
    came = arrival(rain, setup.front, 1.5, Posture(), 1.0)
    finer = replace(came, rate_l_min=came.rate_l_min[:, ::-1])
    one, other = Sampler.begun(setup, came), Sampler.begun(setup, finer)
    assert not np.allclose(one.trough(0), other.trough(0), rtol=1e-6)


def test_sensitivity_tells_both_ends_of_each_number(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sensitivities, "HOUSE", (house.FILM, TOLERANCE, house.SPREAD))
    part = spec(size="60x60", sill_height_mm=11.0)
    wet = stated_conditions("dripping", depression_pa=0.0)
    (found,) = sensitivities.sensitivity(part, wet)
    # The spectrum of a nozzle has no part in dripping; the band of the depression comes on top.
    assert {e.number.name for e in found.effects} == {
        "film on slats",
        "tolerance of mounting",
        "depression over the pool",
    }
    first = found.most(1)[0]
    assert first.number is TOLERANCE
    with varied(TOLERANCE, TOLERANCE.high):
        there = judged(part, wet)
    assert first.high.outcome == there.verdict.outcome
    assert first.high.margin_mm == pytest.approx(
        min(there.drainage.margin_mm - 1.0, there.drainage_tilted.margin_mm)
    )
    assert first.low.margin_mm > first.high.margin_mm
    assert found.sentences()[1].startswith("  1. tolerance of mounting, 3 deg (1.5 to 5): at 1.5")

from __future__ import annotations

import json
import math
import random
import re
from dataclasses import replace
from typing import Any

import pytest

from tests.helpers.conditions import stated_conditions
from tests.helpers.rows import spec
from tests.helpers.water import judged
from vent_family.base.problems import InputError
from vent_family.evidence.air.drive import OtherAir
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.facts import stated
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.access import access_report
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import Conditions, chosen_conditions, conditions_of
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.frontage import check_drain, frontage
from vent_family.evidence.water.jets import judge as jet_judge
from vent_family.evidence.water.jets.verdict import JetEvidence, jet_outcome
from vent_family.evidence.water.report import WaterReport
from vent_family.evidence.water.verdict import (
    Evidence,
    mechanism_of,
    outcome_of,
    plain,
    plain_range,
)

FAN = FanCurve("hall", (0.0, 0.01, 0.02), (50.0, 30.0, 0.0))


def conditions(exposure: str, **changes: float) -> Conditions:
    return stated_conditions(exposure, **changes)


@pytest.fixture(scope="module")
def wide() -> WaterReport:
    """A vent whose outermost gap is wide enough to take up what splashes behind the first bank."""
    return assess(
        spec("rectangular", size="80x60", bank_gaps_mm="7.5/3"),
        conditions("rain/dripping_tilted/splashing/jets"),
        advise=False,
    )


def test_a_screen_keeps_out_what_its_openings_do() -> None:
    """Openings of 0.8 mm, slats farther apart: not even the wire of 1 mm fits."""
    vent = spec(size="40x40", screen_mm=0.8)
    assert access_report(vent.section, vent.longest_bridge_mm).sphere_mm > 1.0
    screened = assess(vent, conditions("dry"), advise=False).access
    assert (screened.sphere_mm, screened.bound_by) == (0.8, "screen")
    assert not any(p.fits_through for p in screened.probes)


@pytest.mark.parametrize("exposure", ["driving_rain", "splashing", "jets"])
@pytest.mark.parametrize(
    ("family", "form"), [("rectangular", "flat"), ("round", "folded"), ("flanged", "inclined")]
)
def test_water_balance_closes(family: str, form: str, exposure: str) -> None:
    e = judged(spec(family, slat_form=form), conditions(exposure))
    b = e.balance
    assert abs(b.error_l) <= 1e-12 * max(1.0, b.in_l)
    assert min(b.drained_l, b.passed_l, b.returned_l, b.held_l) >= -1e-15
    assert b.in_l == pytest.approx(e.arriving_l)
    assert 0.0 <= e.passed_share.low <= e.passed_share.high <= 1.0


def test_balance_closes_where_strong_air_carries_drips_in() -> None:
    e = judged(spec(slat_form="folded"), conditions("splashing", face_velocity_m_s=10.0))
    assert e.drip_share > 0.1
    assert abs(e.balance.error_l) < 1e-14
    flown = e.direct_share + e.splash_share + e.drip_share + e.rib_film.inside_high_share
    assert e.balance.passed_l == pytest.approx(flown * e.arriving_l)
    assert e.verdict.mechanism == "dripping film"


def test_any_row_that_resolves_can_be_assessed() -> None:
    rng = random.Random(7)
    done = 0
    while done < 8:
        family = rng.choice(["rectangular", "round", "flanged"])
        size = rng.choice(["M20", "M32", "M63"]) + "x1.5" if family == "round" else None
        cells: dict[str, object] = {
            "slat_form": rng.choice(["flat", "inclined", "folded"]),
            "pitch_mm": rng.choice([None, 7.0, 9.0, 14.0]),
            "slat_thickness_mm": rng.choice([None, 0.8, 2.5]),
            "bank_count": rng.choice([None, 2, 3, 5]),
            "drain_height_mm": rng.choice([None, 3.0, 8.0]),
            "size": size or f"{rng.randrange(40, 160)}x{rng.randrange(45, 130)}",
        }
        try:
            vent = spec(family, **cells)
        except InputError:
            continue
        done += 1
        wet = stated_conditions(
            rng.choice(list(EXPOSURES)), rng.uniform(0, 10), rng.uniform(0, 80), rng.uniform(-9, 9)
        )
        e = judged(vent, wet)
        assert abs(e.balance.error_l) <= 1e-11 * max(1.0, e.balance.in_l)
        assert min(e.balance.drained_l, e.balance.passed_l, e.balance.held_l) >= -1e-12
        assert e.verdict.sentence(e.name)


def test_shares_split_what_passes(wide: WaterReport) -> None:
    assert sum(e.drainage.overflow_s is None for e in wide.drops) >= 2
    for e in wide.drops:
        flown = e.direct_share + e.splash_share + e.drip_share + e.rib_film.inside_high_share
        assert e.balance.passed_l >= flown * e.arriving_l - 1e-12
        if e.drainage.overflow_s is None:
            assert e.passed_share.high == pytest.approx(flown, abs=1e-9)
        assert sum(p.share for p in e.by_diameter) == pytest.approx(1.0)
        # A closed stack lets nothing through that touched nothing.
        assert e.direct_share == 0.0


def test_gentle_water_is_predicted_to_hold_and_jets_to_get_inside(wide: WaterReport) -> None:
    outcomes = {e.name: e.verdict.outcome for e in wide.exposures}
    assert outcomes["dripping_tilted"] == "holds"
    assert outcomes["jets"] == "fails"
    assert wide.exposure("jets").verdict.mechanism == "jet through the slats"
    assert wide.outcome == "fails"


def test_exposures_rank_as_they_should(wide: WaterReport) -> None:
    high = {e.name: e.passed_l.high for e in wide.drops}
    assert high["dripping_tilted"] <= high["splashing"]


def test_words_predict_and_name_the_test_and_claim_no_rating(wide: WaterReport) -> None:
    text = json.dumps(wide.as_dict()) + " ".join(wide.sentences())
    assert not re.search(r"\bIP ?X?\d", text)
    assert not re.search(r"\b(certified|guarantee|waterproof|rated)\b", text)
    for sentence in wide.sentences():
        assert "predicted to" in sentence
        assert "Decided by" in sentence
    assert "not a rating" in wide.as_dict()["caution"]


def test_upside_down_is_unsafe_for_every_part() -> None:
    for family in ("rectangular", "round", "flanged"):
        report = assess(spec(family), conditions("rain"), advise=False)
        assert report.upside_down.unsafe
        assert "never mount" in report.upside_down.reason


def test_same_row_same_report(wide: WaterReport) -> None:
    again = assess(
        spec("rectangular", size="80x60", bank_gaps_mm="7.5/3"),
        conditions("rain/dripping_tilted/splashing/jets"),
        advise=False,
    )
    assert again.as_dict() == wide.as_dict()


def test_dry_rows_are_not_called_good() -> None:
    report = assess(spec(exposure="dry"), conditions("dry"))
    assert report.exposures == ()
    assert report.outcome == "not checked"


def test_leaning_back_too_far_floods() -> None:
    upright = judged(spec(), conditions("dripping"))
    back = judged(spec(), conditions("dripping", tilt_deg=20.0))
    assert back.drainage.margin_mm < upright.drainage.margin_mm
    assert back.verdict.outcome == "fails"
    assert upright.tilt_limit_deg < 20.0


def test_deep_suction_blows_in_through_the_drain() -> None:
    e = judged(spec(), conditions("dripping", depression_pa=300.0))
    assert e.verdict.outcome == "fails"
    assert e.verdict.mechanism == "drain blow-in"


def evidence(wide: WaterReport, **changes: object) -> Evidence:
    e = wide.exposure("dripping_tilted")
    values = {
        "sight_margin_mm": 0.5,
        "passed_share": e.passed_share,
        "passed_ml": e.passed_l,
        "direct_share": 0.0,
        "splash_share": 0.0,
        "drip_share": 0.0,
        "overflow_share": 0.0,
        "film_share": 0.0,
        "tilted_share": 0.0,
        "tilted_ml": 0.0,
        "drainage": e.drainage,
        "drainage_tilted": e.drainage_tilted,
        "air": e.air,
        "suction_pa": 20.0,
        "overflow_depression_pa": 100.0,
    }
    return Evidence(**(values | changes))  # type: ignore[arg-type]


def test_an_open_stack_never_holds(wide: WaterReport) -> None:
    good = evidence(wide)
    assert outcome_of(good) == "holds"
    bad = replace(good, sight_margin_mm=-0.1)
    assert outcome_of(bad) == "fails"
    assert mechanism_of(bad)[0] == "straight path"


def test_any_overflow_fails_however_little(wide: WaterReport) -> None:
    over = replace(evidence(wide).drainage, overflow_s=599.0, overflow_l=1e-6, margin_mm=-0.1)
    flooded = evidence(wide, drainage=over)
    assert outcome_of(flooded) == "fails"
    assert mechanism_of(flooded)[0] == "pool overflow"


def test_low_pool_margin_is_marginal(wide: WaterReport) -> None:
    low = replace(evidence(wide).drainage, margin_mm=0.4)
    near = evidence(wide, drainage=low)
    assert outcome_of(near) == "marginal"
    assert mechanism_of(near)[0] == "pool level"


def test_numbers_for_people() -> None:
    assert plain(1734.2) == "1734"
    assert plain(0.0462) == "0.046"
    assert plain(0.0) == "0"
    assert plain_range(0.0461, 0.0462) == "0.046"
    assert plain_range(0.1, 12.0) == "0.10 to 12"


# ---------------------------------------------------------------------------------------------
# Bad input


@pytest.mark.parametrize(
    ("changes", "column", "words"),
    [
        ({"exposure": "slpashing"}, "exposure", "did you mean splashing?"),
        ({"exposure": "rain/xyz"}, "exposure", "unknown exposure 'xyz'"),
        ({"exposure": "rain/rain"}, "exposure", "named twice"),
        ({"exposure": ""}, "exposure", "unknown exposure ''"),
        ({"air": OtherAir(face_velocity_m_s=-1.0)}, "face_velocity_m_s", "0 to 10 m/s"),
        ({"air": OtherAir(face_velocity_m_s=math.nan)}, "face_velocity_m_s", "out of range"),
        ({"air": OtherAir(extra_depression_pa=-5.0)}, "extra_depression_pa", "0 to 500 Pa"),
        ({"air": OtherAir(other_openings="luff")}, "other_openings", "sheltered, same_side"),
        ({"air": OtherAir(air_direction="up")}, "air_direction", "no such air direction"),
        ({"air": OtherAir(fan_position="outlet")}, "fan_position", "nothing without a fan"),
        ({"air": OtherAir(vents_in_parallel=3)}, "vents_in_parallel", "nothing without a fan"),
        ({"air": OtherAir(fan=FAN, vents_in_parallel=0)}, "vents_in_parallel", "from 1 to 24"),
        ({"air": OtherAir(fan=FAN, face_velocity_m_s=1.0)}, "face_velocity_m_s", "fan and face_"),
        ({"tilt_deg": 91.0}, "mounting_tilt_deg", "impossible mounting tilt"),
        ({"roll_deg": -181.0}, "mounting_roll_deg", "-180 to 180 degrees"),
    ],
)
def test_bad_conditions_name_row_column_and_way_out(
    changes: dict[str, object], column: str, words: str
) -> None:
    values: dict[str, Any] = {"exposure": "rain", "tilt_deg": 0.0} | changes
    with pytest.raises(InputError) as caught:
        chosen_conditions(spec(part_number="HV-1"), **values, file="c.csv", row_number=7)
    (problem,) = caught.value.problems
    sentence = problem.sentence()
    assert problem.column == column
    # What is asked for besides the row is no fault of the row's.
    asked = column in ("exposure", "mounting_tilt_deg", "mounting_roll_deg")
    assert sentence.startswith("option" if asked else "c.csv, row 7, part HV-1, column")
    assert words.lower() in sentence.lower()


def test_all_bad_conditions_are_listed_at_once() -> None:
    with pytest.raises(InputError) as caught:
        chosen_conditions(spec(), "rian", 100.0, OtherAir(None, "roof", face_velocity_m_s=11.0))
    assert len(caught.value.problems) == 4


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"drain_mm": (-27.0, -27.0)}, "has no drain"),
        ({"drain_mm": (20.0, 24.0)}, "at the top"),
        ({"drain_mm": (-22.0, -18.0)}, "above the floor"),
        ({"sill": (-30.0, -40.0)}, "no sill"),
    ],
)
def test_stacks_that_cannot_drain_are_refused(changes: dict[str, object], words: str) -> None:
    vent = spec()
    broken = replace(vent, section=replace(vent.section, **changes))  # type: ignore[arg-type]
    with pytest.raises(InputError, match=words) as caught:
        assess(broken, conditions("rain"))
    assert caught.value.problems[0].part_number == "T1"
    with pytest.raises(InputError):
        check_drain(broken.section)


def test_blank_cells_mean_the_defaults() -> None:
    made = conditions_of(spec())
    assert (made.exposures, made.tilt_deg) == (("rain",), 0.0)
    assert made.calm.source == "default"
    assert made.calm.extra_pa == 0.0
    own = conditions_of(
        spec(
            exposure="jets/rain",
            face_velocity_m_s=2.0,
            extra_depression_pa=7.0,
            mounting_tilt_deg=-3,
        )
    )
    assert (own.exposures, own.tilt_deg) == (("jets", "rain"), -3.0)
    assert own.calm.source == "face velocity"
    assert own.calm.face_velocity_m_s == pytest.approx(2.0)
    assert own.calm.extra_pa == 7.0


def test_the_worst_state_of_fan_and_wind_governs() -> None:
    vent = spec(air_direction="out", fan="tank-hall-92", exposure="driving_rain/dripping")
    windy, calm = assess(vent, conditions_of(vent), advise=False).exposures
    assert [s.air.state for s in windy.states] == [
        "fan running",
        "fan stopped",
        "wind against the fan",
    ]
    assert [s.air.state for s in calm.states] == ["fan running", "fan stopped"]
    # The wind alone, without the fan against it, brings in most.
    assert windy.air == windy.states[1].air
    rank = {"holds": 0, "marginal": 1, "fails": 2}
    for exposure in (windy, calm):
        found = [rank[s.outcome] for s in exposure.states]
        assert rank[exposure.verdict.outcome] == max(found)
    assert rank[windy.states[0].outcome] < rank[windy.states[1].outcome]
    told = {a.name: a for a in stated(windy, "attribute")}
    depression = told["water_driving_rain_depression_pa"]
    assert (depression.value, depression.unit) == (windy.air.depression_pa, "Pa")


def test_frontage_of_the_families() -> None:
    block = spec("rectangular", size="80x60")
    front = frontage(block)
    width = sum(b - a for a, b in block.bays)
    height = block.section.ceiling_mm - block.section.drain_mm[0]
    assert front.face_m2 == pytest.approx(width * height * 1e-6)
    head = spec("round")
    disc = 3.14159265 * head.body.head.inner_radius_mm**2 * 1e-6  # type: ignore[union-attr]
    assert 0.6 * disc < frontage(head).face_m2 < disc


def test_sentences_say_the_outcome_in_plain_words(wide: WaterReport) -> None:
    words = {"holds": "hold", "marginal": "be marginal", "fails": "fail"}
    seen = set()
    for e in wide.exposures:
        sentence = e.verdict.sentence(e.name)
        assert f"predicted to {words[e.verdict.outcome]}" in sentence
        for other in set(words) - {e.verdict.outcome}:
            assert f"predicted to {words[other]}" not in sentence
        seen.add(e.verdict.outcome)
    assert {"holds", "fails"} <= seen


def test_a_jet_is_judged_at_both_ends_of_the_depression(monkeypatch: pytest.MonkeyPatch) -> None:
    """The greatest K makes the deeper depression, which may lift water over the sill."""
    seen: list[JetEvidence] = []

    def noted(evidence: JetEvidence) -> Outcome:
        seen.append(evidence)
        return jet_outcome(evidence)

    monkeypatch.setattr(jet_judge, "jet_outcome", noted)
    vent = spec("rectangular", size="50x50")
    report = assess(vent, chosen_conditions(vent, "jets", air=OtherAir(fan=FAN)), advise=False)
    (jet,) = report.jets
    assert jet.air.depression_pa < jet.air.depression_high_pa
    assert seen[0].suction_pa == jet.air.depression_pa
    assert seen[0].most_suction_pa == jet.air.depression_high_pa

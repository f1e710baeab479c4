"""Vents judged no further than it takes against the whole check, and a first estimate of them."""

from __future__ import annotations

import math
from functools import cache
from typing import Any, Final

import pytest

from tests.helpers.rows import spec
from vent_family.base.constants import PASCAL_PER_MM_WATER
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.joint_report import JOINT
from vent_family.evidence.water.quick import estimated
from vent_family.evidence.water.report import WaterReport
from vent_family.evidence.water.screened import WORSE, screened
from vent_family.spec.vent import VentSpec

PARTS: Final[dict[str, tuple[str, dict[str, Any]]]] = {
    "little air": ("rectangular", {"size": "60x60", "face_velocity_m_s": 0.3}),
    "one bank": (
        "rectangular",
        {"size": "60x60", "slat_form": "folded", "bank_count": 1, "face_velocity_m_s": 0.5},
    ),
    "round": ("round", {"size": "M32x1.5", "face_velocity_m_s": 0.5}),
    "turned": (
        "rectangular",
        {"size": "60x60", "mounting_roll_deg": 12.0, "face_velocity_m_s": 0.5},
    ),
    "let out": (
        "rectangular",
        {"size": "60x60", "air_direction": "out", "face_velocity_m_s": 0.8},
    ),
    "joint decides": (
        "rectangular",
        {"size": "60x60", "sill_height_mm": 20.0, "extra_depression_pa": 30.0},
    ),
    "band decides": (
        "rectangular",
        {
            "size": "60x60",
            "sill_height_mm": 14.0,
            "face_velocity_m_s": 1.5,
            "extra_depression_pa": 60.0,
        },
    ),
}
WETTED: Final = (
    ("little air", "dripping"),
    ("little air", "rain"),
    ("one bank", "driving_rain"),
    ("round", "rain"),
    ("turned", "dripping"),
    ("let out", "rain"),
    ("joint decides", "dripping"),
    ("band decides", "dripping"),
)
ASKED: Final[tuple[Outcome, ...]] = ("holds", "marginal", "fails")


@cache
def part(name: str, exposure: str) -> VentSpec:
    family, cells = PARTS[name]
    return spec(family, **cells, exposure=exposure)


@cache
def whole(name: str, exposure: str) -> WaterReport:
    vent = part(name, exposure)
    return assess(vent, conditions_of(vent), advise=False)


@pytest.mark.parametrize(("name", "exposure"), WETTED)
def test_what_is_dropped_is_worse_and_what_is_kept_is_the_same(name: str, exposure: str) -> None:
    vent, report = part(name, exposure), whole(name, exposure)
    assert report.outcome != "not checked"
    for at_least in ASKED:
        found = screened(vent, conditions_of(vent), at_least)
        good = RANK[report.outcome] <= RANK[at_least]
        assert found.good == good
        assert found.outcome == (report.outcome if good else WORSE)
        assert (found.margin >= 0.0) == good
        if good:
            (drops,) = report.drops
            assert (found.stage, found.not_computed) == ("all", ())
            if not drops.states:
                assert found.passed_l == drops.passed_l.high


def test_the_parts_come_to_every_outcome() -> None:
    """Or the test above would prove less than it says, as where joint or band decide alone."""
    assert {whole(*wetted).outcome for wetted in WETTED} == set(ASKED)
    (joint,), (band,) = (whole(f"{what} decides", "dripping").drops for what in ("joint", "band"))
    assert (joint.verdict.outcome, joint.verdict.mechanism) == ("marginal", JOINT)
    assert joint.drainage_tilted.margin_mm > 0.0
    assert joint.passed_l.high == 0.0
    assert band.verdict.outcome == "marginal"
    bears_pa = whole("band decides", "dripping").overflow_depression_pa
    assert band.air.depression_low_pa < bears_pa < band.air.depression_high_pa


def test_the_cheapest_stage_ends_it() -> None:
    """A pool too high without inflow ends it before drops, open slats before a jet's sweeps."""
    vent = spec("rectangular", size="60x60", exposure="rain", extra_depression_pa=40.0)
    found = screened(vent, conditions_of(vent))
    assert (found.stage, found.not_computed, found.passed_l) == ("closed form", ("rain",), None)
    hosed = spec("rectangular", size="60x60", exposure="dripping/jets", face_velocity_m_s=0.3)
    found = screened(hosed, conditions_of(hosed))
    assert (found.stage, found.exposure) == ("closed form", "jets")
    assert found.jet_share is None
    assert found.not_computed == ("dripping", "jets")
    wet = part("one bank", "rain")
    found = screened(wet, conditions_of(wet))
    assert found.stage == "drops"


@pytest.mark.parametrize("banks", [2, 3])
def test_a_jet_is_judged_as_in_the_whole_check(banks: int) -> None:
    vent = spec("flanged", slat_form="folded", bank_count=banks, exposure="hose_down")
    conditions = conditions_of(vent)
    report = assess(vent, conditions, advise=False)
    for at_least in ASKED:
        found = screened(vent, conditions, at_least)
        good = RANK[report.exposures[0].verdict.outcome] <= RANK[at_least]
        assert found.good == good
        assert (found.margin >= 0.0) == good
        if good:
            assert found.outcome == report.outcome
            assert found.jet_share == report.jets[0].inside_share.high


def test_the_margin_of_a_pool_is_what_its_sill_bears_besides() -> None:
    """Every pascal more lifts the pool; what the sill bears goes down to nothing and beyond."""
    margins = []
    for extra in (0.0, 15.0, 30.0, 45.0, 60.0, 200.0):
        vent = spec("rectangular", size="60x60", exposure="dripping", extra_depression_pa=extra)
        margins.append(screened(vent, conditions_of(vent), "marginal").margin)
    assert margins == sorted(margins, reverse=True)
    assert margins[0] > 0.0 > margins[-1]
    section = vent.section
    sill_mm = section.sill_top_mm - section.brink_drain_mm[0]
    bears_pa = (sill_mm - 5.433) * PASCAL_PER_MM_WATER
    # It fails only if it does at the least depression of the band, too.
    low_pa = conditions_of(vent).states[0][0].depression_low_pa
    assert margins[-1] == pytest.approx(1.0 - low_pa / bears_pa, rel=2e-3)


def test_the_margin_of_drops_is_a_third_of_the_decades_to_their_limit() -> None:
    """Ten times what may pass is a third below; what passes is 1 % or 1 mL, whichever is less."""
    vent, report = part("one bank", "splashing"), whole("one bank", "splashing")
    (drops,) = report.drops
    found = screened(vent, conditions_of(vent))
    assert found.stage == "drops"
    over = max(drops.passed_share.high / 0.01, 1000.0 * drops.passed_l.high)
    assert over > 3.0
    assert found.margin == pytest.approx(-math.log10(over) / 3.0, abs=0.1)
    assert found.mechanism == drops.verdict.mechanism


@pytest.mark.parametrize("name", ["little air", "one bank", "round"])
def test_an_estimate_comes_near_the_whole_check(name: str) -> None:
    vent, report = part(name, "rain/dripping"), whole(name, "rain/dripping")
    for found, exposure in zip(estimated(vent, conditions_of(vent)), report.drops, strict=True):
        assert found.exposure == exposure.name
        assert found.outcome == exposure.verdict.outcome
        assert (found.margin >= 0.0) == (found.outcome == "holds")
        if exposure.passed_l.high > 1e-4:
            assert found.passed_l is not None
            assert 0.5 < found.passed_l / exposure.passed_l.high < 2.0


def test_an_estimate_of_a_jet_needs_no_sweep_where_the_least_is_too_much() -> None:
    vent = spec("rectangular", size="60x60", exposure="jets", face_velocity_m_s=0.3)
    (found,) = estimated(vent, conditions_of(vent))
    assert (found.outcome, found.passed_l) == ("fails", None)
    assert found.jet_share is not None
    assert found.jet_share > 0.05


def test_no_water_is_no_fault() -> None:
    vent = spec("rectangular", size="60x60", exposure="dry")
    found = screened(vent, conditions_of(vent))
    assert (found.outcome, found.stage, found.not_computed) == ("holds", "all", ())
    assert estimated(vent, conditions_of(vent)) == ()

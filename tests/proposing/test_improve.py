"""Cheaper rows around one: what is kept is kept, what is cheapest is found, and no more is told.

What rows found must keep is looked at by the functions of the evidence on resolved rows and by
solids, not by the ladder that the search climbs.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, Final

import pytest

from vent_family.base.problems import InputError
from vent_family.base.rates import demo_rates
from vent_family.catalog.attached import NOTHING_ATTACHED
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.summary import summarise
from vent_family.evidence.context import PartContext
from vent_family.evidence.cost.part import bodies_to_print
from vent_family.evidence.cost.sheet import order_cost
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.strength.members import strength_report
from vent_family.evidence.strength.shells import shell_of
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import conditions_of
from vent_family.proposing.around import TURNED, around
from vent_family.proposing.descent import Descent, descended
from vent_family.proposing.improve import WORTH, Improvement, improved
from vent_family.proposing.keeps import (
    KEPT_WORDS,
    KeepDepth,
    KeepFit,
    KeepWater,
    WantedKept,
    rated_flow_m3_h,
    wanted_of,
)
from vent_family.proposing.ladder import Candidate, Figures
from vent_family.proposing.requirement import requirement_of
from vent_family.proposing.search import Found
from vent_family.proposing.wetness import WaterMet
from vent_family.spec.resolve import resolve, resolved_or_none
from vent_family.spec.vent import VentSpec

QUICK: Final = Descent(rounds=3, reach=2, several=6, mixed=4, wet=2, at_once=2, ends=2)
GRID: Final[Mapping[str, tuple[Any, ...]]] = {
    "wall_mm": (1.2, 1.5, 2.4),
    "slat_thickness_mm": (1.2, 1.5),
}
"""Six rows."""


def vent(**cells: Any) -> CatalogRow:
    """Return a released row of 40 x 40 mm, dry, with what is given."""
    told = {"family": "rectangular", "size": "40x40", "status": "released", "revision": "B"}
    return CatalogRow(part_number="V-40", **(told | {"exposure": "dry"} | cells))


def spec_of(row: CatalogRow) -> VentSpec:
    return resolve(row, NOTHING_ATTACHED)


WASTEFUL: Final = vent(wall_mm=3.0, slat_thickness_mm=1.2, exposure="dripping")


@cache
def bettered() -> Improvement:
    """Return what is found around a row with thick walls that meets drips."""
    return improved(WASTEFUL, NOTHING_ATTACHED, effort=QUICK, ladders=GRID, workers=1)


@cache
def priced(row: CatalogRow) -> float:
    """Return the price per part in an order of a thousand, by the print of the solid."""
    report = PartContext(spec_of(row)).of(PRINTING)
    return order_cost(bodies_to_print(report), 1000, demo_rates().shop).price


def test_thick_walls_are_found_cheaper_and_all_that_is_kept_stays() -> None:
    found = bettered()
    assert found.options
    then = spec_of(WASTEFUL)
    water = assess(then, conditions_of(then), advise=False).exposures[0]
    for option in found.options:
        now = spec_of(option.row)
        assert option.row.revision == "C"
        assert option.row.wall_mm is None or option.row.wall_mm < 3.0
        assert summarise(now).flows[1].flow_in_m3_h >= summarise(then).flows[1].flow_in_m3_h
        assert now.opening == then.opening
        assert now.in_front_mm <= then.in_front_mm
        assert now.behind_mm <= then.behind_mm
        assert all(
            a <= b for a, b in zip(now.body.cover.reach_mm, then.body.cover.reach_mm, strict=True)
        )
        met = assess(now, conditions_of(now), advise=False).exposures[0]
        assert met.verdict.outcome == water.verdict.outcome == "holds"
        shell = shell_of(demo_rates().shop.printing)
        assert all(c.verdict == "pass" for c in strength_report(now, shell).checks)


def test_prices_are_those_of_the_solids() -> None:
    found = bettered()
    best = found.options[0]
    assert found.today.price == pytest.approx(priced(WASTEFUL), rel=1e-9)
    assert best.now.price == pytest.approx(priced(best.row), rel=1e-9)
    assert best.now.price <= (1.0 - WORTH) * found.today.price
    assert list(found.options) == sorted(found.options, key=lambda o: o.now.price)
    assert "cheapest" in best.titles


def test_only_named_cells_differ_and_they_are_all_named() -> None:
    for option in bettered().options:
        changed = {
            name
            for name in CatalogRow.model_fields
            if getattr(option.row, name) != getattr(WASTEFUL, name)
        }
        assert changed == {*option.change, "revision"}
        assert {n: getattr(option.row, n) for n in option.change} == dict(option.change)


def test_the_best_row_of_a_grid_finds_nothing_cheaper() -> None:
    """The best is found by trying all rows, each priced on its solid."""
    start = vent(wall_mm=2.4, slat_thickness_mm=1.5)
    then, shell = spec_of(start), shell_of(demo_rates().shop.printing)
    good = []
    for values in itertools.product(*GRID.values()):
        row = start.model_copy(update=dict(zip(GRID, values, strict=True)))
        made = resolved_or_none(row, NOTHING_ATTACHED)
        if made is None or rated_flow_m3_h(made) < rated_flow_m3_h(then):
            continue
        if made.in_front_mm > then.in_front_mm or made.behind_mm > then.behind_mm:
            continue
        if all(c.verdict == "pass" for c in strength_report(made, shell).checks):
            good.append(row)
    assert len(good) >= 3
    best = min(good, key=priced)
    kept = WantedKept(("flow", "depth"))
    given: dict[str, Any] = {"effort": QUICK, "ladders": GRID, "fine": 0, "workers": 1}
    again = improved(best, NOTHING_ATTACHED, kept, **given)
    assert again.options == ()
    assert again.tried > 1
    from_start = improved(start, NOTHING_ATTACHED, kept, **given)
    assert from_start.options[0].now.price == pytest.approx(priced(best), rel=WORTH)


def test_a_row_is_its_own_neighbour_exactly() -> None:
    rows = [
        vent(),
        vent(bank_count=4, bank_gaps_mm="4/2.7/2.7", pitch_mm=6.93),
        vent(bank_count=3, bank_gaps_mm="4/3", slopes="out-in-out"),
        vent(slat_form="flat", drain_height_mm=3.3, rib_count=2, slat_height_mm=7.3),
        CatalogRow(
            part_number="N",
            family="round",
            size="M32x1.5",
            status="draft",
            head_diameter_mm=66.5,
            bank_gaps_mm="2.7/2.7",
        ),
    ]
    for row in rows:
        made = spec_of(row)
        asked = requirement_of({"opening": {"size": row.size, "families": row.family}})
        space = around(made, asked)
        assert space.row(space.home) == row
        assert space.change(row) == {}
        for i, knob in enumerate(space.knobs):
            for place in range(len(knob.values)):
                genes = (*space.home[:i], place, *space.home[i + 1 :])
                changed = space.change(space.row(genes))
                # Feet of slats that have none say nothing, whatever the cell holds.
                footless = row.slat_form == "flat" and knob.name == "slat_foot_mm"
                assert (place == space.home[i] or footless) == (not changed), (knob, place)
                assert set(changed) <= {*TURNED, "slopes"}


def test_a_blank_cell_stands_beside_what_it_means() -> None:
    made = spec_of(vent())
    space = around(made, requirement_of({"opening": {"size": "40x40"}}))
    pitch = space.knobs[space.places["pitch_mm"]].values
    at = pitch.index(None)
    assert pitch[at - 1] < made.section.stack.pitch_mm < pitch[at + 1]
    assert pitch[at + 1] - pitch[at - 1] == pytest.approx(0.2)


def candidate(*waters: WaterMet, rung: str = "full") -> Candidate:
    return Candidate(vent(), rung, 0.0, waters=waters)  # type: ignore[arg-type]


def test_no_more_water_passes_and_the_first_drops_leave_room_for_chance() -> None:
    today = WaterMet("rain", "holds", 0.4, 0.3, 0.5)
    keep = KeepWater((today,))
    made = spec_of(vent())

    def kept(water: WaterMet, rung: str = "full") -> bool:
        return all(m.kept for m in keep.margins(made, candidate(water, rung=rung)))

    assert kept(today)
    assert not kept(WaterMet("rain", "holds", 0.41, 0.1, 0.9))
    assert kept(WaterMet("rain", "holds", 0.41, 0.1, 0.9), "water")
    assert not kept(WaterMet("rain", "holds", 0.9, 0.41, 1.4), "water")
    assert not kept(WaterMet("rain", "marginal", 0.0, 0.0, 0.0))


def test_depth_and_fit_are_kept_side_by_side() -> None:
    # Higher slats are deeper; a lip that is thicker stands out more, and the body reaches in less.
    then = spec_of(vent(overlap_mm=3.0))
    shallower, deeper = (spec_of(vent(overlap_mm=mm)) for mm in (2.6, 3.4))
    out = spec_of(vent(overlap_mm=3.0, lip_thickness_mm=4.5))
    wider = spec_of(vent(overlap_mm=3.0, lip_width_mm=9.0))
    depth = KeepDepth(then.in_front_mm, then.behind_mm)
    for keep in (depth, KeepFit.of(then)):
        assert all(m.kept for m in keep.margins(then, candidate()))
        assert all(m.kept for m in keep.margins(shallower, candidate()))
        assert not all(m.kept for m in keep.margins(deeper, candidate()))
        assert not all(m.kept for m in keep.margins(out, candidate()))
    assert all(m.kept for m in depth.margins(wider, candidate()))
    assert not all(m.kept for m in KeepFit.of(then).margins(wider, candidate()))
    (fit,) = KeepFit.of(then).margins(spec_of(vent(panel_thickness_mm=3.0)), candidate())
    assert not fit.kept


def said(*texts: str) -> list[str]:
    with pytest.raises(InputError) as refused:
        wanted_of(texts)
    return [p.sentence() for p in refused.value.problems]


def test_words_of_what_is_kept() -> None:
    assert str(wanted_of(["fit, flow=0.9"])) == "flow=0.9,fit"
    assert wanted_of(["flow", "water"]) == WantedKept(("flow", "water"))
    (one,) = said("flow,watter")
    assert "watter" in one
    assert "Did you mean water?" in one
    assert all(name in one for name in KEPT_WORDS)
    for text in ("flow=1.2", "flow=0", "flow=much", "water=0.9"):
        (one,) = said(text)
        assert text in one
        assert "Write flow=0.95" in one
    assert len(said("a", "b=1")) == 2


def test_rows_that_cannot_be_improved_are_refused_in_one_sentence() -> None:
    for row, words in (
        (vent(status="retired"), "a retired part is not made again"),
        (vent(revision="ZZZZ"), "there is no revision after this one"),
    ):
        with pytest.raises(InputError) as refused:
            improved(row, NOTHING_ATTACHED)
        (problem,) = refused.value.problems
        assert words in problem.sentence()
        assert "V-40" in problem.sentence()


def test_a_saving_that_is_not_worth_a_revision_is_not_told() -> None:
    row = vent(slat_thickness_mm=1.2)
    found = improved(
        row, NOTHING_ATTACHED, effort=QUICK, ladders={"wall_mm": (1.98,)}, fine=0, workers=1
    )
    assert found.tried == found.reached["water"] + 1 == 2
    assert found.options == ()


class Prices:
    """Judges rows by a price that is made up: what each wall and lip thickness costs."""

    def __init__(self, prices: Mapping[tuple[Any, Any], float]) -> None:
        self.prices = prices

    def judge(self, rows: Sequence[CatalogRow]) -> list[Candidate]:
        return [
            Candidate(row, "strength", 0.0, figures=Figures(price=self.prices[_cells(row)]))
            for row in rows
        ]

    def wet(self, candidates: Sequence[Candidate]) -> list[Candidate]:
        return [replace(c, rung="water") for c in candidates]

    def to_the_end(self, candidates: Sequence[Candidate]) -> list[Candidate]:
        return [replace(c, rung="full") for c in candidates]


def _cells(row: CatalogRow) -> tuple[Any, Any]:
    return row.wall_mm, row.lip_thickness_mm


def test_the_search_goes_on_from_the_cheapest_row_that_holds() -> None:
    """Only beside the cheaper of two neighbours lies the cheapest of all."""
    start = vent(wall_mm=2.0, lip_thickness_mm=3.0)
    ladders = {"wall_mm": (1.5, 1.6), "lip_thickness_mm": (2.0, 2.4)}
    asked = requirement_of({"opening": {"size": "40x40"}})
    space = around(spec_of(start), asked, ladders, fine=0)
    walls, lips = (2.0, 1.5, 1.6, None), (3.0, 2.0, 2.4, None)
    prices = dict.fromkeys(itertools.product(walls, lips), 9.0)
    prices |= {(2.0, 3.0): 5.0, (1.6, 3.0): 4.0, (2.0, 2.4): 3.0, (1.6, 2.4): 3.5, (2.0, 2.0): 1.0}
    crew: Any = Prices(prices)
    found = Found()
    effort = Descent(rounds=2, reach=1, several=0, mixed=0, wet=2, at_once=2)
    descended(space, found, crew, effort=effort)
    assert min(c.figures.price or 9.0 for c in found.done) == 1.0

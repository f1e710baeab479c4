"""What is told of an option's neighbours is followed: their rows are taken through the checks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest
from pydantic import ValidationError

from tests.proposing.small import cooled
from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.predicted import predict
from vent_family.evidence.cost.foretold import foretold_price
from vent_family.evidence.strength.members import strength_report
from vent_family.evidence.strength.shells import shell_of
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import conditions_of
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry, enquiry_of
from vent_family.proposing.ladder import Candidate, Figures, Margin
from vent_family.proposing.lesser import TURNS, LesserRow, less
from vent_family.proposing.neighbourly import neighbour_told
from vent_family.proposing.proposal import Option
from vent_family.proposing.space import space_of
from vent_family.proposing.titles import gains_and_losses
from vent_family.proposing.whynot import neighbours_of
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

Drawn = tuple[Enquiry, dict[CatalogRow, tuple[LesserRow, ...]]]
WETNESS = (("dry", 4), ("dripping", 1))
"""Rows of each kind that nobody chose: those that meet water take a second each."""


@dataclass(frozen=True)
class NoSolids(Crew):
    """A crew that takes every solid for good, to save the time of building it."""

    def confirm(self, candidates: Sequence[Candidate]) -> list[Confirmed]:
        """Return the candidates as if their solids had passed."""
        return [Confirmed(c, (), ()) for c in candidates]


@pytest.fixture(scope="module", params=WETNESS, ids=[w for w, _ in WETNESS])
def drawn(request: pytest.FixtureRequest) -> Drawn:
    """Return the neighbours of rows drawn by chance, as many as do what is asked."""
    exposure, count = request.param
    at_least = {} if exposure == "dry" else {"at_least": "marginal"}
    enquiry = enquiry_of(cooled(15.0, water={"exposure": exposure, **at_least}))
    crew, space = NoSolids(enquiry), space_of(enquiry.asked)
    free = [k.name in ("slat_form", "bank_count") for k in space.knobs]
    chance = np.random.default_rng(14)
    options: list[Option] = []
    met: dict[CatalogRow, Candidate] = {}
    while len(options) < count:
        values = [int(chance.integers(len(k.values))) for k in space.knobs]
        turned = (chance.random(len(values)) > 0.75) | free
        row = space.row([v if t else 0 for v, t in zip(values, turned, strict=True)])
        (candidate,) = crew.to_the_end(crew.judge([row]))
        if candidate.kept and row not in [o.row for o in options]:
            met[row] = candidate
            # The price of its solid is another one: nothing is held against that.
            dear = replace(candidate.figures, price=1.3 * (candidate.figures.price or 0.0))
            options.append(Option((), replace(candidate, figures=dear), ()))
    return enquiry, neighbours_of(options, crew, met)


def vent(row: CatalogRow, enquiry: Enquiry) -> VentSpec:
    return resolve(row, enquiry.attached(row))


def does_it(row: CatalogRow, enquiry: Enquiry) -> bool:
    """Return whether a row does what is asked, by the checks themselves."""
    spec = vent(row, enquiry)
    question = enquiry.question(spec)
    assert question is not None
    strong = strength_report(spec, shell_of(enquiry.rates.shop.printing)).checks
    good = predict(question).holds and all(check.verdict == "pass" for check in strong)
    if not enquiry.wet:
        return good
    return good and assess(spec, conditions_of(spec), advise=False).outcome != "fails"


def figures(row: CatalogRow, enquiry: Enquiry) -> Figures:
    """Return a row's figures by what they come from."""
    spec = vent(row, enquiry)
    question = enquiry.question(spec)
    assert question is not None
    cooling = predict(question).cooling
    assert cooling is not None
    drops = assess(spec, conditions_of(spec), advise=False).drops if enquiry.wet else ()
    return Figures(
        foretold_price(spec, enquiry.rates.shop, enquiry.asked.order.quantity).price,
        cooling.rise_k,
        spec.in_front_mm + spec.behind_mm,
        1000.0 * max((d.passed_l.high for d in drops), default=0.0),
    )


def said(neighbour: LesserRow) -> str:
    return neighbour_told(neighbour, "USD").words


def test_rows_of_every_fate_are_met(drawn: Drawn) -> None:
    enquiry, near = drawn
    met = {n.stands for found in near.values() for n in found}
    assert met == {"stopped", "trade", "end", "better"} or enquiry.wet
    assert all(len(found) >= 5 for found in near.values())


def test_what_is_said_to_stop_a_row_does_stop_it(drawn: Drawn) -> None:
    enquiry, near = drawn
    stopped = [n for found in near.values() for n in found if n.stands == "stopped"]
    assert stopped or enquiry.wet
    for neighbour in stopped:
        assert neighbour.candidate is not None
        row, words = neighbour.candidate.row, said(neighbour)
        if neighbour.candidate.rung == "rules":
            with pytest.raises(InputError) as refused:
                vent(row, enquiry)
            assert refused.value.problems[0].message in words
            continue
        assert not does_it(row, enquiry), words
        safety = re.search(r"([0-9.]+) of the safety needed", words)
        if safety is not None:
            checks = strength_report(
                vent(row, enquiry), shell_of(enquiry.rates.shop.printing)
            ).checks
            least = min(c.value / c.limit for c in checks if c.value is not None and c.limit)
            assert float(safety[1]) == pytest.approx(least, abs=0.006)


def test_what_would_do_as_well_does(drawn: Drawn) -> None:
    enquiry, near = drawn
    good = [
        (base, n) for base, found in near.items() for n in found if n.stands in ("trade", "better")
    ]
    assert good
    for base, neighbour in good:
        assert neighbour.candidate is not None
        row, words = neighbour.candidate.row, said(neighbour)
        assert does_it(row, enquiry), words
        gained, lost = gains_and_losses(figures(row, enquiry), figures(base, enquiry))
        assert gained == pytest.approx(neighbour.gained, abs=1e-6), words
        assert lost == pytest.approx(neighbour.lost, abs=1e-6), words


def test_what_gains_nothing_is_neither_cooler_nor_shallower(drawn: Drawn) -> None:
    enquiry, near = drawn
    for base, found in near.items():
        for neighbour in (n for n in found if n.stands == "no gain"):
            assert neighbour.candidate is not None
            mine, own = figures(neighbour.candidate.row, enquiry), figures(base, enquiry)
            for aim in ("rise_k", "depth_mm"):
                assert getattr(mine, aim) >= getattr(own, aim) - 0.05


def test_where_the_catalogue_takes_no_less_a_row_with_less_is_refused(drawn: Drawn) -> None:
    enquiry, near = drawn
    for base, found in near.items():
        for neighbour in (n for n in found if n.stands == "end"):
            value = neighbour.now - (1 if neighbour.column == "bank_count" else 0.05)
            text = str(value) if neighbour.column == "bank_gaps_mm" else value
            with pytest.raises((ValidationError, InputError)):
                vent(CatalogRow(**(base.model_dump() | {neighbour.column: text})), enquiry)
            assert "the catalogue takes no less" in said(neighbour)


def test_cells_that_are_asked_for_are_not_turned() -> None:
    asked = cooled(10.0, cells={"slat_thickness_mm": 1.5, "slat_form": "folded", "bank_count": 1})
    fixed, space = enquiry_of(asked), space_of(asked)
    row = space.row([0] * len(space.knobs))
    option = Option((), Candidate(row, "full", 0.0, (), Figures(1.0, 5.0, 20.0, 0.0)), ())
    found = neighbours_of([option], NoSolids(fixed), {row: option.candidate})[row]
    assert {"slat_thickness_mm", "bank_count"}.isdisjoint(n.column for n in found)
    assert {"pitch_mm", "wall_mm"} <= {n.column for n in found}


def test_a_better_neighbour_is_told_as_found() -> None:
    margin = Margin("sight line", 0.3, 0.0, "mm", 0.04)
    row = CatalogRow(part_number="A", family="round", size="M32x1.5", status="draft")
    candidate = Candidate(row, "full", 0.0, (margin,), Figures(1.0, 5.0, 20.0, 0.0))
    better = LesserRow("wall_mm", 2.0, 1.8, "better", candidate, {"price": 0.031}, {})
    assert said(better) == (
        "a wall of 1.8 mm: better, 0.03 USD cheaper; the search has missed it (its solid: not"
        " built)"
    )
    solid = Confirmed(candidate, (), ("bridges: too wide",))
    assert "bridges: too wide" in said(replace(better, solid=solid))


def test_less_is_a_step_less_and_what_hangs_on_it_follows() -> None:
    cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    spec = resolve(CatalogRow(**cells, bank_count=2, bank_gaps_mm="8", banks_outside=1))
    turns = {turn.column: less(spec, turn) for turn in TURNS}
    assert turns["bank_count"] == (
        2, 1, {"bank_count": 1, "bank_gaps_mm": None, "banks_outside": None},
    )  # fmt: skip
    assert turns["bank_gaps_mm"] == (8.0, 7.7, {"bank_gaps_mm": "7.7"})
    assert turns["head_diameter_mm"] is None
    for column in ("slat_thickness_mm", "pitch_mm", "wall_mm", "lip_thickness_mm"):
        found = turns[column]
        assert found is not None
        now, value, change = found
        assert value < now
        assert change == {column: value}

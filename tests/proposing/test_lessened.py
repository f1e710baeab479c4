"""From the best rows is taken what they can do without, and what is better takes their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import pytest

from tests.proposing.small import cooled
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.cost.foretold import foretold_price
from vent_family.evidence.result import CheckResult
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry, enquiry_of
from vent_family.proposing.ladder import Candidate, Figures
from vent_family.proposing.lessened import lessened
from vent_family.proposing.lesser import LesserRow, lesser_rows
from vent_family.proposing.proposal import Option, Proposal
from vent_family.proposing.run import Front
from vent_family.proposing.search import Found, front_of
from vent_family.proposing.space import space_of
from vent_family.proposing.titles import titled
from vent_family.proposing.whynot import neighbours_of, with_better
from vent_family.spec.resolve import resolve

ROUNDS = 12


def nothing_told(*words: Any) -> None:
    """Listen to no progress."""


@pytest.fixture(scope="module")
def enquiry() -> Enquiry:
    return enquiry_of(cooled(10.0))


@pytest.fixture(scope="module")
def thick(enquiry: Enquiry) -> CatalogRow:
    """Return a row that does what is asked with far more than it takes."""
    space = space_of(enquiry.asked)
    row = space.row([0] * len(space.knobs))
    more = {
        "slat_form": "folded",
        "slat_thickness_mm": 1.8,
        "wall_mm": 2.4,
        "lip_thickness_mm": 3.4,
    }
    return CatalogRow(**(row.model_dump() | more))


@pytest.fixture(scope="module")
def found(enquiry: Enquiry, thick: CatalogRow) -> Found:
    """Return what is met from that row alone."""
    crew, met = Crew(enquiry), Found()
    met.reach(crew.to_the_end(crew.judge([thick])))
    assert [c.rung for c in met.done] == ["full"]
    lessened(met, crew, ROUNDS)
    return met


def test_nothing_better_with_one_thing_less_is_left(enquiry: Enquiry, found: Found) -> None:
    best = {c.row: titles for c, titles in titled(front_of(found.done)).items()}
    near = lesser_rows(best, Crew(enquiry), found.met)
    assert [n for of_one in near.values() for n in of_one if n.stands == "better"] == []


def test_less_is_made_of_a_row_as_far_as_it_holds(
    enquiry: Enquiry, thick: CatalogRow, found: Found
) -> None:
    cheapest = front_of(found.done)[0].row
    for name in ("wall_mm", "lip_thickness_mm", "slat_thickness_mm"):
        assert getattr(cheapest, name) < getattr(thick, name), name
    shop, quantity = enquiry.rates.shop, enquiry.asked.order.quantity
    before, after = (foretold_price(resolve(r), shop, quantity).price for r in (thick, cheapest))
    assert before is not None
    assert after is not None
    assert after < 0.9 * before
    # Nothing but the catalogue holds a thick wall back.
    with pytest.raises(ValueError, match="wall_mm"):
        CatalogRow(**(cheapest.model_dump() | {"wall_mm": (cheapest.wall_mm or 0.0) - 0.1}))


def test_rounds_are_few_where_nothing_is_left(enquiry: Enquiry, found: Found) -> None:
    again, rounds = replace(found, met=dict(found.met)), []
    lessened(again, Crew(enquiry), ROUNDS, rounds.append)
    assert len(rounds) == 1


def test_what_was_known_to_come_farther_stays(thick: CatalogRow) -> None:
    met = Found()
    ended, early = Candidate(thick, "full", 0.0), Candidate(thick, "strength", 0.0)
    assert met.reach([early])
    assert met.reach([ended])
    assert not met.reach([early])
    assert (met.met, met.drawn) == ({thick: ended}, 1)


@dataclass(frozen=True)
class Priced(Crew):
    """A crew whose rows hold, and cost what their walls are thick; some solids are refused.

    A wall below ``least_mm`` costs more again by its solid.
    """

    refused: tuple[float, ...] = ()
    least_mm: float = 0.0

    def judge(self, rows: Sequence[CatalogRow]) -> list[Candidate]:
        """Return rows that hold."""
        return [self._held(row, "strength") for row in rows]

    def to_the_end(self, candidates: Sequence[Candidate]) -> list[Candidate]:
        """Return rows that hold to the end."""
        return [self._held(c.row, "full") for c in candidates]

    def confirm(self, candidates: Sequence[Candidate]) -> list[Confirmed]:
        """Return what solids say."""
        made = []
        for candidate in candidates:
            wall = candidate.row.wall_mm or 0.0
            bad = ("bridges: too wide",) if wall in self.refused else ()
            price = 5.0 if wall < self.least_mm else candidate.figures.price
            figures = replace(candidate.figures, price=price)
            known = replace(candidate, figures=figures)
            made.append(Confirmed(known, (CheckResult("solid", "pass", ""),), bad))
        return made

    @staticmethod
    def _held(row: CatalogRow, rung: Any) -> Candidate:
        other = (row.slat_height_mm, row.lip_thickness_mm, row.pitch_mm, row.overlap_mm)
        turned = sum(v is not None for v in other)  # all else than the wall makes a row dearer
        return Candidate(row, rung, 0.0, (), Figures((row.wall_mm or 0.0) + turned, 5.0, 20.0, 0.0))


def settled_from(wall_mm: float, crew: Priced) -> tuple[Proposal, list[LesserRow]]:
    """Return what becomes of a proposal of one row, and its neighbours with less of a wall."""
    space = space_of(crew.enquiry.asked)
    row = space.row([0] * len(space.knobs))
    row = CatalogRow(**(row.model_dump() | {"wall_mm": wall_mm, "slat_form": "folded"}))
    (candidate,) = crew.to_the_end([crew._held(row, "strength")])
    (solid,) = crew.confirm([candidate])
    met = Found({row: candidate})
    option = Option(("cheapest",), solid.candidate, solid.checks)
    whole = Proposal(crew.enquiry, (option,), Front(space, (candidate,), met), 1, (solid,))
    found, near = with_better(whole, crew, nothing_told)
    (only,) = found.options
    return found, [n for n in near[only.row] if n.column == "wall_mm"]


def test_a_better_neighbour_takes_the_options_place(enquiry: Enquiry) -> None:
    found, walls = settled_from(1.6, Priced(enquiry))
    assert found.options[0].row.wall_mm == 1.2
    assert found.options[0].titles == ("cheapest",)
    assert found.options[0].confirmed
    assert [n.stands for n in walls] == ["end"]


def test_one_whose_solid_is_refused_does_not(enquiry: Enquiry) -> None:
    found, walls = settled_from(1.6, Priced(enquiry, refused=(1.4,)))
    assert found.options[0].row.wall_mm == 1.6
    assert [(n.stands, n.solid and n.solid.failed) for n in walls] == [
        ("better", ("bridges: too wide",))
    ]


def test_one_that_is_dearer_by_its_solid_does_not_and_is_not_called_better(
    enquiry: Enquiry,
) -> None:
    found, walls = settled_from(1.6, Priced(enquiry, least_mm=1.5))
    assert found.options[0].row.wall_mm == 1.6
    assert [(n.stands, n.gained, n.lost) for n in walls] == [("no gain", {}, {"price": 3.4})]


def test_one_that_was_passed_over_would_do_as_well_and_is_not_built_again(enquiry: Enquiry) -> None:
    crew = Priced(enquiry)
    space = space_of(enquiry.asked)
    row = space.row([0] * len(space.knobs))
    row = CatalogRow(**(row.model_dump() | {"wall_mm": 1.6, "slat_form": "folded"}))
    (candidate,) = crew.to_the_end([crew._held(row, "strength")])
    (solid,) = crew.confirm([candidate])
    option = Option(("cheapest",), solid.candidate, solid.checks)

    def wall(built: Sequence[Confirmed]) -> LesserRow:
        near = neighbours_of([option], crew, {row: candidate}, built=built)
        return next(n for n in near[row] if n.column == "wall_mm")

    first = wall([])
    assert first.stands == "better"
    assert first.solid is not None
    again = wall([first.solid])
    assert (again.stands, again.solid) == ("trade", None)
    bad = replace(first.solid, failed=("bridges: too wide",))
    assert (wall([bad]).stands, wall([bad]).solid) == ("better", bad)

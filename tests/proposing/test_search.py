"""What a search finds, how it is told apart from what not, and that the seed is all chance."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence
from dataclasses import replace

import pytest

from tests.proposing.small import SHALLOW, asked, cooled, small
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.crew import Crew, crew_of
from vent_family.proposing.ladder import RUNGS, Candidate, Figures, judged_row, lack_at
from vent_family.proposing.polish import neighbours
from vent_family.proposing.run import Front, front_for, seeds_of, taken_to_the_end
from vent_family.proposing.search import Found, aims_of, front_of, promising
from vent_family.proposing.space import space_of
from vent_family.proposing.titles import titled

ROW = CatalogRow(part_number="T", family="rectangular", size="40x40", status="draft")


def candidate(i: int, *aims: float) -> Candidate:
    row = ROW.model_copy(update={"part_number": f"T{i}"})
    return Candidate(row, "water", 0.0, figures=Figures(*aims))


def test_the_front_is_what_nobody_surpasses() -> None:
    chance = random.Random(4)
    many = [candidate(i, *(float(chance.randrange(6)) for _ in range(4))) for i in range(120)]

    def surpassed(one: Candidate) -> bool:
        mine = aims_of(one.figures)
        return any(
            all(a <= b for a, b in zip(aims_of(o.figures), mine, strict=True))
            and aims_of(o.figures) != mine
            for o in many
        )

    front = front_of(many)
    assert {aims_of(c.figures) for c in front} == {
        aims_of(c.figures) for c in many if not surpassed(c)
    }
    assert len({aims_of(c.figures) for c in front}) == len(front) > 4
    assert list(front) == sorted(front, key=lambda c: aims_of(c.figures))


def test_who_meets_water_first_is_surpassed_by_fewest() -> None:
    waiting = [
        candidate(0, 3.0, 3.0, 3.0),
        candidate(1, 1.0, 5.0, 5.0),
        candidate(2, 4.0, 4.0, 4.0),
    ]
    done = [candidate(3, 2.0, 2.0, 2.0)]
    alike = dict.fromkeys(waiting, 0.0)
    assert promising(alike, done, 1) == [waiting[1]]
    assert promising(alike, done, 2) == [waiting[1], waiting[0]]
    assert promising({}, done, 2) == []
    assert promising({**alike, waiting[1]: 0.7}, done, 1) == [waiting[0]]


def test_a_rung_higher_always_lacks_less() -> None:
    lacks = [lack_at(rung, short) for rung in RUNGS for short in (1e6, 1.0, 0.0)]
    assert lacks == sorted(lacks, reverse=True)
    assert len(set(lacks)) == len(lacks)
    assert min(lacks) > 0.0


def test_each_title_is_given_to_the_best_by_its_aim() -> None:
    front = [
        candidate(0, 1.0, 9.0, 9.0, 9.0),
        candidate(1, 9.0, 1.0, 9.0, 9.0),
        candidate(2, 9.0, 9.0, 1.0, 9.0),
        candidate(3, 9.0, 9.0, 9.0, 1.0),
        candidate(4, 4.0, 4.0, 4.0, 4.0),
    ]
    names = {c.row.part_number: titles for c, titles in titled(front).items()}
    assert names == {
        "T0": ("cheapest",),
        "T1": ("coolest",),
        "T2": ("shallowest",),
        "T3": ("driest",),
        "T4": ("balanced",),
    }
    assert titled(front[:1]) == {front[0]: ("cheapest",)}
    # A tenth of a millilitre less is nothing to pay for.
    alike = [candidate(5, 1.0, 9.0, 9.0, 30.0), candidate(6, 2.0, 9.0, 9.0, 1.1), front[3]]
    assert titled(alike)[alike[1]] == ("driest", "balanced")
    assert titled([]) == {}


def test_rows_of_a_space_and_their_genes_are_each_others() -> None:
    space = space_of(asked(opening={"size": ["40x40", "M50x1.5"], "families": None}))
    chance = random.Random(2)
    for _ in range(60):
        genes = tuple(chance.randrange(len(k.values)) for k in space.knobs)
        row = space.row(genes)
        again = space.genes_of(row.model_dump(), row.family, row.size)
        assert again is not None
        assert space.row(again) == row
    assert space.genes_of({}, "rectangular", "60x60") is None


def test_neighbours_differ_in_one_knob_and_reach_every_value_of_words() -> None:
    _, space = small(asked())
    genes = tuple(len(k.values) - 1 for k in space.knobs)
    near = neighbours(space, genes, reach=1)
    assert all(sum(a != b for a, b in zip(g, genes, strict=True)) == 1 for g in near)
    forms = {g[space.places["slat_form"]] for g in near}
    assert forms == {0, 1}


def found_by(workers: int, seed: int = 3) -> Front:
    enquiry, space = small(cooled())
    with crew_of(enquiry, workers) as crew:
        return front_for(space, crew, depth=SHALLOW, seed=seed)


def test_the_seed_decides_and_not_who_judges() -> None:
    one, two = found_by(1), found_by(2)
    assert one.candidates == two.candidates
    assert list(one.found.met) == list(two.found.met)
    assert one.candidates
    assert all(c.kept and c.rung == "full" for c in one.candidates)
    assert list(found_by(1, seed=4).found.met) != list(one.found.met)


def test_a_search_that_is_broken_off_gives_what_it_has() -> None:
    enquiry, space = small(cooled())
    seen = []

    def told(what: str, at: int, of: int, found: Found) -> None:
        seen.append((what, at, of))
        if what == "search" and at == 2:
            raise KeyboardInterrupt

    with crew_of(enquiry) as crew:
        front = front_for(space, crew, depth=SHALLOW, told=told)
    assert front.interrupted
    assert seen[:2] == [("search", 1, 3), ("search", 2, 3)]
    assert front.candidates
    assert set(front.candidates) <= set(front.found.met.values())


def test_counts_of_rungs_go_down_and_add_up() -> None:
    front = found_by(1)
    reached = front.found.reached
    counts = [reached[r] for r in RUNGS]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] == len(front.found.met) <= front.found.drawn


def test_a_search_begins_with_rows_of_the_catalogue() -> None:
    _, space = small(asked())
    row = ROW.model_copy(update={"slat_form": "folded", "bank_count": 3, "pitch_mm": 7.0})
    (first, *_) = seeds_of(space, [row, row])
    assert space.row(first).pitch_mm == 7.0
    assert space.row(first).bank_count == 3
    elsewhere = row.model_copy(update={"family": "round", "size": "M32x1.5"})
    assert len(seeds_of(space, [elsewhere])) == len(seeds_of(space)) == 6


def test_more_heat_never_brings_a_row_nearer() -> None:
    _, space = small(cooled())
    places = [range(len(knob.values)) for knob in space.knobs]
    rows = [space.row(genes) for genes in itertools.product(*places)][::3]
    lacks = [[judged_row(row, small(cooled(w))[0]).lack for row in rows] for w in (5.0, 20.0, 35.0)]
    assert all(a <= b <= c for a, b, c in zip(*lacks, strict=True))
    assert lacks[0] != lacks[2]


def test_a_candidate_that_fell_short_says_of_what() -> None:
    enquiry, space = small(cooled(400.0))
    rows = [space.row(g) for g in seeds_of(space)]
    met = [judged_row(row, enquiry) for row in rows]
    hot = [c for c in met if c.rung == "air"]
    assert hot
    assert all(not c.kept and c.reason.startswith("temperature") for c in hot)
    assert all(c.lack > 0.0 for c in met)
    assert replace(hot[0], lack=0.0).kept


def test_of_knobs_that_name_things_every_other_one_is_tried() -> None:
    forms = ("flat", "inclined", "folded", "channel")
    space = space_of(asked(), {"slat_form": forms})
    place = space.places["slat_form"]
    genes = tuple(3 if i == place else 0 for i in range(len(space.knobs)))
    assert {g[place] for g in neighbours(space, genes, reach=1)} >= {0, 1, 2}


class Strict:
    """Finds that one row does not hold once all drops are sent."""

    def __init__(self, bad: CatalogRow) -> None:
        self.bad = bad

    def to_the_end(self, candidates: Sequence[Candidate]) -> list[Candidate]:
        return [replace(c, rung="full", lack=0.5 if c.row == self.bad else 0.0) for c in candidates]


def test_a_row_that_fails_when_all_drops_are_sent_leaves_the_front() -> None:
    good, bad = candidate(0, 2.0, 1.0, 1.0, 1.0), candidate(1, 1.0, 2.0, 1.0, 1.0)
    found = Found()
    found.keep([good, bad])
    taken_to_the_end(found, Strict(bad.row), 8)  # type: ignore[arg-type]
    assert [c.row for c in found.ended] == [good.row]
    assert not found.met[bad.row].kept


def test_an_interrupt_inside_a_compiled_function_ends_the_search_as_any(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What the compiler's library raises then is an error of its own, caused by the interrupt."""
    enquiry, space = small(cooled())

    def stopped(_: object, rows: Sequence[CatalogRow]) -> list[Candidate]:
        raise SystemError("returned a result with an exception set") from KeyboardInterrupt()

    monkeypatch.setattr("vent_family.proposing.crew._judge", stopped)
    front = front_for(space, Crew(enquiry), depth=SHALLOW)
    assert front.interrupted

    def broken(_: object, rows: Sequence[CatalogRow]) -> list[Candidate]:
        raise SystemError("something else")

    monkeypatch.setattr("vent_family.proposing.crew._judge", broken)
    with pytest.raises(SystemError, match="something else"):
        front_for(space, Crew(enquiry), depth=SHALLOW)

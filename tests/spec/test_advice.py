"""Advice does what it says: followed once, it removes the problem it was given for.

It is read from its sentence and typed into the row's cells, as a person would do it; the row is
then read and resolved anew. ``tests/benchmarks/bench_advice.py`` does so with hundreds of rows.
"""

from __future__ import annotations

from functools import cache
from random import Random
from typing import Any

import pytest

from tests.helpers.any_row import any_cells
from tests.helpers.following import (
    NO_ADVICE,
    advised_cells,
    kind_of,
    problems_of,
    read_row,
)
from tests.helpers.rows import row
from vent_family.base.problems import Problem
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.spec.advice import with_advice
from vent_family.spec.changes import change_words, ladder
from vent_family.spec.refusals import Refusal

REFUSED = 24
LARGEST_MM = 90.0


@cache
def refused_rows() -> list[tuple[dict[str, Any], tuple[Problem, ...]]]:
    """Return rows drawn one after the other that are refused, with advice."""
    found: list[tuple[dict[str, Any], tuple[Problem, ...]]] = []
    for number in range(10_000):
        cells = any_cells(Random(f"advice {number}"), LARGEST_MM)
        if problems_of(CatalogRow(**cells)):
            found.append((cells, problems_of(CatalogRow(**cells), advise=True)))
        if len(found) == REFUSED:
            break
    return found


@pytest.mark.parametrize("place", range(REFUSED))
def test_advice_followed_once_removes_its_problem(place: int) -> None:
    cells, problems = refused_rows()[place]
    for problem in problems:
        if problem.suggestion.startswith(NO_ADVICE):
            continue  # counted below
        typed = advised_cells(problem.suggestion)
        assert typed, problem.suggestion
        assert all(cells["family"] in COLUMNS[name].families for name in typed)
        left = {kind_of(p) for p in problems_of(read_row(cells | typed))}
        assert kind_of(problem) not in left, problem.sentence()
        # What is told to come next is what comes next, and nothing comes where nothing is told.
        alone = len(problems) == 1
        assert bool(left) == (" (next: " in problem.suggestion) or not alone, problem.sentence()


def test_nearly_every_problem_gets_advice() -> None:
    """Of the rows drawn nearly all can be mended by turning two columns: see the benchmark."""
    problems = [p for _, found in refused_rows() for p in found]
    without = [p.sentence() for p in problems if p.suggestion.startswith(NO_ADVICE)]
    assert len(without) <= 0.05 * len(problems), without


def test_advice_for_several_problems_can_be_followed_together() -> None:
    cells = {"slopes": "out-out-in", "bank_gaps_mm": "3/3/3", "fixing": "snap", "screw": "M3"}
    problems = problems_of(row(**cells), advise=True)
    assert len(problems) == 3
    typed: dict[str, str] = {}
    for problem in problems:
        typed |= advised_cells(problem.suggestion)
    assert problems_of(read_row(row(**cells).model_dump() | typed)) == ()


def broken(column: str, rule: str, stage: int, *guesses: dict[str, Any]) -> Refusal:
    return Refusal(rule, stage, Problem(rule, rule, column=column), guesses, (column,), 0.0)


def test_two_columns_are_changed_together_where_one_does_not_do_it() -> None:
    """A rule kept from a wall of 4 mm, another, met only then, from a pitch of 9 mm."""

    def attempt(tried: CatalogRow, *, quick: bool = False) -> tuple[Refusal, ...]:
        if (tried.wall_mm or 2.0) < 4.0:
            return (broken("wall_mm", "wall", 0),)
        if (tried.pitch_mm or 6.5) < 9.0:
            return (broken("pitch_mm", "pitch", 1),)
        return ()

    first = row(wall_mm=2.0)
    (problem,) = with_advice(first, attempt(first), attempt)
    typed = {name: float(text) for name, text in advised_cells(problem.suggestion).items()}
    assert typed["wall_mm"] >= 4.0
    assert typed["pitch_mm"] >= 9.0
    assert len(typed) == 2


def test_advice_holds_for_the_stack_that_the_whole_search_comes_to() -> None:
    """A head of 64 mm suits the first stack tried, but not a deeper one that is tried after it."""
    cells = {
        "part_number": "A", "family": "round", "size": "M32x1.5", "status": "draft",
        "pitch_mm": 8.0, "bank_stagger": 0.33, "slopes": "auto", "head_diameter_mm": 51.0,
        "neck_length_mm": 39.676,
    }  # fmt: skip
    (problem,) = problems_of(CatalogRow(**cells), advise=True)
    typed = advised_cells(problem.suggestion)
    assert typed
    left = problems_of(read_row(cells | typed))
    assert kind_of(problem) not in {kind_of(p) for p in left}, problem.sentence()


def test_a_number_is_turned_no_farther_than_it_takes() -> None:
    """Least wall 4.41 mm: the first tenth beyond is told, and nothing that breaks a rule."""

    def attempt(tried: CatalogRow, *, quick: bool = False) -> tuple[Refusal, ...]:
        return () if (tried.wall_mm or 0.0) >= 4.41 else (broken("wall_mm", "wall", 0),)

    first = row(wall_mm=2.0)
    (problem,) = with_advice(first, attempt(first), attempt)
    assert problem.suggestion == "set wall_mm to 4.5"


def test_a_change_that_breaks_an_earlier_rule_is_no_advice() -> None:
    """The guess mends the late rule only because the row does not come as far any more."""

    def attempt(tried: CatalogRow, *, quick: bool = False) -> tuple[Refusal, ...]:
        if tried.wall_mm == 9.0:
            return (broken("pitch_mm", "early", 0),)
        return (broken("wall_mm", "late", 2, {"wall_mm": 9.0}),)

    first = row(wall_mm=2.0)
    (problem,) = with_advice(first, attempt(first), attempt)
    assert problem.suggestion.startswith(NO_ADVICE)


def test_where_nothing_helps_the_nearest_is_told() -> None:
    def attempt(tried: CatalogRow, *, quick: bool = False) -> tuple[Refusal, ...]:
        lack = 20.0 - (tried.wall_mm or 0.0)
        found = Problem("cavity.height.low", f"{lack:g} mm short", column="wall_mm")
        return (Refusal("wall", 0, found, (), ("wall_mm",), lack),)

    first = row(wall_mm=2.0)
    (problem,) = with_advice(first, attempt(first), attempt)
    assert problem.suggestion == f"{NO_ADVICE}; what comes nearest: set wall_mm to 10 (10 mm short)"


@pytest.mark.parametrize("name", ["pitch_mm", "rib_count", "bank_stagger", "size", "bank_gaps_mm"])
def test_values_tried_are_new_and_in_the_columns_range(name: str) -> None:
    first = row(pitch_mm=6.5, rib_count=2, bank_gaps_mm="3/4")
    now = getattr(first, name) if name != "bank_stagger" else 0.5
    values = [value for _, value in ladder(first, name, now)]
    assert len(values) == len(set(values)) > 5
    assert now not in values
    for value in values:
        made = read_row(first.model_dump() | {name: value})
        assert getattr(made, name) == value
    assert change_words({name: values[-1]}).startswith(f"set {name} to ")

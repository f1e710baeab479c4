"""From a requirement to its front: seeds, search, neighbours, and all drops for what is left."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.crew import Crew
from vent_family.proposing.ladder import RUNGS, Candidate
from vent_family.proposing.lessened import lessened
from vent_family.proposing.polish import polished
from vent_family.proposing.search import (
    AIMS,
    EFFORT,
    Found,
    SearchEffort,
    aims_of,
    front_of,
    search,
)
from vent_family.proposing.space import Genes, RowSpace

Step = Callable[[str, int, int, Found], None]
"""Told what is done, how far it has come of how much, and what has been met; may raise to end."""


@dataclass(frozen=True, slots=True)
class Depth:
    """How much is tried: the search, rounds through neighbours, rows taken to the end.

    ``lesser`` rounds at last take from the best rows what they can do without.
    """

    effort: SearchEffort = EFFORT
    rounds: int = 3
    wet: int = 6
    ends: int = 24
    lesser: int = 12


USUAL: Final = Depth()
"""What is tried unless somebody asks for more or less."""


@dataclass(frozen=True)
class Front:
    """What was found for a requirement.

    ``candidates`` are those that no other surpasses, taken up the whole ladder, cheapest first;
    ``found`` is everything that was met; ``interrupted`` says that the search was broken off.
    """

    space: RowSpace
    candidates: tuple[Candidate, ...]
    found: Found
    interrupted: bool = False


def front_for(
    space: RowSpace,
    crew: Crew,
    *,
    rows: Iterable[CatalogRow] = (),
    depth: Depth = USUAL,
    seed: int = 1,
    told: Step = lambda what, at, of, found: None,
) -> Front:
    """Return the front for a requirement.

    Whoever interrupts gets what was found so far, taken to the end.

    Parameters
    ----------
    space
        the rows that the requirement leaves open
    crew
        who judges them
    rows
        rows of a catalogue, whose cells are tried for what is asked
    depth
        how much is tried
    seed
        the number from which all chance follows
    told
        told of every step
    """
    found = Found()
    interrupted = False
    effort, rounds = depth.effort, itertools.count(1)
    try:
        search(
            space,
            crew.sift,
            crew.judge,
            crew.wet,
            seeds=seeds_of(space, rows),
            effort=effort,
            seed=seed,
            told=lambda f, n: told("search", n, effort.generations, f),
            found=found,
        )
        polished(
            space,
            found,
            crew.judge,
            crew.wet,
            rounds=depth.rounds,
            wet=depth.wet,
            told=lambda f: told("neighbours", next(rounds), depth.rounds, f),
        )
    except KeyboardInterrupt:
        interrupted = True
    told("all drops", 0, depth.lesser, found)
    taken_to_the_end(found, crew, depth.ends)
    steps = itertools.count(1)
    try:
        if not interrupted:
            lessened(
                found,
                crew,
                depth.lesser,
                lambda f: told("all drops", next(steps), depth.lesser, f),
            )
    except KeyboardInterrupt:
        interrupted = True
    return Front(space, front_of(found.ended), found, interrupted)


def taken_to_the_end(found: Found, crew: Crew, most: int) -> None:
    """Take the front to the end, and what comes next where some of it does not hold there.

    Of long fronts rows are taken evenly along the price, the ends by each aim first.
    """
    left = most
    while left > 0:
        front = [c for c in front_of(found.done) if c.rung != RUNGS[-1]]
        if not front:
            break
        chosen = spread_along(front, left)
        judged = crew.to_the_end(chosen)
        found.keep(judged)
        left -= len(chosen)
        if len(chosen) == len(front) and all(c.kept for c in judged):
            break


def spread_along(front: list[Candidate], most: int) -> list[Candidate]:
    """Return up to ``most`` of a front: the best by each aim, and the rest evenly between."""
    if len(front) <= most:
        return front
    table = [aims_of(c.figures) for c in front]
    first = [min(range(len(front)), key=lambda i: table[i][k]) for k in range(len(AIMS))]
    step = len(front) / most
    even = [int(i * step) for i in range(most)]
    places = list(dict.fromkeys([*first, *even]))[:most]
    return [front[i] for i in sorted(places)]


_USUAL: Final = ("slat_form", "bank_count", "banks_outside")
"""Knobs of which every pairing is tried once with all else as usual."""


def seeds_of(space: RowSpace, rows: Iterable[CatalogRow] = ()) -> list[Genes]:
    """Return rows to begin with: rows of a catalogue, and what is usual for every slat form.

    Openings come in turn, so that many sizes do not make many times the seeds.
    """
    openings = space.knobs[0].values
    seeds: list[Genes] = []
    for row in rows:
        cells: Mapping[str, Any] = row.model_dump()
        sizes = [size for family, size in openings if family == row.family]
        for size in sizes[:_SIZES]:
            genes = space.genes_of(cells, row.family, size)
            if genes is not None:
                seeds.append(genes)
    usual = [
        [(i, place) for place in range(len(knob.values))]
        for i, knob in enumerate(space.knobs)
        if knob.name in _USUAL
    ]
    for n, places in enumerate(itertools.product(*usual)):
        first = [0] * len(space.knobs)
        first[0] = n % len(openings)
        for i, place in places:
            first[i] = place
        seeds.append(tuple(first))
    return list(dict.fromkeys(seeds))


_SIZES: Final = 3
"""Sizes in which the cells of a row are tried, at most."""

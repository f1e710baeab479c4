"""Where nothing does what is asked: by how much each constraint would have to give way, alone.

A row that breaks one constraint only bounds from above what that one would have to be. From such
rows a short search begins in which it is free, all others are kept, and what it must be is made
small. What is told is the least that was found: it would do for certain, less may do, too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.constraints import Constraint, Relaxation, constraints_of
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.instead import instead, judged_with
from vent_family.proposing.known import Carried, KnownPart, carried, known_parts
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.polish import neighbours
from vent_family.proposing.run import Depth, Front, Step, seeds_of
from vent_family.proposing.search import Found, SearchEffort, search
from vent_family.proposing.space import LADDERS, Genes, RowSpace, space_of

SHORT: Final = Depth(
    SearchEffort(rows=24, generations=4, wetted=8, drawn=2000, begun=32), rounds=3, wet=6, ends=8
)
"""How much is tried for one constraint unless somebody asks for more or less."""
_SEEDS: Final = 0.75
"""Share of the first generation that comes from rows already met."""
_TOGETHER: Final = 4
"""Rows that are taken to the end at once."""


def relaxations(
    front: Front,
    crew: Crew,
    *,
    known: Sequence[KnownPart] = (),
    depth: Depth = SHORT,
    seed: int = 1,
    ladders: Mapping[str, tuple[Any, ...]] = LADDERS,
    told: Step = lambda what, at, of, found: None,
) -> tuple[Relaxation, ...]:
    """Return how far each constraint alone would have to give way; those that help come first.

    Parameters
    ----------
    front
        what the search for the requirement itself met
    crew
        who judged it
    known
        parts of the catalogue for the same opening, which may do all the rest
    depth
        how much is tried for each constraint
    seed
        the number from which all chance follows
    ladders
        values that may be tried, by column
    told
        told of every constraint before it is freed
    """
    found: dict[str, Relaxation] = {}
    constraints = constraints_of(crew.enquiry)
    for i, constraint in enumerate(constraints):
        before = found.get(constraint.entry)
        if before is not None and before.helps:
            continue
        told(constraint.entry, i, len(constraints), front.found)
        rows = breaking_only(front.found, constraint)
        ended = _already(constraint, crew, known)
        if rows:
            ended += _least(constraint, crew, rows, depth, seed, ladders)
        ended.sort(key=constraint.cost)
        found[constraint.entry] = _relaxed(constraint, crew, ended)
        ended += [k.candidate for k in known if lacks_only(k, constraint.margin)]
        for more in instead(constraint, crew, ended):
            found[more.entry] = more
    return tuple(sorted(found.values(), key=lambda r: not r.helps))


def _already(constraint: Constraint, crew: Crew, known: Sequence[KnownPart]) -> list[Candidate]:
    """Return parts of the catalogue that do all else."""
    free = replace(crew, enquiry=constraint.free)
    return [k.candidate for k in known_parts(free, [k.row for k in known]) if k.does_it]


def lacks_only(known: KnownPart, margin: str) -> bool:
    """Return whether a part of the catalogue does all but keep one margin."""
    lacks = {m.name for m in known.carried.lacks}
    return lacks == {margin} and not known.differs and not known.carried.refused


def nearest_row(found: Found, enquiry: Enquiry) -> Carried | None:
    """Return the row that came farthest, with all that it lacks; ``None`` where none was tried."""
    rows = sorted(found.met.values(), key=lambda c: c.lack)
    return carried(rows[0].row, enquiry) if rows else None


def breaking_only(found: Found, constraint: Constraint) -> list[CatalogRow]:
    """Return rows that broke a constraint and, as far as they came, no other; the nearest first.

    Of entries that decide which rows there are, all rows as far as they came.
    """
    met = [c for c in found.met.values() if not c.kept]
    if constraint.margin:
        met = [c for c in met if {m.name for m in c.margins if not m.kept} == {constraint.margin}]
        met.sort(key=lambda c: (c.lack, constraint.cost(c)))
    else:
        met.sort(key=lambda c: c.lack)
    return [c.row for c in met]


def _least(
    constraint: Constraint,
    crew: Crew,
    rows: Sequence[CatalogRow],
    depth: Depth,
    seed: int,
    ladders: Mapping[str, tuple[Any, ...]],
) -> list[Candidate]:
    """Return rows that do all else, taken to the end, the one first that needs least."""
    crew = replace(crew, enquiry=constraint.free)
    space = space_of(constraint.free.asked, ladders)
    found = Found()
    search(
        space,
        crew.sift,
        crew.judge,
        crew.wet,
        seeds=_seeds(space, rows, round(_SEEDS * depth.effort.rows)),
        effort=depth.effort,
        seed=seed,
        found=found,
    )
    cost = constraint.cost
    _wetted(found, crew, list(found.met.values()), cost, depth.wet)
    for _ in range(depth.rounds):
        best = min(found.done, key=cost, default=None)
        if best is None:
            break
        tried = found.draw(space, neighbours(space, found.genes[best.row]), crew.judge)
        _wetted(found, crew, tried, cost, depth.wet)
        if cost(min(found.done, key=cost)) >= cost(best):
            break
    order = sorted(found.done, key=cost)[: depth.ends]
    for i in range(0, len(order), _TOGETHER):
        ended = [c for c in crew.to_the_end(order[i : i + _TOGETHER]) if c.kept]
        if ended:
            return sorted(ended, key=cost)
    return []


def _seeds(space: RowSpace, rows: Sequence[CatalogRow], most: int) -> list[Genes]:
    """Return rows as candidates of a space, in turn in each of its openings; or what is usual.

    Half of them are the first ones, the others are taken evenly from all that come after: what the
    first ones lack farther up the ladder they may have.
    """
    openings = space.knobs[0].values
    found: list[Genes] = []
    ahead, rest = list(rows[: most // 2]), rows[most // 2 :]
    step = max(1.0, len(rest) / (most - most // 2))
    spread = [rest[int(i * step)] for i in range(min(len(rest), most - most // 2))]
    for n, row in enumerate([*ahead, *spread]):
        fit = [size for family, size in openings if family == row.family]
        size = row.size if row.size in fit or not fit else fit[n % len(fit)]
        genes = space.genes_of(row.model_dump(), row.family, size)
        if genes is not None:
            found.append(genes)
    return list(dict.fromkeys(found)) or seeds_of(space)[:most]


def _wetted(
    found: Found,
    crew: Crew,
    among: Sequence[Candidate],
    cost: Callable[[Candidate], float],
    most: int,
) -> None:
    """Send water at rows that need less than the best so far, those first that need least."""
    best = min(map(cost, found.done), default=None)
    waiting = [c for c in dict.fromkeys(among) if c.kept and not c.done]
    if best is not None:
        waiting = [c for c in waiting if cost(c) < best]
    waiting.sort(key=cost)
    found.keep(crew.wet(waiting[:most]))


def _relaxed(constraint: Constraint, crew: Crew, ended: Sequence[Candidate]) -> Relaxation:
    """Return what the first of several rows that does needs, judged with just that."""
    said = Relaxation(constraint.entry, constraint.unit, constraint.asked)
    for candidate in ended:
        need = constraint.need(candidate)
        there = judged_with(crew, candidate.row, constraint.at(need))
        if there.kept:
            return replace(said, needed=need, candidate=there)
    return said

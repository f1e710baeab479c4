"""The whole answer to a requirement: what is there already, what is proposed, and why not less."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.constraints import Relaxation
from vent_family.proposing.crew import crew_of
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.known import Carried, KnownPart, known_parts
from vent_family.proposing.lesser import LesserRow
from vent_family.proposing.proposal import Proposal, proposed
from vent_family.proposing.relax import nearest_row, relaxations
from vent_family.proposing.run import USUAL, Depth, Step
from vent_family.proposing.search import Found, SearchEffort
from vent_family.proposing.smallest import with_smallest
from vent_family.proposing.space import RowSpace, space_of
from vent_family.proposing.whynot import with_better

QUICK: Final = Depth(
    SearchEffort(rows=32, generations=6, wetted=6, drawn=2000, begun=64),
    rounds=1,
    wet=3,
    ends=8,
    lesser=3,
)
"""What is tried for a first look."""


@dataclass(frozen=True)
class RequirementAnswer:
    """All that was found out about a requirement.

    ``known`` are parts of the catalogue, those that do what is asked first; ``near`` holds what
    became of the options' neighbours, by the options' rows; ``relaxed`` what would have to be given
    up, where nothing does what is asked, and ``nearest`` the new row that came farthest then.
    """

    proposal: Proposal
    known: tuple[KnownPart, ...] = ()
    near: Mapping[CatalogRow, tuple[LesserRow, ...]] = field(default_factory=dict)
    relaxed: tuple[Relaxation, ...] = ()
    nearest: Carried | None = None

    @property
    def interrupted(self) -> bool:
        """Whether the search was broken off."""
        return self.proposal.front.interrupted

    @property
    def anything(self) -> bool:
        """Whether anything does what is asked, new or known."""
        return bool(self.proposal.options) or any(k.does_it for k in self.known)


def answer_requirement(
    enquiry: Enquiry,
    *,
    rows: Iterable[CatalogRow] = (),
    space: RowSpace | None = None,
    depth: Depth = USUAL,
    seed: int = 1,
    workers: int | None = None,
    told: Step = lambda what, at, of, found: None,
) -> RequirementAnswer:
    """Return the whole answer to a requirement.

    Whoever interrupts gets what was found so far.

    Parameters
    ----------
    enquiry
        the requirement, made ready
    rows
        rows of a catalogue: parts that may do it already, and from which the search begins besides
    space
        the rows to choose from; by default all that the requirement leaves open
    depth
        how much is tried
    seed
        the number from which all chance follows; neither workers nor time change what is found
    workers
        number of processes, that of the cores if ``None``
    told
        told of every step

    Raises
    ------
    InputError
        if a thread has no profile
    """
    near: Mapping[CatalogRow, tuple[LesserRow, ...]] = {}
    relaxed: tuple[Relaxation, ...] = ()
    nearest: Carried | None = None
    there = list(rows)
    space = space or space_of(enquiry.asked)
    with crew_of(enquiry, workers or os.cpu_count() or 1) as crew:
        told("catalogue", 0, 1, Found())
        known = known_parts(crew, there)
        found = proposed(crew, space, rows=there, depth=depth, seed=seed, told=told)
        try:
            if found.front.interrupted:
                pass
            elif found.options:
                found, near = with_better(found, crew, told)
                found = with_smallest(found, crew, told)
            elif not any(k.does_it for k in known):
                nearest = nearest_row(found.front.found, enquiry)
                relaxed = relaxations(found.front, crew, known=known, seed=seed, told=told)
        except KeyboardInterrupt:
            found = replace(found, front=replace(found.front, interrupted=True))
    return RequirementAnswer(found, known, near, relaxed, nearest)

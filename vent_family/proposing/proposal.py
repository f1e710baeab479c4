"""What is proposed: rows to choose from, each the best by something, confirmed on its solid."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from vent_family.catalog.model import CatalogRow
from vent_family.evidence.cost.sheet import PartToPrint
from vent_family.evidence.result import CheckResult
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import Candidate, Margin
from vent_family.proposing.run import USUAL, Depth, Front, Step, front_for
from vent_family.proposing.search import Found, aims_of, front_of
from vent_family.proposing.space import RowSpace
from vent_family.proposing.titles import titled


@dataclass(frozen=True)
class Option:
    """One row to choose.

    ``titles`` say what it is best in; ``candidate`` holds its figures and margins, ``checks`` what
    its solid passed, ``bodies`` what an order of it prints; neither where no solid was built.
    """

    titles: tuple[str, ...]
    candidate: Candidate
    checks: tuple[CheckResult, ...]
    bodies: tuple[PartToPrint, ...] = ()

    @property
    def row(self) -> CatalogRow:
        """The row."""
        return self.candidate.row

    @property
    def confirmed(self) -> bool:
        """Whether its solid was built, and passed."""
        return bool(self.checks)

    @property
    def binding(self) -> Margin:
        """The constraint of which least is left."""
        return min(self.candidate.margins, key=lambda m: m.share)


@dataclass(frozen=True)
class Proposal:
    """What was found for a requirement.

    ``options`` are confirmed on their solids, cheapest first; none where nothing does what is
    asked. ``built`` is what solids say, of options and of rows that these did not confirm.
    ``front`` holds all rows that no other surpasses, and how many were tried.
    """

    enquiry: Enquiry
    options: tuple[Option, ...]
    front: Front
    seed: int
    built: tuple[Confirmed, ...] = ()

    @property
    def refused(self) -> tuple[Confirmed, ...]:
        """Rows that their solids did not confirm."""
        return tuple(known for known in self.built if not known.good)


def proposed(
    crew: Crew,
    space: RowSpace,
    *,
    rows: Iterable[CatalogRow] = (),
    depth: Depth = USUAL,
    seed: int = 1,
    told: Step = lambda what, at, of, found: None,
) -> Proposal:
    """Return what a crew proposes for its enquiry, of the rows of a space.

    Whoever interrupts gets what was found so far; of options whose solids were not all built none
    is confirmed.

    Parameters
    ----------
    crew
        who judges candidates
    space
        the rows to choose from
    rows
        rows of a catalogue, from which the search begins besides
    depth
        how much is tried
    seed
        the number from which all chance follows; neither workers nor time change what is found
    told
        told of every step
    """
    front = front_for(space, crew, rows=rows, depth=depth, seed=seed, told=told)
    options: tuple[Option, ...]
    built: tuple[Confirmed, ...] = ()
    try:
        options, built = chosen(front.candidates, crew, front.found, told)
    except KeyboardInterrupt:
        front = replace(front, interrupted=True)
        options = tuple(Option(names, c, ()) for c, names in titled(front.candidates).items())
    return Proposal(crew.enquiry, options, front, seed, built)


def chosen_again(
    proposal: Proposal, solids: Sequence[Confirmed], crew: Crew, told: Step
) -> Proposal:
    """Return a proposal whose options are chosen anew, from other rows besides that were built.

    Parameters
    ----------
    proposal
        the proposal
    solids
        what solids say of the other rows, which the search has met
    crew
        who judges candidates
    told
        told of every step; may raise to end
    """
    front = proposal.front
    built = tuple({known.candidate.row: known for known in (*proposal.built, *solids)}.values())
    # All by their layers: prices by solids are set beside one another when options are chosen.
    front = replace(front, candidates=front_of(front.found.ended))
    options, built = chosen(front.candidates, crew, front.found, told, built)
    return replace(proposal, options=options, front=front, built=built)


def chosen(
    front: Sequence[Candidate],
    crew: Crew,
    found: Found,
    told: Step,
    built: Sequence[Confirmed] = (),
) -> tuple[tuple[Option, ...], tuple[Confirmed, ...]]:
    """Return options that their solids confirm, and what solids say.

    Where a row is not confirmed, the next best takes its place; its true price counts from then on.
    What is ``built`` already is not built again.
    """
    solids = {known.candidate.row: known for known in built}
    left = {c.row: c for c in front}
    while True:
        for row, known in solids.items():
            if not known.good:
                left.pop(row, None)
            elif row in left:
                left[row] = known.candidate
        titles = titled(front_of(list(left.values())))
        new = [c for c in titles if c.row not in solids]
        if not new:
            break
        told("solids", len(titles) - len(new), len(titles), found)
        solids |= {known.candidate.row: known for known in crew.confirm(new)}
    options = [
        Option(names, c, solids[c.row].checks, solids[c.row].bodies) for c, names in titles.items()
    ]
    options.sort(key=lambda o: aims_of(o.candidate.figures))
    return tuple(options), tuple(solids.values())

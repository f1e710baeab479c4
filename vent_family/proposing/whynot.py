"""Why an option is not thinner, fewer or smaller: its neighbours are tried, and what stops them.

What does all that is asked and is better than the option takes its place, where its solid is good.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.lesser import LesserRow, lesser_rows, stood
from vent_family.proposing.proposal import Option, Proposal, chosen_again
from vent_family.proposing.run import Step
from vent_family.proposing.titles import gains_and_losses

_AGAIN: Final = 6
"""How often options make way for better neighbours, at most."""
Near = Mapping[CatalogRow, tuple[LesserRow, ...]]
"""What became of options' neighbours, by the options' rows."""


def with_better(proposal: Proposal, crew: Crew, told: Step) -> tuple[Proposal, Near]:
    """Return a proposal whose options made way for better neighbours, and what became of others.

    Parameters
    ----------
    proposal
        the proposal
    crew
        who judges
    told
        told of every step; may raise to end

    Raises
    ------
    InputError
        if an option's row breaks a rule
    """
    found = proposal.front.found
    solids: dict[CatalogRow, Confirmed] = {}
    near: Near = {}
    for last in (*[False] * _AGAIN, True):
        near = neighbours_of(
            proposal.options,
            crew,
            found.met,
            lambda at, of: told("less", at, of, found),
            built=tuple(solids.values()),
        )
        tried = [n for of_one in near.values() for n in of_one]
        better = [n for n in tried if _takes_over(n)]
        if last or not better:
            break
        # Priced by its layers, as the neighbours that it is to be compared with.
        found.reach(n.candidate for n in better if n.candidate is not None)
        solids |= {n.solid.candidate.row: n.solid for n in tried if n.solid is not None}
        good = [n.solid for n in better if n.solid is not None]
        proposal = chosen_again(proposal, good, crew, told)
    return proposal, near


def _takes_over(neighbour: LesserRow) -> bool:
    """Return whether a neighbour is better, by its solid, too."""
    solid = neighbour.solid
    return neighbour.stands == "better" and solid is not None and solid.good


def neighbours_of(
    options: Sequence[Option],
    crew: Crew,
    met: Mapping[CatalogRow, Candidate],
    told: Callable[[int, int], None] = lambda at, of: None,
    built: Sequence[Confirmed] = (),
) -> dict[CatalogRow, tuple[LesserRow, ...]]:
    """Return what became of the neighbours of options, by the options' rows.

    Of those that are better the best of each option is built, and counts by its true price.

    Parameters
    ----------
    options
        the options
    crew
        who judges
    met
        what a search has met, the options among it
    told
        told how far it has come, of how much
    built
        what solids say that were built before; a row whose solid is good and that did not get an
        option's place would do as well

    Raises
    ------
    InputError
        if an option's row breaks a rule
    """
    known = {solid.candidate.row: solid for solid in built}
    near = lesser_rows({o.row: o.titles for o in options}, crew, met, told)
    found = {row: [_known(n, known) for n in of_one] for row, of_one in near.items()}
    best = [
        max((n for n in of_one if n.solid is None), key=_gain, default=None)
        for of_one in found.values()
    ]
    better = {
        n.candidate.row: n.candidate
        for n in best
        if n is not None and n.stands == "better" and n.candidate is not None
    }
    solids = dict(zip(better, crew.confirm(list(better.values())), strict=True))
    told(3, 3)
    return {o.row: tuple(_built(n, o, solids) for n in found[o.row]) for o in options}


def _known(neighbour: LesserRow, solids: Mapping[CatalogRow, Confirmed]) -> LesserRow:
    """Return a neighbour with what is known of its solid: a good one was passed over."""
    if neighbour.stands != "better" or neighbour.candidate is None:
        return neighbour
    solid = solids.get(neighbour.candidate.row)
    if solid is not None and solid.good:
        return replace(neighbour, stands="trade")
    return replace(neighbour, solid=solid)


def _built(
    neighbour: LesserRow, option: Option, solids: Mapping[CatalogRow, Confirmed]
) -> LesserRow:
    """Return a neighbour with what its solid says of it, if there is one."""
    if neighbour.candidate is None or neighbour.candidate.row not in solids:
        return neighbour
    solid = solids[neighbour.candidate.row]
    if not (solid.good and option.confirmed):
        return replace(neighbour, solid=solid)
    gained, lost = gains_and_losses(solid.candidate.figures, option.candidate.figures)
    stands = stood(gained, lost, option.titles)
    return replace(neighbour, stands=stands, gained=gained, lost=lost, solid=solid)


def _gain(neighbour: LesserRow) -> float:
    """Return how much better a neighbour is, as shares of its figures; 0 for one that is not."""
    if neighbour.stands != "better" or neighbour.candidate is None:
        return 0.0
    figures = neighbour.candidate.figures
    shares: list[float] = [
        gain / (getattr(figures, name) + gain) for name, gain in neighbour.gained.items()
    ]
    return sum(shares)

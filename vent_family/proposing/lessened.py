"""The last steps of a search: from the best rows whatever they can do without is taken away.

The search goes by values that are some way apart. Here one thing of a row gets less, in steps as
fine as anybody would draw, as long as that makes a better row; what helps goes on in longer steps,
and together. Each row is taken to the end at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.crew import Crew
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.lesser import TURNS, LesserRow, less, lesser_rows
from vent_family.proposing.search import Found, front_of
from vent_family.proposing.titles import titled
from vent_family.spec.changes import Change, applied
from vent_family.spec.resolve import resolve

_STRIDES: Final = (1, 2, 4)
"""Steps that are taken at once along all that has helped."""


def lessened(
    found: Found, crew: Crew, rounds: int, told: Callable[[Found], None] = lambda found: None
) -> None:
    """Try the best rows by each aim with one thing less, and what is better of these in turn.

    Parameters
    ----------
    found
        what was met; what is tried is added
    crew
        who judges
    rounds
        how often it is begun anew from what is best then, at most
    told
        told after every round; may raise to end
    """
    early: dict[CatalogRow, Candidate] = {}
    for _ in range(rounds):
        best = {c.row: titles for c, titles in titled(front_of(found.ended)).items()}
        near = lesser_rows(best, crew, found.met, early=early)
        tried = [n.candidate for of_one in near.values() for n in of_one if n.candidate is not None]
        news = found.reach(tried)
        helped = {row: [n for n in of_one if n.stands == "better"] for row, of_one in near.items()}
        ahead = [r for row, better in helped.items() for r in _ahead(row, better, crew)]
        new = [row for row in dict.fromkeys(ahead) if row not in found.met]
        news |= found.reach(crew.to_the_end(crew.judge(new)))
        told(found)
        if not news:
            return


def _ahead(row: CatalogRow, better: list[LesserRow], crew: Crew) -> Iterator[CatalogRow]:
    """Yield a row with less of all that has helped, in strides of several lengths."""
    columns = {n.column for n in better}
    spec = resolve(row, crew.enquiry.attached(row))
    for stride in _STRIDES if columns else ():
        change: Change = {}
        for turn in (t for t in TURNS if t.column in columns):
            step = less(spec, replace(turn, step=stride * turn.step))
            if step is not None and step[2] is not None:
                change = {**change, **step[2]}
        yield applied(row, change)

"""What is proposed: rows to choose from, each the best by something, confirmed on its solid."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from vent_family.catalog.model import CatalogRow
from vent_family.evidence.cost.sheet import PartToPrint
from vent_family.evidence.result import CheckResult
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import Candidate, Margin
from vent_family.proposing.run import USUAL, Depth, Front, Step, front_for
from vent_family.proposing.search import AIMS, Found, aims_of, front_of
from vent_family.proposing.space import RowSpace

TITLES: Final = {
    "price": "cheapest",
    "rise_k": "coolest",
    "depth_mm": "shallowest",
    "passed_ml": "driest",
}
"""What the best row by an aim is called."""
BALANCED: Final = "balanced"
"""What the row is called that gives away least by any aim."""

NOTICED: Final[Mapping[str, float]] = {
    "price": 0.005,
    "rise_k": 0.05,
    "depth_mm": 0.05,
    "passed_ml": 0.5,
}
"""By how much figures must differ for anybody to notice: money, K, mm and mL."""


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
    asked. ``refused`` are rows that their solids did not confirm. ``front`` holds all rows that no
    other surpasses, and how many were tried.
    """

    enquiry: Enquiry
    options: tuple[Option, ...]
    refused: tuple[Confirmed, ...]
    front: Front
    seed: int


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
    refused: tuple[Confirmed, ...] = ()
    try:
        options, refused = chosen(front.candidates, crew, front.found, told)
    except KeyboardInterrupt:
        front = replace(front, interrupted=True)
        options = tuple(Option(names, c, ()) for c, names in titled(front.candidates).items())
    return Proposal(crew.enquiry, options, refused, front, seed)


def chosen(
    front: Sequence[Candidate], crew: Crew, found: Found, told: Step
) -> tuple[tuple[Option, ...], tuple[Confirmed, ...]]:
    """Return options that their solids confirm, and rows that these did not.

    Where a row is not confirmed, the next best takes its place; its true price counts from then on.
    """
    left = {c.row: c for c in front}
    good: dict[CatalogRow, Confirmed] = {}
    refused: list[Confirmed] = []
    while True:
        titles = titled(front_of(list(left.values())))
        new = [c for c in titles if c.row not in good]
        if not new:
            break
        told("solids", len(good), len(titles), found)
        for known in crew.confirm(new):
            row = known.candidate.row
            if known.good:
                good[row], left[row] = known, known.candidate
            else:
                refused.append(known)
                del left[row]
    options = [
        Option(names, c, good[c.row].checks, good[c.row].bodies) for c, names in titles.items()
    ]
    options.sort(key=lambda o: aims_of(o.candidate.figures))
    return tuple(options), tuple(refused)


def titled(front: Sequence[Candidate]) -> dict[Candidate, tuple[str, ...]]:
    """Return the best row by each aim and the one between, with what each is called.

    An aim by which nobody would notice a difference gives no title.
    """
    found: dict[Candidate, tuple[str, ...]] = {}
    if not front:
        return found
    table = [aims_of(c.figures) for c in front]
    spans = [(min(column), max(column)) for column in zip(*table, strict=True)]
    apart = {k: s for k, s in enumerate(spans) if s[1] - s[0] > NOTICED[AIMS[k]]}
    for k, name in enumerate(AIMS):
        if k in apart or name == AIMS[0]:
            best = front[min(range(len(front)), key=lambda i: (table[i][k], table[i]))]
            found[best] = (*found.get(best, ()), TITLES[name])

    def given_away(i: int) -> float:
        """Return what a row gives away by the aim in which it does worst, as share of the span."""
        row = table[i]
        shares: list[float] = [(row[k] - low) / (high - low) for k, (low, high) in apart.items()]
        return max(shares)

    if apart:
        between = front[min(range(len(front)), key=lambda i: (given_away(i), table[i]))]
        found[between] = (*found.get(between, ()), BALANCED)
    return found

"""The smallest opening that would do, found by trying every size with the same set of designs.

Nothing is left to chance, and no size is judged by what another one gave: more heat, or more in the
way of the air, can only take designs away, so that the answer never becomes smaller by it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.crew import Crew
from vent_family.proposing.ladder import Candidate
from vent_family.proposing.openings import area_mm2
from vent_family.proposing.proposal import Option, Proposal
from vent_family.proposing.run import Step
from vent_family.proposing.search import aims_of
from vent_family.proposing.sizes import up_to
from vent_family.proposing.space import RowSpace, space_of
from vent_family.spec.forms import FORMS

DESIGNS: Final[Mapping[str, tuple[Any, ...]]] = {
    "slat_form": tuple(form.name for form in FORMS),
    "bank_count": (None, 1),
}
"""Cells of the designs that are tried in every opening, by column; ``None`` for blank."""
SMALLEST: Final = "smallest opening"
"""What the option with the smallest opening is called."""
_AT_ONCE: Final = 8
"""Sizes that are judged at once."""
_HEAD: Final = "head_diameter_mm"
_EVERY: Final = 5
"""Of the diameters of round heads every fifth is tried."""


@dataclass(frozen=True)
class SmallestOpening:
    """The smallest opening in which one of the designs does what is asked.

    ``candidate`` is the cheapest of them there; ``tried`` counts rows that were judged on the way.
    """

    size: str
    candidate: Candidate
    tried: int


def smallest_opening(
    crew: Crew,
    *,
    designs: Mapping[str, tuple[Any, ...]] = DESIGNS,
    told: Callable[[int, int], None] = lambda at, of: None,
) -> SmallestOpening | None:
    """Return the smallest opening by area that does what is asked, ``None`` if none does.

    Tried are the sizes that a requirement names, or every one up to the largest that it allows.

    Parameters
    ----------
    crew
        who judges, and by what
    designs
        values of cells, by column; each is tried with each, in every size
    told
        told how many sizes were tried, and how many there are
    """
    opening = crew.enquiry.asked.opening
    sizes = up_to(opening.at_most) if opening.at_most else opening.sizes
    sizes = tuple(sorted(dict.fromkeys(sizes), key=lambda size: (area_mm2(size), size)))
    space = space_of(crew.enquiry.asked, designs)
    tried = 0
    for first in range(0, len(sizes), _AT_ONCE):
        told(first, len(sizes))
        batch = sizes[first : first + _AT_ONCE]
        rows = [row for size in batch for row in _rows(space, size)]
        tried += len(rows)
        kept: dict[str, list[Candidate]] = {size: [] for size in batch}
        for candidate in crew.judge(rows):
            if candidate.kept:
                kept[candidate.row.size].append(candidate)
        for size in batch:
            ended = [c for c in crew.to_the_end(crew.wet(kept[size])) if c.kept]
            if ended:
                return SmallestOpening(size, min(ended, key=lambda c: aims_of(c.figures)), tried)
    return None


def with_smallest(proposal: Proposal, crew: Crew, told: Step) -> Proposal:
    """Return a proposal with the smallest opening that would do as one more option.

    Nothing is added where the opening is given, where one of the options has as small a one, or
    where the solid is not good.

    Parameters
    ----------
    proposal
        the proposal
    crew
        who judges, and by what
    told
        told how many sizes were tried; may raise to end
    """
    if crew.enquiry.asked.opening.at_most is None:
        return proposal
    found = proposal.front.found
    smallest = smallest_opening(crew, told=lambda at, of: told("smallest", at, of, found))
    least = min((area_mm2(o.row.size) for o in proposal.options), default=math.inf)
    if smallest is None or area_mm2(smallest.size) >= least:
        return proposal
    (solid,) = crew.confirm([smallest.candidate])
    built = (*proposal.built, solid)
    if not solid.good:
        return replace(proposal, built=built)
    option = Option((SMALLEST,), solid.candidate, solid.checks, solid.bodies)
    return replace(proposal, options=(*proposal.options, option), built=built)


def _rows(space: RowSpace, size: str) -> list[CatalogRow]:
    """Return the designs in one size, alike ones once."""
    places = [
        [i for i, value in enumerate(knob.values) if knob is not space.knobs[0] or value[1] == size]
        for knob in space.knobs
    ]
    few = [p[::_EVERY] if k.name == _HEAD else p for k, p in zip(space.knobs, places, strict=True)]
    return list(dict.fromkeys(space.row(genes) for genes in itertools.product(*few)))

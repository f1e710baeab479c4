"""A proposal as it is told, to people and to machines: plain data, every figure rounded once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from vent_family.base.said import said
from vent_family.catalog.model import DRY, Status
from vent_family.evidence.cost.sheet import ORDERS, PartToPrint, order_cost
from vent_family.proposing.answer import RequirementAnswer
from vent_family.proposing.constraints import Relaxation
from vent_family.proposing.enquiry import TRIAL_NUMBER, Enquiry
from vent_family.proposing.figures import (
    FiguresTold,
    MarginTold,
    figures_told,
    margin_told,
    proposed_cells,
    row_words,
)
from vent_family.proposing.known import Carried, KnownPart
from vent_family.proposing.ladder import RUNGS
from vent_family.proposing.lesser import LesserRow
from vent_family.proposing.neighbourly import (
    NeighbourTold,
    neighbour_told,
    short_words,
    stopped_words,
)
from vent_family.proposing.proposal import Option
from vent_family.release.cautions import CAUTION
from vent_family.spec.changes import cell_text
from vent_family.spec.resolve import resolve

NEAREST: Final = 3
"""So many parts of the catalogue that do not do what is asked are told."""


@dataclass(frozen=True, slots=True)
class KnownTold:
    """A part of the catalogue under what is asked.

    ``figures`` are ``None`` for a part that breaks a rule under it; ``lacks`` says in words what
    it lacks, nothing where it does what is asked; ``binding`` is the constraint of which least is
    left.
    """

    part_number: str
    status: Status
    does_it: bool
    figures: FiguresTold | None
    binding: MarginTold | None
    lacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PriceTold:
    """What one part costs in an order of so many; ``price`` in money."""

    parts: int
    price: float


@dataclass(frozen=True, slots=True)
class OptionTold:
    """A row to choose.

    ``titles`` say what it is best in, ``words`` what it is, ``cells`` hold its cells by column as
    a catalogue writes them. ``confirmed`` tells whether its solid was built and passed every check
    of a release. ``prices`` are those of other orders. ``why_not`` says what became of the same
    row with one thing less.
    """

    number: int
    titles: tuple[str, ...]
    words: str
    cells: dict[str, str]
    confirmed: bool
    figures: FiguresTold
    prices: tuple[PriceTold, ...]
    binding: MarginTold
    margins: tuple[MarginTold, ...]
    why_not: tuple[NeighbourTold, ...]


@dataclass(frozen=True, slots=True)
class RefusedTold:
    """A row that did all that is asked until its solid was built; ``failed`` says what it lacks."""

    cells: dict[str, str]
    failed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RelaxedTold:
    """An entry of the requirement, and what it would have to say so that something does the rest.

    ``asked`` is what it says, ``needed`` what would do, both in the unit that ``unit`` names;
    ``None`` where nothing helps, however far this entry alone gives way. ``part_number`` is that of
    a part of the catalogue that would do then, ``None`` for a new row.
    """

    entry: str
    unit: str
    asked: float | str
    needed: float | str | None
    part_number: str | None
    words: str


@dataclass(frozen=True, slots=True)
class NearestTold:
    """The new row that came farthest where none does what is asked, and all that it lacks."""

    words: str
    cells: dict[str, str]
    lacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TriedTold:
    """How many rows were drawn, how many of them were unlike, and how many came to each rung."""

    drawn: int
    unlike: int
    reached: dict[str, int]
    front: int
    seed: int


@dataclass(frozen=True, slots=True)
class ProposalTold:
    """All that is told of a proposal.

    ``asked`` is the requirement in words, ``wet`` whether it asks about water. ``known`` are parts
    of the catalogue, those that do what is asked first; ``relaxed`` says, where
    nothing does it, what would have to be given up, and ``nearest`` what then came farthest.
    ``interrupted`` tells that the search was
    broken off.
    """

    requirement: str
    asked: str
    wet: bool
    quantity: int
    currency: str
    rates: str
    known: tuple[KnownTold, ...]
    options: tuple[OptionTold, ...]
    refused: tuple[RefusedTold, ...]
    relaxed: tuple[RelaxedTold, ...]
    nearest: NearestTold | None
    tried: TriedTold
    interrupted: bool
    caution: str = CAUTION


def proposal_told(answer: RequirementAnswer) -> ProposalTold:
    """Return the answer to a requirement as it is told.

    Raises
    ------
    InputError
        if an option's row breaks a rule
    """
    proposal = answer.proposal
    enquiry, found = proposal.enquiry, proposal.front.found
    shop = enquiry.rates.shop
    does = [k for k in answer.known if k.does_it]
    lacks = [k for k in answer.known if not k.does_it][:NEAREST]
    return ProposalTold(
        requirement=enquiry.asked.name,
        asked=asked_words(enquiry),
        wet=enquiry.wet,
        quantity=enquiry.asked.order.quantity,
        currency=shop.currency,
        rates=enquiry.rates.source,
        known=tuple(_known_told(k, enquiry) for k in (*does, *lacks)),
        options=tuple(
            _option_told(i, o, answer.near.get(o.row, ()), enquiry)
            for i, o in enumerate(proposal.options, start=1)
        ),
        refused=tuple(
            RefusedTold(proposed_cells(c.candidate.row), c.failed) for c in proposal.refused
        ),
        relaxed=tuple(_relaxed_told(r) for r in answer.relaxed),
        nearest=_nearest_told(answer.nearest, enquiry),
        tried=TriedTold(
            found.drawn,
            len(found.met),
            found.reached,
            len(proposal.front.candidates),
            proposal.seed,
        ),
        interrupted=answer.interrupted,
    )


def asked_words(enquiry: Enquiry) -> str:
    """Return what a vent must do in one line.

    Examples
    --------
    >>> from vent_family.proposing.requirement import requirement_of
    >>> from vent_family.proposing.enquiry import enquiry_of
    >>> asked_words(enquiry_of(requirement_of({
    ...     "opening": {"size": "M32x1.5"}, "air": {"draught_height_m": 0.5},
    ...     "cabinet": {"heat_w": 8, "ambient_c": 30, "limit_c": 45}})))
    'opening M32x1.5; 8 W, 30 degC outside, at most 45 inside; draught over 0.5 m; rain: holds;
    1,000 pieces'
    """
    asked, cabinet = enquiry.asked, enquiry.cabinet
    opening, air, water, order = asked.opening, asked.air, asked.water, asked.order
    most = "at most " if opening.at_most else ""
    words = [f"opening {most}{' or '.join(asked.sizes)}"]
    if cabinet is not None:
        inside = f"{said(cabinet.ambient_c)} degC outside, at most {said(cabinet.limit_c)} inside"
        words.append(f"{said(cabinet.heat_w)} W, {inside}")
    if air.fan:
        words.append(f"fan {' or '.join(air.fan)}")
    if air.draught_height_m is not None:
        words.append(f"draught over {said(air.draught_height_m)} m")
    words.append(f"{water.exposure}: {water.at_least}" if enquiry.wet else DRY)
    words.append(f"{order.quantity:,} pieces")
    return "; ".join(words)


def _option_told(
    number: int, option: Option, near: Sequence[LesserRow], enquiry: Enquiry
) -> OptionTold:
    spec = resolve(option.row, enquiry.attached(option.row))
    currency = enquiry.rates.shop.currency
    return OptionTold(
        number=number,
        titles=option.titles,
        words=row_words(spec),
        cells=proposed_cells(option.row),
        confirmed=option.confirmed,
        figures=figures_told(option.candidate, enquiry, spec),
        prices=prices_told(option.bodies, enquiry, ORDERS),
        binding=margin_told(option.binding),
        margins=tuple(margin_told(m) for m in option.candidate.margins),
        why_not=tuple(neighbour_told(n, currency) for n in near),
    )


def prices_told(
    bodies: Sequence[PartToPrint], enquiry: Enquiry, orders: Sequence[int]
) -> tuple[PriceTold, ...]:
    """Return what bodies cost in orders of several sizes; nothing where there are no bodies."""
    shop = enquiry.rates.shop
    return tuple(
        PriceTold(n, round(order_cost(bodies, n, shop).price, 2)) for n in orders if bodies
    )


def _known_told(known: KnownPart, enquiry: Enquiry) -> KnownTold:
    candidate, binding = known.candidate, known.binding
    laid_out = candidate.rung != RUNGS[0]
    lacks = [f"{d.name} {d.has} in place of {d.asked}" for d in known.differs]
    lacks += _lacks(known.carried)
    if not known.does_it and not lacks:
        lacks.append(stopped_words(candidate))
    return KnownTold(
        known.row.part_number,
        known.row.status,
        known.does_it,
        figures_told(candidate, enquiry) if laid_out else None,
        None if binding is None or not known.does_it else margin_told(binding),
        tuple(lacks),
    )


def _lacks(found: Carried) -> list[str]:
    """Return in words all that a row lacks."""
    short = [short_words(m, found.candidate.reason) for m in found.lacks]
    return [*short, *found.refused]


def _nearest_told(found: Carried | None, enquiry: Enquiry) -> NearestTold | None:
    """Return a row and what it lacks; nothing of one that breaks a rule."""
    if found is None or found.candidate.rung == RUNGS[0]:
        return None
    row = found.candidate.row
    words = row_words(resolve(row, enquiry.attached(row)))
    return NearestTold(words, proposed_cells(row), tuple(_lacks(found)))


def _relaxed_told(found: Relaxation) -> RelaxedTold:
    unit = "" if found.unit in ("", "1") else f" {found.unit}"
    asked = cell_text(found.asked)
    if found.needed is None:
        words = f"{found.entry}: {asked}{unit}, and nothing else that it may say helps"
    else:
        words = f"{found.entry}: {cell_text(found.needed)}{unit} in place of {asked} would do"
    number = None if found.candidate is None else found.candidate.row.part_number
    part = None if number == TRIAL_NUMBER else number
    words += f", with {part}" if part else ""
    return RelaxedTold(found.entry, found.unit, found.asked, found.needed, part, words)

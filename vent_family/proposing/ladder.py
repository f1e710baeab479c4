"""A candidate row through the models of the checks, in order of what they cost.

Each rung gives margins; the first rung with a margin below nothing ends the way up. How far a
candidate came and by how much it fell short is one number, its *lack*, by which a search tells
better rows from worse ones long before any of them does what is asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final, Literal

from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.calibration import UncalibratedError
from vent_family.evidence.air.predicted import looked_into
from vent_family.evidence.cost.foretold import ForetoldPrice, foretold_price, quick_price
from vent_family.evidence.strength.screened import strength_holds
from vent_family.evidence.strength.shells import shell_of
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.wetness import WaterMet, first_look, wetness
from vent_family.spec.refusals import Refusal
from vent_family.spec.resolve import attempted, resolve
from vent_family.spec.vent import VentSpec

Rung = Literal["rules", "room", "air", "price", "strength", "water", "full"]
RUNGS: Final[tuple[Rung, ...]] = (
    *("rules", "room", "air", "price", "strength", "water"),
    "full",
)
"""The rungs, cheapest first. The rules between columns hold the sight line, capillary gaps, and
what printing asks of a row; ``price`` is a rough one; ``water`` sends the first drops only,
``full`` as many as a verdict takes, and prices by the layers of the print."""
SEARCHED: Final[Rung] = "water"
"""The last rung of the search; what it finds is then taken to the end."""

SIGHT: Final = "sight line"
FRONT: Final = "depth in front"
BEHIND: Final = "depth behind"
PRICE: Final = "price"
TEMPERATURE: Final = "temperature"
WATER: Final = "water"
"""Names of margins."""


@dataclass(frozen=True, slots=True)
class Margin:
    """How a candidate stands to one constraint.

    ``value`` and ``limit`` are in the unit that ``unit`` names; ``share`` is what is left, as a
    share of the limit or of what is needed, below zero where the constraint is not kept.
    """

    name: str
    value: float
    limit: float
    unit: str
    share: float

    @property
    def kept(self) -> bool:
        """Whether the constraint is kept."""
        return self.share >= 0.0


@dataclass(frozen=True, slots=True)
class Figures:
    """What a candidate is chosen by; ``None`` where it was not worked out or nothing is asked.

    ``price`` is per part in the order asked for, in the shop's money; ``rise_k`` what the inside is
    warmer, K; ``depth_mm`` from its front to its back, mm; ``passed_ml`` the water that passes at
    most, mL; ``mass_g`` as printed.
    """

    price: float | None = None
    rise_k: float | None = None
    depth_mm: float | None = None
    passed_ml: float | None = None
    mass_g: float | None = None


@dataclass(frozen=True)
class Candidate:
    """A row and how far up the ladder it came.

    ``rung`` is the last that was climbed, whether its margins are kept or not, ``lack`` (1) is 0
    for a row that keeps all constraints looked at, ``reason`` says why one went no further.
    ``waters`` tells what is predicted under each water of the row, once it has met them.
    """

    row: CatalogRow
    rung: Rung
    lack: float
    margins: tuple[Margin, ...] = ()
    figures: Figures = field(default_factory=Figures)
    reason: str = ""
    waters: tuple[WaterMet, ...] = ()

    @property
    def kept(self) -> bool:
        """Whether every constraint looked at so far is kept."""
        return self.lack == 0.0

    @property
    def done(self) -> bool:
        """Whether all rungs of the search were climbed and every constraint is kept."""
        return self.kept and RUNGS.index(self.rung) >= RUNGS.index(SEARCHED)


def price_of(candidate: Candidate) -> float:
    """Return the price of a candidate, money; beyond all others of one that came to none.

    Examples
    --------
    >>> row = CatalogRow(part_number="A", family="round", size="M20x1.5", status="draft")
    >>> price_of(Candidate(row, "rules", 1.0))
    inf
    """
    price = candidate.figures.price
    return math.inf if price is None else price


def refused_words(row: CatalogRow, enquiry: Enquiry) -> tuple[str, ...]:
    """Return in words the rules that a row breaks, nothing where it breaks none."""
    try:
        resolve(row, enquiry.attached(row), advise=False)
    except InputError as error:
        return tuple(p.message for p in error.problems)
    return ()


def judged_row(row: CatalogRow, enquiry: Enquiry, last: Rung = "strength") -> Candidate:
    """Return how far a row comes, up to and with the rung ``last``.

    Raises
    ------
    InputError
        if its thread has no profile
    """
    found = _attempted(row, enquiry)
    if isinstance(found, VentSpec):
        sight = found.section.sight.margin_mm
        margin = Margin(SIGHT, sight, 0.0, "mm", sight / found.section.stack.pitch_mm)
        return _up(Candidate(row, "rules", 0.0, (margin,)), found, enquiry, last)
    first = max(found, key=lambda r: r.stage)
    lack = lack_at("rules", _STAGES - first.stage + first.lack / (1.0 + first.lack))
    return Candidate(row, "rules", lack, reason=first.rule)


def climbed(candidate: Candidate, enquiry: Enquiry, last: Rung) -> Candidate:
    """Return a candidate that is taken farther up, up to and with the rung ``last``.

    Raises
    ------
    InputError
        if its row breaks a rule
    """
    if not candidate.kept or RUNGS.index(candidate.rung) >= RUNGS.index(last):
        return candidate
    found = _attempted(candidate.row, enquiry)
    if not isinstance(found, VentSpec):
        found = resolve(candidate.row, enquiry.attached(candidate.row))
    return _up(candidate, found, enquiry, last)


def _attempted(row: CatalogRow, enquiry: Enquiry) -> VentSpec | tuple[Refusal, ...]:
    return enquiry.once("vent", row, lambda: attempted(row, enquiry.attached(row)))


def _up(candidate: Candidate, spec: VentSpec, enquiry: Enquiry, last: Rung) -> Candidate:
    """Take a candidate that keeps all so far up to a rung, as far as it keeps what is met there."""
    for rung in RUNGS[RUNGS.index(candidate.rung) + 1 : RUNGS.index(last) + 1]:
        if not candidate.kept:
            break
        candidate = _with_keeps(_CLIMBS[rung](candidate, spec, enquiry), spec, enquiry)
    return candidate


def _with_keeps(candidate: Candidate, spec: VentSpec, enquiry: Enquiry) -> Candidate:
    """Hold a candidate that keeps all else on its rung against what the enquiry adds there."""
    keeps = [k for k in enquiry.keeps if candidate.rung in k.rungs]
    if not candidate.kept or not keeps:
        return candidate
    margins = tuple(m for keep in keeps for m in keep.margins(spec, candidate))
    left = _without(candidate, *(m.name for m in margins))
    return _on(left, candidate.rung, margins, candidate.figures)


def lack_at(rung: Rung, short: float) -> float:
    """Return the lack (1) of a candidate that falls short at a rung by ``short`` (1), above 0.

    Whoever comes a rung farther lacks less, by however much it falls short there.

    Examples
    --------
    >>> lack_at("water", 0.0) < lack_at("water", 3.0) < lack_at("strength", 0.1)
    True
    """
    left = len(RUNGS) - 1 - RUNGS.index(rung)
    return left + 1.0 - 1.0 / (1.001 + short)


def _on(
    candidate: Candidate, rung: Rung, margins: tuple[Margin, ...], figures: Figures
) -> Candidate:
    """Return a candidate on its next rung with the margins and figures found there."""
    short = sum(-m.share for m in margins if not m.kept)
    worst = min(margins, key=lambda m: m.share, default=None)
    kept = worst is None or worst.kept
    return replace(
        candidate,
        rung=rung,
        lack=0.0 if kept else lack_at(rung, short),
        margins=(*candidate.margins, *margins),
        figures=figures,
        reason="" if kept or worst is None else worst.name,
    )


_STAGES: Final = 8
"""More stages than any row is refused in."""


def _room(candidate: Candidate, spec: VentSpec, enquiry: Enquiry) -> Candidate:
    """Hold the vent's reach in front of the wall and behind it against the room there is."""
    asked = enquiry.asked.opening
    reach = {
        FRONT: (spec.in_front_mm, asked.in_front_most_mm),
        BEHIND: (spec.behind_mm, asked.behind_most_mm),
    }
    margins = tuple(
        Margin(name, value, most, "mm", (most - value) / most)
        for name, (value, most) in reach.items()
        if most is not None
    )
    figures = replace(candidate.figures, depth_mm=spec.in_front_mm + spec.behind_mm)
    return _on(candidate, "room", margins, figures)


def _air(candidate: Candidate, spec: VentSpec, enquiry: Enquiry) -> Candidate:
    """Ask whether the cabinet stays cool, with the reserve and the band that the check asks for."""
    try:
        question = enquiry.question(spec)
        if question is None:
            return _on(candidate, "air", (), candidate.figures)
        found = looked_into(question)
    except (UncalibratedError, InputError) as error:
        return _no_air(candidate, str(error))
    if found.cooling is None:
        return _no_air(candidate, found.short_of[0])
    allowed, needed = question.cabinet.allowed_rise_k, found.needed_k
    share = -_NO_AIR if needed is None else allowed / needed - 1.0
    if share >= 0.0 and not found.holds:
        # The fan's stall, or several flows on which fan and vents agree: no matter of degrees.
        share = -_STALLS
    value = question.cabinet.ambient_c + (allowed if needed is None else needed)
    margin = Margin(TEMPERATURE, value, question.cabinet.limit_c, "degC", share)
    return _on(candidate, "air", (margin,), replace(candidate.figures, rise_k=found.cooling.rise_k))


def _no_air(candidate: Candidate, why: str) -> Candidate:
    """Return a candidate through which no air is predicted to pass."""
    lack = lack_at("air", _NO_AIR)
    return replace(candidate, rung="air", lack=lack, reason=f"temperature: {why}")


_NO_AIR: Final = 9.0
"""By what share a vent falls short through which so little passes that nothing is predicted."""
_STALLS: Final = 0.05
"""By what share one falls short that would be cool but with whose fan one cannot be sure."""


def _price(candidate: Candidate, spec: VentSpec, enquiry: Enquiry) -> Candidate:
    """Price a row roughly, and refuse what does not fit on the bed or costs too much at least."""
    order = enquiry.asked.order
    if enquiry.keeps:
        # Beside a row of which much is kept prices differ by less than a rough one is off.
        found = _foretold(candidate.row, spec, enquiry)
        if found.price is None:
            return _no_bed(candidate, "price")
        least = mean = found.price
    else:
        shop = enquiry.rates.shop
        band = enquiry.once("price", candidate.row, lambda: quick_price(spec, shop, order.quantity))
        if band is None:
            return _no_bed(candidate, "price")
        least, mean = band.low, band.mean
    figures = replace(candidate.figures, price=mean)
    return _on(candidate, "price", _priced(enquiry, mean, least), figures)


def _foretold(row: CatalogRow, spec: VentSpec, enquiry: Enquiry) -> ForetoldPrice:
    shop, quantity = enquiry.rates.shop, enquiry.asked.order.quantity
    return enquiry.once("layers", row, lambda: foretold_price(spec, shop, quantity))


def _priced(enquiry: Enquiry, price: float, least: float) -> tuple[Margin, ...]:
    """Return how a price stands to the most that is asked; nothing where none is.

    What counts is the ``least`` that it may turn out to be, both money.
    """
    most = enquiry.asked.order.price_most
    if most is None:
        return ()
    return (Margin(PRICE, price, most, enquiry.rates.shop.currency, (most - least) / most),)


def _no_bed(candidate: Candidate, rung: Rung) -> Candidate:
    """Return a candidate that ends its way because a body is too large for the shop's bed."""
    lack = lack_at(rung, _NO_BED)
    return replace(candidate, rung=rung, lack=lack, reason="it does not fit the bed")


_NO_BED: Final = 9.0
"""By what share a vent falls short that is too large for the shop's bed."""


def _strength(candidate: Candidate, spec: VentSpec, enquiry: Enquiry) -> Candidate:
    """Load every member that must bear something, and ask what the material stands."""
    shell = shell_of(enquiry.rates.shop.printing)
    found = enquiry.once("strength", candidate.row, lambda: strength_holds(spec, shell))
    least = enquiry.reserve_least
    failing = {check.name for check in found.failing}
    good = enquiry.weak is None or failing <= enquiry.weak
    good = good and (found.holds if least == 1.0 else found.reserve >= least)
    share = found.reserve / least - 1.0
    share = max(share, 0.0) if good else min(share, -_HAIR)
    margin = Margin(found.limited_by, found.reserve, least, "1", share)
    return _on(candidate, "strength", (margin,), candidate.figures)


_HAIR: Final = 1e-3
"""Least share by which a check that fails falls short."""


def _water(candidate: Candidate, spec: VentSpec, enquiry: Enquiry) -> Candidate:
    """Send the first drops and jets at the vent, in its own air."""
    return _wetted(candidate, "water", (), spec, enquiry)


def _full(candidate: Candidate, spec: VentSpec, enquiry: Enquiry) -> Candidate:
    """Price by the layers of the print, and send as many drops as a verdict takes."""
    found = _foretold(candidate.row, spec, enquiry)
    if found.price is None:
        return _no_bed(candidate, "full")
    figures = replace(candidate.figures, price=found.price, mass_g=found.mass_g)
    priced = replace(_without(candidate, PRICE), figures=figures)
    return _wetted(priced, "full", _priced(enquiry, found.price, found.price), spec, enquiry)


def _wetted(
    candidate: Candidate,
    rung: Rung,
    margins: tuple[Margin, ...],
    spec: VentSpec,
    enquiry: Enquiry,
) -> Candidate:
    """Return a candidate on a rung with other margins found there and that of water."""
    if not enquiry.wet:
        return _on(candidate, rung, margins, replace(candidate.figures, passed_ml=0.0))
    at_least = enquiry.asked.water.at_least
    # What is kept of another row is told by as many drops from the first.
    first = partial(wetness, flights=FIRST_FLIGHTS) if enquiry.keeps else first_look
    look = wetness if rung == "full" else first
    found = enquiry.once(rung, candidate.row, lambda: look(spec, at_least))
    margin = Margin(WATER, found.passed_ml, 0.0, "mL", found.share)
    figures = replace(candidate.figures, passed_ml=found.passed_ml)
    known = replace(_without(candidate, WATER), waters=found.each)
    there = _on(known, rung, (*margins, margin), figures)
    wet = there.reason == WATER
    return replace(there, reason=f"water: {found.reason}") if wet else there


def _without(candidate: Candidate, *names: str) -> Candidate:
    """Return a candidate without the margins of some names, which are found anew."""
    left = tuple(m for m in candidate.margins if m.name not in names)
    return replace(candidate, margins=left)


FIRST_FLIGHTS: Final = 0
"""After so many drops no further batch is sent in the search: the first batch only."""


_CLIMBS: Final[dict[Rung, Callable[[Candidate, VentSpec, Enquiry], Candidate]]] = {
    "room": _room,
    "air": _air,
    "price": _price,
    "strength": _strength,
    "water": _water,
    "full": _full,
}

"""An existing row, and cheaper ones around it that keep what is to be kept: its next revision."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from vent_family.base.problems import InputError, Problem
from vent_family.base.rates import Rates, demo_rates
from vent_family.catalog.attached import Attached
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.outcomes import RANK
from vent_family.proposing.around import FINE, TURNED, Around, around
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew, crew_of
from vent_family.proposing.descent import USUAL, Descent, descended
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.keeps import (
    WantedKept,
    changed_fit,
    keeps_of,
    least_reserve,
    rated_flow_m3_h,
    weak_today,
)
from vent_family.proposing.ladder import PRICE, Candidate, Margin, climbed, judged_row, price_of
from vent_family.proposing.requirement import OpeningAsked, OrderAsked, Requirement, WaterAsked
from vent_family.proposing.run import Step
from vent_family.proposing.search import Found
from vent_family.proposing.titles import saving_half, titled_beside
from vent_family.proposing.wetness import WaterMet
from vent_family.release.revisions import next_revision
from vent_family.spec.changes import Change
from vent_family.spec.families import filled_row
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

QUANTITY: Final = 1000
"""Parts in the order that is priced, unless another number is asked for."""
WORTH: Final = 0.01
"""Share of the price that a revision must save at least: common practice, no source."""
OPTIONS: Final = 3
"""Rows to choose from, at most."""
_ANY: Final = 1e-6
"""A reserve of strength that every vent has."""


@dataclass(frozen=True)
class Standing:
    """What is known of a row: price per part in the order, mass as printed, air, water.

    ``price`` is in money, ``flow_m3_h`` is drawn in at the rated pressure, m3/h; ``mass_g`` is the
    vent's own.
    """

    row: CatalogRow
    price: float
    mass_g: float
    flow_m3_h: float
    waters: tuple[WaterMet, ...]


@dataclass(frozen=True)
class Better:
    """A cheaper row, confirmed on its solid, with its revision raised.

    ``titles`` say what it is best in, ``change`` which cells differ from today's, the revision
    aside, ``fit`` in words what of that concerns other parts or the room there is, and ``binding``
    is the constraint of which least is left.
    """

    titles: tuple[str, ...]
    now: Standing
    change: Change
    fit: tuple[str, ...]
    binding: Margin | None

    @property
    def row(self) -> CatalogRow:
        """The row."""
        return self.now.row


@dataclass(frozen=True)
class Improvement:
    """What was found around a row.

    ``options`` are cheaper than ``today``, the cheapest first; none where nothing is. ``tried``
    counts rows that were judged, ``reached`` how many came to each rung of the ladder.
    """

    today: Standing
    wanted: WantedKept
    quantity: int
    currency: str
    options: tuple[Better, ...]
    tried: int
    reached: Mapping[str, int]
    seed: int
    interrupted: bool = False


def improved(
    row: CatalogRow,
    attached: Attached,
    wanted: WantedKept | None = None,
    *,
    rates: Rates | None = None,
    quantity: int = QUANTITY,
    effort: Descent = USUAL,
    ladders: Mapping[str, tuple[Any, ...]] = TURNED,
    fine: int = FINE,
    seed: int = 1,
    workers: int | None = None,
    told: Step = lambda what, at, of, found: None,
) -> Improvement:
    """Return cheaper rows around an existing one.

    What the row is fitted with and meets stays: opening, wall, material, colour, fixing, seal,
    screen, fan, exposure, mounting. Whoever interrupts gets what was found so far.

    Parameters
    ----------
    row
        the row
    attached
        what it names outside itself
    wanted
        what is to be kept, as usual if ``None``
    rates
        the shop's rates, by default the demo's
    quantity
        parts in the order that is priced
    effort
        how much is tried
    ladders
        values by column that are tried besides those nearest to today's
    fine
        steps up and down from today's value that are tried
    seed
        the number from which all chance follows; workers change nothing of what is found
    workers
        number of processes, that of the cores if ``None``
    told
        told of every step

    Raises
    ------
    InputError
        where the row breaks a rule, is retired, does not itself pass what a release must, or has
        no revision after its own
    """
    wanted, rates = wanted or WantedKept(), rates or demo_rates()
    revision = _next(row)
    spec = resolve(row, attached)
    asked = _asked(spec, quantity)
    found = Found()
    told("today", 0, 1, found)
    plain = Enquiry(asked, rates, None, own=attached, reserve_least=_ANY, weak=None)
    with crew_of(plain) as crew:
        known = _today(spec, crew)
    today = _standing(known, spec)
    enquiry = replace(
        plain,
        asked=_cheaper(asked, today),
        keeps=keeps_of(wanted, spec, today.waters),
        reserve_least=least_reserve(wanted, spec, rates),
        weak=weak_today(spec, rates),
    )
    space = around(spec, asked, ladders, fine)
    interrupted = False
    with crew_of(enquiry, workers or os.cpu_count() or 1) as crew:
        try:
            descended(
                space,
                found,
                crew,
                effort=effort,
                seed=seed,
                told=lambda n: told("neighbours", n, effort.rounds, found),
            )
        except KeyboardInterrupt:
            interrupted = True
        told("all drops", 0, effort.ends, found)
        most = (1.0 - WORTH) * today.price
        ended = _ended(found, space, crew, effort.ends, most)
        raised = _Raised(space, revision, spec, most)
        options = _chosen(ended, raised, crew, lambda n, of: told("solids", n, of, found))
    return Improvement(
        today,
        wanted,
        quantity,
        rates.shop.currency,
        options,
        len(found.met),
        found.reached,
        seed,
        interrupted,
    )


def _next(row: CatalogRow) -> str:
    """Return the revision after a row's.

    Raises
    ------
    InputError
        where the row is retired, or there is none
    """
    revision = filled_row(row).revision
    following = next_revision(revision)
    if row.status == "retired":
        problem = Problem(
            "improve.row.retired",
            "a retired part is not made again",
            column="status",
            value=row.status,
            suggestion="name the part that is made in its place",
        )
    elif not following:
        problem = Problem(
            "improve.row.revision",
            "there is no revision after this one",
            column="revision",
            value=revision,
            suggestion="give the part a new number",
        )
    else:
        return following
    raise InputError([replace(problem, part_number=row.part_number)])


def _asked(spec: VentSpec, quantity: int) -> Requirement:
    """Return the requirement that a vent's row states, whatever water does to it."""
    row = filled_row(spec.row)
    return Requirement(
        opening=OpeningAsked(
            size=(spec.row.size,),
            families=(spec.family,),
            panel_thickness_mm=spec.panel_thickness_mm,
        ),
        water=WaterAsked(exposure=row.exposure, at_least="fails"),
        order=OrderAsked(quantity=quantity, material=(spec.material.name,)),
    )


def _cheaper(asked: Requirement, today: Standing) -> Requirement:
    """Return a requirement for no more money, whose water is predicted no worse than it is.

    What saves little alone may save enough with other cells: it counts until the end.
    """
    worst = max((w.outcome for w in today.waters), key=RANK.__getitem__, default="holds")
    return asked.model_copy(
        update={
            "order": asked.order.model_copy(update={"price_most": today.price}),
            "water": asked.water.model_copy(update={"at_least": worst}),
        }
    )


def _today(spec: VentSpec, crew: Crew) -> Confirmed:
    """Return a row as it is, on its solid.

    Raises
    ------
    InputError
        where it does not pass what a release must
    """
    candidate = climbed(judged_row(spec.row, crew.enquiry), crew.enquiry, "full")
    known = crew.confirm([candidate])[0] if candidate.kept else Confirmed(candidate, (), ())
    why = known.failed[0] if known.failed else candidate.reason
    if why:
        raise InputError(
            [
                Problem(
                    "improve.row.fails",
                    f"the row as it is does not pass: {why}",
                    part_number=spec.part_number,
                    suggestion="mend it first, then look for cheaper ones",
                )
            ]
        )
    return known


def _standing(known: Confirmed, spec: VentSpec) -> Standing:
    figures = known.candidate.figures
    assert figures.price is not None
    assert figures.mass_g is not None
    return Standing(
        spec.row, figures.price, figures.mass_g, rated_flow_m3_h(spec), known.candidate.waters
    )


def _ended(
    found: Found, space: Around, crew: Crew, most: int, price_most: float
) -> list[Candidate]:
    """Take rows up the whole ladder, until some keep everything there.

    The cheapest ones, and between them those that save enough with fewest cells changed.
    """
    cheap = sorted((c for c in found.done if price_of(c) <= price_most), key=price_of)
    if not cheap:
        return []
    today = price_of(found.met[space.own])
    enough = saving_half(cheap, today)
    plain = sorted(enough, key=lambda c: (len(space.change(c.row)), price_of(c)))
    pairs = itertools.zip_longest(cheap, plain)
    waiting = list(dict.fromkeys(c for pair in pairs for c in pair if c is not None))
    ended: list[Candidate] = []
    while waiting and len(ended) < most:
        count = most - len(ended)
        ended += [c for c in crew.to_the_end(waiting[:count]) if c.kept]
        waiting = waiting[count:]
    return ended


@dataclass(frozen=True)
class _Raised:
    """Where rows to choose from come from: the space, today's vent, the next revision.

    None may cost more than ``price_most``, money.
    """

    space: Around
    revision: str
    spec: VentSpec
    price_most: float

    def __call__(self, candidate: Candidate) -> Candidate:
        """Return a candidate with its revision raised: what is confirmed is what is written."""
        return replace(candidate, row=candidate.row.model_copy(update={"revision": self.revision}))

    def better(self, known: Confirmed, enquiry: Enquiry) -> Better:
        """Return what is told of a confirmed row."""
        row = known.candidate.row
        made = resolve(row, enquiry.attached(row))
        others = [m for m in known.candidate.margins if m.name != PRICE]
        return Better(
            titles=(),
            now=_standing(known, made),
            change=self.space.change(row),
            fit=changed_fit(self.spec, made),
            binding=min(others, key=lambda m: m.share, default=None),
        )


def _chosen(
    ended: Sequence[Candidate],
    raised: _Raised,
    crew: Crew,
    told: Callable[[int, int], None],
) -> tuple[Better, ...]:
    """Return rows to choose from that their solids confirm; what fails there makes way."""
    left = list(ended)
    good: dict[CatalogRow, Better] = {}
    while True:
        titles = titled_beside(left, lambda row: len(raised.space.change(row)))
        new = [c for c in titles if c.row not in good]
        if not new:
            break
        told(len(good), len(titles))
        confirmed = crew.confirm([raised(c) for c in new])
        for candidate, known in zip(new, confirmed, strict=True):
            left.remove(candidate)
            price = known.candidate.figures.price
            if known.good and price is not None and price <= raised.price_most:
                good[candidate.row] = raised.better(known, crew.enquiry)
                left.append(replace(candidate, figures=known.candidate.figures))
    options = [replace(good[c.row], titles=names) for c, names in titles.items()]
    return tuple(sorted(options, key=lambda o: o.now.price))

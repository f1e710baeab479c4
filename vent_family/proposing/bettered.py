"""Cheaper rows as they are told, to people and to machines: each figure rounded once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from vent_family.base.said import grams, said, three
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.spelled import changed_texts, row_cells
from vent_family.evidence.air.summary import RATED_PA
from vent_family.evidence.outcomes import VERBS, Outcome
from vent_family.proposing.improve import WORTH, Better, Improvement, Standing
from vent_family.proposing.keeps import DROP_ML
from vent_family.proposing.ladder import Margin
from vent_family.proposing.wetness import WaterMet
from vent_family.release.cautions import CAUTION
from vent_family.spec.changes import change_words
from vent_family.spec.families import filled_row


@dataclass(frozen=True, slots=True)
class WaterTold:
    """What is predicted under one exposure; ``passed_ml`` passes at most, mL.

    Of a full jet it is what passes in a minute.
    """

    exposure: str
    outcome: Outcome
    passed_ml: float


@dataclass(frozen=True, slots=True)
class StandingTold:
    """The figures of a row; ``flow_m3_h`` is drawn in at 25 Pa, m3/h.

    ``price`` is per part in the order, money; ``mass_g`` the vent's own as printed, g; ``words``
    say all of them.
    """

    revision: str
    price: float
    mass_g: float
    flow_m3_h: float
    water: tuple[WaterTold, ...]
    words: str


@dataclass(frozen=True, slots=True)
class CellTold:
    """A cell that differs; ``""`` stands for a blank one."""

    column: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class BetterTold:
    """A cheaper row to choose.

    ``saves_percent`` is what it saves of today's price. ``cells`` are those that differ from
    today's, the revision among them, ``change`` says them in words. ``fit_changes`` says what of it
    concerns other parts or the room there is, nothing where all is as it was. ``least_left`` is the
    constraint that stops it from being cheaper still, as far as is known.
    """

    number: int
    titles: tuple[str, ...]
    now: StandingTold
    saves_percent: float
    cells: tuple[CellTold, ...]
    change: str
    fit_changes: tuple[str, ...]
    least_left: str


@dataclass(frozen=True, slots=True)
class ImprovementTold:
    """All that is told of the rows around one; ``tried`` counts rows, ``reached`` by rung.

    ``kept`` is what was to be kept, ``interrupted`` tells that the search was broken off.
    """

    part_number: str
    kept: tuple[str, ...]
    quantity: int
    currency: str
    rates: str
    today: StandingTold
    options: tuple[BetterTold, ...]
    tried: int
    reached: dict[str, int]
    seed: int
    interrupted: bool
    caution: str = CAUTION


def improvement_told(found: Improvement, rates: str) -> ImprovementTold:
    """Return what was found around a row as it is told; ``rates`` says whose they are."""
    return ImprovementTold(
        part_number=found.today.row.part_number,
        kept=tuple(str(found.wanted).split(",")),
        quantity=found.quantity,
        currency=found.currency,
        rates=rates,
        today=_standing(found.today, found.currency),
        options=tuple(_better(i, option, found) for i, option in enumerate(found.options, start=1)),
        tried=found.tried,
        reached=dict(found.reached),
        seed=found.seed,
        interrupted=found.interrupted,
    )


def _better(number: int, option: Better, found: Improvement) -> BetterTold:
    today, now = _standing(found.today, found.currency), _standing(option.now, found.currency)
    return BetterTold(
        number=number,
        titles=option.titles,
        now=now,
        saves_percent=round(100.0 * (1.0 - now.price / today.price), 1),
        cells=cells_told(found.today.row, option.row),
        change=change_words(option.change),
        fit_changes=option.fit,
        least_left="" if option.binding is None else _left(option.binding),
    )


def cells_told(before: CatalogRow, now: CatalogRow) -> tuple[CellTold, ...]:
    """Return the cells in which a row differs from what it was."""
    old = row_cells(before)
    changed = changed_texts(before, now)
    return tuple(CellTold(name, old.get(name, ""), text) for name, text in changed.items())


def _standing(known: Standing, currency: str) -> StandingTold:
    price, flow = round(known.price, 2), float(three(known.flow_m3_h))
    water = tuple(WaterTold(w.name, w.outcome, round(w.passed_ml, 1) + 0.0) for w in known.waters)
    words = [
        f"{price:.2f} {currency}",
        f"{grams(known.mass_g)} g",
        f"{three(flow)} m3/h at {RATED_PA:g} Pa",
        *(_water(w) for w in known.waters),
    ]
    return StandingTold(
        revision=filled_row(known.row).revision,
        price=price,
        mass_g=float(grams(known.mass_g)),
        flow_m3_h=flow,
        water=water,
        words="; ".join(words),
    )


def _water(water: WaterMet) -> str:
    much = f"up to {three(water.passed_ml)} mL pass" if water.passed_ml >= DROP_ML else "dry"
    return f"{water.name}: predicted to {VERBS[water.outcome]}, {much}"


def _left(margin: Margin) -> str:
    """Return how a row stands to the constraint of which it has least left.

    Examples
    --------
    >>> _left(Margin("flow", 5.803, 5.741, "m3/h", 0.011))
    'flow 5.8 m3/h, 5.74 m3/h to be kept'
    >>> _left(Margin("fit", 0.0, 0.0, "1", 1.0))
    'fit'
    """
    name = margin.name.removeprefix("strength: ")
    if not margin.limit:
        return name if margin.unit == "1" else f"{name}, by {said(margin.value)} {margin.unit}"
    unit = "" if margin.unit == "1" else f" {margin.unit}"
    return f"{name} {three(margin.value)}{unit}, {three(margin.limit)}{unit} to be kept"


def improvement_lines(told: ImprovementTold) -> Iterator[str]:
    """Yield what was found around a row line by line."""
    kept = ", ".join(told.kept)
    yield (
        f"{told.part_number}, revision {told.today.revision}, {told.quantity:,} pieces, prices by"
        f" {told.rates}:"
    )
    yield f"   today: {told.today.words}."
    yield f"   Kept: {kept}."
    if told.interrupted:
        yield "Interrupted: this is the best so far."
    if not told.options:
        yield (
            f"Nothing at least {100.0 * WORTH:g} % cheaper was found among {told.tried:,} rows"
            f" tried (seed {told.seed})."
        )
    for option in told.options:
        yield f"{option.number}. {', '.join(option.titles).capitalize()}: {option.now.words}."
        yield (
            f"   {option.saves_percent:g} % less; as revision {option.now.revision}:"
            f" {option.change}."
        )
        if option.fit_changes:
            yield f"   What concerns its fit: {'; '.join(option.fit_changes)}."
        else:
            yield "   It fits as before."
        yield f"   Least is left of: {option.least_left}."
    if told.options:
        yield f"{told.tried:,} rows tried (seed {told.seed})."
    yield told.caution

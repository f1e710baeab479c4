"""The entries of a requirement that may keep every row out, and what each would have to say.

Each is freed alone, all others kept; what a row then needs of it is read from the row's figures.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from vent_family.base.limits import CABINET_LIMIT_MAX, REACH_MOST
from vent_family.catalog.attached import packaged_fans
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import MATERIAL_NAMES
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.outcomes import RANK
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.entries import changed
from vent_family.proposing.ladder import (
    BEHIND,
    FRONT,
    PRICE,
    TEMPERATURE,
    WATER,
    Candidate,
    price_of,
)
from vent_family.proposing.openings import area_mm2, larger_sizes
from vent_family.spec.changes import cell_text
from vent_family.spec.defaults import COMMON

Need = float | str
"""What an entry says: a number in the entry's unit, or a word."""
BLANK: Final = "blank"
"""What a cell is called that is left to its default."""
_ANY_PRICE: Final = 1e9
"""More than any vent costs, in any money."""


@dataclass(frozen=True)
class Constraint:
    """One entry, and how it is freed.

    ``entry`` is its section and name; ``unit`` that of its value, "" for a word; ``asked`` is what
    it says. In the enquiry ``free`` it keeps nothing out any more, or only what is worse than some
    word. ``margin`` names the margin that it limits, "" where it says which rows there are.
    ``cost`` is by how much a row relaxes it, less is better; ``need`` what the entry must say for
    the row, and ``at`` the enquiry in which it says so.
    """

    entry: str
    unit: str
    asked: Need
    free: Enquiry
    margin: str
    cost: Callable[[Candidate], float]
    need: Callable[[Candidate], Need]
    at: Callable[[Need], Enquiry]


@dataclass(frozen=True)
class Relaxation:
    """One entry of a requirement, and what it would have to say for something to do the rest.

    ``entry`` is its section and name, ``asked`` what it says, in ``unit``, "" for a word.
    ``needed`` is what would do, ``None`` where nothing helps however far the entry gives way;
    ``candidate`` the row that would then do it, judged with it.
    """

    entry: str
    unit: str
    asked: Need
    needed: Need | None = None
    candidate: Candidate | None = None

    @property
    def helps(self) -> bool:
        """Whether the entry alone keeps out a row that does all the rest."""
        return self.candidate is not None


def constraints_of(enquiry: Enquiry) -> tuple[Constraint, ...]:
    """Return the entries of a requirement that could be relaxed.

    Of an entry with several words less to ask each stands alone, the one that asks most first.
    """
    return (
        *_openings(enquiry),
        *_depths(enquiry),
        *_cooling(enquiry),
        *_moved(enquiry),
        *_water(enquiry),
        *_order(enquiry),
        *_cells(enquiry),
    )


def _openings(enquiry: Enquiry) -> list[Constraint]:
    opening = enquiry.asked.opening
    larger = larger_sizes(opening.sizes)
    if not larger:
        return []

    def at(size: Need) -> Enquiry:
        return changed(enquiry, "opening", size=(str(size),), at_most=None)

    return [
        Constraint(
            "opening.at_most" if opening.at_most else "opening.size",
            "",
            _either(opening.sizes),
            changed(enquiry, "opening", size=larger, at_most=None),
            "",
            cost=lambda c: area_mm2(c.row.size),
            need=lambda c: c.row.size,
            at=at,
        )
    ]


def _depths(enquiry: Enquiry) -> list[Constraint]:
    opening = enquiry.asked.opening
    wanted = (
        ("in_front_most_mm", opening.in_front_most_mm, FRONT),
        ("behind_most_mm", opening.behind_most_mm, BEHIND),
    )
    return [
        _number(enquiry, "opening", entry, most, REACH_MOST.value, name, 0.1, "mm")
        for entry, most, name in wanted
        if most is not None
    ]


def _cooling(enquiry: Enquiry) -> list[Constraint]:
    if enquiry.asked.cabinet is None:
        return []
    limit, most = enquiry.asked.cabinet.limit_c, CABINET_LIMIT_MAX.value
    return [_number(enquiry, "cabinet", "limit_c", limit, most, TEMPERATURE, 0.1, "degC")]


def _moved(enquiry: Enquiry) -> list[Constraint]:
    """Return what moves the air: another fan that is known, and its other place."""
    air = enquiry.asked.air
    if not enquiry.fans or enquiry.cabinet is None:
        return []
    there = {n: text for n, text in packaged_fans().items() if n not in enquiry.fans}
    others = {name: (text, parse_fan(text, name)) for name, text in there.items()}

    def with_fans(*names: str) -> Enquiry:
        kept = {name: others[name] for name in names}
        return changed(replace(enquiry, fans=kept), "air", fan=names)

    found = []
    if others:
        found.append(
            Constraint(
                "air.fan",
                "",
                _either(tuple(enquiry.fans)),
                with_fans(*others),
                "",
                cost=price_of,
                need=lambda c: str(c.row.fan),
                at=lambda name: with_fans(str(name)),
            )
        )
    place = air.fan_position or str(COMMON["fan_position"])
    free = changed(enquiry, "air", fan_position="intake" if place == "outlet" else "outlet")
    elsewhere = Constraint(
        "air.fan_position",
        "",
        place,
        free,
        "",
        cost=price_of,
        need=lambda c: str(free.asked.air.fan_position),
        at=lambda need: free,
    )
    return [*found, elsewhere]


def _water(enquiry: Enquiry) -> list[Constraint]:
    if not enquiry.wet:
        return []
    water = enquiry.asked.water
    found = [
        _word(enquiry, "water", "at_least", water.at_least, outcome)
        for outcome in RANK
        if RANK[outcome] > RANK[water.at_least]
    ]
    kinds = water.exposure.split("/")
    if len(kinds) > 1:
        for kind in kinds:
            left = "/".join(k for k in kinds if k != kind)
            found.append(_word(enquiry, "water", "exposure", water.exposure, left))
    return found


def _word(enquiry: Enquiry, section: str, entry: str, asked: str, less: str) -> Constraint:
    """Return an entry that says a word which asks less; the driest row is the best then."""
    free = changed(enquiry, section, **{entry: less})
    return Constraint(
        f"{section}.{entry}",
        "",
        asked,
        free,
        WATER,
        cost=lambda c: c.figures.passed_ml or 0.0,
        need=lambda c: less,
        at=lambda need: free,
    )


def _order(enquiry: Enquiry) -> list[Constraint]:
    order, opening = enquiry.asked.order, enquiry.asked.opening
    found = []
    if order.price_most is not None:
        money = enquiry.rates.shop.currency
        most = order.price_most
        found.append(_number(enquiry, "order", "price_most", most, _ANY_PRICE, PRICE, 0.01, money))
    every = {size: type(opening)(size=size).families_for(size) for size in opening.sizes}
    families = tuple(dict.fromkeys(f for fit in every.values() for f in fit))
    found += _choice(enquiry, ("opening", "families"), "family", opening.families, families)
    names = tuple(MATERIAL_NAMES)
    found += _choice(enquiry, ("order", "material"), "material", order.material, names)
    ways = COLUMNS["print_orientation"].choices
    column = "print_orientation"
    return [*found, *_choice(enquiry, ("order", column), column, order.print_orientation, ways)]


def _choice(
    enquiry: Enquiry,
    entry: tuple[str, str],
    column: str,
    asked: Sequence[str] | None,
    choices: tuple[str, ...],
) -> list[Constraint]:
    """Return an entry that lists what a cell may be; nothing where it names all there is."""
    others = tuple(c for c in choices if c not in (asked or choices))
    if not others or asked is None:
        return []
    section, name = entry

    def at(need: Need) -> Enquiry:
        return changed(enquiry, section, **{name: (need,)})

    return [
        Constraint(
            f"{section}.{name}",
            "",
            _either(asked),
            changed(enquiry, section, **{name: others}),
            "",
            cost=price_of,
            need=lambda c: str(getattr(c.row, column)),
            at=at,
        )
    ]


def _cells(enquiry: Enquiry) -> list[Constraint]:
    """Return the cells that every row must have: each is left to the search instead."""
    found = []
    for column, value in enquiry.asked.cells.items():
        left = {n: v for n, v in enquiry.asked.cells.items() if n != column}
        asked = enquiry.asked.model_copy(update={"cells": left})
        free = Enquiry(asked, enquiry.rates, enquiry.cabinet, enquiry.fans)
        found.append(_cell(column, value, free))
    return found


def _cell(column: str, value: Need, free: Enquiry) -> Constraint:
    return Constraint(
        f"cells.{column}",
        COLUMNS[column].unit,
        value,
        free,
        "",
        cost=price_of,
        need=lambda c: cell_text(getattr(c.row, column)) or BLANK,
        at=lambda need: free,
    )


def _number(
    enquiry: Enquiry,
    section: str,
    entry: str,
    asked: float,
    most: float,
    margin: str,
    step: float,
    unit: str,
) -> Constraint:
    """Return an entry that is the most of a margin's value; ``step`` is to what it is rounded."""

    def cost(candidate: Candidate) -> float:
        values = [m.value for m in candidate.margins if m.name == margin]
        return price_of(candidate) if margin == PRICE else max(values, default=math.inf)

    def at(need: Need) -> Enquiry:
        return changed(enquiry, section, **{entry: need})

    return Constraint(
        f"{section}.{entry}",
        unit,
        asked,
        changed(enquiry, section, **{entry: most}),
        margin,
        cost=cost,
        need=lambda c: rounded_up(cost(c), step),
        at=at,
    )


def rounded_up(value: float, step: float) -> float:
    """Return the next multiple of ``step`` that is no less than ``value``, both of any unit.

    Examples
    --------
    >>> rounded_up(4.301, 0.01), rounded_up(4.3, 0.1)
    (4.31, 4.3)
    """
    return round(math.ceil(value / step - 1e-9) * step, 9)


def _either(words: Sequence[Any]) -> str:
    return " or ".join(str(w) for w in words)

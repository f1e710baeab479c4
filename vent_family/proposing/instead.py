"""What else of a requirement could give way where its limit of temperature or of price would.

The same rows answer: the coolest ones carry away most heat, the cheapest one is soonest cheap
enough in a larger order.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from vent_family.base.limits import AMBIENT_MIN, ORDER_MOST, VENTS_MAX
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.constraints import Constraint, Need, Relaxation
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.entries import changed
from vent_family.proposing.ladder import PRICE, TEMPERATURE, Candidate, judged_row


@dataclass(frozen=True)
class _Stepped:
    """An entry that gives way in whole steps: what it says after so many, up to ``last``.

    ``at`` is the enquiry with such a value, ``row`` a row with it, ``good`` tells whether the row
    keeps what the entry bears on.
    """

    entry: str
    unit: str
    asked: Need
    last: int
    value: Callable[[int], float]
    at: Callable[[float], Enquiry]
    good: Callable[[CatalogRow, Enquiry], bool]
    row: Callable[[CatalogRow, float], CatalogRow] = lambda row, value: row


def instead(constraint: Constraint, crew: Crew, ended: Sequence[Candidate]) -> list[Relaxation]:
    """Return other entries that could give way in a constraint's place.

    Parameters
    ----------
    constraint
        the constraint that was freed
    crew
        who judges by the requirement as it stands
    ended
        rows that do all else, the one first that needs least
    """
    rows = [c.row for c in ended]
    if constraint.margin == PRICE:
        return [_stepped(_quantity(crew.enquiry), crew, rows[:1])]
    if constraint.margin == TEMPERATURE:
        wanted = [_heat(crew.enquiry), _ambient(crew.enquiry), *_vents(crew.enquiry)]
        return [_stepped(one, crew, rows) for one in wanted]
    return []


def judged_with(crew: Crew, row: CatalogRow, enquiry: Enquiry) -> Candidate:
    """Return a row taken up the whole ladder of a enquiry that is not the crew's own."""
    crew = replace(crew, enquiry=enquiry)
    return crew.to_the_end(crew.judge([row]))[0]


def fewest(good: Callable[[int], bool], last: int) -> int | None:
    """Return the least number from 1 to ``last`` that is good, ``None`` if ``last`` is not.

    Numbers above a good one are taken to be good.

    Examples
    --------
    >>> fewest(lambda n: n * n > 50, 24), fewest(lambda n: n > 24, 24)
    (8, None)
    """
    if last < 1 or not good(last):
        return None
    low, high = 0, last
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if good(middle) else (middle, high)
    return high


def _stepped(one: _Stepped, crew: Crew, rows: Sequence[CatalogRow]) -> Relaxation:
    """Return the fewest steps in which an entry gives way so far that one of the rows does."""
    best: tuple[int, CatalogRow] | None = None
    for row in rows:

        def good(steps: int, row: CatalogRow = row) -> bool:
            value = one.value(steps)
            return one.good(one.row(row, value), one.at(value))

        # A row after the first counts only if it does with fewer steps.
        steps = fewest(good, one.last if best is None else best[0] - 1)
        if steps is not None:
            best = steps, row
    said = Relaxation(one.entry, one.unit, one.asked)
    if best is None:
        return said
    value = one.value(best[0])
    there = judged_with(crew, one.row(best[1], value), one.at(value))
    return replace(said, needed=value, candidate=there) if there.kept else said


def _cool(row: CatalogRow, enquiry: Enquiry) -> bool:
    return judged_row(row, enquiry, "air").kept


def _heat(enquiry: Enquiry) -> _Stepped:
    """Return the heat, in whole W less."""
    assert enquiry.asked.cabinet is not None
    asked = enquiry.asked.cabinet.heat_w
    whole = math.ceil(asked)
    return _Stepped(
        "cabinet.heat_w",
        "W",
        asked,
        whole - 1,
        lambda steps: float(whole - steps),
        lambda heat_w: changed(enquiry, "cabinet", heat_w=heat_w),
        _cool,
    )


def _ambient(enquiry: Enquiry) -> _Stepped:
    """Return the air outside, in tenths of a degree less."""
    assert enquiry.asked.cabinet is not None
    asked = enquiry.asked.cabinet.ambient_c
    return _Stepped(
        "cabinet.ambient_c",
        "degC",
        asked,
        math.floor(10.0 * (asked - AMBIENT_MIN.value)),
        lambda steps: round(math.ceil(10.0 * asked - 1e-9) / 10.0 - 0.1 * steps, 1),
        lambda ambient_c: changed(enquiry, "cabinet", ambient_c=ambient_c),
        _cool,
    )


def _vents(enquiry: Enquiry) -> list[_Stepped]:
    """Return how many vents stand side by side; nothing where no air passes through them."""
    air = enquiry.asked.air
    if not enquiry.fans and air.draught_height_m is None:
        return []

    def row_of(row: CatalogRow, vents: float) -> CatalogRow:
        fanned = row.fan is not None
        return row.model_copy(update={"vents_in_parallel": int(vents) if fanned else None})

    return [
        _Stepped(
            "air.vents",
            "1",
            air.vents,
            int(VENTS_MAX.value) - air.vents,
            lambda steps: air.vents + steps,
            lambda vents: changed(enquiry, "air", vents=int(vents)),
            _cool,
            row_of,
        )
    ]


def _quantity(enquiry: Enquiry) -> _Stepped:
    """Return the order, in parts more."""
    asked = enquiry.asked.order.quantity
    return _Stepped(
        "order.quantity",
        "1",
        asked,
        int(ORDER_MOST.value) - asked,
        lambda steps: asked + steps,
        lambda parts: changed(enquiry, "order", quantity=int(parts)),
        _cheap,
    )


def _cheap(row: CatalogRow, enquiry: Enquiry) -> bool:
    """Return whether a row keeps its price in an order."""
    return judged_row(row, enquiry, "price").kept

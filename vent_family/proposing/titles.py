"""What rows of a front are called, and which differences between two rows anybody would notice."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from vent_family.catalog.model import CatalogRow
from vent_family.proposing.ladder import PRICE, Candidate, Figures, price_of
from vent_family.proposing.search import AIMS, aims_of

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


def titled(front: Sequence[Candidate]) -> dict[Candidate, tuple[str, ...]]:
    """Return the best row by each aim and the one between, with what each is called.

    An aim by which nobody would notice a difference gives no title; of rows between which nobody
    would notice one by an aim the best by the others has its title, the cheapest first.
    """
    found: dict[Candidate, tuple[str, ...]] = {}
    if not front:
        return found
    table = [aims_of(c.figures) for c in front]
    spans = [(min(column), max(column)) for column in zip(*table, strict=True)]
    apart = {k: s for k, s in enumerate(spans) if s[1] - s[0] > NOTICED[AIMS[k]]}
    for k, name in enumerate(AIMS):
        if k in apart or name == AIMS[0]:
            near = [i for i, row in enumerate(table) if row[k] - spans[k][0] <= NOTICED[name]]
            best = front[min(near, key=lambda i: _others_first(table[i], k))]
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


def _others_first(aims: Sequence[float], last: int) -> tuple[float, ...]:
    """Return figures with one of them at the end; of the cheapest its price decides."""
    return tuple(aims) if last == 0 else (*aims[:last], *aims[last + 1 :], aims[last])


def gains_and_losses(mine: Figures, others: Figures) -> tuple[dict[str, float], dict[str, float]]:
    """Return by how much figures are less than others by each aim, and by how much more.

    Differences that nobody would notice are none; what one of both does not know is left out.
    In money, K, mm and mL, as :data:`AIMS` has them.

    Examples
    --------
    >>> mine, other = Figures(price=2.0, rise_k=6.0), Figures(price=2.5, rise_k=5.0)
    >>> gains_and_losses(mine, other)
    ({'price': 0.5}, {'rise_k': 1.0})
    """
    gained, lost = {}, {}
    for name in AIMS:
        a, b = getattr(mine, name), getattr(others, name)
        if a is None or b is None:
            continue
        if b - a > NOTICED[name]:
            gained[name] = b - a
        elif a - b > NOTICED[name]:
            lost[name] = a - b
    return gained, lost


FEWEST: Final = "fewest cells changed"
AIRIEST: Final = "most air"
"""What the row is called that changes least of another one, and the one with most air."""
FLOW: Final = "flow"
"""Name of the margin that tells how much air a row lets in."""
_HALF: Final = 0.5
"""Share of the largest saving that a row with fewer cells changed must bring."""
_MORE_AIR: Final = 0.02
"""Share by which air must differ for anybody to notice: common practice, no source."""


def saving_half(rows: Sequence[Candidate], today: float) -> list[Candidate]:
    """Return the rows that save at least half as much as the cheapest of them.

    ``today`` is the price that they are held against, money.
    """
    most = today - min(price_of(c) for c in rows)
    return [c for c in rows if today - price_of(c) >= _HALF * most]


def titled_beside(
    rows: Sequence[Candidate], changed: Callable[[CatalogRow], int]
) -> dict[Candidate, tuple[str, ...]]:
    """Return the rows to choose from in place of another one, with what each is called.

    The cheapest; the one that changes fewest cells of those that save half as much; and the
    cheapest of those with most air, between which nobody would notice a difference.

    Parameters
    ----------
    rows
        rows that are cheaper than another one
    changed
        tells how many cells of that one a row changes
    """
    found: dict[Candidate, tuple[str, ...]] = {}
    if not rows:
        return found
    cheapest = min(rows, key=price_of)
    today = next(m.limit for m in cheapest.margins if m.name == PRICE)
    fewest = min(saving_half(rows, today), key=lambda c: (changed(c.row), price_of(c)))
    found[cheapest] = (TITLES["price"],)
    found[fewest] = (*found.get(fewest, ()), FEWEST)
    flows = {c: m.value for c in rows for m in c.margins if m.name == FLOW}
    if flows:
        most = max(flows.values())
        airy = [c for c, flow in flows.items() if flow >= (1.0 - _MORE_AIR) * most]
        airiest = min(airy, key=lambda c: (price_of(c), -flows[c]))
        if flows[airiest] > (1.0 + _MORE_AIR) * min(flows[c] for c in found if c in flows):
            found[airiest] = (*found.get(airiest, ()), AIRIEST)
    return found

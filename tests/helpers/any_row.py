"""Rows drawn from the whole range of every column, as the row model states it."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from vent_family.base.limits import BANK_GAP_MAX, GAP_MIN, OPENING_MAX, OPENING_MIN
from vent_family.catalog.attached import packaged_fans
from vent_family.catalog.columns import COLUMNS, Column
from vent_family.catalog.model import EXPOSURE_NAMES, REQUIRED, ROUND_THREADS, CatalogRow
from vent_family.spec.families import FAMILIES

FILLED = (0.03, 0.1, 0.2, 0.35)
"""Share of cells that are filled in: few as in a real catalogue, up to many."""
CHOSEN = 0.35
"""Least share of filled cells in columns that name one of a few things."""
NEAR = 0.5
"""Share of numbers drawn near the default, where most of what people write lies."""
DECIMALS = (0, 1, 2, 2, 3)


def any_cells(random: Random, largest_mm: float = OPENING_MAX.value) -> dict[str, Any]:
    """Return the cells of one row, blanks left out; openings and heads up to ``largest_mm``.

    Every value lies in its column's range; nothing makes the values of two columns fit.
    """
    family = random.choice(COLUMNS["family"].choices)
    share = random.choice(FILLED)
    cells: dict[str, Any] = {"part_number": "ANY", "status": "released", "family": family}
    cells["size"] = _size(random, family, largest_mm)
    blank = FAMILIES[family].filled(CatalogRow(**cells))
    for name, column in COLUMNS.items():
        likely = max(share, CHOSEN) if column.kind == "choice" else share
        if name in REQUIRED or family not in column.families or random.random() >= likely:
            continue
        if column.kind == "text":
            cells[name] = TEXTS[name](random, cells)
        else:
            cells[name] = _cell(random, column, getattr(blank, name))
    head = cells.get("head_diameter_mm")
    if head is not None and head > largest_mm:
        cells["head_diameter_mm"] = largest_mm
    return cells


def _cell(random: Random, column: Column, default: Any) -> Any:
    if column.kind == "choice":
        return random.choice(column.choices)
    assert column.lowest is not None
    assert column.highest is not None
    low, high = column.lowest, column.highest
    if default and random.random() < NEAR:
        low, high = max(low, 0.5 * default), min(high, 1.6 * default)
    if column.kind == "integer":
        return random.randint(round(low), round(high))
    value = _number(random, low, high)
    return column.lowest if column.open_end and value >= column.highest else value


def _number(random: Random, low: float, high: float) -> float:
    """Return a number with up to three decimals; small values are as likely as large ones."""
    upto = random.choice((high, high, low + 0.3 * (high - low)))
    return min(max(round(random.uniform(low, upto), random.choice(DECIMALS)), low), high)


def _size(random: Random, family: str, largest_mm: float) -> str:
    if family == "round":
        return f"{random.choice(ROUND_THREADS)}x1.5"
    width, height = (_number(random, OPENING_MIN.value, largest_mm) for _ in range(2))
    return f"{width:.10g}x{height:.10g}"


def _gaps(random: Random, cells: dict[str, Any]) -> str:
    count = random.choice((1, max(1, cells.get("bank_count", 3) - 1)))
    banks = [_number(random, GAP_MIN.value, BANK_GAP_MAX.value) for _ in range(count)]
    return "/".join(f"{gap:.10g}" for gap in banks)


def _slopes(random: Random, cells: dict[str, Any]) -> str:
    count = cells.get("bank_count", 3)
    return random.choice(("auto", "-".join(random.choice(("in", "out")) for _ in range(count))))


def _exposure(random: Random, cells: dict[str, Any]) -> str:
    kinds = random.sample(EXPOSURE_NAMES, random.randint(1, 3))
    return random.choice(("dry", "/".join(kinds)))


TEXTS: dict[str, Callable[[Random, dict[str, Any]], str]] = {
    "revision": lambda random, _: random.choice(("A", "B2", "ZZZZ")),
    "description": lambda random, _: "x" * random.randint(1, 120),
    "bank_gaps_mm": _gaps,
    "slopes": _slopes,
    "exposure": _exposure,
    "fan": lambda random, _: random.choice(sorted(packaged_fans())),
    "opposite_vent": lambda _, cells: str(cells["part_number"]),
}
"""How each column of text is filled; a new one without an entry fails here."""

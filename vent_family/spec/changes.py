"""Changes of a row: what they may be, in which steps they are tried, how they are told.

A change gives columns their new values; ``None`` clears a cell. It keeps to the columns of the
row's family and to each column's range, and its numbers are as round as people write them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from vent_family.base.limits import BANK_GAP_MAX, GAP_MIN, OPENING_MAX, OPENING_MIN
from vent_family.catalog.columns import COLUMNS, Column, decimal
from vent_family.catalog.model import FAMILIES, ROUND_THREADS, CatalogRow

Change = Mapping[str, Any]
"""New values by column name; ``None`` clears the cell."""

STEPS: Final = MappingProxyType(
    {"mm": 0.1, "deg": 0.5, "1": 0.01, "m/s": 0.05, "Pa": 1.0, "m2": 0.1}
)
"""To what a number of a unit is rounded, in that unit."""
SHARES: Final = (
    *(0.03, 0.06, 0.1, 0.15, 0.22, 0.32, 0.38, 0.45, 0.52, 0.6, 0.8),
    *(1.1, 1.6, 2.5, 4.0, 8.0),
)
"""By which shares of its value a number is turned up and down, in this order."""
BLANK: Final = 0.15
"""What clearing a cell costs, as a share by which a number is turned."""
_HAIR: Final = 1e-9


def step_of(column: Column) -> float:
    """Return to what a column's numbers are rounded, in its unit.

    Examples
    --------
    >>> step_of(COLUMNS["pitch_mm"]), step_of(COLUMNS["bank_count"])
    (0.1, 1.0)
    """
    return 1.0 if column.kind == "integer" else STEPS[column.unit]


def on_step(column: Column, value: float, *, upwards: bool) -> float | int:
    """Return the nearest round number of a column that is no less, or no more, than a value.

    ``value`` is in the column's unit; the result may lie out of the column's range.

    Examples
    --------
    >>> on_step(COLUMNS["pitch_mm"], 8.41, upwards=False), on_step(COLUMNS["wall_mm"], 1.46,
    ...     upwards=True)
    (8.4, 1.5)
    """
    step = step_of(column)
    count = value / step
    whole = math.ceil(count - 1e-6) if upwards else math.floor(count + 1e-6)
    return whole if column.kind == "integer" else round(whole * step, 6)


def nearest(name: str, value: float, most: float) -> list[float]:
    """Return the round numbers a column accepts that differ from a value by ``most`` or less.

    The nearest comes first, of two equally near the greater; the value itself is left out.
    ``value`` and ``most`` are in the column's unit.

    Examples
    --------
    >>> nearest("pitch_mm", 6.5, 0.2), nearest("pitch_mm", 5.04, 0.1)
    ([6.6, 6.4, 6.7, 6.3], [5.0, 5.1])
    """
    column = COLUMNS[name]
    step = step_of(column)
    first, last = (
        math.ceil((value - most) / step - _HAIR),
        math.floor((value + most) / step + _HAIR),
    )
    found = [round(i * step, 6) for i in range(first, last + 1)]
    found = [f for f in found if abs(f - value) > _HAIR and in_range(name, f)]
    return sorted(found, key=lambda f: (round(abs(f - value), 6), -f))


def in_range(name: str, value: Any) -> bool:
    """Return whether a column accepts a value; its own family and other columns not regarded."""
    column = COLUMNS[name]
    if value is None:
        return not column.required
    if column.kind == "choice":
        return value in column.choices
    if column.kind == "text":
        return _text_in_range(name, value)
    low = column.lowest is None or value >= column.lowest
    high = column.highest is None or value <= column.highest
    return low and high and not (column.open_end and value == column.highest)


def _text_in_range(name: str, value: str) -> bool:
    if name == "bank_gaps_mm":
        return all(GAP_MIN.value <= gap <= BANK_GAP_MAX.value for gap in numbers_of(value))
    if name == "size" and not value.startswith("M"):
        sides = [float(side) for side in value.split("x")]
        return all(OPENING_MIN.value <= side <= OPENING_MAX.value for side in sides)
    return True


def possible(row: CatalogRow, change: Change) -> bool:
    """Return whether a change names only columns of the row's family, with values they accept.

    A change that changes nothing is none.
    """
    return any(getattr(row, name) != value for name, value in change.items()) and all(
        row.family in COLUMNS[name].families and in_range(name, value)
        for name, value in change.items()
    )


def applied(row: CatalogRow, change: Change) -> CatalogRow:
    """Return the row with a change made."""
    return row.model_copy(update=dict(change))


def cell_text(value: Any) -> str:
    """Return a value as a cell of the catalogue holds it.

    Examples
    --------
    >>> cell_text(8.4), cell_text(12.0), cell_text(3), cell_text("7.5/3"), cell_text(None)
    ('8.4', '12', '3', '7.5/3', '')
    """
    if value is None:
        return ""
    return decimal(value) if isinstance(value, float) else str(value)


def change_words(change: Change) -> str:
    """Return a change in words.

    Examples
    --------
    >>> change_words({"pitch_mm": 8.1})
    'set pitch_mm to 8.1'
    >>> change_words({"pitch_mm": 8.1, "bank_count": 4, "slopes": None})
    'set pitch_mm to 8.1 and bank_count to 4 and leave slopes blank'
    """
    sets = [f"{name} to {cell_text(value)}" for name, value in change.items() if value is not None]
    blanks = [name for name, value in change.items() if value is None]
    words = [f"set {' and '.join(sets)}"] if sets else []
    words += [f"leave {' and '.join(blanks)} blank"] if blanks else []
    return " and ".join(words)


def numbers_of(text: str) -> tuple[float, ...]:
    """Return the numbers of a cell that holds several with / between them."""
    return tuple(float(part) for part in text.split("/"))


def gaps_text(gaps_mm: Sequence[float]) -> str:
    """Return distances between banks as their cell holds them, rounded up to tenths.

    Examples
    --------
    >>> gaps_text((9.0, 4.01, 4.01)), gaps_text((3.0, 3.0))
    ('9/4.1/4.1', '3')
    """
    cells = [decimal(float(on_step(COLUMNS["bank_gaps_mm"], gap, upwards=True))) for gap in gaps_mm]
    return cells[0] if len(set(cells)) == 1 else "/".join(cells)


def ladder(row: CatalogRow, name: str, now: Any) -> Iterator[tuple[float, Any]]:
    """Yield values worth trying in a column with the share by which each differs, least first.

    ``now`` is what the column's cell means today; ``None`` where it is computed.
    """
    column = COLUMNS[name]
    if getattr(row, name) is not None and not column.required:
        yield BLANK, None
    if name == "size":
        yield from _sizes(str(row.size), row.family)
    elif name == "bank_gaps_mm":
        yield from _gaps(now)
    elif column.kind == "choice":
        yield from ((1.0, choice) for choice in column.choices if choice != now)
    elif column.kind in ("number", "integer"):
        yield from _numbers(column, now)


def _numbers(column: Column, now: float | None) -> Iterator[tuple[float, float | int]]:
    assert column.lowest is not None
    assert column.highest is not None
    low, high = float(column.lowest), float(column.highest)
    last = on_step(column, high - step_of(column) * column.open_end, upwards=False)
    first = on_step(column, low, upwards=True)
    base = float(first) if now is None else float(now)
    met = {now}
    for share in SHARES:
        turn = max(share * abs(base), step_of(column))
        for value in (
            on_step(column, base + turn, upwards=True),
            on_step(column, base - turn, upwards=False),
        ):
            held = min(max(value, first), last)
            if held not in met:
                met.add(held)
                yield share, held
    for end in (first, last):
        if end not in met:
            yield SHARES[-1], end


def _gaps(now: Any) -> Iterator[tuple[float, str]]:
    """Yield wider and narrower gaps: the outermost alone, the others with it."""
    if now is None:
        return
    gaps = numbers_of(now)
    met = {now}
    for share in SHARES:
        for factor in (1.0 + share, 1.0 - share):
            if factor <= 0.0:
                continue
            held = [min(max(g * factor, GAP_MIN.value), BANK_GAP_MAX.value) for g in gaps]
            for tried in ((held[0], *gaps[1:]), tuple(held)):
                text = gaps_text(tried)
                if text not in met:
                    met.add(text)
                    yield share, text


def _sizes(size: str, family: str) -> Iterator[tuple[float, str]]:
    """Yield openings larger in height, width or both; or the threads by distance."""
    if FAMILIES[family].size == "thread":
        nominal = size.split("x")[0]
        place = ROUND_THREADS.index(nominal) if nominal in ROUND_THREADS else 0
        others = sorted(
            (t for t in ROUND_THREADS if t != nominal),
            key=lambda t: abs(ROUND_THREADS.index(t) - place),
        )
        for thread in others:
            yield 0.3 * abs(ROUND_THREADS.index(thread) - place), f"{thread}x1.5"
        return
    width, height = (float(side) for side in size.split("x"))
    met = {(width, height)}
    for share in SHARES:
        wide, high = (
            min(math.ceil(s * (1.0 + share) - _HAIR), OPENING_MAX.value) for s in (width, height)
        )
        low = max(math.floor(height * (1.0 - share) + _HAIR), OPENING_MIN.value)
        for sides in ((width, high), (width, low), (wide, height), (wide, high)):
            if sides not in met:
                met.add(sides)
                yield share, "x".join(decimal(float(side)) for side in sides)

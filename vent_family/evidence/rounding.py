"""Numbers of a report at what they are worth."""

from __future__ import annotations

from dataclasses import fields, replace
from types import MappingProxyType
from typing import Final, TypeVar

DIGITS: Final = 4
"""Significant digits of a predicted number, unless its record says otherwise."""

DECIMALS: Final = MappingProxyType({"mm": 3, "deg": 2})
"""Decimals of lengths and angles outside the record: a drawing states no more."""
MEASURED: Final = frozenset({"mm2", "mm3", "g"})
"""Units of what is measured on solids and outlines, worth more digits than a prediction."""
MEASURED_DIGITS: Final = 5
"""Significant digits of what is measured."""

Value = TypeVar("Value")
Plain = str | int | float


def rounded(value: Value, digits: int = DIGITS) -> Value:
    """Return nested frozen data with every float at a number of significant digits.

    A record whose numbers must keep more has a class variable ``DIGITS``.

    Examples
    --------
    >>> rounded((1234.56, "as it is", None, True))
    (1235.0, 'as it is', None, True)
    """
    made: object
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float):
        made = float(f"{value:.{digits}g}") + 0.0
    elif isinstance(value, tuple):
        made = tuple(rounded(v, digits) for v in value)
    else:
        digits = getattr(value, "DIGITS", digits)
        parts = {
            f.name: rounded(getattr(value, f.name), digits)
            for f in fields(value)  # type: ignore[arg-type]
        }
        made = replace(value, **parts)  # type: ignore[type-var]
    return made  # type: ignore[return-value]


def worth(value: Plain, unit: str) -> Plain:
    """Return a value, lengths and angles at what a drawing states, others to :data:`DIGITS`.

    Examples
    --------
    >>> worth(22.4641016, "mm"), worth(83212.5837, "mm3"), worth(12, "mm")
    (22.464, 83213.0, 12)
    """
    if not isinstance(value, float):
        return value
    if unit in DECIMALS:
        return round(value, DECIMALS[unit]) + 0.0
    return float(f"{value:.{MEASURED_DIGITS if unit in MEASURED else DIGITS}g}") + 0.0

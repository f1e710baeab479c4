"""Numbers of a report at what they are worth."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Final, TypeVar

DIGITS: Final = 4
"""Significant digits of a predicted number, unless its record says otherwise."""

Value = TypeVar("Value")


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

"""Numbers that are asked about, held to the range the model is offered for."""

from __future__ import annotations

import math

from vent_family.base.problems import Problem


def off_range(
    column: str, value: float, what: str, unit: str, most: float, *, positive: bool = False
) -> list[Problem]:
    """Return a problem if a value is no finite number, below zero or above what is offered.

    Parameters
    ----------
    column
        name of the value
    value, most
        the value and the greatest allowed, in the same unit
    what
        the value in words
    unit
        their unit, "" for a pure number
    positive
        whether zero is refused as well

    Examples
    --------
    >>> off_range("guard_k", 0.8, "the loss coefficient", "", 1000.0)
    []
    >>> (found,) = off_range("guard_k", math.inf, "the loss coefficient", "", 1000.0)
    >>> found.message, found.allowed
    ('the loss coefficient is not a finite number', '0 to 1000')
    """
    if 0.0 < value <= most or (value == 0.0 and not positive):
        return []
    if not math.isfinite(value):
        text = f"{what} is not a finite number"
    elif value > most:
        text = f"{what} is more than the model is offered for"
    elif positive:
        text = f"{what} is not more than zero"
    else:
        text = f"{what} is negative"
    told = f" {unit}" if unit else ""
    first = "more than 0, up to" if positive else "0 to"
    return [
        Problem(
            "air.value.range",
            text,
            column=column,
            value=f"{value:g}",
            allowed=f"{first} {most:g}{told}",
            suggestion=f"give it in {unit}" if unit else "correct it, or leave it out",
        )
    ]

"""Part numbers that come near one that nobody has, so that a slip of the hand is told as one."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Final

from vent_family.base.problems import Problem

MOST_OFFERED: Final = 3
_NEAR: Final = 0.5
"""How alike two numbers must be to be offered, from 0 to 1."""


def near_numbers(number: str, known: Iterable[str]) -> list[str]:
    """Return the part numbers that come nearest to one, the nearest first; case does not count.

    Examples
    --------
    >>> near_numbers("hv-n23", ["HV-R040", "HV-N32", "HV-N20"])
    ['HV-N32', 'HV-N20']
    >>> near_numbers("pump", ["HV-R040"])
    []
    """
    folded = {n.casefold(): n for n in known}
    found = difflib.get_close_matches(number.casefold(), folded, MOST_OFFERED, _NEAR)
    return [folded[n] for n in found]


def unknown_part(
    number: str,
    known: Iterable[str],
    *,
    file: str,
    message: str,
    otherwise: str,
    column: str = "",
) -> Problem:
    """Return that there is no part of a number, with those that come near.

    ``message`` says who has none, ``otherwise`` what to do where none comes near, ``column`` is
    that of a table.
    """
    near = near_numbers(number, known)
    return Problem(
        "part.unknown",
        message,
        file=file,
        column=column,
        value=number,
        suggestion=f"did you mean {', '.join(near)}?" if near else otherwise,
    )


def no_such_row(number: str, known: Iterable[str], file: str) -> Problem:
    """Return that no row of a catalogue has a part number, with those that come near."""
    return unknown_part(
        number,
        known,
        file=file,
        message="no row has this part number",
        otherwise="check the catalogue",
        column="part_number",
    )

"""The cells of a spreadsheet's sheet as text, before they are a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

SHEET_NAME: Final = "catalogue"
"""The sheet that is read where there is one of this name; else it is the first."""
MOST_ROWS: Final = 20_000
MOST_COLUMNS: Final = 400


@dataclass(frozen=True, slots=True)
class SheetCells:
    """The cells of a sheet as text, from its first row on, and what is said about them besides.

    ``merged`` are ranges of cells (first row, first column, last row, last column, from 0),
    ``hidden`` the places of rows that are not shown, ``unsaved`` those (row, column) of formulas
    whose value was not saved.
    """

    name: str
    cells: Sequence[Sequence[str]]
    merged: Sequence[tuple[int, int, int, int]] = ()
    hidden: Sequence[int] = ()
    unsaved: Sequence[tuple[int, int]] = ()


def number_text(value: float, *, percent: bool = False) -> str:
    """Return a number as a spreadsheet shows it in full, to fifteen digits; ``value`` of any unit.

    Examples
    --------
    >>> number_text(7.5), number_text(80.0), number_text(0.1 + 0.2), number_text(0.5, percent=True)
    ('7.5', '80', '0.3', '50%')
    """
    return f"{100.0 * value:.15g}%" if percent else f"{value:.15g}"

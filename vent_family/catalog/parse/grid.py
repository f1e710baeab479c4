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


_COMMA_LANGUAGES: Final = (
    " af az be bg br bs ca cs da de el es et eu fi fo fr gl hr hu hy id is it ka kk ky lb lt lv mk"
    " nb nl nn no pl pt ro ru sk sl sq sr sv tg tk tr tt uk uz vi "
)
"""Languages that write decimal commas: Unicode CLDR, as Babel 2.19 packs it."""
_POINT_COUNTRIES: Final = {
    "de": "CH LI",
    "it": "CH",
    "es": "BR BZ CU DO GT HN MX NI PA PE PR SV US",
}
"""Countries where such a language has decimal points: the same source."""


def language_mark(language: str, country: str) -> str:
    """Return the decimal sign of a language in a country, a point where nothing is known.

    Examples
    --------
    >>> language_mark("de", "DE"), language_mark("de", "CH"), language_mark("", "")
    (',', '.', '.')
    """
    points = _POINT_COUNTRIES.get(language, "").split()
    return "," if f" {language} " in _COMMA_LANGUAGES and country not in points else "."

"""How a file writes what a cell holds: its decimal mark, its quotation marks; and a row's cells."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from vent_family.base.problems import InputError
from vent_family.catalog.columns import COLUMNS, decimal
from vent_family.catalog.hashing import filled_cells
from vent_family.catalog.kept import KeptText, bare, is_quoted
from vent_family.catalog.model import REQUIRED, CatalogRow
from vent_family.catalog.parse.numbers import NUMBER, NumberStyle, written_number
from vent_family.catalog.parse.scan import clean
from vent_family.catalog.parse.table import RawTable, read_table
from vent_family.catalog.rows import check_rows, table_style

_OF_NUMBERS: Final = ("size", "bank_gaps_mm")
"""Columns whose cells are text that holds numbers."""
_OPPOSITE: Final = "opposite_vent"


def row_cells(row: CatalogRow) -> dict[str, str]:
    """Return the filled cells of a row as text, numbers in their shortest form.

    Examples
    --------
    >>> cells = {"part_number": "A", "family": "round", "size": "M20x1.5", "status": "draft"}
    >>> row_cells(CatalogRow(**cells, pitch_mm=7.0, bank_count=3))["pitch_mm"]
    '7'
    """
    return {
        name: decimal(value) if isinstance(value, float) else str(value)
        for name, value in filled_cells(row).items()
    }


def changed_texts(before: CatalogRow, now: CatalogRow) -> dict[str, str]:
    """Return the cells in which a row differs from what it was, ``""`` for one to be blank."""
    old, new = row_cells(before), row_cells(now)
    return {
        name: new.get(name, "")
        for name in CatalogRow.model_fields
        if old.get(name) != new.get(name)
    }


def read_row(cells: Mapping[str, str], file: str, folder: Path | None = None) -> CatalogRow:
    """Return the row that cells are read as by themselves, numbers with a decimal point.

    ``file`` stands in messages; files that the row names lie in ``folder``. Whether there is a
    vent of the number that stands as opposite is not looked at.

    Raises
    ------
    InputError
        where they are no good row
    ValueError
        if a column is none of the catalogue's
    """
    foreign = [name for name in cells if name not in COLUMNS]
    if foreign:
        raise ValueError(f"no columns of the catalogue: {', '.join(foreign)}")
    # A row must not begin with what could be taken for a comment's mark.
    order = [*REQUIRED, *(name for name in cells if name not in REQUIRED)]
    texts = {n: unicodedata.normalize("NFC", clean(cells.get(n, ""))) for n in order}
    plain = {name: text for name, text in texts.items() if text or name in REQUIRED}
    opposite = plain.pop(_OPPOSITE, None)
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([plain.keys(), plain.values()])
    table = read_table(out.getvalue(), file)
    checked = check_rows(table, folder)
    found = [*table.problems, *checked.problems]
    if found or not checked.good:
        raise InputError([replace(problem, row=None) for problem in found])
    row = checked.good[0].row
    return row if opposite is None else row.model_copy(update={_OPPOSITE: opposite})


@dataclass(frozen=True, slots=True)
class Spelling:
    """How a file writes cells.

    ``list_mark`` is the decimal mark of text that holds several numbers, which spreadsheets leave
    as it was typed.
    """

    style: NumberStyle
    list_mark: str

    def text(self, column: str, plain: str) -> str:
        """Return a cell with decimal points as the file writes it, without quotation marks."""
        if column in _OF_NUMBERS:
            return re.sub(
                NUMBER, lambda m: written_number(m.group(), self.style, self.list_mark), plain
            )
        if column in COLUMNS and COLUMNS[column].kind in ("number", "integer"):
            return written_number(plain, self.style)
        return plain


def spelling(table: RawTable) -> Spelling:
    """Return how a table writes cells, judged by those it holds.

    Examples
    --------
    >>> text = "part_number;family;size;status;pitch_mm\\nA;round;M20x1.5;draft;7,5\\n"
    >>> spelled = spelling(read_table(text, "vents.csv"))
    >>> spelled.text("pitch_mm", "6.5"), spelled.text("bank_gaps_mm", "6.5/3")
    ('6,5', '6.5/3')
    """
    style = table_style(table)
    marks = "".join(
        sign for row in table.rows for c in _OF_NUMBERS for sign in row.cells.get(c, "")
    )
    points, commas = marks.count("."), marks.count(",")
    if style.comma_separated or points == commas:
        return Spelling(style, style.mark)
    return Spelling(style, "." if points > commas else ",")


def quoted_where(text: str, separator: str, *, always: bool) -> str:
    """Return a cell's text in quotation marks where it needs them, or ``always``.

    Examples
    --------
    >>> quoted_where("inlet, north", ",", always=False), quoted_where("inlet", ",", always=False)
    ('"inlet, north"', 'inlet')
    """
    if always or any(sign in text for sign in (separator, '"', "\n", "\r")):
        return '"' + text.replace('"', '""') + '"'
    return text


@dataclass(frozen=True, slots=True)
class QuotingHabit:
    """Which cells a file puts into quotation marks whether they need them or not.

    By column and whether the cell is filled: quoted are the cells of which all neighbours above
    are; of a column without such neighbours, those that are quoted in all others. ``header`` says
    it of the line of column names.
    """

    columns: Mapping[tuple[int, bool], bool]
    anywhere: Mapping[bool, bool]
    header: bool

    def quotes(self, column: int, *, filled: bool) -> bool:
        """Return whether a cell is quoted in any case."""
        return self.columns.get((column, filled), self.anywhere.get(filled, False))


def quoting_habit(kept: KeptText) -> QuotingHabit:
    """Return which cells a file puts into quotation marks, judged by all its sound rows."""
    columns: dict[tuple[int, bool], bool] = {}
    anywhere: dict[bool, bool] = {}
    for record in (kept.header, *kept.body):
        if record.fault:
            continue
        for i, cell in enumerate(_written(kept, kept.spans(record))):
            filled, quoted = bool(clean(bare(cell))), is_quoted(cell)
            anywhere[filled] = anywhere.get(filled, True) and quoted
            if record is not kept.header:
                columns[i, filled] = columns.get((i, filled), True) and quoted
    names = [cell for cell in _written(kept, kept.spans(kept.header)) if clean(bare(cell))]
    return QuotingHabit(columns, anywhere, all(is_quoted(name) for name in names))


def _written(kept: KeptText, spans: Iterable[tuple[int, int]]) -> Iterable[str]:
    return (kept.plain[slice(*span)] for span in spans)

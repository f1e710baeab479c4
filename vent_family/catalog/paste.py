"""A row for a workbook, as text to paste into its sheet: workbooks are not written into.

Text between tabs is what spreadsheets take from the clipboard, each cell as if it had been typed:
numbers need the decimal sign that the program is set to, and 7/3 would become a date.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from vent_family.catalog.append import good_source
from vent_family.catalog.kept import KeptText, kept_text
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.parse.numbers import NumberStyle
from vent_family.catalog.parse.sheet import place, sheet_mark, sheet_text
from vent_family.catalog.reader import read_catalog
from vent_family.catalog.spelled import (
    Spelling,
    changed_texts,
    quoting_habit,
    read_row,
    row_cells,
)
from vent_family.catalog.widened import Widened, widened

_LIKE_DATE: Final = re.compile(r"[0-9]+(?:/[0-9]+){1,2}")


@dataclass(frozen=True, slots=True)
class RowToPaste:
    """A row as it is pasted into a sheet.

    ``text`` is the line of column names and the row, tabs between the cells, in the sheet's own
    order. ``cell`` is where the row's first cell goes, below all that stands in the sheet.
    ``columns_added`` are columns that the sheet lacks, each with the cell its name goes into.
    """

    text: str
    cell: str
    columns_added: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class CellToType:
    """A cell of a sheet that is to hold something else; ``""`` stands for a blank cell."""

    cell: str
    column: str
    old: str
    new: str


def row_to_paste(path: Path, cells: Mapping[str, str], mark: str = "") -> RowToPaste:
    """Return a row for a workbook.

    Parameters
    ----------
    path
        the workbook
    cells
        the filled cells of the row by column, numbers with a decimal point
    mark
        the decimal sign that the spreadsheet program is set to; where none is given, that of the
        sheet's language, which .ods workbooks state, else a point

    Raises
    ------
    InputError
        where the workbook cannot be read, or the cells are no good row
    """
    row = read_row(cells, path.name, path.parent)
    texts = _typed(row_cells(row), path, mark)
    text, kept = _sheet(path)
    wide = widened(kept, texts, quoting_habit(kept), followed=True)
    shown = [kept.cell(span) for span in kept.spans(kept.header)]
    names = [name if name in wide.added else shown[i] for i, name in enumerate(wide.names)]
    out = io.StringIO()
    lines = csv.writer(out, delimiter="\t", lineterminator="\n")
    lines.writerows([names, [texts.get(name, "") for name in wide.names]])
    below = sum(1 for _ in csv.reader(io.StringIO(text)))
    added = {c.column: c.cell for c in _new_names(kept, wide)}
    return RowToPaste(out.getvalue(), place(below, 0), added)


def cells_to_type(path: Path, row: CatalogRow, mark: str = "") -> tuple[CellToType, ...]:
    """Return the cells of a workbook to be typed anew so that the row of a part number is changed.

    Names of columns that the sheet lacks come first.

    Parameters
    ----------
    path
        the workbook
    row
        what the row of this part number is to hold
    mark
        the decimal sign that the spreadsheet program is set to, as :func:`row_to_paste` takes it

    Raises
    ------
    InputError
        where the workbook cannot be read, or has no good row of that number
    """
    source = good_source(read_catalog(path), row.part_number)
    now = _typed(changed_texts(source.row, row), path, mark)
    then = _typed(row_cells(source.row), path, mark)
    _, kept = _sheet(path)
    wide = widened(kept, [n for n in now if now[n]], quoting_habit(kept), followed=False)
    line = source.row_number - 1
    return (
        *_new_names(kept, wide),
        *(
            CellToType(place(line, wide.names.index(name)), name, then.get(name, ""), text)
            for name, text in now.items()
        ),
    )


def _sheet(path: Path) -> tuple[str, KeptText]:
    text, _ = sheet_text(path)
    return text, kept_text(text.encode(), path.name)


def _new_names(kept: KeptText, wide: Widened) -> list[CellToType]:
    """Return the names of new columns with the cells they go into."""
    line = kept.header.row_number - 1
    return [CellToType(place(line, wide.names.index(n)), n, "", n) for n in wide.added]


def _typed(texts: Mapping[str, str], path: Path, mark: str) -> dict[str, str]:
    """Return cells as they are typed into a spreadsheet."""
    mark = mark or sheet_mark(path)
    spelled = Spelling(NumberStyle(mark, certain=True, comma_separated=mark == "."), mark)
    return {name: _no_date(spelled.text(name, text), name, mark) for name, text in texts.items()}


def _no_date(text: str, column: str, mark: str) -> str:
    """Return gaps such as 7/3 with decimals, so that no spreadsheet makes a date of them."""
    if column == "bank_gaps_mm" and _LIKE_DATE.fullmatch(text):
        return "/".join(f"{part}{mark}0" for part in text.split("/"))
    return text

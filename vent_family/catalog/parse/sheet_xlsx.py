"""The cells of an .xlsx workbook as text."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date, datetime, time, timedelta
from typing import Any, Final

from openpyxl import load_workbook

from vent_family.catalog.parse.grid import (
    MOST_COLUMNS,
    MOST_ROWS,
    SHEET_NAME,
    SheetCells,
    number_text,
)

_FORMULA: Final = re.compile(rb"<f[ >/]")


def xlsx_cells(data: bytes) -> SheetCells:
    """Return the sheet of a workbook, formulas as the values that were saved with them."""
    book = load_workbook(io.BytesIO(data), data_only=True)
    sheet = _chosen(book)
    rows = min(sheet.max_row or 0, MOST_ROWS + 1)
    columns = min(sheet.max_column or 0, MOST_COLUMNS + 1)
    shown = [
        [_cell_text(cell) for cell in line]
        for line in sheet.iter_rows(min_row=1, max_row=rows, max_col=columns)
    ]
    cells = _trimmed(shown)
    merged = [
        (area.min_row - 1, area.min_col - 1, area.max_row - 1, area.max_col - 1)
        for area in sheet.merged_cells.ranges
    ]
    hidden = [number - 1 for number, row in sheet.row_dimensions.items() if row.hidden]
    unsaved = _unsaved(data, shown)
    return SheetCells(sheet.title, cells, sorted(merged), sorted(hidden), unsaved)


def _chosen(book: Any) -> Any:
    """Return the sheet named for it, else the first."""
    named = [sheet for sheet in book.worksheets if sheet.title.strip().lower() == SHEET_NAME]
    return named[0] if named else book.worksheets[0]


def _unsaved(data: bytes, shown: list[list[str]]) -> list[tuple[int, int]]:
    """Return the places (from 0) of formulas that have no value."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        sheets = [n for n in archive.namelist() if n.startswith("xl/worksheets/")]
        if not any(_FORMULA.search(archive.read(name)) for name in sheets):
            return []
    sheet = _chosen(load_workbook(io.BytesIO(data)))
    return [
        (i, j)
        for i, line in enumerate(shown)
        for j, text in enumerate(line)
        if not text and sheet.cell(i + 1, j + 1).data_type == "f"
    ]


def _cell_text(cell: Any) -> str:
    """Return a cell as text; what the spreadsheet made of it stays to be seen."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return number_text(float(value), percent="%" in (cell.number_format or ""))
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        minutes, seconds = divmod(int(value.total_seconds()), 60)
        return f"{minutes // 60:02d}:{minutes % 60:02d}:{seconds:02d}"
    return str(value)


def _trimmed(rows: list[list[str]]) -> list[list[str]]:
    """Return rows without blank cells at their ends, and without blank rows at the end."""
    for row in rows:
        while row and not row[-1].strip():
            row.pop()
    while rows and not rows[-1]:
        rows.pop()
    return rows

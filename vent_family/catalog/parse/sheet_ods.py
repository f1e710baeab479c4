"""The cells of an .ods workbook as text."""

from __future__ import annotations

import io
from typing import Any, Final

from odf import teletype
from odf.namespaces import FONS, OFFICENS, STYLENS, TABLENS
from odf.opendocument import load
from odf.style import DefaultStyle, TextProperties
from odf.table import Table, TableRow
from odf.text import P

from vent_family.catalog.parse.grid import (
    MOST_COLUMNS,
    MOST_ROWS,
    SHEET_NAME,
    SheetCells,
    number_text,
)

_CELLS: Final = ("table:table-cell", "table:covered-table-cell")


def ods_cells(data: bytes) -> SheetCells:
    """Return the sheet of a workbook, formulas as the values that were saved with them."""
    document = load(io.BytesIO(data))
    tables = document.spreadsheet.getElementsByType(Table)
    named = [t for t in tables if str(_of(t, TABLENS, "name") or "").strip().lower() == SHEET_NAME]
    table = named[0] if named else tables[0]
    cells: list[list[str]] = []
    merged: list[tuple[int, int, int, int]] = []
    hidden: list[int] = []
    unsaved: list[tuple[int, int]] = []
    for line in table.getElementsByType(TableRow):
        texts = _row(line, len(cells), merged, unsaved)
        times = int(_of(line, TABLENS, "number-rows-repeated") or 1)
        if not any(texts):
            # Sheets are filled up with blank rows to their end.
            times = min(times, MOST_ROWS + 2 - len(cells))
            cells += [[] for _ in range(times)]
            continue
        times = min(times, MOST_ROWS + 2 - len(cells))
        if _of(line, TABLENS, "visibility") in ("collapse", "filter"):
            hidden += range(len(cells), len(cells) + times)
        cells += [list(texts) for _ in range(times)]
    while cells and not any(cells[-1]):
        cells.pop()
    name = str(_of(table, TABLENS, "name") or "")
    return SheetCells(name, cells, merged, hidden, [u for u in unsaved if u[0] < len(cells)])


def ods_language(data: bytes) -> tuple[str, str]:
    """Return language and country of a workbook's cells, ``""`` for what is not stated."""
    for style in load(io.BytesIO(data)).getElementsByType(DefaultStyle):
        if _of(style, STYLENS, "family") == "table-cell":
            for text in style.getElementsByType(TextProperties):
                return str(_of(text, FONS, "language") or ""), str(_of(text, FONS, "country") or "")
    return "", ""


def _row(
    line: Any,
    row: int,
    merged: list[tuple[int, int, int, int]],
    unsaved: list[tuple[int, int]],
) -> list[str]:
    """Return the texts of a row without blank ones at its end; note what is merged or unsaved."""
    texts: list[str] = []
    for cell in line.childNodes:
        if getattr(cell, "tagName", "") not in _CELLS:
            continue
        text = _cell_text(cell)
        wide = int(_of(cell, TABLENS, "number-columns-spanned") or 1)
        high = int(_of(cell, TABLENS, "number-rows-spanned") or 1)
        at = len(texts)
        if wide > 1 or high > 1:
            merged.append((row, at, row + high - 1, at + wide - 1))
        if not text and _of(cell, TABLENS, "formula"):
            unsaved.append((row, at))
        times = int(_of(cell, TABLENS, "number-columns-repeated") or 1)
        texts += [text] * min(times, MOST_COLUMNS + 2 - at)
    while texts and not texts[-1].strip():
        texts.pop()
    return texts


def _cell_text(cell: Any) -> str:
    """Return a cell as text; what the spreadsheet made of it stays to be seen."""
    kind = _of(cell, OFFICENS, "value-type")
    if kind in ("float", "percentage", "currency"):
        value = float(_of(cell, OFFICENS, "value"))
        return number_text(value, percent=kind == "percentage")
    if kind == "boolean":
        return "TRUE" if _of(cell, OFFICENS, "boolean-value") == "true" else "FALSE"
    if kind == "date":
        return str(_of(cell, OFFICENS, "date-value")).replace("T00:00:00", "").replace("T", " ")
    if kind == "time":
        hours, _, rest = str(_of(cell, OFFICENS, "time-value")).removeprefix("PT").partition("H")
        minutes, _, seconds = rest.partition("M")
        return f"{hours:>02}:{minutes:>02}:{seconds.rstrip('S').split('.')[0]:>02}"
    return "\n".join(str(teletype.extractText(p)) for p in cell.getElementsByType(P))


def _of(element: Any, space: str, name: str) -> Any:
    """Return an attribute of an element, ``None`` where it has none."""
    return element.getAttrNS(space, name)

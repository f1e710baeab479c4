"""Spreadsheet workbooks, .xlsx and .ods, as the text of a catalogue: one row a line.

openpyxl and odfpy are read directly. A data frame between them and the catalogue would guess types
and drop what tells a size that was made a date from one that was not: formats, errors, formulas.
They are loaded only for a workbook.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final, TypeVar

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.parse.grid import (
    MOST_COLUMNS,
    MOST_ROWS,
    SHEET_NAME,
    SheetCells,
    language_mark,
)
from vent_family.catalog.parse.scan import letters, row_list
from vent_family.catalog.parse.text import read_bytes

Part = TypeVar("Part")
"""What is read of a workbook."""

_UNPACKED: Final = 200_000_000
"""Bytes that a workbook may unpack to."""
_OLD: Final = b"\xd0\xcf\x11\xe0"
_ZIP: Final = b"PK"
_NAMES: Final = "an .xlsx or .ods workbook, or CSV in the encoding UTF-8"


def is_workbook(path: Path) -> bool:
    """Return whether a file is named like a spreadsheet workbook, old ones included.

    Examples
    --------
    >>> is_workbook(Path("vents.XLSX")), is_workbook(Path("vents.csv"))
    (True, False)
    """
    return path.suffix.lower() in (".xlsx", ".xlsm", ".ods", ".xls")


def sheet_text(path: Path) -> tuple[str, tuple[Problem, ...]]:
    """Return a workbook's sheet as comma-separated text, line by line its rows, and its problems.

    Raises
    ------
    InputError
        where no sheet can be read: an old, damaged or encrypted workbook, or one too large
    """
    data = read_bytes(path)
    _refuse_unreadable(data, path)
    ending = path.suffix.lower()
    # Imported here: only a workbook needs them.
    if ending == ".ods":
        from vent_family.catalog.parse.sheet_ods import ods_cells as read_cells
    else:
        from vent_family.catalog.parse.sheet_xlsx import xlsx_cells as read_cells
    grid = _read(read_cells, data, path.name)
    width = max((len(row) for row in grid.cells), default=0)
    if len(grid.cells) > MOST_ROWS or width > MOST_COLUMNS:
        raise _refusal(
            "file.large",
            path.name,
            f"the sheet has {len(grid.cells)} rows and {width} columns, too many for a catalogue",
            "remove what lies beside the table",
        )
    if not any(any(row) for row in grid.cells):
        raise _refusal(
            "file.empty",
            path.name,
            f"the sheet {grid.name!r} is empty",
            f"put the table into the first sheet, or name its sheet {SHEET_NAME}",
        )
    return _text(grid.cells, width), tuple(_problems(grid, path.name))


def sheet_mark(path: Path) -> str:
    """Return the decimal sign of the language that a workbook states; a point where it states none.

    Only .ods workbooks do.

    Raises
    ------
    InputError
        where the workbook cannot be read
    """
    if path.suffix.lower() != ".ods":
        return "."
    from vent_family.catalog.parse.sheet_ods import ods_language

    data = read_bytes(path)
    _refuse_unreadable(data, path)
    return language_mark(*_read(ods_language, data, path.name))


def _read(read_part: Callable[[bytes], Part], data: bytes, file: str) -> Part:
    """Return what is read of a workbook.

    Raises
    ------
    InputError
        where it is damaged
    """
    try:
        return read_part(data)
    except InputError:
        raise
    except (MemoryError, RecursionError, Exception):
        raise _refusal(
            "sheet.file.damaged",
            file,
            "the workbook is damaged or is none",
            "open it in the spreadsheet program and save it again",
        ) from None


def _refuse_unreadable(data: bytes, path: Path) -> None:
    """Refuse what is no workbook of today.

    Raises
    ------
    InputError
        where it is none
    """
    name, ending = path.name, path.suffix.lower()
    if ending == ".xls":
        raise _refusal(
            "sheet.file.old",
            name,
            "workbooks of the old kind, .xls, are not read",
            f"save it as {_NAMES}",
        )
    if data.startswith(_OLD):
        raise _refusal(
            "sheet.file.password",
            name,
            "the workbook is protected by a password, or an old one that was only renamed",
            f"save it without a password as {_NAMES}",
        )
    if not data.startswith(_ZIP):
        raise _refusal(
            "sheet.file.damaged",
            name,
            "the file is no workbook, whatever its name says",
            f"save the sheet as {_NAMES}",
        )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            size = sum(entry.file_size for entry in archive.infolist())
            manifest = "META-INF/manifest.xml"
            encrypted = (
                manifest in archive.namelist()
                and b"encryption-data" in archive.read(manifest)[:2_000_000]
            )
    except (zipfile.BadZipFile, OSError, RuntimeError, ValueError, EOFError, NotImplementedError):
        raise _refusal(
            "sheet.file.damaged",
            name,
            "the workbook is damaged or is none",
            "open it in the spreadsheet program and save it again",
        ) from None
    if size > _UNPACKED:
        raise _refusal(
            "file.large",
            name,
            f"the workbook unpacks to {size // 1_000_000} MB, too large for a catalogue",
            "check whether it is the right file",
        )
    if encrypted:
        raise _refusal(
            "sheet.file.password",
            name,
            "the workbook is protected by a password",
            "save it without one",
        )


def _text(cells: Iterable[Sequence[str]], width: int) -> str:
    """Return cells as lines of comma-separated text, all as wide."""
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\n")
    for row in cells:
        if any(row):
            lines.writerow([*(_one_feed(cell) for cell in row), *[""] * (width - len(row))])
        else:
            out.write("\n")
    return out.getvalue()


def _one_feed(cell: str) -> str:
    return cell.replace("\r\n", "\n").replace("\r", "\n")


def _problems(grid: SheetCells, file: str) -> Iterable[Problem]:
    """Yield what the sheet hides or holds in a way that no cell of text can."""

    def is_note(row: int) -> bool:
        first = next(iter(grid.cells[row]), "") if row < len(grid.cells) else ""
        return first.lstrip().startswith("#")

    def filled(row: int) -> bool:
        return row < len(grid.cells) and any(grid.cells[row]) and not is_note(row)

    for row, column, last_row, last_column in grid.merged:
        if any(filled(r) for r in range(row, last_row + 1)):
            first, last = place(row, column), place(last_row, last_column)
            yield Problem(
                "sheet.cells.merged",
                f"the cells {first} to {last} are merged, so it is not known whose value theirs is",
                file=file,
                row=row + 1,
                cell=first,
                suggestion="unmerge them and fill each in",
            )
    hidden = [row + 1 for row in grid.hidden if filled(row)]
    if hidden:
        yield Problem(
            "sheet.rows.hidden",
            f"filled rows are hidden, by hand or by a filter: {row_list(hidden)}",
            file=file,
            row=hidden[0],
            suggestion="show them, and remove those that are not meant",
        )
    for row, column in grid.unsaved:
        if filled(row) or not any(grid.cells[row]):
            yield Problem(
                "sheet.formula.unsaved",
                "the cell holds a formula whose value was not saved",
                file=file,
                row=row + 1,
                cell=place(row, column),
                suggestion="open the file in the spreadsheet program and save it again, or type the"
                " value itself",
            )


def place(row: int, column: int) -> str:
    """Return the name of a cell, whose row and column are counted from 0.

    Examples
    --------
    >>> place(6, 5)
    'F7'
    """
    return f"{letters(column)}{row + 1}"


def _refusal(code: str, file: str, message: str, suggestion: str) -> InputError:
    return InputError([Problem(code, message, file=file, suggestion=suggestion)])

"""Workbooks written for tests: .xlsx by openpyxl, .ods by hand as XML in a zip archive."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import openpyxl

SPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text")
)
MIME = "application/vnd.oasis.opendocument.spreadsheet"


def cells_of(text: str) -> list[list[str | float]]:
    """Return the cells of comma-separated text as a spreadsheet takes them in: numbers are such."""
    return [[_typed(cell) for cell in row] for row in csv.reader(io.StringIO(text))]


def _typed(cell: str) -> str | float:
    try:
        return float(cell)
    except ValueError:
        return cell


def write_xlsx(
    path: Path,
    rows: list[list[Any]],
    change: Callable[[Any], None] = lambda _: None,
    sheet: str = "Sheet1",
) -> Path:
    """Write rows into a sheet after one with a note, or the only one; ``change`` takes the book."""
    book = openpyxl.Workbook()
    book.active.title = sheet
    for row in rows:
        book.active.append([None if cell == "" else cell for cell in row])
    change(book)
    book.save(path)
    return path


def ods_cell(cell: str | float, more: str = "") -> str:
    """Return a cell of text or of a number."""
    if cell == "":
        return f"<table:table-cell{more}/>"
    kind = 'office:value-type="string"'
    if isinstance(cell, float):
        kind = f'office:value-type="float" office:value="{cell!r}"'
    return f"<table:table-cell {kind}{more}><text:p>{escape(str(cell))}</text:p></table:table-cell>"


def ods_row(row: list[Any], more: str = "") -> str:
    """Return a row; cells that are XML already stay as they are."""
    cells = [c if isinstance(c, str) and c.startswith("<table:") else ods_cell(c) for c in row]
    blank = '<table:table-cell table:number-columns-repeated="900"/>'
    return f"<table:table-row{more}>{''.join(cells)}{blank}</table:table-row>"


def write_ods(path: Path, *tables: tuple[str, list[str]], manifest: str = "") -> Path:
    """Write tables, each a name and rows as XML, filled up with blank rows to a sheet's end."""
    rest = ods_row([], ' table:number-rows-repeated="1000000"')
    body = "".join(
        f"<table:table table:name={quoteattr(name)}>{''.join(rows)}{rest}</table:table>"
        for name, rows in tables
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {SPACES}'
        f' office:version="1.2"><office:body><office:spreadsheet>{body}</office:spreadsheet>'
        "</office:body></office:document-content>"
    )
    listed = (
        '<?xml version="1.0"?><manifest:manifest'
        ' xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{MIME}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml">'
        f"{manifest}</manifest:file-entry></manifest:manifest>"
    )
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", MIME)
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", listed)
    return path

"""A row for a workbook, as it is pasted: in the sheet's order, with its decimal sign."""

from __future__ import annotations

import csv
import io
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.helpers.workbooks import ods_row, write_ods, write_xlsx
from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.paste import CellToType, cells_to_type, row_to_paste
from vent_family.catalog.reader import read_catalog

HEAD = ["Part number", "family", "", "size", "status", "pitch_mm", "x_bin", "bank_gaps_mm"]
GOOD: list[Any] = ["V-1", "rectangular", "", "80x60", "draft", 7.5, "007", "7.5/3"]
SHEET = [["# a note"], HEAD, GOOD, [], ["# the end"]]
ROW = {
    "part_number": "V-2",
    "family": "rectangular",
    "size": "60x60",
    "status": "draft",
    "pitch_mm": "7.25",
    "bank_gaps_mm": "7/3",
    "description": 'Pump, "north"',
}
STYLES = (
    '<?xml version="1.0" encoding="UTF-8"?><office:document-styles'
    ' xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"'
    ' xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0"'
    ' xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"'
    ' office:version="1.2"><office:styles><style:default-style style:family="table-cell">'
    '<style:text-properties fo:language="{}" fo:country="{}"/></style:default-style>'
    "</office:styles></office:document-styles>"
)
STATED = '<manifest:file-entry manifest:full-path="styles.xml" manifest:media-type="text/xml"/>'


def ods(folder: Path, language: str, country: str) -> Path:
    """Return an .ods workbook whose cells are in a language."""
    path = write_ods(folder / "vents.ods", ("Sheet1", [ods_row(row) for row in SHEET]))
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    manifest = files["META-INF/manifest.xml"].decode()
    end = "</manifest:manifest>"
    files["META-INF/manifest.xml"] = manifest.replace(end, STATED + end).encode()
    files["styles.xml"] = STYLES.format(language, country).encode()
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return path


def pasted(path: Path, text: str, cell: str) -> None:
    """Paste text into a sheet as a spreadsheet set to decimal points does."""
    book = openpyxl.load_workbook(path)
    sheet = book.active
    names, row = csv.reader(io.StringIO(text), delimiter="\t")
    start = sheet[cell]
    for i, name in enumerate(names):
        sheet.cell(2, i + 1, name or None)
    for i, value in enumerate(row):
        try:
            sheet.cell(start.row, start.column + i, float(value))
        except ValueError:
            sheet.cell(start.row, start.column + i, value or None)
    book.save(path)


def test_a_pasted_row_is_read_as_it_was_meant(tmp_path: Path) -> None:
    path = write_xlsx(tmp_path / "vents.xlsx", SHEET)
    before = read_catalog(path)
    row = row_to_paste(path, ROW)
    assert row.cell == "A6"
    assert row.columns_added == {"description": "C2"}
    assert row.text == (
        "Part number\tfamily\tdescription\tsize\tstatus\tpitch_mm\tx_bin\tbank_gaps_mm\n"
        'V-2\trectangular\t"Pump, ""north"""\t60x60\tdraft\t7.25\t\t7.0/3.0\n'
    )
    pasted(path, row.text, row.cell)
    after = read_catalog(path)
    assert after.problems == before.problems == ()
    assert after.rows[:-1] == before.rows
    assert after.rows[-1].row == CatalogRow.model_validate(ROW)


@pytest.mark.parametrize(
    ("language", "country", "typed"),
    [
        ("de", "DE", "7,25"),
        ("fr", "FR", "7,25"),
        ("de", "CH", "7.25"),
        ("en", "GB", "7.25"),
        ("es", "MX", "7.25"),
    ],
)
def test_an_ods_sheet_states_its_decimal_sign(
    language: str, country: str, typed: str, tmp_path: Path
) -> None:
    """Unicode CLDR: decimal commas in German and French, points in Switzerland and Mexico."""
    path = ods(tmp_path, language, country)
    cells = row_to_paste(path, ROW).text.splitlines()[1].split("\t")
    assert (cells[5], cells[7]) == (typed, "7,0/3,0" if "," in typed else "7.0/3.0")
    assert "\t7;25\t".replace(";", ",") in row_to_paste(path, ROW, ",").text


def test_a_sheet_that_states_no_language_has_points(tmp_path: Path) -> None:
    path = write_ods(tmp_path / "vents.ods", ("Sheet1", [ods_row(row) for row in SHEET]))
    assert "\t7.25\t" in row_to_paste(path, ROW).text


def test_what_to_type_for_a_revision(tmp_path: Path) -> None:
    path = write_xlsx(tmp_path / "vents.xlsx", SHEET)
    row = CatalogRow.model_validate(ROW | {"part_number": "V-1"})
    assert cells_to_type(path, row, ",") == (
        CellToType("C2", "description", "", "description"),
        CellToType("D3", "size", "80x60", "60x60"),
        CellToType("C3", "description", "", 'Pump, "north"'),
        CellToType("F3", "pitch_mm", "7,5", "7,25"),
        CellToType("H3", "bank_gaps_mm", "7,5/3", "7,0/3,0"),
    )
    with pytest.raises(InputError, match=r"Did you mean V-1\?"):
        cells_to_type(path, row.model_copy(update={"part_number": "V-11"}))


def test_a_row_that_is_no_good_one_is_refused(tmp_path: Path) -> None:
    path = write_xlsx(tmp_path / "vents.xlsx", SHEET)
    with pytest.raises(InputError, match="75 mm is too large"):
        row_to_paste(path, ROW | {"pitch_mm": "75"})

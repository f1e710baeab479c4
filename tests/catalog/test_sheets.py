"""A catalogue is the same from CSV, .xlsx and .ods; what a spreadsheet did to a cell is told."""

from __future__ import annotations

import datetime
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl.worksheet.datavalidation import DataValidation
from typer.testing import CliRunner

from tests.helpers.workbooks import cells_of, ods_cell, ods_row, write_ods, write_xlsx
from vent_family.base.problems import InputError
from vent_family.catalog.parse import sheet
from vent_family.catalog.reader import CatalogFile, read_catalog
from vent_family.front.cli.app import app
from vent_family.spec.resolved import ResolvedRows

ROOT = Path(__file__).parents[2]
HEAD = ["part_number", "family", "size", "status", "pitch_mm", "description", "x_bin"]
GOOD: list[Any] = ["V-1", "rectangular", "80x60", "draft", 7.5, "Pump, hall 1", "007"]


def both(folder: Path, rows: list[list[Any]]) -> list[CatalogFile]:
    """Return what both kinds of workbook with these rows are read as."""
    xlsx = write_xlsx(folder / "vents.xlsx", rows)
    ods = write_ods(folder / "vents.ods", ("Sheet1", [ods_row(row) for row in rows]))
    return [read_catalog(xlsx), read_catalog(ods)]


def told(file: CatalogFile) -> list[tuple[str, int | None, str]]:
    return [(p.code, p.row, p.cell) for p in file.problems]


def test_the_demo_catalogue_is_the_same_from_all_three(tmp_path: Path) -> None:
    text = (ROOT / "catalog.csv").read_text(encoding="utf-8")
    plain = read_catalog(ROOT / "catalog.csv")
    for file in both(tmp_path, cells_of(text)):
        assert file.problems == ()
        assert file.rows == plain.rows
        assert [s.row_hash for s in file.rows] == [s.row_hash for s in plain.rows]


def test_bad_cells_are_told_as_in_csv_with_the_cells_name(tmp_path: Path) -> None:
    bad = [
        ["V-2", "rectangular", "80by60", "ready", "7.5 mm", "", ""],
        ["V-3", "oval", "", "draft"],
    ]
    rows = [["# a note, on the first row"], HEAD, GOOD, [], *bad]
    lines = [",".join(f'"{c}"' if "," in str(c) else str(c) for c in row) for row in rows]
    (tmp_path / "vents.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    plain = read_catalog(tmp_path / "vents.csv")
    assert len(plain.problems) >= 5
    for file in both(tmp_path, rows):
        assert [(p.message, p.row, p.column) for p in file.problems] == [
            (p.message, p.row, p.column) for p in plain.problems
        ]
        cells = {p.column: p.cell for p in file.problems if p.row == 5}
        assert cells == {"size": "C5", "status": "D5", "pitch_mm": "E5"}
        assert f"{file.path_name}, cell E5, row 5, part V-2" in file.problems[2].sentence()
    assert all(p.cell == "" for p in plain.problems)


def test_rules_between_columns_name_the_cell_too(tmp_path: Path) -> None:
    head, row = [*HEAD[:4], "rib_count"], ["V-1", "rectangular", "60x60", "draft", 40.0]
    for file in both(tmp_path, [head, row]):
        (problem,) = ResolvedRows(file).problems()
        assert (problem.column, problem.cell) == ("rib_count", "E2")


def cell(column: int, value: Any, number_format: str = "") -> Callable[[Any], None]:
    def change(book: Any) -> None:
        found = book.active.cell(2, column, value)
        found.number_format = number_format or found.number_format

    return change


DATE = ' office:value-type="date" office:date-value="{}"'
XLSX: list[tuple[str, Callable[[Any], None], tuple[str, str]]] = [
    ("date", cell(3, datetime.datetime(2026, 2, 3)), ("table.cell.date", "C2")),
    ("time", cell(3, datetime.time(20, 15)), ("table.cell.date", "C2")),
    ("length of time", cell(5, datetime.timedelta(hours=80)), ("table.cell.date", "E2")),
    ("truth", cell(5, True), ("table.cell.truth", "E2")),
    ("error", cell(5, "#REF!"), ("table.cell.error", "E2")),
    ("percentage", cell(5, 0.5, "0%"), ("table.number.percent", "E2")),
    ("formula without value", cell(5, "=3+4"), ("sheet.formula.unsaved", "E2")),
    ("merged", lambda b: b.active.merge_cells("E2:E3"), ("sheet.cells.merged", "E2")),
    ("line break", cell(6, "Pump\nhall"), ("catalog.cell.break", "F2")),
]


@pytest.mark.parametrize(("name", "change", "expected"), XLSX, ids=[case[0] for case in XLSX])
def test_what_a_spreadsheet_made_of_a_cell_is_told_xlsx(
    name: str, change: Callable[[Any], None], expected: tuple[str, str], tmp_path: Path
) -> None:
    file = read_catalog(write_xlsx(tmp_path / "vents.xlsx", [HEAD, GOOD], change))
    assert told(file) == [(expected[0], 2, expected[1])]


ODS: list[tuple[str, int, str, tuple[str, str]]] = [
    ("date", 2, DATE.format("2026-02-03"), ("table.cell.date", "C2")),
    (
        "time",
        2,
        ' office:value-type="time" office:time-value="PT20H15M00S"',
        ("table.cell.date", "C2"),
    ),
    (
        "truth",
        4,
        ' office:value-type="boolean" office:boolean-value="true"',
        ("table.cell.truth", "E2"),
    ),
    (
        "percentage",
        4,
        ' office:value-type="percentage" office:value="0.5"',
        ("table.number.percent", "E2"),
    ),
    ("formula without value", 4, ' table:formula="of:=3+4"', ("sheet.formula.unsaved", "E2")),
    (
        "merged",
        4,
        ' office:value-type="float" office:value="7" table:number-rows-spanned="2"',
        ("sheet.cells.merged", "E2"),
    ),
]


@pytest.mark.parametrize(("name", "at", "more", "expected"), ODS, ids=[case[0] for case in ODS])
def test_what_a_spreadsheet_made_of_a_cell_is_told_ods(
    name: str, at: int, more: str, expected: tuple[str, str], tmp_path: Path
) -> None:
    row = [*GOOD]
    row[at] = f"<table:table-cell{more}/>"
    rows = [ods_row(HEAD), ods_row(row)]
    file = read_catalog(write_ods(tmp_path / "vents.ods", ("Sheet1", rows)))
    assert told(file) == [(expected[0], 2, expected[1])]


def test_cells_and_rows_that_repeat_in_ods(tmp_path: Path) -> None:
    """A program writes equal neighbours once, with how often they come."""
    twice = ods_cell("", ' table:number-columns-repeated="2"')
    rows = [
        ods_row(HEAD),
        ods_row([], ' table:number-rows-repeated="3"'),
        ods_row([*GOOD[:4], twice, "007"]),
        ods_row(["V-2", *GOOD[1:]]),
    ]
    first, second = read_catalog(write_ods(tmp_path / "v.ods", ("Sheet1", rows))).rows
    assert (first.row_number, second.row_number) == (5, 6)
    assert (first.row.pitch_mm, first.attached.own) == (None, (("x_bin", "007"),))


def test_an_error_and_a_formula_in_ods(tmp_path: Path) -> None:
    error = ods_cell("#DIV/0!", ' table:formula="of:=1/0"')
    saved = (
        '<table:table-cell table:formula="of:=3+4.5" office:value-type="float" office:value="7.5"/>'
    )
    for given, codes in ((error, ["table.cell.error"]), (saved, [])):
        rows = [ods_row(HEAD), ods_row([*GOOD[:4], given, *GOOD[5:]])]
        file = read_catalog(write_ods(tmp_path / "vents.ods", ("Sheet1", rows)))
        assert [p.code for p in file.problems] == codes
    assert file.rows[0].row.pitch_mm == 7.5


def test_hidden_rows_are_told_and_notes_may_be_merged_or_hidden(tmp_path: Path) -> None:
    note, rows = ["# Catalogue of the pump hall"], [HEAD, GOOD, ["V-2", *GOOD[1:]]]

    def change(book: Any) -> None:
        book.active.merge_cells("A1:G1")
        book.active.row_dimensions[1].hidden = book.active.row_dimensions[4].hidden = True
        book.active.row_dimensions[9].hidden = True

    xlsx = read_catalog(write_xlsx(tmp_path / "vents.xlsx", [note, *rows], change))
    lines = [
        ods_row([ods_cell(note[0], ' table:number-columns-spanned="7"')]),
        ods_row(HEAD),
        ods_row(GOOD),
        ods_row(["V-2", *GOOD[1:]], ' table:visibility="filter"'),
    ]
    ods = read_catalog(write_ods(tmp_path / "vents.ods", ("Sheet1", lines)))
    for file in (xlsx, ods):
        assert told(file) == [("sheet.rows.hidden", 4, "")]
        assert [s.row.part_number for s in file.rows] == ["V-1", "V-2"]


def test_the_sheet_named_for_it_is_read_else_the_first(tmp_path: Path) -> None:
    def another(title: str) -> Callable[[Any], None]:
        def change(book: Any) -> None:
            extra = book.create_sheet(title)
            for row in (HEAD, ["V-9", *GOOD[1:]]):
                extra.append(row)

        return change

    rows = [HEAD, GOOD]
    found = {
        title: read_catalog(write_xlsx(tmp_path / "v.xlsx", rows, another(title)))
        for title in ("Catalogue", "Other")
    }
    parts = {title: file.rows[0].row.part_number for title, file in found.items()}
    assert parts == {"Catalogue": "V-9", "Other": "V-1"}
    tables = [("Notes", [ods_row(["hello"])]), ("catalogue", [ods_row(HEAD), ods_row(GOOD)])]
    assert read_catalog(write_ods(tmp_path / "v.ods", *tables)).rows[0].row.part_number == "V-1"


def test_sheets_that_are_protected_or_checked_are_read(tmp_path: Path) -> None:
    def change(book: Any) -> None:
        book.active.protection.sheet = True
        book.active.add_data_validation(DataValidation(type="list", formula1='"draft,released"'))
        book.active.cell(2, 2).quotePrefix = True

    file = read_catalog(write_xlsx(tmp_path / "vents.xlsx", [HEAD, GOOD], change))
    assert file.problems == ()


def refused(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_catalog(path)
    (problem,) = caught.value.problems
    assert problem.sentence().startswith(f"{path.name}")
    assert problem.suggestion
    return problem.code


def test_what_is_no_workbook_of_today_is_refused(tmp_path: Path) -> None:
    old = b"\xd0\xcf\x11\xe0" + bytes(600)
    good = write_xlsx(tmp_path / "good.xlsx", [HEAD, GOOD]).read_bytes()
    cases = {
        "old.xls": (old, "sheet.file.old"),
        "locked.xlsx": (old, "sheet.file.password"),
        "text.xlsx": (b"part_number,family\n", "sheet.file.damaged"),
        "cut.xlsx": (good[: len(good) // 2], "sheet.file.damaged"),
        "cut.ods": (good, "sheet.file.damaged"),
        "none.xlsx": (b"", "file.empty"),
    }
    for name, (data, code) in cases.items():
        (tmp_path / name).write_bytes(data)
        assert refused(tmp_path / name) == code, name
    assert refused(tmp_path / "missing.xlsx") == "file.missing"
    assert refused(write_xlsx(tmp_path / "blank.xlsx", [])) == "file.empty"
    locked = write_ods(
        tmp_path / "locked.ods", ("S", [ods_row(HEAD)]), manifest="<manifest:encryption-data/>"
    )
    assert refused(locked) == "sheet.file.password"


def test_a_workbook_that_unpacks_to_too_much_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_xlsx(tmp_path / "bomb.xlsx", [HEAD, GOOD])
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/media/zeros.bin", bytes(3_000_000))
    assert path.stat().st_size < 30_000
    assert read_catalog(path).problems == ()
    monkeypatch.setattr(sheet, "_UNPACKED", 2_000_000)
    assert refused(path) == "file.large"
    wide = [[f"c{i}" for i in range(500)]]
    assert refused(write_xlsx(tmp_path / "wide.xlsx", wide)) == "file.large"


def test_fans_lie_beside_a_workbook_as_beside_a_text_file(tmp_path: Path) -> None:
    (tmp_path / "hall.csv").write_text("flow_m3_h,pressure_pa\n0,50\n50,0\n", encoding="utf-8")
    rows = [[*HEAD[:4], "fan"], ["V-1", "rectangular", "80x60", "draft", "hall.csv"]]
    texts = [file.rows[0].attached.fan_text for file in both(tmp_path, rows)]
    assert texts == ["flow_m3_h,pressure_pa\n0,50\n50,0\n"] * 2


def test_commands_take_workbooks_and_update_lists_what_to_change(tmp_path: Path) -> None:
    path = write_xlsx(tmp_path / "vents.xlsx", [HEAD, GOOD])
    assert CliRunner().invoke(app, ["check", "--catalog", str(path)]).exit_code == 0
    old = [[*HEAD[:4], "bank_shift"], ["V-1", "rectangular", "80x60", "draft", 0.5]]
    path = write_xlsx(tmp_path / "old.xlsx", old)
    before = path.read_bytes()
    result = CliRunner().invoke(app, ["update", "--catalog", str(path)])
    assert result.exit_code == 2
    assert "bank_shift is called bank_stagger now" in result.output
    assert path.read_bytes() == before

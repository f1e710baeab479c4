"""Malformed catalogue files: each is refused at the exact place, in words that say why.

The cases are the house's own; what spreadsheets do to values (dates, scientific notation, error
values, truth values, separators left out) is common practice, no source, except where named.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.reader import read_catalog

HEADER = "part_number,family,size,status,pitch_mm,bank_count,step_thread,description\n"
GOOD = "HF-001,rectangular,80x60,released,7.5,3,,Hatchery inlet\n"
SEMI_HEADER = HEADER.replace(",", ";")
SEMI_GOOD = "HF-001;rectangular;80x60;released;7,5;3;;Hatchery inlet\n"


def write(folder: Path, content: str | bytes) -> Path:
    path = folder / "catalog.csv"
    path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    return path


@dataclass(frozen=True)
class Cell:
    """A row spoiled in one place, below a good row: what is said about it, and where."""

    name: str
    content: str
    column: str
    words: tuple[str, ...]
    row: int = 3


def comma(column: str, text: str, *, family: str = "rectangular", size: str = "80x60") -> str:
    """Return a comma file with a good row and a second one with the given cell, as written."""
    cells = {
        "part_number": "HF-002",
        "family": family,
        "size": size,
        "status": "released",
        "pitch_mm": "",
        "bank_count": "",
        "step_thread": "",
        "description": "",
    }
    extra = [] if column in cells else [column]
    cells[column] = text
    width = "," * len(extra)
    header = HEADER.strip() + "".join(f",{e}" for e in extra) + "\n"
    return header + GOOD.strip() + width + "\n" + ",".join(cells.values()) + "\n"


def semi(column: str, text: str) -> str:
    """Return a semicolon file with decimal commas and the given cell in its second row."""
    cells = {"part_number": "HF-002", "family": "rectangular", "size": "80x60"}
    cells |= {"status": "released", "pitch_mm": "", "bank_count": "", "step_thread": ""}
    cells |= {"description": "", "bank_gaps_mm": ""}
    cells[column] = text
    header = SEMI_HEADER.strip() + ";bank_gaps_mm\n"
    return header + SEMI_GOOD.strip() + ";\n" + ";".join(cells.values()) + "\n"


CELLS = [
    # decimal marks and thousands separators
    Cell("thousands or decimals, quoted", comma("pitch_mm", '"1,500"'), "pitch_mm",
         ("can be read as 1.5 or as 1500", "Write a value that is allowed")),
    Cell("decimal comma, quoted", comma("pitch_mm", '"7,5"'), "pitch_mm",
         ("decimal comma", "commas separate the cells", "Write 7.5")),
    Cell("point with three digits beside commas", semi("pitch_mm", "1.500"), "pitch_mm",
         ("can be read as 1,5 or as 1500",)),
    Cell("thousands point and decimal comma", semi("pitch_mm", "1.500,0"), "pitch_mm",
         ("thousands separators",)),
    Cell("decimal point beside commas", semi("pitch_mm", "7.5"), "pitch_mm",
         ("decimal point", "decimal comma", "Write 7,5")),
    Cell("thousands space", comma("pitch_mm", "1 500"), "pitch_mm", ("thousands separators",)),
    Cell("thousands hard space", comma("pitch_mm", "1\u00a0500"), "pitch_mm",
         ("thousands separators",)),
    Cell("gaps ambiguous", semi("bank_gaps_mm", "7.500/3"), "bank_gaps_mm",
         ("can be read as 7,5 or as 7500",)),
    Cell("gaps with both marks", semi("bank_gaps_mm", "7,5/3.2"), "bank_gaps_mm",
         ("decimal points and decimal commas",)),
    Cell("size with decimal comma in a comma file", comma("size", '"80,5x60"'), "size",
         ("decimal comma", "Write 80.5x60")),
    # what spreadsheets make of values
    Cell("date, day first", comma("pitch_mm", "3. May"), "pitch_mm", ("reads as a date", "format")),
    Cell("date, German month", comma("pitch_mm", "Mai 03"), "pitch_mm", ("as a date",)),
    Cell("date, ISO", comma("pitch_mm", "2026-11-03"), "pitch_mm", ("as a date",)),
    Cell("date, slashes", comma("bank_gaps_mm", "07/03/2003"), "bank_gaps_mm", ("as a date",)),
    Cell("date, short in gaps", comma("bank_gaps_mm", "07/03"), "bank_gaps_mm", ("as a date",)),
    Cell("time", comma("pitch_mm", "7:30"), "pitch_mm", ("a date or a time",)),
    Cell("date as part number", comma("part_number", "12-May"), "part_number", ("as a date",)),
    Cell("scientific part number", comma("part_number", "1.2E+05"), "part_number",
         ("scientific notation", "digits may be lost")),
    Cell("scientific number", comma("pitch_mm", "7.5E+00"), "pitch_mm", ("scientific notation",)),
    Cell("column too narrow", comma("pitch_mm", "######"), "pitch_mm", ("too narrow", "Widen")),
    Cell("error value", comma("pitch_mm", "#REF!"), "pitch_mm", ("error value",)),
    Cell("not available", comma("size", "#N/A"), "size", ("error value",)),
    Cell("error value in the first cell is no comment", comma("part_number", "#N/A"),
         "part_number", ("error value",)),
    Cell("hashes in the first cell are no comment", comma("part_number", "#####"),
         "part_number", ("too narrow",)),
    Cell("apostrophe", comma("pitch_mm", "'7.5"), "pitch_mm", ("apostrophe", "7.5")),
    Cell("formula", comma("description", "=A1&B1"), "description", ("formula",)),
    Cell("truth value", comma("status", "TRUE"), "status", ("truth value",)),
    Cell("truth value as part number", comma("part_number", "WAHR"), "part_number",
         ("truth value",)),
    Cell("false for thread", comma("step_thread", "FALSE", family="round", size="M32x1.5"),
         "step_thread", ("truth value",)),
    Cell("old word for thread", comma("step_thread", "simplified", family="round", size="M32x1.5"),
         "step_thread", ("simplified is called plain now", "Write plain")),
    # numbers that are none
    Cell("unit", comma("pitch_mm", "7.5 mm"), "pitch_mm", ("a unit is typed", "Write 7.5.")),
    Cell("unit with decimal comma", semi("pitch_mm", "7,5mm"), "pitch_mm", ("Write 7,5.",)),
    Cell("other unit", comma("pitch_mm", "0.3 in"), "pitch_mm", ("'in'", "value in mm")),
    Cell("degrees", comma("floor_slope_deg", "5°"), "floor_slope_deg", ("a unit", "Write 5.")),
    Cell("percent of a fraction", comma("bank_stagger", "50%"), "bank_stagger",
         ("percentage", "Write 0.5.")),
    Cell("percent of a length", comma("pitch_mm", "50%"), "pitch_mm", ("percentage",)),
    Cell("full-width digits", comma("pitch_mm", "７．５"), "pitch_mm", ("width", "Type 7.5")),
    Cell("Arabic digits", comma("bank_count", "٣"), "bank_count", ("another script", "Type 3")),
    Cell("superscript", comma("pitch_mm", "7⁵"), "pitch_mm", ("behind the number",)),
    Cell("nan", comma("pitch_mm", "nan"), "pitch_mm", ("not a number", "blank for the default")),
    Cell("NA", comma("pitch_mm", "NA"), "pitch_mm", ("not a number", "blank for the default")),
    Cell("inf", comma("pitch_mm", "inf"), "pitch_mm", ("not a number",)),
    Cell("float overflow", comma("pitch_mm", "9" * 350), "pitch_mm", ("too large",)),
    Cell("underscore digits", comma("pitch_mm", "1_0"), "pitch_mm", ("behind the number",)),
    Cell("en dash for minus", comma("mounting_tilt_deg", "–4"), "mounting_tilt_deg",
         ("minus", "Type -4")),
    Cell("accounting minus", comma("mounting_tilt_deg", "(4)"), "mounting_tilt_deg",
         ("Type -4",)),
    Cell("number cut short", comma("pitch_mm", "7."), "pitch_mm", ("ends with", "Write 7.")),
    Cell("two numbers", comma("pitch_mm", "7-8"), "pitch_mm", ("as a date",)),
    Cell("words", comma("pitch_mm", "narrow"), "pitch_mm", ("not a number",)),
    # ranges
    Cell("negative", comma("pitch_mm", "-5"), "pitch_mm",
         ("-5 mm is too small", "Allowed: 5 to 40 mm", "Use 5 mm or more")),
    Cell("too large", comma("pitch_mm", "75"), "pitch_mm", ("75 mm is too large", "40 mm or less")),
    Cell("range with decimal comma", semi("pitch_mm", "0,5"), "pitch_mm", ("0,5 mm is too small",)),
    Cell("open end", comma("bank_stagger", "1"), "bank_stagger", ("less than 1",)),
    Cell("half a bank", comma("bank_count", "3.5"), "bank_count",
         ("not a whole number", "Write 3 or 4", "whole number from 1 to 6")),
    Cell("too many banks", comma("bank_count", "7"), "bank_count", ("too large", "6 or less")),
    Cell("zero gap", comma("bank_gaps_mm", "7.5/0"), "bank_gaps_mm", ("too small", "2.7 mm")),
    Cell("absurd width", comma("size", "80000x60"), "size", ("width of 80000 mm is too large",)),
    Cell("no height", comma("size", "80x0"), "size", ("height of 0 mm is too small",)),
    Cell("negative size", comma("size", "-80x60"), "size", ("not a size",)),
    # size and family
    Cell("size with slash", comma("size", "80/60"), "size", ("not a size", "80x60")),
    Cell("size with unit", comma("size", "80x60 mm"), "size", ("not a size", "80x60")),
    Cell("thread on a block", comma("size", "M32x1.5"), "size",
         ("does not fit the rectangular family",)),
    Cell("block on a thread", comma("size", "80x60", family="round"), "size",
         ("needs a thread size",)),
    Cell("bare diameter", comma("size", "32", family="round"), "size",
         ("needs a thread size", "Write M32x1.5")),
    Cell("pitch missing", comma("size", "M32", family="round"), "size",
         ("pitch of the thread is missing", "M32x1.5")),
    Cell("wrong pitch", comma("size", "M32x2", family="round"), "size", ("must be 1.5 mm",)),
    Cell("unknown thread", comma("size", "M33x1.5", family="round"), "size",
         ("not a thread size", "nearest is M32x1.5")),
    Cell("column of another family", comma("neck_length_mm", "12"), "neck_length_mm",
         ("does not apply to the rectangular family", "for round vents")),
    # choices and text
    Cell("near miss", comma("status", "relaesed"), "status", ("Write released if",)),
    Cell("short form", comma("family", "rect"), "family", ("Write rectangular if",)),
    Cell("no choice", comma("material", "steel"), "material", ("ASA, PETG, PA, PC, PP",)),
    Cell("colour spelling", comma("colour", "light gray"), "colour", ("Write light_grey",)),
    Cell("None where none is no choice", comma("fixing", "None"), "fixing",
         ("blank for the default",)),
    Cell("slopes with slashes", comma("slopes", "out/in/out"), "slopes", ("out-in-out",)),
    Cell("revision in small letters", comma("revision", "b"), "revision", ("Write B",)),
    Cell("long description", comma("description", "x" * 121), "description",
         ("too long: 121 characters", "120")),
    Cell("huge cell", comma("description", "x" * 5000), "description", ("5000 characters",)),
    Cell("line break", comma("description", '"inlet\nnorth"'), "description", ("line break",)),
    Cell("control character", comma("description", "inlet\x07"), "description", ("U+0007",)),
    Cell("unseen character", comma("part_number", "HF\u200b-002"), "part_number", ("U+200B",)),
    Cell("damaged letter", comma("description", "L\ufffdfter"), "description", ("damaged letter",)),
    Cell("double encoding", comma("description", "LÃ¼fter"), "description", ("wrong encoding",)),
    # part numbers as file names
    Cell("path out", comma("part_number", "../HF-002"), "part_number", ("out of the export",)),
    Cell("backslash", comma("part_number", "a\\b"), "part_number", ("out of the export folder",)),
    Cell("absolute path", comma("part_number", "/etc/x"), "part_number", ("out of the export",)),
    Cell("drive", comma("part_number", "C:x"), "part_number", ("out of the export folder",)),
    # Reserved names: Microsoft, "Naming Files, Paths, and Namespaces".
    Cell("CON", comma("part_number", "con"), "part_number", ("Windows reserves",)),
    Cell("NUL with ending", comma("part_number", "NUL.1"), "part_number", ("Windows reserves",)),
    Cell("COM1", comma("part_number", "COM1"), "part_number", ("Windows reserves",)),
    Cell("trailing dot", comma("part_number", "HF-002."), "part_number",
         ("ends with a dot", "Write HF-002")),
    Cell("leading hyphen", comma("part_number", "-HF"), "part_number", ("begin and end",)),
    Cell("space inside", comma("part_number", "HF 002"), "part_number", ("a space", "HF-002")),
    Cell("umlaut", comma("part_number", "HÜ-2"), "part_number", ("Ü", "Write HU-2")),
    Cell("too long a name", comma("part_number", "A" * 41), "part_number", ("40 characters",)),
    Cell("required cell blank", comma("status", ""), "status", ("blank but required",)),
    # rows that cannot be split
    Cell("decimal comma splits a cell", HEADER + GOOD + GOOD.replace("7.5", "7,5"), "",
         ("9 cells", "8 column names", "a decimal comma", "7,5", "Write 7.5")),
    Cell("surplus blank cell", HEADER + GOOD + "HF-002,round,M32x1.5,draft,,,,,\n", "",
         ("9 cells but there are 8",)),
    Cell("text with a comma", HEADER + GOOD + "HF-2,round,M32x1.5,draft,,,,a, b\n", "",
         ("9 cells", "quotation marks")),
    Cell("short row, two readings", HEADER + GOOD + "HF-002,rectangular,80x60,released,7,5\n", "",
         ("two cells or as one number", "7,5")),
    Cell("file cut off", HEADER + GOOD + "HF-002,rectangular,80x60,released,1", "",
         ("ends inside this row", "5 of 8 cells")),
    Cell("other separator", HEADER + GOOD + "HF-002;rectangular;80x60;released;;;;\n", "",
         ("separated by semicolons", "by commas")),
    Cell("quote never closed", HEADER + GOOD + 'HF-2,round,"M32x1.5,draft,,,,\n', "",
         ("never closes",)),
    Cell("stray quote", HEADER + GOOD + 'HF-2,round,M32x1.5,draft,,,,19" rack\n', "",
         ("inside a cell that is not quoted",)),
    Cell("text after a quote", HEADER + GOOD + 'HF-2,round,"M32"x1.5,draft,,,,\n', "",
         ("after its closing quotation mark",)),
    Cell("comment swallows rows",
         HEADER + GOOD + '"# note\nHF-2,round,M32x1.5,draft,,,,19",\n', "",
         ("comment in quotation marks runs on",)),
    Cell("heading", HEADER + GOOD + "Hall 2,,,,,,,\n", "part_number", ("only one cell", "#")),
    Cell("second header", HEADER + GOOD + HEADER, "", ("is repeated",)),
    # the header
    Cell("near-miss column", comma("pich_mm", "7.5"), "pich_mm",
         ("not known", "left out because of it: row 3", "Rename it to pitch_mm"), row=1),
    Cell("unknown column", comma("price", "7.5"), "price", ("not known",), row=1),
    Cell("hash column", comma("#zone", "4"), "#zone",
         ("not known", "Call it x_zone", "# begins a comment"), row=1),
    Cell("own column like a real one", comma("x_pitch_mm", "7.5"), "x_pitch_mm",
         ("x_pitch_mm decides nothing; pitch_mm does", "left out because of it: row 3"), row=1),
    Cell("own column like an old one", comma("x_thread", "plain"), "x_thread",
         ("x_thread decides nothing; step_thread does",), row=1),
    Cell("own column misnamed", comma("x_Lüfter", "4"), "x_lüfter",
         ("cannot have this name", "Write x_lufter"), row=1),
    Cell("own formula", comma("x_shelf", "=B2"), "x_shelf", ("a formula",)),
    Cell("own text too long", comma("x_shelf", "y" * 121), "x_shelf", ("121 characters",)),
    Cell("own text unseen", comma("x_shelf", "a\u200bb"), "x_shelf", ("cannot be seen",)),
    Cell("no column name", HEADER.strip() + ",\n" + GOOD.strip() + ",7\n", "I",
         ("no name but filled cells", "row 2"), row=1),
]  # fmt: skip


@pytest.mark.parametrize("case", CELLS, ids=lambda c: c.name)
def test_spoiled_row_is_refused_at_its_place(case: Cell, tmp_path: Path) -> None:
    found = read_catalog(write(tmp_path, case.content))
    assert len(found.problems) == 1, [p.sentence() for p in found.problems]
    (problem,) = found.problems
    assert (problem.file, problem.row, problem.column) == ("catalog.csv", case.row, case.column)
    for words in case.words:
        assert words in problem.sentence()
    kept = [r.row_number for r in found.rows]
    assert kept == ([] if case.name == "no column name" else [2])


@dataclass(frozen=True)
class File:
    """A file none of whose rows can be read, and what is said about it."""

    name: str
    content: str | bytes
    words: tuple[str, ...]
    row: int | None = None
    column: str = ""


FILES = [
    File("empty", b"", ("is empty",)),
    File("only a byte order mark", b"\xef\xbb\xbf", ("is empty",)),
    File("only separators", ",,,\n;;\n", ("is empty",)),
    File("only comments", "# a\n# b\n", ("only comments",)),
    File("workbook", b"PK\x03\x04\x14\x00\x06\x00", ("workbook", "save the sheet as CSV")),
    File("old workbook", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", ("old spreadsheet workbook",)),
    File("compressed", b"\x1f\x8b\x08\x00", ("compressed",)),
    File("web page", "<!DOCTYPE html><html></html>", ("web page",)),
    File("JSON", '{"part_number": "HF-001"}', ("JSON",)),
    File("NUL bytes", (HEADER + GOOD).encode() + b"\x00\x00", ("NUL",)),
    File("UTF-16 without mark", (HEADER + GOOD).encode("utf-16-le"), ("UTF-16 without",)),
    File("UTF-16 cut off", (HEADER + GOOD).encode("utf-16")[:-1], ("UTF-16 but is damaged",)),
    File("UTF-32", (HEADER + GOOD).encode("utf-32"), ("UTF-32",)),
    File("French letter, or a Czech one", (HEADER + GOOD + "# arrière\n").encode("cp1252"),
         ("more than one way", "0xE8", "line 3", "UTF-8")),
    File("DOS umlaut", (HEADER + GOOD + "# Lüfter\n").encode("cp850"), ("more than one way",)),
    File("DOS sharp s", (HEADER + GOOD + "# Fuß\n").encode("cp850"), ("more than one way",)),
    File("Macintosh umlaut", (HEADER + "# Lüfter\n").encode("mac_roman"), ("more than one way",)),
    File("Cyrillic", (HEADER + "# Решётка\n").encode("cp1251"), ("more than one way",)),
    File("no header", GOOD, ("no line of column names",), row=1),
    File("no table", "Hatchery vents\nof this year\n", ("not a table", "commas"), row=1),
    File("vertical bars", HEADER.replace(",", "|"), ("not a table",), row=1),
    File("header commented out", "#" + HEADER + GOOD, ("names is commented out",), row=2),
    File("only a commented header", "# " + HEADER, ("names is commented out",)),
    File("header with an open quote", '"part_number,family,size,status\n', ("never closes",),
         row=1),
    File("required column missing", "part_number,family,size\nHF-1,round,M32x1.5\n",
         ("required column is missing",), row=1, column="status"),
    File("required column misspelt", "part_number,famliy,size,status\n",
         ("required column is missing", "'famliy'", "to family"), row=1, column="family"),
    File("column twice", HEADER.replace("step_thread", "Pitch mm") + GOOD,
         ("more than once", "E and G"), row=1, column="pitch_mm"),
    File("mixed separators in the header", "part_number,family;size,status\n",
         ("mixes commas and semicolons",), row=1),
    File("unknown separator line", "sep=|\npart_number|family\n", ("separator that is not read",)),
    File("merge conflict", HEADER + "<<<<<<< ours\n" + GOOD + "=======\n>>>>>>> theirs\n",
         ("unresolved merge",)),
    File("merge conflict, CRLF", HEADER + "=======\r\n" + GOOD, ("unresolved merge",)),
]  # fmt: skip


@pytest.mark.parametrize("case", FILES, ids=lambda c: c.name)
def test_unreadable_file_is_refused(case: File, tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_catalog(write(tmp_path, case.content))
    assert {(p.file, p.row) for p in caught.value.problems} == {("catalog.csv", case.row)}
    told = [p for p in caught.value.problems if all(w in p.sentence() for w in case.words)]
    assert told, str(caught.value)
    assert told[0].column == case.column


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.csv: the file does not exist"):
        read_catalog(tmp_path / "none.csv")
    with pytest.raises(InputError, match="this is a folder"):
        read_catalog(tmp_path)
    with pytest.raises(InputError, match=r"cannot be opened|does not exist"):
        read_catalog(tmp_path / "a\x00b.csv")
    with pytest.raises(InputError, match=r"cannot be opened|does not exist"):
        read_catalog(tmp_path / ("x" * 5000))


def problems_of(folder: Path, *rows: str) -> list[Problem]:
    content = "part_number,family,size,status\n" + "".join(f"{r}\n" for r in rows)
    return list(read_catalog(write(folder, content)).problems)


def test_duplicate_part_numbers_refuse_every_row(tmp_path: Path) -> None:
    rows = ("HF-1,round,M32x1.5,released", "HF-2,round,M40x1.5,draft", "HF-1,round,M50x1.5,draft")
    found = read_catalog(
        write(tmp_path, "part_number,family,size,status\n" + "\n".join(rows) + "\n")
    )
    assert [(p.row, p.column, p.part_number) for p in found.problems] == [
        (2, "part_number", "HF-1"),
        (4, "part_number", "HF-1"),
    ]
    assert "also appears in row 4" in found.problems[0].message
    assert "also appears in row 2" in found.problems[1].message
    assert [r.row.part_number for r in found.rows] == ["HF-2"]


def test_many_duplicates_are_told_briefly(tmp_path: Path) -> None:
    found = problems_of(tmp_path, *["HF-1,round,M32x1.5,draft"] * 9)
    assert [p.row for p in found] == list(range(2, 11))
    assert "rows 3, 4, 5, 6, 7 and 3 more" in found[0].message
    assert "rows 2, 3, 4, 5, 6 and 3 more" in found[8].message


def test_part_numbers_that_differ_in_case(tmp_path: Path) -> None:
    found = problems_of(tmp_path, "HF-1a,round,M32x1.5,released", "hf-1A,round,M40x1.5,released")
    assert [p.row for p in found] == [2, 3]
    assert all("capital and small letters" in p.message for p in found)
    assert "hf-1A in row 3" in found[0].message


def test_duplicate_of_a_row_with_other_faults(tmp_path: Path) -> None:
    found = problems_of(tmp_path, "HF-1,round,M33x1.5,released", "HF-1,round,M40x1.5,released")
    assert [(p.row, p.column) for p in found] == [(2, "size"), (2, "part_number"),
                                                  (3, "part_number")]  # fmt: skip


@pytest.mark.parametrize("ending", ["-locknut", "-gasket", "-assembly", "-LOCKNUT"])
def test_name_of_a_companion_file(ending: str, tmp_path: Path) -> None:
    rows = (f"HF-1{ending},round,M32x1.5,released", "HF-1,round,M40x1.5,released")
    content = "part_number,family,size,status\n" + "\n".join(rows) + "\n"
    found = read_catalog(write(tmp_path, content))
    (problem,) = found.problems
    assert (problem.row, problem.column) == (2, "part_number")
    assert "companion file of part HF-1 in row 3" in problem.message
    assert [r.row.part_number for r in found.rows] == ["HF-1"]


def test_name_like_a_companion_file_without_its_part(tmp_path: Path) -> None:
    assert problems_of(tmp_path, "HF-1-locknut,round,M32x1.5,released") == []


def test_header_only(tmp_path: Path) -> None:
    for below in ("", "\n\n", ",,,\n", "# note\n", '" ","\n",,\n'):
        (problem,) = read_catalog(write(tmp_path, HEADER + below)).problems
        assert problem.message == "the file has column names but no rows"


def test_all_problems_in_one_go(tmp_path: Path) -> None:
    content = (
        "# hatchery\n"
        + HEADER.replace("step_thread", "step_thraed")
        + "HF-1,rectangular,80x60,released,4,9,,\n"
        + "\n"
        + "HF-2,rectangular,80x60,released,7,5,3,,\n"
        + GOOD
        + "HF-1,squre,80x60,,,,,\n"
    )
    found = read_catalog(write(tmp_path, content))
    assert [(p.row, p.column) for p in found.problems] == [
        (2, "step_thraed"),
        (3, "pitch_mm"),
        (3, "bank_count"),
        (3, "part_number"),
        (5, ""),
        (7, "family"),
        (7, "status"),
        (7, "part_number"),
    ]
    assert [(r.row_number, r.row.part_number) for r in found.rows] == [(6, "HF-001")]


def test_rows_under_an_unknown_column_are_not_taken_as_read(tmp_path: Path) -> None:
    content = "part_number,family,size,status,pich_mm\nA1,round,M32x1.5,draft,7\n"
    content += "A2,round,M32x1.5,draft,\n"
    assert [r.row.part_number for r in read_catalog(write(tmp_path, content)).rows] == ["A2"]


def test_semicolon_file_with_nothing_but_three_digits(tmp_path: Path) -> None:
    """Thousands of an English sheet or three decimals of a German one: nobody can tell."""
    for written in ("1,500", "1.500", "12.000"):
        content = f"part_number;family;size;status;pitch_mm\nA1;round;M32x1.5;draft;{written}\n"
        (problem,) = read_catalog(write(tmp_path, content)).problems
        assert "can be read as" in problem.message


def test_mixed_marks_make_three_digits_ambiguous(tmp_path: Path) -> None:
    content = "part_number;family;size;status;pitch_mm\n"
    for i, written in enumerate(("7,5", "8,5", "9.5", "12,000")):
        content += f"A{i};round;M32x1.5;draft;{written}\n"
    found = read_catalog(write(tmp_path, content))
    assert [(p.row, p.column) for p in found.problems] == [(4, "pitch_mm"), (5, "pitch_mm")]
    assert [r.row.pitch_mm for r in found.rows] == [7.5, 8.5]


def test_messages_show_unseen_signs_and_stay_short(tmp_path: Path) -> None:
    for text in ("HF\x1b[31m-2", "HF\u202e-2", "A" * 3000):
        (problem,) = read_catalog(write(tmp_path, comma("part_number", text))).problems
        assert problem.sentence().isprintable()
        assert len(problem.sentence()) < 500

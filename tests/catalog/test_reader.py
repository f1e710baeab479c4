"""Reading good catalogues: every way a spreadsheet writes a table gives the same rows."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from vent_family.base.problems import InputError
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.hashing import row_hash
from vent_family.catalog.model import ROUND_THREADS, CatalogRow, column_families
from vent_family.catalog.parse.numbers import (
    Fault,
    NumberStyle,
    number_style,
    parse_number,
)
from vent_family.catalog.reader import CatalogFile, SourcedRow, parse_catalog, read_catalog
from vent_family.catalog.reference import column_reference

PLAIN = """\
part_number,family,size,status,material,pitch_mm,bank_gaps_mm,bank_count,locating_key,step_thread,description
HF-001,rectangular,80.5x60,released,ASA,7.5,7.5/3/3,4,none,,Lüfter Bruthaus
HF-002,round,M32x1.5,draft,,,,,,helical,"Neck, small"
HF-003,flanged,200x150,retired,PA,12.25,,3,notch,,
"""


def read(folder: Path, content: str | bytes) -> CatalogFile:
    path = folder / "catalog.csv"
    path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    return read_catalog(path)


def contents(found: CatalogFile) -> list[tuple[CatalogRow, str]]:
    assert found.problems == (), [p.sentence() for p in found.problems]
    return [(r.row, r.row_hash) for r in found.rows]


def respell(text: str, separator: str, mark: str) -> str:
    """Return a comma file as a spreadsheet of another language saves it."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\n")
    for row in csv.reader(io.StringIO(text)):
        writer.writerow([re.sub(r"(?<=[0-9])\.(?=[0-9])", mark, cell) for cell in row])
    return out.getvalue()


VARIANTS = {
    "byte order mark": b"\xef\xbb\xbf" + PLAIN.encode(),
    "CRLF": PLAIN.replace("\n", "\r\n").encode(),
    "CR": PLAIN.replace("\n", "\r").encode(),
    "no last line end": PLAIN.rstrip("\n").encode(),
    "UTF-16": PLAIN.encode("utf-16"),
    "UTF-16 with tabs, as Unicode text": respell(PLAIN, "\t", ".").encode("utf-16"),
    "Windows-1252": PLAIN.encode("cp1252"),
    "Windows-1252, semicolons, decimal commas": respell(PLAIN, ";", ",").encode("cp1252"),
    "semicolons, decimal commas": respell(PLAIN, ";", ",").encode(),
    "semicolons, decimal points": respell(PLAIN, ";", ".").encode(),
    "tabs, decimal commas": respell(PLAIN, "\t", ",").encode(),
    "tabs, decimal points": respell(PLAIN, "\t", ".").encode(),
    "separator line": ("sep=;\r\n" + respell(PLAIN, ";", ",").replace("\n", "\r\n")).encode(),
    "all quoted": re.sub(r"(?m)(^|,)([^,\"\n]*)(?=,|$)", r'\1"\2"', PLAIN).encode(),
    "comments": (
        "# hatchery vents\n"
        '"# text, more",,,,,,,,,,\n' + PLAIN.replace("HF-003", '# note "a,,,,,,,,,,\n\nHF-003')
    ).encode(),
    "comment of two lines, quoted": ('"# one\ntwo, three",,,,\n' + PLAIN).encode(),
    "comment block": ("##########\n#\n  # indented\n,,,,,\n" + PLAIN).encode(),
    "surplus blank columns": PLAIN.replace("\n", ",,\n").encode(),
    "spaces around cells": PLAIN.replace("HF-001,rectangular,", "\u00a0HF-001 , rectangular\u00a0,")
    .replace(",7.5,", ", 7.5 ,")
    .encode(),
    "names and choices in another case": PLAIN.replace("part_number", "Part Number")
    .replace("pitch_mm", "PITCH-MM")
    .replace("rectangular", "Rectangular")
    .replace("released", "RELEASED")
    .replace("ASA", "asa")
    .encode(),
    "none as a spreadsheet user writes it": PLAIN.replace(",none,", ",None,").encode(),
    "sizes as people write them": PLAIN.replace("80.5x60", "80.50 X 60")
    .replace("200x150", "200×150")
    .replace("M32x1.5", "m32 x 1.5")
    .encode(),
    "thread with decimal comma": PLAIN.replace("M32x1.5", '"M32x1,5"').encode(),
    "trailing zeros": PLAIN.replace(",7.5,", ",7.500,").replace(",4,", ",4.0,").encode(),
    "gaps with spaces": PLAIN.replace("7.5/3/3", "7.50 / 3.0 / 3").encode(),
    "decomposed umlaut": PLAIN.replace("ü", "u\u0308").encode(),
    "separators left out after the last filled cell": PLAIN.replace(
        "PA,12.25,,3,notch,,", "PA,12.25,,3,notch"
    ).encode(),
}


@pytest.mark.parametrize("name", VARIANTS)
def test_variants_give_the_same_rows_and_hashes(name: str, tmp_path: Path) -> None:
    plain = contents(read(tmp_path, PLAIN))
    assert len(plain) == 3
    assert contents(read(tmp_path, VARIANTS[name])) == plain


def test_decimal_comma_in_numbers_and_points_in_text_cells(tmp_path: Path) -> None:
    """A German spreadsheet writes 7,5 in numbers and leaves a typed 80.5x60 alone."""
    text = respell(PLAIN, ";", ",").replace("80,5x60", "80.5x60").replace("7,5/3/3", "7.5/3/3")
    assert contents(read(tmp_path, text.replace("M32x1,5", "M32x1.5"))) == contents(
        read(tmp_path, PLAIN)
    )


def test_values_are_typed(tmp_path: Path) -> None:
    found = read(tmp_path, PLAIN)
    assert found.path_name == "catalog.csv"
    assert found.rows[0].row == CatalogRow(
        part_number="HF-001",
        family="rectangular",
        size="80.5x60",
        status="released",
        material="ASA",
        pitch_mm=7.5,
        bank_gaps_mm="7.5/3/3",
        bank_count=4,
        locating_key="none",
        description="Lüfter Bruthaus",
    )
    assert found.rows[1].row.description == "Neck, small"
    assert found.rows[2].row.slat_form is None


def test_minus_signs(tmp_path: Path) -> None:
    head = "part_number,family,size,status,mounting_tilt_deg\n"
    for written, value in (("-0.4", -0.4), ("\u22120.4", -0.4), ("+1", 1.0), ("-0", 0.0)):
        row = read(tmp_path, f"{head}A,round,M20x1.5,draft,{written}\n").rows[0].row
        assert row.mounting_tilt_deg == value
        assert str(row.mounting_tilt_deg) == str(value)


def test_three_digits_are_read_where_other_cells_settle_the_mark(tmp_path: Path) -> None:
    for mark in ",.":
        head = "part_number;family;size;status;slat_thickness_mm;pitch_mm\n"
        text = f"{head}A;round;M20x1.5;draft;1{mark}500;7{mark}25\n"
        (row,) = read(tmp_path, text).rows
        assert row.row.slat_thickness_mm == 1.5
    text = "part_number,family,size,status,slat_thickness_mm\nA,round,M20x1.5,draft,1.500\n"
    assert read(tmp_path, text).rows[0].row.slat_thickness_mm == 1.5


def test_row_numbers_are_those_of_the_spreadsheet(tmp_path: Path) -> None:
    rows = PLAIN.splitlines()
    text = "\r\n".join(
        ["# note", '"# two\nlines",,', rows[0], "", rows[1], ",,,,,,,,,,", "# x", *rows[2:], ""]
    )
    found = read(tmp_path, text)
    assert [r.row_number for r in found.rows] == [5, 8, 9]
    assert [r.row_number for r in read(tmp_path, PLAIN).rows] == [2, 3, 4]
    # A line "sep=;" is obeyed by spreadsheets and not shown; from memory.
    assert [r.row_number for r in read(tmp_path, "sep=,\n" + PLAIN).rows] == [2, 3, 4]


def test_words_for_missing_values_stay_text(tmp_path: Path) -> None:
    head = "part_number,family,size,status,description\n"
    for word in ("NA", "nan", "None", "null", "N/A"):
        row = read(tmp_path, f"{head}A,round,M20x1.5,draft,{word}\n").rows[0].row
        assert row.description == word
    assert read(tmp_path, f"{head}NA,round,M20x1.5,draft,\n").rows[0].row.part_number == "NA"


@pytest.mark.parametrize(
    "name", ["Marlin-12", "MAR-12", "DEC-100", "12E10", "A..B", "CONE", "COM10", "7", "a_b.c"]
)
def test_part_numbers_near_a_trap_are_read(name: str, tmp_path: Path) -> None:
    text = f"part_number,family,size,status\n{name},round,M20x1.5,draft\n"
    assert contents(read(tmp_path, text))[0][0].part_number == name


@pytest.mark.parametrize("thread", ROUND_THREADS)
def test_all_thread_sizes_are_read(thread: str, tmp_path: Path) -> None:
    """Cable-entry sizes of IEC/EN 60423, from memory."""
    text = f"part_number,family,size,status\nA,round,{thread}x1.5,draft\n"
    assert read(tmp_path, text).rows[0].row.size == f"{thread}x1.5"


def test_hash_depends_on_content_only(tmp_path: Path) -> None:
    first = read(tmp_path, "part_number,family,size,status,wall_mm\nA,round,M20x1.5,draft,3\n")
    text = "wall_mm,status,size,family,part_number,lip_width_mm\n3.0,draft,M20x1.5,round,A,\n"
    moved = read(tmp_path, text)
    other = read(tmp_path, "part_number,family,size,status,wall_mm\nA,round,M20x1.5,draft,3.1\n")
    assert first.rows[0].row_hash == moved.rows[0].row_hash != other.rows[0].row_hash
    assert re.fullmatch("[0-9a-f]{16}", first.rows[0].row_hash)


def test_hash_is_fixed() -> None:
    """Published files carry hashes, so they must not change from version to version."""
    row = CatalogRow(part_number="A", family="round", size="M20x1.5", status="draft", wall_mm=3)
    # printf '{"family":"round","part_number":"A","size":"M20x1.5","status":"draft","wall_mm":3.0}'
    # through sha256sum
    assert row_hash(row) == "5821d771613a7041"


FLOATS = st.floats(5, 12, allow_nan=False).map(lambda v: round(v, 3))


@st.composite
def catalog_rows(draw: st.DrawFn) -> dict[str, object]:
    family = draw(st.sampled_from(("rectangular", "round", "flanged")))
    cells: dict[str, object] = {
        "family": family,
        "size": draw(st.sampled_from(ROUND_THREADS)) + "x1.5"
        if family == "round"
        else f"{draw(st.integers(25, 400))}x{draw(st.integers(250, 4000)) / 10:g}",
        "status": draw(st.sampled_from(COLUMNS["status"].choices)),
        "pitch_mm": draw(st.none() | FLOATS),
        "bank_count": draw(st.none() | st.integers(1, 6)),
        "flange_width_mm": draw(st.none() | FLOATS.map(lambda v: v + 10)),
        "neck_length_mm": draw(st.none() | FLOATS.map(lambda v: v + 5)),
        "colour": draw(st.none() | st.sampled_from(COLUMNS["colour"].choices)),
        "locating_key": draw(st.sampled_from((None, "none", "notch"))),
        "description": draw(
            st.none()
            | st.text(st.sampled_from('abc ,;"äßNA#7.5'), min_size=1, max_size=40).filter(
                lambda t: not re.fullmatch(" *##+ *", t)  # refused: a column too narrow
            )
        ),
    }
    return {
        k: v if k == "family" or family in column_families(k) else None for k, v in cells.items()
    }


def rounded(value: object) -> object:
    return round(value, 6) if isinstance(value, float) else value


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(catalog_rows(), min_size=1, max_size=6))
def test_files_written_by_pandas_are_read_back(
    tmp_path: Path, drawn: list[dict[str, object]]
) -> None:
    rows = [{"part_number": f"HF-{i}", **{k: rounded(v) for k, v in r.items()}}
            for i, r in enumerate(drawn)]  # fmt: skip
    # A number certain of its mark, so that 7.125 in other rows cannot be 7125.
    rows.append({"part_number": "Z", "family": "round", "size": "M20x1.5", "status": "draft",
                 "pitch_mm": 7.5})  # fmt: skip
    wanted = [
        CatalogRow.model_validate(
            {
                k: v.strip() or None if isinstance(v, str) else v
                for k, v in r.items()
                if v is not None
            }
        )
        for r in rows
    ]
    frame = pd.DataFrame(rows)
    if "bank_count" in frame:
        frame["bank_count"] = frame["bank_count"].astype("Int64")
    path = tmp_path / "catalog.csv"
    hashes = set()
    for separator, mark in ((",", "."), (";", ","), ("\t", ","), ("\t", ".")):
        frame.to_csv(path, sep=separator, decimal=mark, index=False, encoding="utf-8-sig")
        found = read_catalog(path)
        assert found.problems == (), [p.sentence() for p in found.problems]
        assert [r.row for r in found.rows] == wanted
        hashes.add(tuple(r.row_hash for r in found.rows))
    assert len(hashes) == 1


def reads_or_refuses(folder: Path, content: bytes) -> CatalogFile | None:
    try:
        found = read(folder, content)
    except InputError as error:
        refused = error.problems
    else:
        refused = ()
    if refused:
        assert all(p.message and p.file and p.sentence().isprintable() for p in refused)
        return None
    assert all(p.sentence().isprintable() for p in found.problems)
    assert all(isinstance(r, SourcedRow) for r in found.rows)
    return found


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@example(b"\xf0\x99\x80\x80,\x01\r")  # a letter that no standard assigns, echoed from a name
@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda t: t.encode("utf-8", "ignore")))
def test_arbitrary_bytes_never_crash(tmp_path: Path, content: bytes) -> None:
    reads_or_refuses(tmp_path, content)
    reads_or_refuses(tmp_path, b"part_number,family,size,status\n" + content)


PIECES = st.sampled_from(
    ["HF-1", "round", "M32x1.5", "80x60", "draft", '"', '""', ",", ";", "\t", "\n", "\r\n", "#",
     "7,5", "1.500", "=", "'", "\u00a0", "ü", "\u200b", "", "９", "pitch_mm", "x" * 500, "\ufeff"]
)  # fmt: skip


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.sampled_from([",", ";", "\t"]),
    st.lists(PIECES, max_size=30).map("".join),
)
def test_scrambled_tables_never_crash(tmp_path: Path, separator: str, body: str) -> None:
    header = separator.join(("part_number", "family", "size", "status", "pitch_mm", "description"))
    found = reads_or_refuses(tmp_path, f"{header}\n{body}".encode())
    if found is not None:
        last = body.count("\n") + body.count("\r") + 2
        assert all(p.row is None or 1 <= p.row <= last for p in found.problems)


@settings(deadline=None)
@given(st.text(st.sampled_from("0123456789.,"), min_size=1, max_size=9), st.booleans())
def test_a_number_is_never_read_in_two_ways(text: str, comma_separated: bool) -> None:
    """Where a value comes out, the file's other mark gives none, and digits are kept."""
    separator = "," if comma_separated else ";"
    column = COLUMNS["pitch_mm"]
    style = number_style([text], separator)
    value = parse_number(text, column, style)
    if isinstance(value, Fault):
        assert value.message
        return
    assert len(re.findall("[.,]", text)) <= 1
    if "," in text:
        assert not comma_separated
    if not comma_separated:
        assert not re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", text)
    other = NumberStyle("," if style.mark == "." else ".", True, False)
    if re.search("[.,]", text):
        assert isinstance(parse_number(text, column, other), Fault)


def test_column_reference_lists_every_column_once() -> None:
    lines = column_reference().splitlines()
    assert [line.split("`")[1] for line in lines[2:]] == list(CatalogRow.model_fields)
    assert {line.count(" | ") for line in lines} == {4}
    pitch = next(line for line in lines if "`pitch_mm`" in line)
    assert "| mm | all | 5 to 40 mm |" in pitch
    neck = next(line for line in lines if "`neck_length_mm`" in line)
    assert "| round |" in neck


def test_reader_stays_light() -> None:
    """The check command answers at once: no geometry kernel, and pandas only to read rows."""
    code = (
        "import sys, vent_family.catalog.reader;"
        "heavy = {'pandas', 'cadquery', 'OCP', 'scipy', 'shapely', 'trimesh'} & set(sys.modules);"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=900)


@pytest.mark.parametrize(
    ("column", "cell", "advice"),
    [
        # Of the two whole numbers beside it only one can be had.
        ("bank_count", "6.5", "write 6"),
        ("pitch_mm", "900 mm", "write a value that is allowed"),
        ("pitch_mm", "9 mm", "write 9"),
        ("size", "80 by 60", "write it as 80x60"),
        ("size", "8 by 60", "write a value that is allowed"),
        ("bank_gaps_mm", "7.5; 3", "write it as 7.5/3"),
        ("bank_gaps_mm", "7.5; 1", "write a value that is allowed"),
        ("mounting_tilt_deg", "(95)", "write a value that is allowed"),
        ("mounting_tilt_deg", "(7)", "type -7"),
    ],
)
def test_advice_on_a_cell_is_a_value_that_the_cell_accepts(
    column: str, cell: str, advice: str
) -> None:
    cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    cells[column] = cell
    names = ",".join(cells)
    typed = ",".join(f'"{text}"' for text in cells.values())
    (problem,) = parse_catalog(f"{names}\n{typed}\n").problems
    assert problem.column == column
    assert problem.suggestion == advice
    assert problem.allowed
    if not advice.endswith("allowed"):
        cells[column] = advice.split()[-1]
        typed = ",".join(cells.values())
        assert parse_catalog(f"{names}\n{typed}\n").problems == ()

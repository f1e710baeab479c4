"""Rows put into catalogues of every kind: one row more, every other byte as it was.

What is read of the result is compared with Python's ``csv`` module and with pandas, which share
nothing with the reader.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.catalog.test_malformed import CELLS, FILES, Cell, File
from tests.catalog.test_reader import VARIANTS
from vent_family.base.problems import InputError
from vent_family.catalog.append import appended, replaced
from vent_family.catalog.reader import parse_catalog

ROOT = Path(__file__).parents[2]
ROW = {"part_number": "NEW-1", "family": "rectangular", "size": "80.5x60", "status": "draft"}
FULL = ROW | {"pitch_mm": "7.25", "bank_gaps_mm": "7.5/3", "description": 'Lüfter, "Halle"'}
HEAD = "part_number;family;size;status;pitch_mm\n"


def lines_of(data: bytes, encoding: str, separator: str) -> list[list[str]]:
    """Return the filled lines of a file as Python's csv module splits them, without comments."""
    text = data.decode(encoding).removeprefix("\ufeff")
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    return [r for r in rows if any(c.strip() for c in r) and not r[0].lstrip().startswith("#")]


def inserted(old: bytes, new: bytes) -> bytes:
    """Return the one piece that ``new`` has more than ``old``; fails where there is no such one."""
    alike = zip(old, new, strict=False)
    start = next((i for i, (a, b) in enumerate(alike) if a != b), len(old))
    end = len(old) - start
    assert new.endswith(old[start:])
    return new[start : len(new) - end]


def good(data: bytes, encoding: str = "utf-8") -> dict[str, int]:
    """Return the row numbers of a catalogue's good rows."""
    file = parse_catalog(data.decode(encoding).removeprefix("\ufeff"), "vents.csv")
    return {s.row.part_number: s.row_number for s in file.rows}


@pytest.mark.parametrize("name", VARIANTS)
def test_good_catalogues_of_every_kind_take_a_row(name: str) -> None:
    old = VARIANTS[name]
    encoding = "utf-16" if "UTF-16" in name else "cp1252" if "1252" in name else "utf-8"
    separator = ";" if "emicolon" in name or "separator line" in name else ","
    separator = "\t" if "tabs" in name else separator
    comma = "decimal commas" in name or name == "separator line"
    written = appended(old, "vents.csv", FULL)
    piece = inserted(old, written.data)
    assert written.columns_added == written.rows_grown == ()
    before, after = (lines_of(d, encoding, separator) for d in (old, written.data))
    assert after[:-1] == before
    head = next(r for r in after if "part" in r[0].lower())
    expected = {"pitchmm": "7,25" if comma else "7.25", "description": FULL["description"]}
    expected |= {"size": "80,5x60" if comma else "80.5x60", "partnumber": "NEW-1"}
    got = {n.lower().replace("_", "").replace("-", "").replace(" ", ""): c
           for n, c in zip(head, after[-1], strict=True)}  # fmt: skip
    assert {n: got[n] for n in expected} == expected
    assert sum(1 for c in got.values() if c) == len(FULL)
    assert (piece.count(b'"') > 20) == (name == "all quoted")
    ends = {e: old.count(e) for e in (b"\r\n", b"\r", b"\n")}
    kept = b"\r\n" if ends[b"\r\n"] else b"\r" if ends[b"\r"] else b"\n"
    if encoding == "utf-8":
        assert piece.count(kept) == piece.count(b"\r") + piece.count(b"\n") - (kept == b"\r\n") == 1


REFUSED = {"file cut off": "ends inside this row", "quote never closed": "row 3"}


@pytest.mark.parametrize("case", CELLS, ids=lambda c: c.name)
def test_rows_with_faults_stay_as_they_are(case: Cell) -> None:
    """Faults of other rows stay the same, word for word; two kinds must be mended first."""
    old = case.content.encode() if isinstance(case.content, str) else case.content
    if case.name in REFUSED:
        with pytest.raises(InputError, match=REFUSED[case.name]):
            appended(old, "vents.csv", FULL | {"bank_gaps_mm": ""})
        return
    row = {n: t for n, t in FULL.items() if n != "bank_gaps_mm"}
    written = appended(old, "vents.csv", row)
    assert b"NEW-1" in inserted(old, written.data)
    files = [parse_catalog(d.decode(), "vents.csv") for d in (old, written.data)]
    assert files[0].problems == files[1].problems
    assert [s.row for s in files[0].rows] == [s.row for s in files[1].rows[:-1]]
    assert files[1].rows[-1].row_number == written.row_number


@pytest.mark.parametrize("case", FILES, ids=lambda c: c.name)
def test_files_that_cannot_be_read_are_refused(case: File) -> None:
    data = case.content.encode() if isinstance(case.content, str) else case.content
    with pytest.raises(InputError) as caught:
        appended(data, "catalog.csv", FULL)
    assert {(p.file, p.row) for p in caught.value.problems} == {("catalog.csv", case.row)}


@pytest.mark.parametrize("below", ["", "\n\n", "# end\n", ";;;;\n# 1\n", '"# two\nlines";\n'])
def test_the_row_goes_below_the_last_one_and_above_what_ends_the_file(below: str) -> None:
    above = HEAD + "# hall 1\nA;round;M20x1.5;draft;7,5\n"
    new = appended((above + below).encode(), "vents.csv", ROW | {"pitch_mm": "8.25"})
    assert new.data.decode() == above + "NEW-1;rectangular;80.5x60;draft;8,25\n" + below
    assert (new.row_number, new.row.pitch_mm) == (4, 8.25)
    first = appended((HEAD + below).encode(), "vents.csv", ROW)
    assert first.data.decode() == HEAD + "NEW-1;rectangular;80,5x60;draft;\n" + below


def test_the_last_line_stays_without_its_end() -> None:
    old = b"# note\r\npart_number,family,size,status\r\nA,round,M20x1.5,draft"
    new = appended(old, "vents.csv", ROW).data
    assert new == old + b"\r\nNEW-1,rectangular,80.5x60,draft"
    alone = b"part_number,family,size,status"
    assert appended(alone, "v.csv", ROW).data == alone + b"\nNEW-1,rectangular,80.5x60,draft"


def test_numbers_that_could_hold_thousands_are_written_so_that_they_cannot() -> None:
    """1,125 is more than a thousand to an English reader, and no other number settles it."""
    cells = ROW | {"pitch_mm": "7.125", "size": "80.125x60"}
    old = (HEAD + "A;round;M20x1.5;draft;\n").encode()
    new = appended(old, "vents.csv", cells)
    assert inserted(old, new.data).decode() == "NEW-1;rectangular;80.1250x60;draft;7,1250\n"
    assert (new.row.pitch_mm, new.row.size) == (7.125, "80.125x60")
    settled = old.replace(b"draft;\n", b"draft;7,5\n")
    assert appended(settled, "vents.csv", cells).data.endswith(b";7,125\n")


def test_a_row_that_would_settle_a_doubt_about_another_is_refused() -> None:
    old = (HEAD + "A;round;M20x1.5;draft;12,500\n").encode()
    with pytest.raises(InputError, match="read in another way: row 2") as caught:
        appended(old, "vents.csv", ROW | {"pitch_mm": "7.5"})
    assert caught.value.problems[0].code == "catalog.write.rows"
    assert appended(old, "vents.csv", ROW).row_number == 3


def test_a_column_that_lacks_is_named_and_rows_grow_only_where_they_could_be_misread() -> None:
    old = (
        b"# a,b\r\npart_number,family,size,status,pitch_mm,overlap_mm\r\n"
        b"A,rectangular,80x60,draft,7,3\r\n"  # could be 7,3 once the row is short
        b"B,rectangular,80x60,draft,7.5,3\r\n"
        b"C,rectangular,80x60,draft\r\n"
    )
    new = appended(old, "vents.csv", ROW | {"wall_mm": "2", "bank_count": "3", "pitch_mm": "8"})
    assert new.data == (
        b"# a,b\r\npart_number,family,size,status,pitch_mm,overlap_mm,bank_count,wall_mm\r\n"
        b"A,rectangular,80x60,draft,7,3,,\r\n"
        b"B,rectangular,80x60,draft,7.5,3\r\n"
        b"C,rectangular,80x60,draft\r\n"
        b"NEW-1,rectangular,80.5x60,draft,8,,3,2\r\n"
    )
    assert (new.columns_added, new.rows_grown) == (("bank_count", "wall_mm"), (3,))


def test_a_blank_column_without_name_takes_a_new_one() -> None:
    old = b'"part_number","family","size","status","","x_bin"\n"A","round","M20x1.5","draft",,7\n'
    new = appended(old, "vents.csv", ROW | {"wall_mm": "2"}).data
    assert new.startswith(b'"part_number","family","size","status","wall_mm","x_bin"\n"A",')
    filled = appended(old.replace(b",,7", b",9,7"), "v.csv", ROW | {"wall_mm": "2"}).data
    assert filled.startswith(b'"part_number","family","size","status","","x_bin","wall_mm"\n"A",')


def test_columns_are_not_added_beside_rows_that_cannot_be_split() -> None:
    """A surplus cell would come to lie under the new name."""
    old = b"part_number,family,size,status\nA,round,M20x1.5,draft,4\n"
    with pytest.raises(InputError, match="the file lacks wall_mm") as caught:
        appended(old, "vents.csv", ROW | {"wall_mm": "2"})
    assert [(p.code, p.row) for p in caught.value.problems] == [("catalog.write.columns", 2)]
    assert appended(old, "vents.csv", ROW).row_number == 3


def test_an_old_name_is_not_joined_by_the_new_one() -> None:
    old = b"part_number,family,size,status,key\nA,round,M20x1.5,draft,\n"
    with pytest.raises(InputError, match="called locating_key now"):
        appended(old, "vents.csv", ROW | {"locating_key": "notch"})
    assert appended(old, "vents.csv", ROW).columns_added == ()


def test_a_row_that_would_be_a_comment_is_refused() -> None:
    old = b"description,part_number,family,size,status\nInlet,A,round,M20x1.5,draft\n"
    with pytest.raises(InputError, match="would begin with #") as caught:
        appended(old, "vents.csv", ROW | {"description": "#4 pump"})
    assert caught.value.problems[0].code == "catalog.write.comment"


def test_letters_that_the_encoding_does_not_hold_for_certain_are_refused() -> None:
    old = "part_number,family,size,status,description\nA,round,M20x1.5,draft,Lüfter\n"
    for text in ("Решётка", "arrière"):
        with pytest.raises(InputError, match="not UTF-8, and a letter") as caught:
            appended(old.encode("cp1252"), "vents.csv", ROW | {"description": text})
        assert caught.value.problems[0].code == "catalog.write.letters"
        new = appended(old.encode(), "vents.csv", ROW | {"description": text}).data
        assert new.decode().endswith(f"{text}\n")


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"pitch_mm": "75"}, "75 mm is too large"),
        ({"description": "=A1"}, "formula"),
        ({"part_number": "A"}, "also appears in row 2"),
        ({"part_number": "a"}, "capital and small letters"),
        ({"part_number": "A-gasket"}, "overwrite a companion file"),
        ({"neck_length_mm": "12"}, "does not apply to the rectangular family"),
        ({"fan": "none.csv"}, "no fan curve|cannot be read"),
    ],
)
def test_a_row_that_is_no_good_one_is_refused(cells: dict[str, str], words: str) -> None:
    old = b"part_number,family,size,status\nA,round,M20x1.5,draft\n"
    with pytest.raises(InputError, match=words):
        appended(old, "vents.csv", ROW | cells)


def test_pandas_reads_the_demo_catalogue_with_one_row_more() -> None:
    old = (ROOT / "catalog.csv").read_bytes()
    new = appended(old, "catalog.csv", FULL, ROOT)
    tables = [
        pd.read_csv(io.BytesIO(d), dtype=str, keep_default_na=False, comment="#")
        for d in (old, new.data)
    ]
    assert len(tables[1]) == len(tables[0]) + 1
    assert tables[1].iloc[:-1].equals(tables[0])
    last = tables[1].iloc[-1]
    assert {n: c for n, c in last.items() if c} == FULL


# -- catalogues of chance ---------------------------------------------------------------------

NAMES = ("part_number", "family", "size", "status", "pitch_mm", "wall_mm", "description", "x_bin")
TEXTS = st.text(st.sampled_from("abü 7,;.\"'é"), max_size=8)


@st.composite
def files(draw: st.DrawFn) -> tuple[bytes, str, str, str, list[str]]:
    """Return an odd catalogue's bytes, encoding, separator, decimal mark and column names."""
    separator = draw(st.sampled_from(",;\t"))
    mark = "." if separator == "," else draw(st.sampled_from(",."))
    names = draw(st.permutations(NAMES))
    ends = draw(st.sampled_from((("\n",), ("\r\n",), ("\r",), ("\n", "\r\n"))))
    quoting = draw(st.sampled_from((csv.QUOTE_MINIMAL, csv.QUOTE_ALL)))
    kept = draw(st.integers(6, 8))
    header = [n for i, n in enumerate(names) if i < kept or n in NAMES[:4]]

    def line(cells: list[str]) -> str:
        out = io.StringIO()
        csv.writer(out, delimiter=separator, quoting=quoting, lineterminator="").writerow(cells)
        return out.getvalue() + draw(st.sampled_from(ends))

    def between() -> str:
        odd = ("", "", "# a; b, c", f"# 19 {'x' * 5}", separator * 3, " ")
        text = draw(st.sampled_from(odd))
        return text + draw(st.sampled_from(ends)) if text else ""

    settled = False
    text = between() + line(header)
    for number in range(draw(st.integers(0, 4))):
        number_text = draw(st.sampled_from(("7.5", "9", "9"))).replace(".", mark)
        cells = {
            "part_number": f"V-{number}",
            "family": "rectangular",
            "size": draw(st.sampled_from(("80x60", "80.5x60"))),
            "status": draw(st.sampled_from(("draft", "no status"))),
            "pitch_mm": number_text,
            "wall_mm": draw(st.sampled_from(("", "2", "2"))),
            "description": draw(TEXTS),
            "x_bin": draw(TEXTS),
        }
        text += between() + line([cells[n] for n in header])
        settled = settled or ("pitch_mm" in header and mark in number_text)
    text += between()
    if draw(st.booleans()):
        text = text.rstrip("\r\n")
    encoding = draw(st.sampled_from(("utf-8", "utf-8-sig", "utf-16")))
    # Without a number that shows it, semicolons and tabs are taken to go with decimal commas.
    mark = mark if settled or separator == "," else ","
    return text.encode(encoding), encoding, separator, mark, header


@settings(max_examples=150, deadline=None)
@given(files(), st.sampled_from(("7", "7.5", "12.25")), TEXTS)
def test_catalogues_of_chance_take_a_row(
    drawn: tuple[bytes, str, str, str, list[str]], pitch: str, text: str
) -> None:
    old, encoding, separator, mark, header = drawn
    file = parse_catalog(old.decode(encoding).removeprefix("\ufeff"), "v.csv")
    cells = ROW | {"pitch_mm": pitch, "description": text}
    new = appended(old, "v.csv", cells)
    before, after = (lines_of(d, encoding, separator) for d in (old, new.data))
    names = after[0]
    added = list(new.columns_added)
    assert names == [*header, *added]
    assert len(after) == len(before) + 1
    for row_before, row_after in zip(before[1:], after[1:-1], strict=True):
        assert row_after in (row_before, [*row_before, *[""] * len(added)])
    marked = pitch.replace(".", mark)
    given_text = text.strip()
    got = dict(zip(names, after[-1], strict=True))
    assert got.pop("size") in ("80.5x60", f"80{mark}5x60")
    filled = {"part_number": "NEW-1", "family": "rectangular", "status": "draft"}
    filled |= {"description": given_text, "pitch_mm": marked}
    assert {n: c for n, c in got.items() if c} == {n: c for n, c in filled.items() if c}
    assert new.row.pitch_mm == float(pitch)
    if not added:
        inserted(old, new.data)
    again = parse_catalog(new.data.decode(encoding).removeprefix("\ufeff"), "v.csv")
    assert [s.row for s in again.rows[:-1]] == [s.row for s in file.rows]


# -- cells of a row changed ---------------------------------------------------------------------


def test_only_the_cells_that_say_something_else_are_changed() -> None:
    old = (
        b"\xef\xbb\xbf# hall\r\n"
        b"part_number;family;size;status;pitch_mm;revision;description;x_bin\r\n"
        b"A; round ;M20x1.5;draft;7,50;A;\"Pump; 'north'\";7\r\n"
        b'"B";"round";"M25x1,5";" draft ";7,5;"A";"";8\r\n'
    )
    cells = {"pitch_mm": "7.5", "status": "released", "revision": "B", "description": "Neck"}
    first = replaced(old, "v.csv", "A", cells)
    assert first.data == old.replace(b"draft;7,50;A;\"Pump; 'north'\"", b'released;7,50;B;"Neck"')
    assert (first.row_number, first.columns_added) == (3, ())
    second = replaced(old, "v.csv", "B", {**cells, "description": 'a;"b"', "pitch_mm": "8.25"})
    assert second.data == old.replace(b'" draft ";7,5;"A";""', b'" released ";8,25;"B";"a;""b"""')
    blank = replaced(old, "v.csv", "A", {"pitch_mm": "", "description": ""})
    assert blank.data == old.replace(b"7,50;A;\"Pump; 'north'\"", b';A;""')
    assert replaced(old, "v.csv", "A", {"pitch_mm": "7.5", "size": "M20x1.5"}).data == old


def test_a_short_row_grows_as_far_as_it_is_filled_or_must() -> None:
    head = "part_number,family,size,status,pitch_mm,overlap_mm,wall_mm,colour\n"
    old = f"{head}A,rectangular,80x60,draft\nB,rectangular,80x60,draft\n".encode()
    one = replaced(old, "v.csv", "A", {"overlap_mm": "3"}).data
    assert one == old.replace(b"draft\nB", b"draft,,3\nB")
    two = replaced(old, "v.csv", "A", {"overlap_mm": "3", "pitch_mm": "7"}).data
    assert two == old.replace(b"draft\nB", b"draft,7,3,,\nB")
    old = old.replace(b"draft\nB", b"draft\nC")[:-1]
    with pytest.raises(InputError, match="ends inside this row"):
        replaced(old, "v.csv", "A", {"slat_height_mm": "7.5"})
    three = replaced(old + b",,,,", "v.csv", "A", {"slat_height_mm": "7.5"})
    assert three.columns_added == ("slat_height_mm",)
    assert three.data.decode() == (
        head.replace("colour", "colour,slat_height_mm")
        + "A,rectangular,80x60,draft,,,,,7.5\nC,rectangular,80x60,draft,,,,,"
    )


def test_what_would_change_another_row_is_refused() -> None:
    old = (HEAD + "A;round;M20x1.5;draft;12,500\nB;round;M25x1.5;draft;7,5\n").encode()
    assert good(old) == {"A": 2, "B": 3}
    with pytest.raises(InputError, match="read in another way: row 2"):
        replaced(old, "v.csv", "B", {"pitch_mm": "8"})
    for number, words in (("b", "did you mean B"), ("C", "no row has this part number")):
        with pytest.raises(InputError, match=f"(?i){words}"):
            replaced(old, "v.csv", number, {"pitch_mm": "8.5"})
    bad = old.replace(b"M20", b"M21")
    with pytest.raises(InputError, match="not a thread size"):
        replaced(bad, "v.csv", "A", {"pitch_mm": "8.5"})
    assert replaced(bad, "v.csv", "B", {"pitch_mm": "8.5"}).row_number == 3


def test_a_row_named_as_the_vent_opposite_may_change() -> None:
    old = (
        b"part_number,family,size,status,opposite_vent\n"
        b"A,round,M20x1.5,draft,B\nB,round,M25x1.5,draft,\n"
    )
    new = replaced(old, "v.csv", "B", {"size": "M32x1.5"})
    assert new.data == old.replace(b"M25", b"M32")
    assert parse_catalog(new.data.decode()).rows[0].attached.opposite == new.row

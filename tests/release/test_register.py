"""The register of releases: what is written reads back, and whatever was done to it is told."""

from __future__ import annotations

import csv
import hashlib
import io
import random
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.release.releases import SOLID, gone, release
from vent_family.base.problems import InputError, Problem
from vent_family.geometry.fingerprint import differences
from vent_family.release.entry import COLUMNS
from vent_family.release.register import Register, parse_register, read_register, register_path

LINES = (
    release(),
    release(issue=2, change="evidence", evidence="b" * 16),
    release(issue=2, change="bytes", content="c" * 64, evidence="b" * 16),
    release(revision="B", change="revision", geometry=(("vent", SOLID), ("locknut", SOLID))),
    gone(revision="B"),
    release(revision="B", issue=2, change="returned"),
    release("HV-N32", water="marginal"),
    release("HV-F092", revision="E1"),
)


def register() -> Register:
    return Register().appended(*LINES)


def faults(text: str) -> list[Problem]:
    with pytest.raises(InputError) as told:
        parse_register(text, "catalog.releases.csv")
    assert all(p.file == "catalog.releases.csv" for p in told.value.problems)
    return list(told.value.problems)


def test_what_is_written_reads_back() -> None:
    read = parse_register(register().text())
    assert read.text() == register().text()
    for before, after in zip(register().entries, read.entries, strict=True):
        assert replace(before, geometry=()) == replace(after, geometry=())
        for (body, solid), (other, same) in zip(before.geometry, after.geometry, strict=True):
            assert body == other
            assert differences(solid, same) == []


def test_a_stranger_reads_it_as_a_table() -> None:
    """By the csv module alone: comments, one line of names, one line for each release."""
    lines = [line for line in register().text().splitlines() if not line.startswith("#")]
    names, *rows = csv.reader(io.StringIO("\n".join(lines)))
    assert tuple(names) == COLUMNS
    assert len(rows) == len(LINES)
    assert {len(row) for row in rows} == {len(names)}
    first = dict(zip(names, rows[-6], strict=True))
    assert first["part_number"] == "HV-R040"
    assert (first["revision"], first["issue"], first["released"]) == ("A", "1", "2026-03-04")
    assert first["fit"].startswith("opening=rectangle 40 x 40 mm")
    assert "volume_mm3=14249.945155" in first["geometry"]


def test_lines_stand_in_one_order_however_they_come() -> None:
    text = register().text()
    for seed in range(8):
        mixed = list(LINES)
        random.Random(seed).shuffle(mixed)
        assert Register().appended(*mixed[:4]).appended(*mixed[4:]).text() == text
    names = [entry.name for entry in register().entries]
    assert names == [
        "HV-F092 E1.1",
        "HV-N32 A.1",
        "HV-R040 A.1",
        "HV-R040 A.2",
        "HV-R040 A.2",
        "HV-R040 B.1",
        "HV-R040 B.1",
        "HV-R040 B.2",
    ]
    assert [e.change for e in register().of("HV-R040", "B")] == [
        "revision",
        "withdrawn",
        "returned",
    ]


def test_a_release_adds_one_line_and_touches_no_other() -> None:
    before = register().text().splitlines()
    after = register().appended(release("HV-N32", issue=2, change="evidence")).text().splitlines()
    assert len(after) == len(before) + 1
    (added,) = [line for line in after if line not in before]
    assert after.index(added) == next(i for i, x in enumerate(after) if x.startswith("HV-N32")) + 1


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
def test_releases_made_apart_merge_line_by_line(tmp_path: Path) -> None:
    texts = {
        "base": register(),
        "ours": register().appended(release("HV-F092", revision="E1", issue=2, change="evidence")),
        "theirs": register().appended(release(revision="B", issue=3, change="evidence")),
    }
    for name, held in texts.items():
        held.write(tmp_path / name)
    command = ["git", "merge-file", "-p", "ours", "base", "theirs"]
    merged = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)
    assert len(parse_register(merged.stdout).entries) == len(LINES) + 2


def test_latest_and_of() -> None:
    assert register().latest("HV-R040") == LINES[5]
    assert register().latest("HV-R041") is None
    assert len(register().of_part("HV-R040")) == 6
    assert [e.issue for e in register().of("HV-R040", "A")] == [1, 2, 2]
    assert {n: len(e) for n, e in register().by_part().items()} == {
        "HV-F092": 1,
        "HV-N32": 1,
        "HV-R040": 6,
    }


def test_comments_keep_their_places() -> None:
    lines = register().text().splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("HV-N32"))
    lines.insert(at, "# the wash-down tunnel")
    lines.append("# until here")
    read = parse_register("\n".join(lines) + "\n")
    assert read.text() == "\n".join(lines) + "\n"
    more = read.appended(release("HV-A010")).text().splitlines()
    assert more[more.index("# the wash-down tunnel") + 1].startswith("HV-N32")
    assert more[-1] == "# until here"


def test_it_stands_beside_the_catalogue(tmp_path: Path) -> None:
    path = register_path(tmp_path / "vents.xlsx")
    assert path == tmp_path / "vents.releases.csv"
    assert read_register(path) is None
    register().write(path)
    read = read_register(path)
    assert read is not None
    assert read.text() == register().text()
    assert [p.name for p in tmp_path.iterdir()] == ["vents.releases.csv"]
    with pytest.raises(InputError, match="cannot be read"):
        read_register(tmp_path)


@pytest.mark.parametrize(
    "saved",
    [
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("\n", "\r"),
        lambda text: "\n" + text.replace("\n", "\n\n"),
        lambda text: text.rstrip("\n"),
    ],
    ids=["crlf", "cr", "blank lines", "no last line end"],
)
def test_line_ends_are_nobodys_fault(saved: Callable[[str], str]) -> None:
    assert parse_register(saved(register().text())).text() == register().text()


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "catalog.releases.csv"
    path.write_bytes(b"\xef\xbb\xbf" + register().text().encode())
    read = read_register(path)
    assert read is not None
    assert read.text() == register().text()


def test_bytes_that_are_no_text_are_told(tmp_path: Path) -> None:
    path = tmp_path / "catalog.releases.csv"
    path.write_bytes(register().text().encode("utf-16-be"))
    with pytest.raises(InputError, match="UTF-16"):
        read_register(path)


def by_spreadsheet(separator: str = ",", day: str | None = None) -> str:
    """Return the register as a spreadsheet writes it: cells read, changed and quoted anew."""
    lines = []
    for cells in csv.reader(io.StringIO(register().text())):
        row = cells + [""] * (len(COLUMNS) - len(cells))
        if day and row[3].startswith("2026-"):
            year, month, date = row[3].split("-")
            row[3] = day.format(year=year, month=month, date=date)
        lines.append(row)
    stream = io.StringIO()
    csv.writer(stream, delimiter=separator, lineterminator="\r\n").writerows(lines)
    return stream.getvalue()


def test_a_spreadsheet_that_changes_nothing_does_no_harm() -> None:
    assert parse_register(by_spreadsheet()).entries == parse_register(register().text()).entries


@pytest.mark.parametrize(("separator", "words"), [(";", "semicolons"), ("\t", "tabs")])
def test_another_separator_is_told_once(separator: str, words: str) -> None:
    (problem,) = faults(by_spreadsheet(separator))
    assert words in problem.message
    assert "version control" in problem.suggestion


@pytest.mark.parametrize("day", ["{date}.{month}.{year}", "{month}/{date}/{year}", "{date}-Mar-26"])
def test_days_of_a_spreadsheet_are_told_line_by_line(day: str) -> None:
    told = faults(by_spreadsheet(day=day))
    assert len(told) == len(LINES)
    assert {p.column for p in told} == {"released"}
    assert all(p.allowed == "year-month-day, as 2026-03-04" for p in told)


def edited(row: int, column: str, change: Callable[[str], str]) -> str:
    """Return the register with one cell of one release changed, everything else as it was."""
    lines = register().text().splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith("part_number"))
    (cells,) = csv.reader([lines[first + row]])
    cells[COLUMNS.index(column)] = change(cells[COLUMNS.index(column)])
    stream = io.StringIO()
    csv.writer(stream, lineterminator="").writerow(cells)
    lines[first + row] = stream.getvalue()
    return "\n".join(lines)


EDITS: dict[str, Callable[[str], str]] = {
    "part_number": lambda c: c + "X",
    "revision": lambda c: "C",
    "issue": lambda c: "7",
    "released": lambda c: "2026-03-05",
    "change": lambda c: "evidence",
    "material": lambda c: "PETG",
    "fit": lambda c: c.replace("1.5 mm", "2 mm"),
    "design": lambda c: c.replace("pitch 7", "pitch 8"),
    "designed_volume": lambda c: c.replace("14289.7408", "14289.7418"),
    "row": lambda c: c.replace("5821", "5822"),
    "geometry": lambda c: c.replace("faces=336", "faces=337"),
    "evidence": lambda c: c.replace("6a", "6b"),
    "water": lambda c: "fails",
    "content": lambda c: c.replace("0123", "0124"),
    "line": lambda c: "sum:00000000",
}


@pytest.mark.parametrize("column", COLUMNS)
def test_a_cell_edited_by_hand_is_told_with_its_row(column: str) -> None:
    """By a value that is sound in itself: only the line as a whole tells."""
    told = faults(edited(3, column, EDITS[column]))
    lines = register().text().splitlines()
    row = 1 + next(i for i, x in enumerate(lines) if x.startswith("HV-R040"))
    assert any(p.row == row and "was changed after" in p.message for p in told)
    assert all("version control" in p.suggestion for p in told)


@pytest.mark.parametrize(
    ("column", "cell", "message"),
    [
        ("part_number", "03. Apr", "no part number"),
        ("revision", "a", "no revision"),
        ("issue", "1.0", "no issue"),
        ("issue", "0", "no issue"),
        ("released", "2026-02-30", "no day"),
        ("released", "20260304", "no day"),
        ("change", "newer", "no kind of change"),
        ("fit", "opening 40 x 40", "names no sizes"),
        ("fit", "panel=1 mm; panel=2 mm", "names no sizes: 'panel' stands twice"),
        ("designed_volume", "14289,7408 mm3", "no volume"),
        ("designed_volume", "14289.7408", "no volume"),
        ("row", "5.8E+15", "no hash"),
        ("evidence", "6a4286ea1005696c", "no hash"),
        ("content", "", "no hash"),
        ("geometry", "vent: faces=336", "no fingerprint: vent: edges is missing"),
        ("geometry", "", "no fingerprint"),
        ("line", "1E+07", "no sum"),
    ],
)
def test_a_cell_that_is_no_such_thing_is_told(column: str, cell: str, message: str) -> None:
    (problem,) = faults(edited(1, column, lambda _: cell))
    assert message in problem.message
    assert problem.column == column
    assert problem.row is not None
    assert repr(cell)[1:-1] in problem.sentence() or not cell


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_no_formula_is_written_or_read(start: str) -> None:
    for name in ("part_number", "material", "water"):
        with pytest.raises(ValueError, match="cannot stand in the register"):
            Register().appended(release(**{name: f"{start}cmd|'/c calc'!A1"})).text()

    def signed(text: str) -> str:
        """Return the line with a sum that is right, as an attacker can write it, too."""
        (cells,) = csv.reader([text])
        cells[5] = f"{start}1+1"
        total = hashlib.sha256("\x1f".join(cells[:-1]).encode()).hexdigest()[:8]
        stream = io.StringIO()
        csv.writer(stream, lineterminator="").writerow([*cells[:-1], f"sum:{total}"])
        return stream.getvalue()

    lines = register().text().splitlines()
    lines[-1] = signed(lines[-1])
    (problem,) = faults("\n".join(lines))
    assert "formula" in problem.message
    assert problem.column == "material"


def test_a_cell_cannot_break_its_line() -> None:
    with pytest.raises(ValueError, match="water"):
        Register().appended(release(water="holds\nHV-1,A")).text()


def test_an_unfinished_merge_is_told_at_each_mark() -> None:
    lines = register().text().splitlines()
    lines[4:4] = ["<<<<<<< ours", lines[4], "||||||| base", "=======", lines[4], ">>>>>>> theirs"]
    told = [p for p in faults("\n".join(lines)) if "merge was not finished" in p.message]
    assert [p.row for p in told] == [5, 7, 8, 10]
    assert "keep the lines of both versions" in told[0].suggestion


def test_a_line_that_stands_twice_is_told() -> None:
    lines = register().text().splitlines()
    (problem,) = faults("\n".join([*lines, lines[-1]]))
    assert problem.part_number == "HV-R040"
    assert f"rows {len(lines)}, {len(lines) + 1}" in problem.message


def test_one_issue_made_twice_is_told() -> None:
    other = release("HV-N32", evidence="d" * 16)
    (problem,) = faults(register().appended(other).text())
    assert "HV-N32 A.1 stands twice" in problem.message


def test_a_missing_issue_is_told() -> None:
    text = "\n".join(x for x in register().text().splitlines() if "HV-R040,A,2" not in x)
    later = parse_register(text).appended(release(issue=3, change="evidence"))
    (problem,) = faults(later.text())
    assert problem.message == "issue 2 of revision A is missing"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda t: t.replace("part_number,revision", "number,revision"), "lacks part_number"),
        (lambda t: t.replace("evidence,water", "water,evidence"), "has other columns"),
        (lambda t: "# nothing\n", "no line of column names"),
        (lambda t: "", "no line of column names"),
        (lambda t: t.replace("sha256:5821", 'sha"256:5821'), "no hash"),
        (lambda t: t + "HV-R050,A,1\n", "3 cells instead of 15"),
        (lambda t: t + '"HV-R050,A,1\n', "broken quotation marks"),
    ],
)
def test_another_file_is_told(change: Callable[[str], str], message: str) -> None:
    assert any(message in p.message for p in faults(change(register().text())))


def test_every_fault_is_told_at_once() -> None:
    text = edited(1, "revision", lambda _: "b").replace("HV-N32,A,1", "HV-N32,A,x")
    told = faults(text)
    assert [p.column for p in told] == ["revision", "issue"]
    assert [p.row for p in told] == sorted(p.row or 0 for p in told)

"""``vent-family improve``: what it prints, what it writes, and what it refuses."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any, Final

import openpyxl
import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered, refused
from vent_family.catalog.attached import NOTHING_ATTACHED, Attached
from vent_family.catalog.model import CatalogRow
from vent_family.front.cli.app import app
from vent_family.proposing import improve as search
from vent_family.proposing.descent import Descent
from vent_family.proposing.keeps import WantedKept

TEXT: Final = (
    "# Vents of the hall; semicolons, decimal commas\r\n"
    "part_number;family; size ;status;revision;wall_mm;exposure;x_shelf;lip_thickness_mm\r\n"
    'V-40;rectangular;40x40;released;B;"3,0";dry;A 7;2,40\r\n'
    "\r\n"
    "V-50;rectangular;50x50;retired;A;;;B 1;\r\n"
    "# the end\r\n"
)
"""A catalogue whose first row has walls twice as thick as they need be."""


EFFORT: Final = Descent(rounds=2, reach=2, several=2, mixed=2, wet=2, at_once=2, ends=1)
LADDERS: Final = {"wall_mm": (1.5,), "lip_thickness_mm": (2.0,)}
_searched = search.improved


@functools.cache
def found(row: CatalogRow, wanted: WantedKept | None) -> search.Improvement:
    """Return what is found among few rows, which is searched once."""
    return _searched(
        row, NOTHING_ATTACHED, wanted, effort=EFFORT, ladders=LADDERS, fine=0, workers=1
    )


def small(row: CatalogRow, attached: Attached, wanted: WantedKept, **_: Any) -> search.Improvement:
    return found(row, wanted)


@pytest.fixture(autouse=True)
def few_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "improved", small)


def catalogue(folder: Path) -> Path:
    path = folder / "vents.csv"
    path.write_bytes(TEXT.encode())
    return path


def run(path: Path, *words: str) -> Any:
    given = ["improve", *words, "--catalog", str(path), "--jobs", "1"]
    return CliRunner().invoke(app, given)


def test_what_is_found_is_told_and_the_file_is_left(tmp_path: Path) -> None:
    path = catalogue(tmp_path)
    result = run(path, "v-40", "--keep", "fit,water,flow")
    assert result.exit_code == 0, result.output
    assert "V-40, revision B, 1,000 pieces" in result.output
    assert "as revision C: set wall_mm to 1.5" in result.output
    assert "Kept: flow, water, fit." in result.output
    assert "not a certified IP rating" in result.output
    assert path.read_bytes() == TEXT.encode()


def test_a_written_row_has_the_next_revision_and_all_other_bytes_stay(tmp_path: Path) -> None:
    path = catalogue(tmp_path)
    data = answered(run(path, "V-40", "--write", "--json").output)
    cells = {c["column"]: (c["old"], c["new"]) for c in data["options"][0]["cells"]}
    assert cells["wall_mm"] == ("3", "1.5")
    assert cells["revision"] == ("B", "C")
    assert set(cells) <= {"wall_mm", "revision", "lip_thickness_mm"}
    lip = cells.get("lip_thickness_mm", ("2.4", "2,40"))[1].replace(".", ",")
    expected = TEXT.replace('B;"3,0"', 'C;"1,5"').replace("2,40", lip)
    assert path.read_bytes() == expected.encode()
    assert data["written"]["row"] == 3
    assert data["options"][0]["saves_percent"] > 1.0
    assert data["options"][0]["now"]["price"] < data["today"]["price"]


def test_cells_of_a_workbook_are_told_not_written(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (
        ("part_number", "family", "size", "status", "revision", "wall_mm", "exposure"),
        ("V-40", "rectangular", "40x40", "released", "B", 3, "dry"),
    ):
        book.active.append(row)
    path = tmp_path / "vents.xlsx"
    book.save(path)
    before = path.read_bytes()
    result = run(path, "V-40", "--write")
    assert result.exit_code == 0, result.output
    assert "E2  revision: C" in result.output
    assert "F2  wall_mm: 1.5" in result.output
    assert path.read_bytes() == before


def test_a_file_that_changes_meanwhile_is_left_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = catalogue(tmp_path)

    def meanwhile(*args: Any, **further: Any) -> Any:
        path.write_bytes(TEXT.replace("A 7", "A 8").encode())
        return small(*args, **further)

    monkeypatch.setattr(search, "improved", meanwhile)
    (problem,) = refused(run(path, "V-40", "--write", "--json").output)
    assert problem["code"] == "catalog.write.changed"
    assert path.read_bytes() == TEXT.replace("A 7", "A 8").encode()


def test_nothing_cheaper_is_said_in_one_sentence_and_not_written(tmp_path: Path) -> None:
    path = catalogue(tmp_path)
    path.write_bytes(TEXT.replace("3,0", "1,5").replace("2,40", "2,0").encode())
    before = path.read_bytes()
    result = run(path, "V-40", "--write")
    assert result.exit_code == 1
    assert "Nothing at least 1 % cheaper was found among" in result.output
    assert "Nothing was written." in result.output
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["V-40", "--keep", "watter"], "improve.keep.unknown", "water"),
        (["V-41"], "part.unknown", "V-40"),
        (["V-50"], "improve.row.retired", "retired"),
    ],
)
def test_wrong_words_get_one_clear_sentence(
    tmp_path: Path, words: list[str], code: str, told: str
) -> None:
    path = catalogue(tmp_path)
    result = run(path, *words, "--json")
    assert result.exit_code != 0
    (problem,) = refused(result.output)
    assert problem["code"] == code
    assert told in f"{problem['message']} {problem['value']} {problem['suggestion']}"


def test_an_option_that_was_not_found_is_refused_and_the_file_left(tmp_path: Path) -> None:
    path = catalogue(tmp_path)
    result = run(path, "V-40", "--write", "--option", "3")
    assert result.exit_code != 0
    assert "so many rows were not found" in result.output
    assert path.read_bytes() == TEXT.encode()

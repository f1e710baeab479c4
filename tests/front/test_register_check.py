"""``check`` with a register of releases beside the catalogue: told before anything is built."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered
from tests.release.releases import SOLID, gone, resized
from vent_family.catalog.reader import read_catalog
from vent_family.front.cli.app import app
from vent_family.geometry.fingerprint import fingerprint
from vent_family.geometry.vent import build_solids
from vent_family.release import unbuilt
from vent_family.release.entry import ReleaseEntry, entry_of
from vent_family.release.register import Register, register_path
from vent_family.spec.resolve import resolve

HEAD = "part_number,family,size,status,revision,description,panel_thickness_mm,pitch_mm,wall_mm\n"
ROWS = {
    "A-60": "A-60,rectangular,60x60,released,B,Feeder,2,,",
    "A-N32": "A-N32,round,M32x1.5,released,A,Pump,2,,",
    "A-NEW": "A-NEW,rectangular,40x40,released,A,,2,,",
    "A-DRAFT": "A-DRAFT,rectangular,40x30,draft,A,,2,,",
}
runner = CliRunner()


def entries(path: Path) -> dict[str, ReleaseEntry]:
    """Return the rows of a catalogue as they stood when they were released, solids invented."""
    return {
        s.row.part_number: replace(
            entry_of(resolve(s.row), s.row_hash, "2026-03-04"),
            issue=1,
            geometry=(("vent", SOLID),),
            evidence="a" * 16,
            content="b" * 64,
        )
        for s in read_catalog(path).rows
        if s.row.part_number != "A-NEW"
    }


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    """Return a catalogue with a register of what it holds."""
    path = tmp_path / "catalog.csv"
    path.write_text(HEAD + "\n".join(ROWS.values()) + "\n", encoding="utf-8")
    Register().appended(*entries(path).values()).write(register_path(path))
    return path


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def checked(path: Path) -> dict[str, Any]:
    result = runner.invoke(app, ["check", "--catalog", str(path), "--json"])
    report = answered(result.output)
    assert result.exit_code == (1 if report["problems"] else 0)
    return report


def test_what_was_released_and_is_as_it_was_is_no_problem(catalog: Path) -> None:
    report = checked(catalog)
    assert report["problems"] == []
    assert report["register"] == "catalog.releases.csv"


@pytest.mark.parametrize(
    ("old", "new", "row", "message", "following"),
    [
        ("B,Feeder,2,,", "B,Feeder,3,,", 2, "panel 3 mm, before 2 mm", "C"),
        ("60x60", "60x64", 2, "opening rectangle 60 x 64 mm", "C"),
        ("B,Feeder,2,,", "B,Feeder,2,7,", 2, "slats inclined 1.5 x 6.5 mm, pitch 7 mm", "C"),
        ("M32x1.5", "M40x1.5", 3, "opening circle 40.6 x 40.6 mm", "B"),
        ("A,Pump,2,,", "A,Pump,2,,2", 3, "envelope left/right/bottom/top 31.5/31.5/28.4", "B"),
    ],
)
def test_a_released_row_that_changed_is_told(
    catalog: Path, old: str, new: str, row: int, message: str, following: str
) -> None:
    edit(catalog, old, new)
    (problem,) = checked(catalog)["problems"]
    assert (problem["file"], problem["row"], problem["column"]) == ("catalog.csv", row, "revision")
    assert message in problem["message"]
    assert f"raise revision to {following}, the next letter" in problem["suggestion"]
    before = "released,B" if row == 2 else "released,A,Pump"
    edit(catalog, before, before.replace(",B" if row == 2 else ",A", f",{following}"))
    assert checked(catalog)["problems"] == []


def test_a_volume_that_alone_differs_is_told(catalog: Path) -> None:
    """As where a wall is thicker on a side that no size names."""
    lines = entries(catalog)
    volume = lines["A-N32"].designed_volume_mm3
    assert volume is not None
    other = replace(lines["A-N32"], designed_volume_mm3=volume * 1.0001)
    Register().appended(lines["A-60"], other).write(register_path(catalog))
    edit(catalog, "Pump", "Pump north")
    (problem,) = checked(catalog)["problems"]
    assert (
        f"designed volume {volume:.1f} mm3, before {volume * 1.0001:.1f} mm3" in problem["message"]
    )


@pytest.fixture
def as_made(catalog: Path) -> Path:
    """Return a catalogue whose one row is in the register with its true solid."""
    head = HEAD.replace("wall_mm", "rib_thickness_mm")
    catalog.write_text(head + ROWS["A-60"] + "\n", encoding="utf-8")
    spec = resolve(read_catalog(catalog).rows[0].row)
    solid = fingerprint(build_solids(spec).vent)
    true = replace(entries(catalog)["A-60"], geometry=(("vent", solid),))
    Register().appended(true).write(register_path(catalog))
    return catalog


def other_code(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the layout reckoned otherwise, as by a later version."""

    def reckoned(*given: Any, **more: Any) -> ReleaseEntry:
        entry = entry_of(*given, **more)
        words = dict(entry.design.named)["slats"] + " as reckoned today"
        return replace(entry, design=resized(entry.design, "slats", words))

    monkeypatch.setattr(unbuilt, "entry_of", reckoned)


def test_a_layout_that_other_code_reckons_is_left_to_the_solid(
    as_made: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Publishing accepts it: the solid is the one that was released."""
    other_code(monkeypatch)
    report = checked(as_made)
    assert (report["problems"], report["undecided"]) == ([], ["A-60"])
    told = runner.invoke(app, ["check", "--catalog", str(as_made)])
    assert told.exit_code == 0
    assert "A-60: layout reckoned otherwise than when released; publish decides" in told.output
    # Edited as well, its solid is built and is the same.
    edit(as_made, "Feeder", "Feeder 2")
    report = checked(as_made)
    assert (report["problems"], report["undecided"]) == ([], [])
    with monkeypatch.context() as hurried:
        hurried.setattr(unbuilt, "MOST_BUILT", 0)
        assert checked(as_made)["undecided"] == ["A-60"]


def test_an_edited_layout_is_told_by_its_volume_or_else_by_its_solid(
    as_made: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By half a percent of volume no solid is needed; ribs of 1.65 mm for 1.6 mm add 0.3 %."""
    edit(as_made, "Feeder,2,,", "Feeder,2,,1.65")
    (problem,) = checked(as_made)["problems"]
    assert "ribs 2 of 1.65 mm" in problem["message"]
    assert re.search(r"vent: volume [0-9.]+ mm3, before", problem["message"])
    assert problem["row"] == 2

    def never(*_: object) -> None:
        raise AssertionError("a solid was built")

    monkeypatch.setattr(unbuilt, "_by_solid", never)
    edit(as_made, "Feeder,2,,1.65", "Feeder,2,,2.4")
    (problem,) = checked(as_made)["problems"]
    assert "ribs 2 of 2.4 mm" in problem["message"]


def test_a_revision_that_goes_back_is_told(catalog: Path) -> None:
    edit(catalog, "released,B", "released,A")
    (problem,) = checked(catalog)["problems"]
    assert problem["message"] == "revision B was released after revision A"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Feeder", "Feeder 2"),
        ("B,Feeder", "D,Feeder"),
        ("40x40", "40x44"),
        ("40x30", "40x34"),
        ("60x60,released", "60x60,draft"),
    ],
)
def test_what_needs_no_other_revision_is_no_problem(catalog: Path, old: str, new: str) -> None:
    edit(catalog, old, new)
    assert checked(catalog)["problems"] == []


def test_what_was_withdrawn_is_still_held_to_its_revision(catalog: Path) -> None:
    lines = [*entries(catalog).values(), gone("A-60", revision="B")]
    Register().appended(*lines).write(register_path(catalog))
    assert checked(catalog)["problems"] == []
    edit(catalog, "60x60", "60x64")
    assert len(checked(catalog)["problems"]) == 1


def test_without_a_register_it_is_said_what_was_not_checked(catalog: Path) -> None:
    register_path(catalog).unlink()
    edit(catalog, "60x60", "60x64")
    assert checked(catalog) == {"rows": 4, "register": None, "undecided": [], "problems": []}
    told = runner.invoke(app, ["check", "--catalog", str(catalog)]).output
    assert "There is no catalog.releases.csv: whether a part changed" in told


def test_a_register_may_lie_elsewhere(catalog: Path, tmp_path: Path) -> None:
    place = tmp_path / "kept.csv"
    register_path(catalog).rename(place)
    edit(catalog, "60x60", "60x64")
    words = ["check", "--catalog", str(catalog), "--register", str(place), "--json"]
    report = answered(runner.invoke(app, words).output)
    assert (report["register"], len(report["problems"])) == ("kept.csv", 1)


def test_a_register_with_faults_is_told_and_fails(catalog: Path) -> None:
    edit(register_path(catalog), "A-N32,A,1,2026-03-04", "A-N32,A,1,04.03.2026")
    (problem,) = checked(catalog)["problems"]
    assert (problem["file"], problem["column"]) == ("catalog.releases.csv", "released")


def test_rows_that_are_as_released_cost_no_volume(
    catalog: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """That of round heads takes as long as resolving them; only edited rows are reckoned."""
    asked: list[bool] = []

    def spied(*given: Any, volume: bool) -> ReleaseEntry:
        asked.append(volume)
        return entry_of(*given, volume=volume)

    monkeypatch.setattr(unbuilt, "entry_of", spied)
    checked(catalog)
    assert asked == [False, False]
    edit(catalog, "Pump", "Pump 2")
    checked(catalog)
    assert asked == [False, False, False, True]

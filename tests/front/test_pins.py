"""``pins``: what a project's checks ask of the releases it is drawn with."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered, refused
from tests.release.pinned.shelves import LATER, publish
from tests.release.publish.quick import line
from vent_family.front.cli.app import app
from vent_family.release.pinned.lockfile import write_pins
from vent_family.release.pinned.shelf import Shelf


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A library of two parts, both pinned."""
    publish(tmp_path, line("V-1"), line("V-2"))
    shelf = Shelf(tmp_path / "out")
    write_pins(tmp_path / "vents.lock", [shelf.latest(n).pin for n in shelf.part_numbers])
    return tmp_path


def asked(place: Path, *words: str) -> tuple[int, str]:
    command = ["pins", str(place / "vents.lock"), "--library", str(place / "out"), *words]
    result = CliRunner().invoke(app, command)
    return result.exit_code, result.output


def test_nothing_new_is_said_and_ends_well(place: Path) -> None:
    assert asked(place) == (0, "2 pinned, 0 with news.\n")
    code, text = asked(place, "--json")
    told = answered(text)
    assert (code, told["pinned"], told["news"], told["problems"]) == (0, 2, [], [])
    assert told["generation"] == Shelf(place / "out").manifest.generation


def test_a_change_is_told_and_ends_with_one(place: Path) -> None:
    publish(place, line("V-1", revision="B", words="wider"), line("V-2"), stamp=LATER)
    code, text = asked(place)
    assert code == 1
    assert text.splitlines()[0] == "revision V-1 A.1 -> B.1: fit: panel 2 mm, before 1.5 mm"
    assert "    revision raised from A to B" in text.splitlines()
    code, text = asked(place, "--json")
    (news,) = answered(text)["news"]
    assert code == 1
    assert (news["part_number"], news["kind"], news["now"]) == ("V-1", "revision", "B.1")
    assert news["fit"] == ["panel 2 mm, before 1.5 mm"]


def test_a_damaged_release_ends_with_two_and_the_rest_is_still_told(place: Path) -> None:
    path = Shelf(place / "out").latest("V-1").file(".stl")
    path.write_bytes(b"solid")
    publish(place, line("V-2", "retired"), stamp=LATER)
    code, text = asked(place, "--json")
    told = answered(text)
    assert code == 2
    assert [(p["code"], p["part_number"]) for p in told["problems"]] == [
        ("library.file.altered", "V-1")
    ]
    assert [(n["kind"], n["part_number"]) for n in told["news"]] == [("withdrawn", "V-2")]
    code, text = asked(place)
    assert code == 2
    assert text.startswith("withdrawn V-2 A.1: withdrawn on 2026-05-06")


def test_what_cannot_be_read_ends_with_two(place: Path) -> None:
    (place / "out" / "library.json").unlink()
    code, text = asked(place, "--json")
    assert (code, refused(text)[0]["code"]) == (2, "library.index.missing")
    (place / "vents.lock").write_text("parts = 3", encoding="utf-8")
    code, text = asked(place, "--json")
    assert (code, refused(text)[0]["code"]) == (2, "pins.file.unread")


def test_long_lists_are_cut_unless_all_are_asked_for(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(place, line("V-1", revision="B"), line("V-2"), stamp=LATER)
    monkeypatch.setattr("vent_family.front.cli.pins._MOST", 1)
    code, text = asked(place)
    assert code == 1
    assert "changes more: --all lists them" in text
    assert "more" not in asked(place, "--all")[1]


def test_publishing_keeps_what_is_pinned_as_long_as_it_is_told(place: Path) -> None:
    """Nothing is to be made: what old generations named is removed, but for what a project pins."""
    pinned = Shelf(place / "out").latest("V-1").folder
    publish(place, line("V-1", words="better"), line("V-2"), stamp=LATER)
    words = ["publish", "-c", str(place / "catalog.csv"), "--out", str(place / "out")]
    words += ["--keep-days", "0"]
    for path in (place / "out").rglob("*"):
        os.utime(path, (0, 0))
    kept = CliRunner().invoke(app, [*words, "--keep-pinned", str(place / "vents.lock")])
    assert kept.exit_code == 0, kept.output
    assert asked(place)[0] == 1
    assert pinned.is_dir()
    assert CliRunner().invoke(app, words).exit_code == 0
    assert not pinned.exists()
    assert asked(place)[0] == 2


def test_publishing_with_a_lock_file_that_cannot_be_read_does_nothing(place: Path) -> None:
    (place / "vents.lock").write_text("parts = 3", encoding="utf-8")
    words = ["publish", "-c", str(place / "catalog.csv"), "--out", str(place / "new"), "--json"]
    result = CliRunner().invoke(app, [*words, "--keep-pinned", str(place / "vents.lock")])
    assert (result.exit_code, refused(result.output)[0]["code"]) == (2, "pins.file.unread")
    assert not (place / "new").exists()


def test_pins_without_news_load_no_kernel(place: Path) -> None:
    words = ["pins", str(place / "vents.lock"), "--library", str(place / "out")]
    code = (
        "import sys\nfrom vent_family.front.cli.app import app\n"
        f"try: app({words!r})\nexcept SystemExit as end: assert not end.code, end.code\n"
        "found = sorted({'OCP', 'cadquery', 'matplotlib', 'pandas'} & set(sys.modules))\n"
        "assert not found, found"
    )
    subprocess.run([sys.executable, "-c", code], check=True)

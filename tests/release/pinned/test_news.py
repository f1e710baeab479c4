"""What became of pinned releases: what must not be fitted first, then what fits otherwise."""

from __future__ import annotations

import hashlib
import json
import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.release.pinned.shelves import LATER, edited, publish
from tests.release.publish.quick import line
from vent_family.base.problems import InputError
from vent_family.release.pinned.news import pins_news, pins_report
from vent_family.release.pinned.pin import Pin
from vent_family.release.pinned.shelf import Shelf

NUMBERS = ("V-1", "V-2", "V-3", "V-4", "V-5")


@pytest.fixture
def pins(tmp_path: Path) -> list[Pin]:
    """Five parts as they were released first."""
    publish(tmp_path, *(line(number) for number in NUMBERS))
    shelf = Shelf(tmp_path / "out")
    return [shelf.latest(number).pin for number in NUMBERS]


def test_no_news_is_told_of_what_is_current(pins: list[Pin], tmp_path: Path) -> None:
    assert pins_news(Shelf(tmp_path / "out"), pins) == ()
    # A part that nobody pinned is no news.
    publish(tmp_path, *(line(number) for number in (*NUMBERS, "V-6")), stamp=LATER)
    assert pins_news(Shelf(tmp_path / "out"), pins) == ()


def test_news_are_told_by_weight(pins: list[Pin], tmp_path: Path) -> None:
    publish(
        tmp_path,
        line("V-1", words="better"),
        line("V-2", revision="B"),
        line("V-3", revision="B", words="wider"),
        line("V-4", "retired"),
        line("V-5", words="leaks"),
        stamp=LATER,
    )
    news = pins_news(Shelf(tmp_path / "out"), pins)
    assert [(n.part_number, n.kind, n.pinned, n.now, n.held) for n in news] == [
        ("V-5", "marked", "A.1", "A.2", "replaced"),
        ("V-4", "withdrawn", "A.1", "", "archive"),
        ("V-3", "revision", "A.1", "B.1", "archive"),
        ("V-2", "revision", "A.1", "B.1", "archive"),
        ("V-1", "issue", "A.1", "A.2", "replaced"),
    ]
    marked, withdrawn, wider, raised, issue = news
    assert "do not fit: predicted to let in rain" in marked.why
    assert withdrawn.why == f"withdrawn on {LATER.date()}"
    assert wider.fit == ("panel 2 mm, before 1.5 mm",)
    assert "revision raised from A to B" in wider.changes
    assert wider.fit[0] not in wider.changes
    assert raised.fit == ()
    assert "fit, sizes, volume and material are as they were" in raised.changes
    assert "leaves the library in time" in issue.sentence()
    assert "leaves the library in time" not in raised.sentence()
    assert wider.sentence() == "revision V-3 A.1 -> B.1: fit: panel 2 mm, before 1.5 mm"


def test_what_every_release_since_the_pin_changed_is_told_the_newest_first(
    pins: list[Pin], tmp_path: Path
) -> None:
    day = timedelta(days=1)
    publish(tmp_path, line("V-1", revision="B", words="wider"), stamp=LATER)
    publish(tmp_path, line("V-1", revision="C", words="wider"), stamp=LATER + day)
    (news,) = pins_news(Shelf(tmp_path / "out"), pins[:1])
    assert (news.pinned, news.now) == ("A.1", "C.1")
    assert news.fit == ("panel 2 mm, before 1.5 mm",)
    assert news.changes[0] == "revision raised from B to C"
    assert "revision raised from A to B" in news.changes
    assert news.fit[0] not in news.changes
    # Pinned in between, what came before is no news.
    pin = Shelf(tmp_path / "out").at("V-1", "B").pin
    (news,) = pins_news(Shelf(tmp_path / "out"), [pin])
    assert news.fit == ()
    assert "revision raised from A to B" not in news.changes


def test_a_later_revision_that_is_marked_is_told_first(pins: list[Pin], tmp_path: Path) -> None:
    """The pinned revision itself is not marked: it may still be had."""
    publish(tmp_path, line("V-1", revision="B"), line("V-2", "retired"), stamp=LATER)
    leaks = line("V-1", revision="B", words="leaks")
    publish(tmp_path, leaks, stamp=LATER + timedelta(days=1))
    shelf = Shelf(tmp_path / "out")
    first, second = pins_news(shelf, reversed(pins[:2]))
    assert (first.part_number, first.kind, first.now) == ("V-1", "marked", "B.2")
    assert first.why.startswith("B.2 is no longer predicted to hold")
    assert second.kind == "withdrawn"
    assert not shelf.pinned(pins[0]).is_marked


def test_a_part_that_came_back_is_another_issue(pins: list[Pin], tmp_path: Path) -> None:
    publish(tmp_path, line("V-1", "retired"), stamp=LATER)
    publish(tmp_path, line("V-1"), stamp=LATER + timedelta(days=1))
    (news,) = pins_news(Shelf(tmp_path / "out"), pins[:1])
    assert (news.kind, news.now, news.why) == ("issue", "A.2", "")


def test_pins_that_cannot_be_had_are_problems_and_the_others_still_news(
    pins: list[Pin], tmp_path: Path
) -> None:
    shelf = Shelf(tmp_path / "out")
    shutil.rmtree(shelf.latest("V-1").folder)
    step = shelf.latest("V-2").file(".step")
    step.write_bytes(step.read_bytes()[::-1])
    publish(tmp_path, line("V-3", revision="B"), stamp=LATER)
    report = pins_report(Shelf(tmp_path / "out"), [*pins[:3], Pin("V-4", "A", 1, "0" * 64)])
    assert [n.part_number for n in report.news] == ["V-3"]
    assert [(p.part_number, p.code) for p in report.problems] == [
        *[("V-1", "library.file.missing")] * 3,
        ("V-2", "library.file.altered"),
        ("V-4", "pins.release.gone"),
    ]
    assert "with other files" in report.problems[-1].message


def test_pins_of_another_library_are_told(pins: list[Pin], tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    publish(other, line("V-1", words="elsewhere"), line("V-2"), stamp=LATER)
    with pytest.raises(InputError) as raised:
        pins_news(Shelf(other / "out"), pins[:1])
    (problem,) = raised.value.problems
    assert problem.code == "pins.release.gone"
    assert "holds V-1 A.1 with other files" in problem.message


def test_a_pin_holds_against_a_manifest_that_was_made_to_fit(
    pins: list[Pin], tmp_path: Path
) -> None:
    """A file, its hash in the manifest and the manifest's in the index are changed together."""
    out = tmp_path / "out"
    path = Shelf(out).latest("V-1").file(".stl")
    path.write_bytes(path.read_bytes()[::-1])
    name = json.loads((out / "library.json").read_text(encoding="utf-8"))["manifest"]["name"]

    def told(manifest: dict[str, Any]) -> None:
        files = {f["name"]: f for f in manifest["parts"][0]["files"]}
        files[path.name]["sha256"] = hashlib.sha256(path.read_bytes()).hexdigest()

    edited(out, name, told)
    data = (out / name).read_bytes()
    stated = {"size_bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    edited(out, "library.json", lambda index: index["manifest"].update(stated))
    assert Shelf(out).latest("V-1").faults() == []
    report = pins_report(Shelf(out), pins)
    assert [(p.code, p.file) for p in report.problems] == [("library.file.altered", str(path))]

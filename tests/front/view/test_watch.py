"""A catalogue that is saved again while one of its rows is looked at."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.reader import read_catalog
from vent_family.front.view.shown import ShownPart, Wanted
from vent_family.front.view.watch import Watched, followed
from vent_family.spec.resolved import ResolvedRows
from vent_family.spec.vent import VentSpec

HEAD = "part_number,family,size,status,slat_form,exposure,description\n"
ROW = "A-30,rectangular,{},draft,folded,dry,{}\n"
OTHER = "A-31,rectangular,40x40,draft,folded,dry,{}\n"


def text(size: str = "30x30", words: str = "first", other: str = "other") -> str:
    return HEAD + ROW.format(size, words) + OTHER.format(other)


def saved(path: Path, words: str) -> None:
    """Save a file as spreadsheets do: a new one takes the old one's place."""
    beside = path.with_name("~lock.tmp")
    beside.write_text(words, encoding="utf-8")
    os.replace(beside, path)


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    path = tmp_path / "vents.csv"
    path.write_text(text(), encoding="utf-8")
    return path


def reader(catalog: Path) -> Callable[[], VentSpec]:
    def read() -> VentSpec:
        rows = ResolvedRows(read_catalog(catalog))
        row = [s for s in rows.file.rows if s.row.part_number == "A-30"]
        if not row:
            raise InputError(rows.file.problems)
        return rows.spec(row[0])

    return read


def follow(catalog: Path, *texts: str, draw: Callable[[ShownPart], None]) -> list[Watched]:
    """Return what is told when a catalogue is saved with one text after another."""

    def changes() -> Iterator[None]:
        yield
        for words in texts:
            saved(catalog, words)
            yield

    return list(followed(catalog, reader(catalog), Wanted(), draw, changes()))


def titles(told: list[Watched]) -> list[str]:
    return [w.shown.title.split(", ")[1] for w in told if w.shown is not None]


def test_a_change_of_the_row_is_drawn_and_one_of_another_is_not(catalog: Path) -> None:
    drawn: list[ShownPart] = []
    told = follow(
        catalog,
        text(other="changed"),
        text(words="second"),
        text(words="second"),
        draw=drawn.append,
    )
    assert titles(told) == ["first", "first", "second", "second"]
    assert [shown.stage for shown in drawn] == ["section", "solid"] * 2
    assert told[0].since_s is None
    assert told[2].since_s is not None


def test_a_broken_row_is_told_once_and_nothing_is_drawn(catalog: Path) -> None:
    drawn: list[ShownPart] = []
    broken = text(size="banana")
    told = follow(catalog, broken, broken + "\n", text(), draw=drawn.append)
    assert [bool(w.problems) for w in told] == [False, False, True, False, False]
    assert "banana" in told[2].problems[0].sentence()
    assert len(drawn) == 4


def test_what_is_saved_meanwhile_is_read_before_the_solid_is_made(catalog: Path) -> None:
    def draw(shown: ShownPart) -> None:
        if "first" in shown.title:
            saved(catalog, text(words="hasty"))

    told = follow(catalog, text(words="hasty"), draw=draw)
    stages = [(w.shown.stage, w.shown.title.split(", ")[1]) for w in told if w.shown is not None]
    assert stages == [("section", "first"), ("section", "hasty"), ("solid", "hasty")]


def test_a_viewer_that_goes_is_told_and_watching_goes_on(catalog: Path) -> None:
    def draw(shown: ShownPart) -> None:
        if "second" in shown.title:
            raise InputError([Problem("view.viewer.none", "gone")])

    told = follow(catalog, text(words="second"), text(words="third"), draw=draw)
    assert [p.message for w in told for p in w.problems] == ["gone"]
    assert titles(told) == ["first", "first", "third", "third"]


def until(condition: Callable[[], bool], what: str) -> None:
    for _ in range(1200):
        if condition():
            return
        time.sleep(0.05)
    raise AssertionError(f"not within a minute: {what}")


def test_the_command_redraws_its_picture_until_it_is_interrupted(
    catalog: Path, tmp_path: Path
) -> None:
    """Saved, broken, mended, interrupted: the picture follows, a broken row leaves it."""
    picture, said = tmp_path / "part.png", tmp_path / "said.txt"
    words = ["show", "A-30", "-c", str(catalog), "--watch", "--picture", str(picture)]
    with said.open("wb") as stream:
        run = subprocess.Popen(
            [sys.executable, "-m", "vent_family.front.cli.app", *words],
            stdout=stream,
            stderr=subprocess.STDOUT,
            cwd=Path(__file__).parents[3],
            # A test run started in the background ignores SIGINT, and so would what it starts.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )

    def solids() -> int:
        return said.read_text(encoding="utf-8").count("A-30: solid")

    try:
        until(lambda: solids() == 1 or run.poll() is not None, "the first picture")
        before = picture.read_bytes()
        saved(catalog, text(size="36x30"))
        until(lambda: solids() == 2 or run.poll() is not None, "the picture of what was saved")
        after = picture.read_bytes()
        assert after != before
        saved(catalog, text(size="banana"))
        until(lambda: "banana" in said.read_text(encoding="utf-8"), "the sentence")
        assert picture.read_bytes() == after
        run.send_signal(signal.SIGINT)
        assert run.wait(300) == 1
    finally:
        run.kill()
        run.wait()
    told = said.read_text(encoding="utf-8")
    assert "Traceback" not in told
    assert told.count("banana") == 1
    assert "s after it was saved" in told
    assert sorted(p.name for p in tmp_path.iterdir()) == ["part.png", "said.txt", "vents.csv"]

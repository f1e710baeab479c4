"""The register of releases beside the catalogue tells what was published, whatever ends a run."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.release.publish.quick import catalogue, line, order, run
from vent_family.base.problems import InputError, Problem
from vent_family.release.publish.publish import Published
from vent_family.release.publish.releases import RegisterHeldError, Releases
from vent_family.release.publish.verify import verify_library
from vent_family.release.register import read_register, register_path

LATER = datetime(2026, 5, 6, tzinfo=UTC)


def told(folder: Path) -> list[tuple[str, str, int, str]]:
    register = read_register(register_path(folder / "catalog.csv"))
    assert register is not None
    return [(e.part_number, e.revision, e.issue, e.change) for e in register.entries]


def current(out: Path) -> dict[str, tuple[str, int, str]]:
    parts = json.loads((out / "library.json").read_text(encoding="utf-8"))["parts"]
    return {p["part_number"]: (p["revision"], p["issue"], p["folder"]) for p in parts}


def failed(result: Published) -> list[str]:
    return [p.message for o in result.outcomes for p in o.problems]


def test_a_first_run_begins_the_register_and_says_so(tmp_path: Path) -> None:
    result = run(catalogue(tmp_path, line("A-1")), tmp_path / "out")
    assert any("there was no register" in note for note in result.notes)
    assert told(tmp_path) == [("A-1", "A", 1, "new")]
    assert not run(tmp_path / "catalog.csv", tmp_path / "out").notes


def test_other_figures_raise_the_issue_and_other_geometry_is_refused(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line("A-1")), out)
    run(catalogue(tmp_path, line("A-1", words="other figures")), out, stamp=LATER)
    assert current(out)["A-1"][:2] == ("A", 2)
    before = current(out)
    result = run(catalogue(tmp_path, line("A-1", words="wider")), out, stamp=LATER)
    assert result.outcomes[0].outcome == "failed"
    assert any("panel" in text for text in failed(result)), failed(result)
    assert current(out) == before, "the last good release stays"
    run(catalogue(tmp_path, line("A-1", revision="B", words="wider")), out, stamp=LATER)
    assert current(out)["A-1"][:2] == ("B", 1)
    assert told(tmp_path) == [
        ("A-1", "A", 1, "new"),
        ("A-1", "A", 2, "evidence"),
        ("A-1", "B", 1, "revision"),
    ]


def test_the_rule_holds_without_the_library(tmp_path: Path) -> None:
    """The register alone, from version control, is enough on another machine."""
    run(catalogue(tmp_path, line("A-1")), tmp_path / "one")
    result = run(catalogue(tmp_path, line("A-1", words="wider")), tmp_path / "two")
    assert result.outcomes[0].outcome == "failed"
    assert current(tmp_path / "two") == {}


def test_a_register_that_is_lost_is_made_good_from_the_library(tmp_path: Path) -> None:
    out = tmp_path / "out"
    path = catalogue(tmp_path, line("A-1"), line("A-2"))
    run(path, out)
    text = register_path(path).read_bytes()
    register_path(path).unlink()
    result = run(path, out)
    assert any("lacked 2 lines" in note for note in result.notes)
    assert register_path(path).read_bytes() == text


def test_a_kill_between_index_and_register_is_made_good(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line("A-1")), out)
    path = catalogue(tmp_path, line("A-1", words="other figures"))

    def never(_: Releases) -> tuple[()]:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(Releases, "written", never)
        with pytest.raises(KeyboardInterrupt):
            run(path, out, stamp=LATER)
    assert current(out)["A-1"][1] == 2
    assert told(tmp_path) == [("A-1", "A", 1, "new")]
    run(path, out, stamp=LATER)
    assert told(tmp_path) == [("A-1", "A", 1, "new"), ("A-1", "A", 2, "evidence")]
    assert not verify_library(out).findings


def test_withdrawn_and_published_again(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line("A-1")), out)
    run(catalogue(tmp_path, line("A-1", "retired")), out)
    run(catalogue(tmp_path, line("A-1")), out)
    assert told(tmp_path) == [
        ("A-1", "A", 1, "new"),
        ("A-1", "A", 1, "withdrawn"),
        ("A-1", "A", 2, "returned"),
    ]


def test_a_marked_release_is_an_issue_of_its_own(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line("A-1")), out)
    run(catalogue(tmp_path, line("A-1", words="leaks")), out)
    assert told(tmp_path)[-1] == ("A-1", "A", 2, "evidence")
    run(catalogue(tmp_path, line("A-1")), out)
    assert current(out)["A-1"][:2] == ("A", 3), "back to its first figures, which is a change, too"


def test_a_damaged_register_ends_the_run_before_anything_is_made(tmp_path: Path) -> None:
    out = tmp_path / "out"
    path = catalogue(tmp_path, line("A-1"))
    run(path, out)
    before = current(out)
    register = register_path(path)
    register.write_text(
        register.read_text(encoding="utf-8").replace(",A,1,", ",A,7,"), encoding="utf-8"
    )
    path = catalogue(tmp_path, line("A-1", words="other figures"))
    with pytest.raises(InputError, match="changed after the line had been written"):
        run(path, out)
    assert current(out) == before


def test_pages_tell_the_history(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line("A-1")), out)
    run(catalogue(tmp_path, line("A-1", words="other figures")), out, stamp=LATER)
    generation = json.loads((out / "library.json").read_text(encoding="utf-8"))["generation"]
    page = (out / "generations" / generation / "site" / "part-A-1.html").read_text("utf-8")
    assert "2026-05-06" in page
    assert "2026-03-04" in page
    assert "../../../parts/A-1/A.2-" in page
    assert order(tmp_path / "catalog.csv", out).register.name == "catalog.releases.csv"


def test_a_register_that_cannot_be_written_is_told_though_the_library_is_published(
    tmp_path: Path,
) -> None:
    """The library is switched by then: the run says so, and the next one makes it good."""
    out, register = tmp_path / "out", tmp_path / "kept" / "releases.csv"
    path = catalogue(tmp_path, line("A-1"))
    result = run(path, out, register=register)
    assert result.switched
    (problem,) = result.problems
    assert problem.code == "register.file.unwritable"
    assert "the library is published" in problem.sentence()
    assert current(out)["A-1"][:2] == ("A", 1)
    register.parent.mkdir()
    again = run(path, out, register=register)
    assert not again.problems
    assert any("lacked 1 lines" in note for note in again.notes)
    found = read_register(register)
    assert found is not None
    assert [e.name for e in found.entries] == ["A-1 A.1"]


def test_two_libraries_of_one_catalogue_lose_no_line_of_their_register(tmp_path: Path) -> None:
    """Two processes at once: the second is refused before it makes anything, then adds its own."""
    path = catalogue(tmp_path, line("A-1", words="slow"))
    other = tmp_path / "other"
    other.mkdir()
    second = catalogue(other, line("A-2"))
    register, lock = register_path(path), tmp_path / ".catalog.releases.csv.lock"
    words = [sys.executable, "-m", "tests.release.publish.quick", path, tmp_path / "one", "1"]
    with subprocess.Popen([str(w) for w in words], stdout=subprocess.PIPE) as first:
        while not lock.exists():
            assert first.poll() is None
            time.sleep(0.005)
        with pytest.raises(RegisterHeldError, match=f"process {first.pid} "):
            run(second, tmp_path / "two", register=register)
        assert not (tmp_path / "two" / "library.json").exists()
        assert first.wait() == 0
    assert not lock.exists()
    run(second, tmp_path / "two", register=register)
    assert told(tmp_path) == [("A-1", "A", 1, "new"), ("A-2", "A", 1, "new")]


def test_a_register_that_another_run_took_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A machine that was suspended wakes up when another has published with its register."""
    path = catalogue(tmp_path, line("A-1"))
    real = Releases.written

    def late(releases: Releases) -> tuple[Problem, ...]:
        (tmp_path / ".catalog.releases.csv.lock").write_text("{}")
        return real(releases)

    with monkeypatch.context() as patched:
        patched.setattr(Releases, "written", late)
        # So seldom renewed that no beat falls between.
        (problem,) = run(path, tmp_path / "out", beat_s=60.0).problems
    assert problem.code == "register.lock.lost"
    assert not register_path(path).exists()
    time.sleep(1.1)
    run(path, tmp_path / "out")
    assert told(tmp_path) == [("A-1", "A", 1, "new")]

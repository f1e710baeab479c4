"""A library as a source of releases: nothing is used that is not as it was published."""

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
from vent_family.base.problems import InputError, Problem
from vent_family.release.pinned.pin import Pin
from vent_family.release.pinned.shelf import Shelf


def problem_of(call: Any, *words: Any) -> Problem:
    with pytest.raises(InputError) as raised:
        call(*words)
    (problem,) = raised.value.problems
    return problem


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """V-1 as A.2 followed by B.1, V-2 as it was first, V-3 withdrawn, V-4 below the bar."""
    four = (line("V-2"), line("V-3"))
    publish(tmp_path, line("V-1"), *four)
    publish(tmp_path, line("V-1", words="better"), *four, stamp=LATER)
    last = (line("V-2"), line("V-3", "retired"), line("V-4", words="fails"))
    later = LATER + timedelta(days=1)
    publish(tmp_path, line("V-1", revision="B", words="wider"), *last, stamp=later)
    return tmp_path / "out"


def test_releases_are_those_of_index_and_archive(out: Path) -> None:
    shelf = Shelf(out)
    assert shelf.part_numbers == ("V-1", "V-2")
    assert [(r.label, r.held) for r in shelf.releases("V-1")] == [
        ("A.2", "archive"),
        ("B.1", "current"),
    ]
    assert shelf.latest("V-1").label == "B.1"
    assert shelf.at("V-1", "A").name == "V-1 A.2"
    assert shelf.at("V-1", "A", 2) is shelf.at("V-1", "A")
    record = shelf.at("V-1", "A").record()
    assert (record["identity"]["revision"], record["identity"]["issue"]) == ("A", 2)


def test_a_pin_states_the_hash_of_names_and_hashes(out: Path) -> None:
    """Reckoned here from the files on the disk, without our code."""
    release = Shelf(out).at("V-1", "A")
    folder = release.folder
    lines = sorted(
        f"{hashlib.sha256(p.read_bytes()).hexdigest()} {p.name}\n" for p in folder.iterdir()
    )
    assert release.pin.sha256 == hashlib.sha256("".join(lines).encode()).hexdigest()


def test_an_issue_that_was_followed_is_had_by_its_pin_alone(out: Path) -> None:
    """What the ledger says of its files is believed only as far as the pin goes."""
    problem = problem_of(Shelf(out).at, "V-1", "A", 1)
    assert problem.code == "library.release.unknown"
    assert problem.allowed == "A.2, B.1"
    (folder,) = (p for p in (out / "parts" / "V-1").iterdir() if p.name.startswith("A.1-"))
    first = min((out / "generations").glob("*/manifest.json"), key=lambda p: p.stat().st_mtime)
    (entry,) = (
        e
        for e in json.loads(first.read_text(encoding="utf-8"))["parts"]
        if e["part_number"] == "V-1"
    )
    pin = Pin("V-1", "A", 1, entry["content"])
    # The generations that named it may be gone.
    for path in first.parent.parent.iterdir():
        if path.name != Shelf(out).manifest.generation:
            shutil.rmtree(path)
    release = Shelf(out).pinned(pin)
    assert (release.held, release.folder, release.faults()) == ("replaced", folder, [])
    assert release.record()["identity"]["issue"] == 1
    (folder / "V-1.stl").write_bytes(b"solid")
    assert [p.code for p in Shelf(out).pinned(pin).faults()] == ["library.file.altered"]
    ledger = out / ".vent-family" / "ledger.jsonl"
    altered = hashlib.sha256(b"solid").hexdigest()
    listed = {f["name"]: f["sha256"] for f in entry["files"]}["V-1.stl"]
    text = ledger.read_text(encoding="utf-8")
    assert listed in text
    ledger.write_text(text.replace(listed, altered), encoding="utf-8")
    problem = problem_of(Shelf(out).pinned, pin)
    assert problem.code == "pins.release.gone"
    assert "V-1 A.1 any more" in problem.message
    assert "A.2 has the same geometry" in problem.suggestion


def test_an_altered_byte_is_told_with_both_hashes(out: Path) -> None:
    release = Shelf(out).at("V-1", "A")
    path = release.file(".step")
    data = bytearray(path.read_bytes())
    was = hashlib.sha256(data).hexdigest()
    data[5] ^= 1
    path.write_bytes(bytes(data))
    problem = problem_of(release.file, ".step")
    assert problem.code == "library.file.altered"
    assert problem.file == str(path)
    assert was[:16] in problem.message
    assert hashlib.sha256(data).hexdigest()[:16] in problem.message
    assert release.file(".stl").name == "V-1.stl"
    assert [p.file for p in release.faults()] == [str(path)]


def test_a_file_of_another_size_is_told_by_its_sizes(out: Path) -> None:
    release = Shelf(out).latest("V-2")
    path = release.file(".json")
    size = path.stat().st_size
    path.write_bytes(path.read_bytes() + b" ")
    problem = problem_of(release.record)
    assert problem.code == "library.file.altered"
    assert f"it has {size + 1} bytes, as published {size}" in problem.message


def test_a_file_that_is_gone_is_told(out: Path) -> None:
    release = Shelf(out).latest("V-2")
    release.file(".step").unlink()
    problem = problem_of(release.file, ".step")
    assert (problem.code, problem.part_number) == ("library.file.missing", "V-2")
    assert problem_of(release.file, "-gasket.step").message.endswith("has no such file")


def test_a_folder_of_the_archive_that_was_removed_is_told(out: Path) -> None:
    release = Shelf(out).at("V-1", "A")
    shutil.rmtree(release.folder)
    assert problem_of(release.record).code == "library.file.missing"
    assert len(release.faults()) == 3


def test_parts_that_are_not_there_are_told_with_near_ones(out: Path) -> None:
    problem = problem_of(Shelf(out).latest, "v-11")
    assert problem.code == "part.unknown"
    assert problem.suggestion.startswith("did you mean V-1")
    problem = problem_of(Shelf(out).latest, "V-4")
    assert problem.code == "part.unpublished"
    assert "no such vent" in problem.message


def test_what_was_withdrawn_or_marked_says_so(out: Path, tmp_path: Path) -> None:
    shelf = Shelf(out)
    assert shelf.latest("V-3").standing == f"withdrawn on {(LATER + timedelta(days=1)).date()}"
    assert not shelf.latest("V-2").is_marked
    pin = shelf.latest("V-2").pin
    publish(tmp_path, line("V-2", words="leaks"), stamp=LATER + timedelta(days=2))
    again = Shelf(out)
    assert again.latest("V-2").label == "A.2"
    assert "do not fit: predicted to let in rain" in again.latest("V-2").standing
    # The mark is on the geometry: an earlier issue of the revision has it, too.
    assert again.pinned(pin).label == "A.1"
    assert again.pinned(pin).standing == again.latest("V-2").standing


def test_a_folder_without_a_library_is_told(tmp_path: Path) -> None:
    problem = problem_of(Shelf, tmp_path)
    assert (problem.code, problem.file) == ("library.index.missing", str(tmp_path))


def test_an_index_that_names_a_generation_that_is_gone_is_told(out: Path) -> None:
    name = json.loads((out / "library.json").read_text(encoding="utf-8"))["generation"]
    shutil.rmtree(out / "generations" / name)
    problem = problem_of(Shelf, out)
    assert problem.code == "library.manifest.missing"
    assert name in problem.message


def test_an_altered_manifest_is_told(out: Path) -> None:
    name = json.loads((out / "library.json").read_text(encoding="utf-8"))["manifest"]
    path = out / name["name"]
    path.write_bytes(path.read_bytes().replace(b'"V-2"', b'"V-9"'))
    problem = problem_of(Shelf, out)
    assert (problem.code, problem.file) == ("library.manifest.altered", str(path))
    assert name["sha256"][:16] in problem.message
    assert hashlib.sha256(path.read_bytes()).hexdigest()[:16] in problem.message


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda index: index.update(schema_version="1.0"), "schema_version"),
        (lambda index: index.pop("manifest"), "manifest"),
        (lambda index: index["manifest"].update(sha256="none"), "manifest.sha256"),
    ],
)
def test_an_index_of_another_form_is_told(out: Path, change: Any, told: str) -> None:
    edited(out, "library.json", change)
    problem = problem_of(Shelf, out)
    assert problem.code == "library.index.unread"
    assert told in problem.message


def test_an_index_that_leads_out_of_the_library_is_refused(out: Path) -> None:
    edited(out, "library.json", lambda index: index["manifest"].update(name="../manifest.json"))
    problem = problem_of(Shelf, out)
    assert problem.code == "library.manifest.unread"
    assert "leads out of the library" in problem.message


def test_text_in_place_of_an_index_is_told(out: Path) -> None:
    (out / "library.json").write_text("moved", encoding="utf-8")
    assert problem_of(Shelf, out).code == "library.index.unread"

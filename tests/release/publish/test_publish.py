"""Runs of the publisher: what is made, what stays, what leaves, and what is never touched."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.release.publish.quick import HEAD, apart, catalogue, line, order, run
from vent_family.base.problems import InputError
from vent_family.front.cli.outcomes import warnings
from vent_family.release.bar import NOT_ANEW
from vent_family.release.publish.plan import Planned
from vent_family.release.publish.publish import Published, Told, publish_catalog
from vent_family.release.publish.verify import verify_library

TWO = (line("A-1"), line("A-2"))


def index(out: Path) -> dict[str, Any]:
    return dict(json.loads((out / "library.json").read_text(encoding="utf-8")))


def folders(out: Path) -> dict[str, str]:
    return {p["part_number"]: p["folder"] for p in index(out)["parts"]}


def outcomes(result: Published) -> dict[str, str]:
    return {o.part_number: o.outcome for o in result.outcomes}


def tree(out: Path) -> dict[str, str]:
    """Return the hash of every file of a library but for what only its publisher reads."""
    return {
        p.relative_to(out).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(out.rglob("*"))
        if p.is_file() and ".vent-family" not in p.parts
    }


def test_what_the_index_names_is_there_and_has_the_stated_hashes(tmp_path: Path) -> None:
    result = run(catalogue(tmp_path, *TWO), tmp_path / "out")
    assert result.switched
    found = index(tmp_path / "out")
    manifest_file = tmp_path / "out" / found["manifest"]["name"]
    data = manifest_file.read_bytes()
    assert hashlib.sha256(data).hexdigest() == found["manifest"]["sha256"]
    assert len(data) == found["manifest"]["size_bytes"]
    seen = 0
    for part in json.loads(data)["parts"]:
        for file in part["files"]:
            path = tmp_path / "out" / part["folder"] / file["name"]
            assert hashlib.sha256(path.read_bytes()).hexdigest() == file["sha256"]
            assert path.stat().st_size == file["size_bytes"]
            seen += 1
    assert seen == 6
    page = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert f"generations/{found['generation']}/site/index.html" in page


def test_nothing_changed_writes_nothing(tmp_path: Path) -> None:
    path, out = catalogue(tmp_path, *TWO, line("A-3", "draft")), tmp_path / "out"
    first = run(path, out)
    before = tree(out)
    again = run(path, out, stamp=datetime(2027, 1, 1, tzinfo=UTC))
    assert not again.switched
    assert again.generation == first.generation
    assert outcomes(again) == {"A-1": "unchanged", "A-2": "unchanged", "A-3": "checked"}
    assert tree(out) == before


def test_only_the_row_that_changed_is_made_again(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    before = folders(out)
    result = run(catalogue(tmp_path, line("A-1"), line("A-2", words="other words")), out)
    assert outcomes(result) == {"A-1": "unchanged", "A-2": "written"}
    after = folders(out)
    assert after["A-1"] == before["A-1"]
    assert after["A-2"] != before["A-2"]
    assert (out / before["A-2"]).is_dir(), "a reader of the old index still finds its files"


def test_a_file_that_is_gone_is_made_again(tmp_path: Path) -> None:
    path, out = catalogue(tmp_path, *TWO), tmp_path / "out"
    run(path, out)
    (out / folders(out)["A-1"] / "A-1.stl").unlink()
    assert [f.fault for f in verify_library(out).findings] == ["missing"]
    assert outcomes(run(path, out)) == {"A-1": "written", "A-2": "unchanged"}
    assert not verify_library(out).findings


def test_a_row_that_fails_keeps_its_last_release_and_is_not_tried_in_vain(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    before = folders(out)
    path = catalogue(tmp_path, line("A-1", words="fails"), line("A-2"))
    assert outcomes(run(path, out)) == {"A-1": "failed", "A-2": "unchanged"}
    assert folders(out) == before

    def never(*_: object) -> None:
        raise AssertionError

    again = run(path, out, runner=lambda jobs, *_: never() if jobs else None)
    assert outcomes(again) == {"A-1": "failed", "A-2": "unchanged"}
    assert again.outcomes[0].message == "no such vent"


def test_a_crash_and_a_hang_cost_their_rows_only_and_are_tried_again(tmp_path: Path) -> None:
    path = catalogue(
        tmp_path, line("A-1", words="crash"), line("A-2"), line("A-3", words="hang"), line("A-4")
    )
    result = run(path, tmp_path / "out", runner=apart, workers=1, limit_s=4.0)
    assert outcomes(result) == {
        "A-1": "failed", "A-2": "written", "A-3": "failed", "A-4": "written"
    }  # fmt: skip
    told = {o.part_number: o.message for o in result.outcomes}
    assert "crashed" in told["A-1"]
    assert "given up after 4 s" in told["A-3"]
    assert list(folders(tmp_path / "out")) == ["A-2", "A-4"]
    manifest = json.loads(
        (tmp_path / "out" / index(tmp_path / "out")["manifest"]["name"]).read_text("utf-8")
    )
    assert manifest["unpublished"] == [], "neither would surely come to the same again"


def test_a_part_below_the_bar_is_published_again_with_a_mark(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    before = folders(out)
    path = catalogue(tmp_path, line("A-1", words="leaks"), line("A-2"))
    run(path, out)
    after = {p["part_number"]: p for p in index(out)["parts"]}
    assert after["A-1"]["issue"] == 2
    assert "do not fit" in after["A-1"]["standing"]
    record = json.loads((out / after["A-1"]["folder"] / "A-1.json").read_text(encoding="utf-8"))
    assert "do not fit" in record["standing"]
    assert after["A-2"]["folder"] == before["A-2"]
    old = (out / before["A-1"] / "A-1.json").read_text(encoding="utf-8")
    assert "do not fit" not in old, "what was published never changes"
    assert not verify_library(out).findings
    assert not run(path, out).switched


def test_a_changed_row_below_the_bar_leaves_the_release_of_the_old_design_as_it_is(
    tmp_path: Path,
) -> None:
    """That design was not judged anew, which the run says, the next one, too."""
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    before = folders(out)
    path = catalogue(tmp_path, line("A-1", words="leaks being wider"), line("A-2"))
    for _ in range(2):
        result = run(path, out)
        assert folders(out) == before
        assert index(out)["parts"][0]["standing"] == "current"
        (told,) = [o for o in result.outcomes if o.part_number == "A-1"]
        assert (told.outcome, told.folder, told.marked) == ("below bar", before["A-1"], False)
        assert NOT_ANEW in told.problems[0].message
        first, *_ = warnings(result.outcomes, "marginal")
        assert first.startswith("A-1: not published")
        assert first.endswith(NOT_ANEW)
    # The design itself judged again: its release is marked, and stays so when the row changes.
    run(catalogue(tmp_path, line("A-1", words="leaks"), line("A-2")), out)
    assert "do not fit" in index(out)["parts"][0]["standing"]
    for _ in range(2):
        result = run(path, out)
        assert "do not fit" in index(out)["parts"][0]["standing"]
        assert "do not fit" in warnings(result.outcomes, "marginal")[0]


def test_a_raised_revision_archives_the_one_before(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    before = folders(out)
    run(catalogue(tmp_path, line("A-1", revision="B"), line("A-2")), out)
    (archived,) = index(out)["archive"]
    assert (archived["part_number"], archived["revision"]) == ("A-1", "A")
    assert archived["archived"] == "superseded"
    assert archived["folder"] == before["A-1"]


@pytest.mark.parametrize("status", ["retired", "draft"])
def test_a_row_that_is_released_no_more_goes_into_the_archive(tmp_path: Path, status: str) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    before = folders(out)
    run(catalogue(tmp_path, line("A-1", status), line("A-2")), out, keep_days=0.0)
    assert list(folders(out)) == ["A-2"]
    (archived,) = index(out)["archive"]
    assert archived["archived"] == "withdrawn"
    assert (out / before["A-1"] / "A-1.step").is_file()
    run(catalogue(tmp_path, *TWO), out)
    assert list(folders(out)) == ["A-1", "A-2"]
    assert index(out)["archive"] == []


def test_a_row_that_is_gone_is_told_and_withdrawn_when_asked(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    path = catalogue(tmp_path, line("A-2"))
    told = run(path, out)
    assert told.orphans == ("A-1",)
    assert list(folders(out)) == ["A-2", "A-1"]
    run(path, out, prune=True)
    assert list(folders(out)) == ["A-2"]
    assert index(out)["archive"][0]["part_number"] == "A-1"


def test_a_row_with_a_fault_is_no_orphan(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    path = catalogue(tmp_path, line("A-1").replace("40x40", "nonsense"), line("A-2"))
    result = run(path, out, prune=True)
    assert result.orphans == ()
    assert list(folders(out)) == ["A-2", "A-1"]


def test_old_issues_go_after_the_stated_time_and_archived_ones_stay(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line("A-1"), line("A-2")), out)
    first = folders(out)
    run(catalogue(tmp_path, line("A-1", words="new"), line("A-2", revision="B")), out)
    assert (out / first["A-1"]).is_dir()
    result = run(
        catalogue(tmp_path, line("A-1", words="newer"), line("A-2", revision="B")),
        out,
        keep_days=0.0,
        stamp=datetime(2026, 3, 5, tzinfo=UTC),
    )
    assert first["A-1"] in result.swept.removed
    assert not (out / first["A-1"]).exists()
    assert (out / first["A-2"]).is_dir(), "revision A stays in the archive"
    assert len(list((out / "generations").iterdir())) == 1
    assert not verify_library(out).findings


def test_what_others_put_there_is_never_removed(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    old = out / folders(out)["A-1"]
    (old / "notes.txt").write_text("mine", encoding="utf-8")
    (out / "parts" / "A-9").mkdir()
    (out / "parts" / "A-9" / "mine.txt").write_text("mine", encoding="utf-8")
    (out / "letter.txt").write_text("mine", encoding="utf-8")
    found = verify_library(out)
    assert {f.path for f in found.findings} == {
        f"{folders(out)['A-1']}/notes.txt",
        "parts/A-9/mine.txt",
    }
    assert found.beside == ("letter.txt",)
    path = catalogue(tmp_path, line("A-1", words="new"), line("A-9", "draft"))
    result = run(path, out, keep_days=0.0, prune=True)
    assert result.swept.kept == (f"{old.relative_to(out).as_posix()}/notes.txt",)
    assert (old / "notes.txt").read_text(encoding="utf-8") == "mine"
    assert not (old / "A-1.step").exists()
    assert (out / "parts" / "A-9" / "mine.txt").exists()


def test_a_folder_that_is_no_library_is_left_alone(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "letter.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="no library that was published here"):
        run(catalogue(tmp_path, *TWO), out)
    assert [p.name for p in out.iterdir()] == ["letter.txt"]


def test_a_readme_may_lie_in_the_folder(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "README.md").write_text("mine", encoding="utf-8")
    run(catalogue(tmp_path, *TWO), out)
    assert (out / "README.md").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("name", ["library.json", "index.html", "parts", "generations"])
def test_a_part_may_be_called_like_what_lies_in_the_library(tmp_path: Path, name: str) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line(name), line("A-2")), out)
    assert list(folders(out)) == [name, "A-2"]
    assert not verify_library(out).findings


def test_one_altered_byte_is_named(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    for path in sorted(p for p in out.rglob("*") if p.is_file() and ".vent-family" not in p.parts):
        if path == out / "index.html":
            continue  # a signpost: what it leads to is verified
        data = path.read_bytes()
        path.write_bytes(bytes([data[0] ^ 1]) + data[1:])
        named = [f.path for f in verify_library(out).findings]
        assert len(named) == 1, path
        assert named[0] in (path.relative_to(out).as_posix(), "library.json"), path
        path.write_bytes(data)
    assert not verify_library(out).findings


def test_a_damaged_index_is_told_and_everything_made_anew(tmp_path: Path) -> None:
    path, out = catalogue(tmp_path, *TWO), tmp_path / "out"
    run(path, out)
    before = tree(out)
    (out / "library.json").write_text("{", encoding="utf-8")
    result = run(path, out)
    (note,) = result.notes
    assert note.startswith("the library's index cannot be used: ")
    assert note.endswith(": all parts are made anew")
    assert outcomes(result) == {"A-1": "written", "A-2": "written"}
    assert tree(out) == before


def test_the_same_bytes_in_two_folders_and_with_two_workers(tmp_path: Path) -> None:
    path = catalogue(tmp_path, *TWO)
    run(path, tmp_path / "one")
    run(path, tmp_path / "two", runner=apart, workers=2)
    assert tree(tmp_path / "one") == tree(tmp_path / "two")


def test_a_path_that_leads_out_of_the_library_is_not_followed(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "mine.txt").write_text("mine", encoding="utf-8")
    ledger = out / ".vent-family" / "ledger.jsonl"
    sha = hashlib.sha256(b"mine").hexdigest()
    with ledger.open("a", encoding="utf-8") as file:
        file.write(json.dumps({"folder": "../outside", "files": {"mine.txt": sha}}) + "\n")
    later = datetime.now(UTC) + timedelta(days=400)
    run(catalogue(tmp_path, *TWO), out, keep_days=0.0, stamp=later)
    assert (outside / "mine.txt").exists()


@pytest.mark.parametrize("words", ["fails", "wider"])
def test_a_row_set_back_after_it_came_to_nothing_is_as_it_was(tmp_path: Path, words: str) -> None:
    """Nothing of the try in between is published: the same folder, not the same part again."""
    out = tmp_path / "out"
    run(catalogue(tmp_path, *TWO), out)
    before = index(out)["parts"]
    tried = run(catalogue(tmp_path, line("A-1", words=words), line("A-2")), out)
    assert outcomes(tried) == {"A-1": "failed", "A-2": "unchanged"}
    later = datetime(2026, 6, 7, tzinfo=UTC)
    result = run(catalogue(tmp_path, *TWO), out, stamp=later)
    assert outcomes(result) == {"A-1": "unchanged", "A-2": "unchanged"}
    assert index(out)["parts"] == before
    manifest = json.loads((out / index(out)["manifest"]["name"]).read_text("utf-8"))
    assert manifest["unpublished"] == []


def test_reasons_name_the_cells_that_changed_ones_own_too(tmp_path: Path) -> None:
    path, out = tmp_path / "catalog.csv", tmp_path / "out"
    head = HEAD.rstrip() + ",x_shelf,x_bin\n"
    path.write_text(head + line("A-1").rstrip() + ",B-04,7\n", encoding="utf-8")
    run(path, out)
    path.write_text(head + line("A-1", words="new").rstrip() + ",B-05,\n", encoding="utf-8")
    told: list[str] = []

    def plan(rows: Sequence[Planned]) -> None:
        told.extend(reason for row in rows for reason in row.reasons)

    publish_catalog(order(path, out), Told(plan=plan))
    assert len(told) == 1
    assert told[0].startswith("the row changed: ")
    assert set(told[0].removeprefix("the row changed: ").split(", ")) == {
        "description blank -> new",
        "x_shelf B-04 -> B-05",
        "x_bin 7 -> blank",
    }


def test_a_mark_goes_when_its_row_is_set_back(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, line("A-1")), out)
    run(catalogue(tmp_path, line("A-1", words="leaks")), out)
    assert "do not fit" in index(out)["parts"][0]["standing"]
    result = run(catalogue(tmp_path, line("A-1")), out)
    assert outcomes(result) == {"A-1": "written"}
    assert index(out)["parts"][0]["standing"] == "current"

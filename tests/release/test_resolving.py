"""Rows resolved side by side are those resolved one by one."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from vent_family.catalog.reader import CatalogFile, parse_catalog
from vent_family.release import resolving
from vent_family.spec.resolved import ResolvedRows

HEAD = "part_number,family,size,status,slat_form,rib_count,x_bin\n"
ROWS = [
    "A,rectangular,60x60,draft,,,4",
    "B,rectangular,60x60,draft,,40,",
    "C,round,M20x1.5,released,flat,,",
    "D,flanged,80x60,draft,folded,,7",
    "E,rectangular,90x60,draft,,0,",
]


@pytest.fixture
def file() -> CatalogFile:
    return parse_catalog(HEAD + "\n".join(ROWS) + "\n", "vents.csv", Path("."))


def test_two_processes_find_what_one_finds(
    file: CatalogFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, beside = ResolvedRows(file), ResolvedRows(file)
    expected = (here.problems(), list(here.specs()))
    assert [problem.row for problem in expected[0]] == [3, 6]
    resolving.resolve_all(beside, workers=2, many=1)
    # Nothing is left to be resolved in this process.
    monkeypatch.setattr("vent_family.spec.resolved.resolve", None)
    with monkeypatch.context() as patch:
        # Of vents without problems none is unpacked for that.
        patch.setattr("vent_family.spec.resolved.Packed.vent", None)
        problems = beside.problems()
    assert (problems, list(beside.specs())) == expected


def test_few_rows_start_no_processes(file: CatalogFile, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(resolving, "side_by_side", None)
    resolving.resolve_all(ResolvedRows(file))
    resolving.resolve_all(ResolvedRows(file), workers=1, many=1)


def test_rows_of_a_process_that_went_down_are_resolved_here(
    file: CatalogFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    def all_lost(jobs: list[object], *rest: object, **more: object) -> list[object]:
        return [resolving._lost(job, "killed") for job in jobs]  # type: ignore[arg-type]

    monkeypatch.setattr(resolving, "side_by_side", all_lost)
    rows = ResolvedRows(file)
    resolving.resolve_all(rows, workers=2, many=1)
    assert rows.problems() == ResolvedRows(file).problems()


def test_copies_of_a_process_find_what_one_finds(tmp_path: Path) -> None:
    """In a process of its own, where nothing else runs, and with a family registered there."""
    path = tmp_path / "vents.csv"
    path.write_text(HEAD + "\n".join(ROWS) + "\n", encoding="utf-8")
    code = """
import sys
from pathlib import Path
from tests.helpers.families import fourth_family
from vent_family.catalog.reader import read_catalog
from vent_family.release import pool, resolving
from vent_family.spec.resolved import ResolvedRows

with fourth_family():
    file = read_catalog(Path(sys.argv[1]))
    assert pool.may_fork() == (sys.platform == "linux")
    here, beside = ResolvedRows(file), ResolvedRows(file)
    expected = (here.problems(), list(here.specs()))
    resolving.resolve_all(beside, workers=2, many=1)
    import vent_family.spec.resolved
    vent_family.spec.resolved.resolve = None
    assert (beside.problems(), list(beside.specs())) == expected
    print(len(expected[0]), len(expected[1]))
"""
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert done.stderr == ""
    assert done.stdout.split() == ["2", str(len(ROWS) - 2)]

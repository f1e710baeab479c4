"""Rows resolved side by side are those resolved one by one."""

from __future__ import annotations

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
    def all_lost(jobs: list[object], *rest: object) -> list[object]:
        return [resolving._lost(job, "killed") for job in jobs]  # type: ignore[arg-type]

    monkeypatch.setattr(resolving, "side_by_side", all_lost)
    rows = ResolvedRows(file)
    resolving.resolve_all(rows, workers=2, many=1)
    assert rows.problems() == ResolvedRows(file).problems()

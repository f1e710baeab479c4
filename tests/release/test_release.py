"""A whole part released once and again: what its files say of revision and issue."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.helpers.shops import shop_with
from vent_family.base.rates import Rates
from vent_family.catalog.reader import parse_catalog
from vent_family.evidence.context import PartContext
from vent_family.files.json import as_written
from vent_family.files.step.read import read_step
from vent_family.release.contents import Contents
from vent_family.release.discipline import Before, Judgement, settled
from vent_family.release.earlier import judgement_of
from vent_family.release.entry import ReleaseEntry
from vent_family.release.examine import examined
from vent_family.release.jobs import Job, build_row
from vent_family.release.part import write_files
from vent_family.release.register import Register, parse_register
from vent_family.release.report import report_text
from vent_family.spec.resolve import resolve

STAMP = datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC)
LATER = datetime(2026, 9, 8, 7, 6, 5, tzinfo=UTC)
CATALOG = parse_catalog(
    "part_number,family,size,status,revision,slat_form,exposure\n"
    "T1,rectangular,30x30,released,C,flat,dry\n"
)
(SOURCE,) = CATALOG.rows


@pytest.fixture(scope="module")
def context() -> PartContext:
    return examined(resolve(SOURCE.row))


@pytest.fixture(scope="module")
def first(context: PartContext) -> Judgement:
    return judgement_of(context, Before(), row_hash=SOURCE.row_hash, time_stamp=STAMP)


@pytest.fixture(scope="module")
def folder(
    context: PartContext, first: Judgement, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    made = tmp_path_factory.mktemp("first")
    write_files(context, made, SOURCE.row_hash, STAMP, first)
    return made


@pytest.fixture(scope="module")
def entry(first: Judgement) -> ReleaseEntry:
    """The first release as the register holds it, written and read."""
    line = replace(first.entry, content="0" * 64)
    (read,) = parse_register(Register().appended(line).text()).entries
    return read


def test_the_first_release_is_new(first: Judgement) -> None:
    entry = first.entry
    assert (first.kind, entry.revision, entry.issue, entry.released) == (
        "new",
        "C",
        1,
        "2026-03-04",
    )
    assert (entry.row, entry.water, entry.material) == (SOURCE.row_hash, "not checked", "ASA")
    assert [body for body, _ in entry.geometry] == ["vent"]


def test_every_file_for_people_and_programs_says_revision_and_number(folder: Path) -> None:
    record = json.loads((folder / "T1.json").read_text(encoding="utf-8"))
    assert (record["identity"]["revision"], record["identity"]["issue"]) == ("C", 1)
    assert record["release"]["change"] == "new"
    assert record["release"]["geometry"]["vent"].startswith("faces=")
    report = (folder / "T1-print.md").read_text(encoding="utf-8")
    assert report.startswith("# T1 C, issue 1: ")
    assert "## What this issue changes\n\nThe first issue.\n" in report
    for name in ("T1.step", "T1-envelope.step"):
        (read,) = read_step(folder / name)
        stated = {a.name: a.value for a in read.attributes}
        assert (stated["revision"], stated["issue"]) == ("C", 1)


def test_what_is_no_release_says_so(context: PartContext) -> None:
    record = Contents(context, (), SOURCE.row_hash, STAMP).record
    assert record.identity.issue is None
    assert record.release is None


def test_released_again_the_record_is_the_same(
    context: PartContext, first: Judgement, folder: Path, entry: ReleaseEntry
) -> None:
    """So the bytes of a part in which nothing changed can be those of before."""
    before = Before((entry,), str(folder / "T1.json"))
    again = judgement_of(context, before, row_hash=SOURCE.row_hash, time_stamp=STAMP)
    assert (again.kind, again.entry.issue) == ("bytes", 1)
    assert again.told == first.told
    names = tuple(path.name for path in folder.iterdir())
    record = Contents(context, names, SOURCE.row_hash, STAMP, again).record
    written = json.loads((folder / "T1.json").read_text(encoding="utf-8"))
    assert as_written(record.model_dump(mode="json")) == written
    report = report_text(context, judgement=again)
    assert report == report_text(context, judgement=first)
    assert settled(again, (entry,), entry.content).kind == "same"


def test_other_rates_raise_the_number_and_are_listed(
    folder: Path, entry: ReleaseEntry, context: PartContext
) -> None:
    rates = Rates(shop_with(price={"margin": 0.6}), "own.toml")
    dearer = PartContext(context.spec, rates)
    dearer.__dict__["solids"], dearer.__dict__["meshes"] = context.solids, context.meshes
    before = Before((entry,), str(folder / "T1.json"))
    found = judgement_of(dearer, before, row_hash=SOURCE.row_hash, time_stamp=LATER)
    assert (found.kind, found.entry.issue, found.worse) == ("evidence", 2, ())
    assert found.entry.released == "2026-09-08"
    old = json.loads((folder / "T1.json").read_text(encoding="utf-8"))
    (piece, *_) = old["printing"]["cost"]["orders"]
    price = piece["cost"] * 1.6
    assert (
        f"printing, cost, orders {piece['parts']}: cost and margin: {price:.4g} money,"
        in "\n".join(found.changes)
    )
    assert [w for w in found.changes if "cost" not in w and "price" not in w] == []
    assert found.told.before == "C.1"
    without = judgement_of(dearer, Before((entry,)), row_hash=SOURCE.row_hash, time_stamp=LATER)
    assert without.kind == "evidence"
    assert without.changes == ()
    assert "cannot be listed" in without.said[0]


def test_a_row_whose_geometry_changed_fails_before_a_file_is_written(
    entry: ReleaseEntry, tmp_path: Path
) -> None:
    """The register knows the part of another plastic and with another panel."""
    panel = entry.fit.text().replace("panel=2 mm", "panel=3 mm")
    other = replace(entry, material="PETG", fit=type(entry.fit).from_text(panel))
    target = tmp_path / "T1"
    job = Job(SOURCE, "catalog.csv", str(target), STAMP, "any", before=Before((other,)))
    outcome = build_row(job)
    assert outcome.outcome == "failed"
    (problem,) = outcome.problems
    assert (problem.file, problem.row, problem.part_number) == ("catalog.csv", 2, "T1")
    assert (problem.column, problem.value) == ("revision", "C")
    assert "panel 2 mm, before 3 mm; material ASA, before PETG" in problem.message
    assert "raise revision to D" in problem.suggestion
    assert list(tmp_path.iterdir()) == []

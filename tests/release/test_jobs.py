"""What is told of a row that fails: whose fault it is, and what to do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.rows import row, spec
from vent_family.catalog.reader import SourcedRow
from vent_family.evidence.context import PartContext
from vent_family.evidence.result import CheckResult
from vent_family.release import examine
from vent_family.release.examine import CheckFailedError
from vent_family.release.jobs import Job, build_row, build_time

OF_THE_TABLE = {
    "print: settings the parts are designed for",
    "print: walls hold water",
    "print: no supports",
    "print: longest bridge",
    "print: strands of two beads",
    "print: thinnest wall",
    "print: thinnest slat",
    "print: narrowest gap",
    "print: mark legible",
    "print, locknut: no supports",
    "print, locknut: longest bridge",
    "print, locknut: strands of two beads",
}
"""Checks of a part that a shop's table can fail; the others compare the program with itself."""


def told(monkeypatch: pytest.MonkeyPatch, *failures: CheckResult) -> str:
    """Return what is told of a row whose part fails these checks."""

    def failing(*_: object) -> None:
        raise CheckFailedError(failures)

    monkeypatch.setattr(examine, "examined", failing)
    source = SourcedRow(2, row(part_number="A", size="30x30", slat_form="folded"), "0" * 16)
    return build_row(Job(source, "x.csv", None, build_time())).problems[0].sentence()


def test_only_what_the_table_decides_is_laid_to_the_table(monkeypatch: pytest.MonkeyPatch) -> None:
    part = spec("round", size="M20x1.5", slat_form="folded")
    seen = set()
    for check in PartContext(part).checks(binding=True):
        words = told(monkeypatch, replace(check, verdict="fail"))
        assert ("change the table or the row" in words) == (check.name in OF_THE_TABLE), check.name
        assert ("fault of the program" in words) == (check.name not in OF_THE_TABLE), check.name
        seen.add(check.name)
    assert seen >= OF_THE_TABLE


def test_one_fault_of_the_program_is_told_though_the_table_fails_a_check(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    both = CheckResult("a", "fail", "", of_table=True), CheckResult("b", "fail", "")
    assert "fault of the program" in told(monkeypatch, *both)

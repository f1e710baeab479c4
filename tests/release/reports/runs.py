"""A run in which everything that can become of a row has become of one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from vent_family.base.problems import Problem
from vent_family.release.jobs import RowOutcome
from vent_family.release.reports.run import FinishedRun

BEGAN = datetime(2026, 3, 4, 2, 30, 5, tzinfo=UTC)
NASTY = "a]]><b>&\x07\ud800\n\u202eend"
"""Text that neither XML nor a mail may be broken by."""


@dataclass(frozen=True)
class Judged:
    """What the reports read of a judgement."""

    kind: str
    worse: tuple[str, ...] = ()

    def text(self) -> str:
        return f"A.2, {self.kind}"

    def as_dict(self) -> dict[str, Any]:
        return {}


def problem(code: str, row: int | None, part: str, message: str = "is wrong") -> Problem:
    return Problem(code, f"{part or 'file'} {message}", "vents.csv", row, part)


def failed(part: str, row: int, code: str, outcome: Any = "failed") -> RowOutcome:
    return RowOutcome(
        part, row, "released", outcome, "is wrong", problems=(problem(code, row, part),)
    )


def whole_run(**more: Any) -> FinishedRun:
    judged: Any = Judged("evidence", ("water: rain held, now marginal",))
    new: Any = Judged("new")
    same: Any = Judged("same")
    outcomes = (
        RowOutcome("H-NEW", 2, "released", "written", seconds=12.5, judgement=new),
        RowOutcome("H-WORSE", 3, "released", "written", seconds=8.0, judgement=judged),
        RowOutcome("H-SAME", 4, "released", "written", judgement=same),
        RowOutcome("H-DRAFT", 5, "draft", "checked", "draft: checked, not published"),
        failed("H-WET", 6, "release.water.bar", "below bar"),
        failed("H-BAD", 7, "slats.gap.narrow"),
        failed("H-CRASH", 8, "release.part.crashed"),
        failed("H-HANG", 8, "release.part.unended"),
        RowOutcome("H-GONE", 9, "retired", "withdrawn", "taken out of the library"),
        RowOutcome("H-OLD", 10, "retired", "skipped", "retired, not built"),
        RowOutcome("H-ODD", 11, "released", "written", NASTY),
    )
    problems = (
        problem("table.cell.number", 12, "H-CELL", "first"),
        problem("catalog.cell.small", 12, "H-CELL", "second"),
        problem("table.row.long", 13, ""),
        problem("catalog.cell.unseen", 14, "H\x07Z"),
        problem("catalog.column.unknown", None, ""),
    )
    told = {"outcomes": outcomes, "problems": problems} | more
    return FinishedRun("publish", "vents.csv", BEGAN, 312.0, **told)

"""All verdicts on a part, as they stand in its record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, TableColumn
from vent_family.evidence.kind import Kind
from vent_family.evidence.result import CheckResult

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class CheckRecord(Frozen):
    """One check's outcome; ``not_run`` never counts as passed."""

    name: Annotated[str, Fact("what was checked", column=TableColumn("check"))]
    verdict: Annotated[
        Literal["pass", "fail", "not_run"],
        Fact("outcome", attribute="check: {name}", column=TableColumn("verdict")),
    ]
    message: Annotated[str, Fact("what it means", column=TableColumn("what was found"))]
    value: Annotated[float | None, Fact("what was measured", "{unit}")]
    limit: Annotated[float | None, Fact("what it is compared with", "{unit}")]
    unit: Annotated[str, Fact("unit of value and limit")]


class VerdictsRecord(Frozen):
    """The checks of all kinds of evidence."""

    checks: Annotated[list[CheckRecord], Fact("checks of all kinds of evidence")]


def check_records(checks: tuple[CheckResult, ...]) -> list[CheckRecord]:
    """Return checks as they stand in the record."""
    return [CheckRecord(**check.as_dict()) for check in checks]


class Verdicts(Kind[tuple[CheckResult, ...]]):
    """The verdicts of all kinds together."""

    name = "verdicts"
    section = ""
    record_type = VerdictsRecord

    def compute(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Collect the verdicts of every kind that is registered."""
        return context.checks()

    def record(self, context: PartContext) -> VerdictsRecord:
        """Return the checks."""
        return VerdictsRecord(checks=check_records(context.of(self)))


VERDICTS = Verdicts()

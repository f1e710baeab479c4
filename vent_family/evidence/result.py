"""The outcome of one check: what was asked, what was found, and whether it holds."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

Verdict = Literal["pass", "fail", "not_run"]


@dataclass(frozen=True, slots=True)
class CheckResult:
    """One check of one part.

    ``value`` and ``limit`` are in the unit that ``unit`` names; ``value`` is ``None`` where the
    check could not run, and such a check never counts as passed. ``message`` says what it means for
    the part. ``of_table`` tells that the shop's table decides it, so that its failure is no fault
    of the program.
    """

    name: str
    verdict: Verdict
    message: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    of_table: bool = False

    def as_dict(self) -> dict[str, Any]:
        """Return plain data for JSON: what was found."""
        found = asdict(self)
        del found["of_table"]
        return found


def passed(results: tuple[CheckResult, ...]) -> bool:
    """True only if there are checks and every one of them ran and passed."""
    return bool(results) and all(r.verdict == "pass" for r in results)

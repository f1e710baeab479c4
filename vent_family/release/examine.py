"""Build and check one part: everything that is computed about it before a file is written."""

from __future__ import annotations

from vent_family.base.rates import Rates
from vent_family.evidence.context import PartContext
from vent_family.evidence.result import CheckResult, passed
from vent_family.spec.vent import VentSpec


class CheckFailedError(RuntimeError):
    """A built part did not pass its checks; nothing was written."""

    def __init__(self, failures: tuple[CheckResult, ...]) -> None:
        self.failures = failures
        super().__init__("; ".join(f"{c.name}: {c.message}" for c in failures))


def examined(spec: VentSpec, rates: Rates | None = None) -> PartContext:
    """Return the context of a part that is built and passed every check it must pass.

    Raises
    ------
    CheckFailedError
        if a binding check failed or could not run
    """
    context = PartContext(spec, rates)
    checks = context.checks(binding=True)
    if not passed(checks):
        raise CheckFailedError(tuple(c for c in checks if c.verdict != "pass"))
    return context


def check_part(spec: VentSpec) -> tuple[CheckResult, ...]:
    """Build and check a part without writing anything.

    Raises
    ------
    CheckFailedError
        if a check fails
    """
    return examined(spec).checks(binding=True)

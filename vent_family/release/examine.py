"""Build and check one part: everything that is computed about it before a file is written."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.evidence.result import CheckResult, passed
from vent_family.evidence.solid.check import SolidFacts, check_body, check_vent, measure
from vent_family.geometry.vent import VentSolids, build_solids
from vent_family.mesh.vent import Meshes, meshes_of
from vent_family.release.printing import Printing, check_printing
from vent_family.spec.vent import VentSpec


class CheckFailedError(RuntimeError):
    """A built part did not pass its checks; nothing was written."""

    def __init__(self, failures: tuple[CheckResult, ...]) -> None:
        self.failures = failures
        super().__init__("; ".join(f"{c.name}: {c.message}" for c in failures))


@dataclass(frozen=True, eq=False)
class Examined:
    """A built part that passed its checks, and what was found on the way.

    ``checks`` are those that had to pass.
    """

    solids: VentSolids
    facts: SolidFacts
    meshes: Meshes
    printing: Printing
    checks: tuple[CheckResult, ...]


def examined(spec: VentSpec) -> Examined:
    """Build and check a part; raises :class:`CheckFailedError` if a check fails."""
    solids = build_solids(spec)
    facts, meshes = measure(solids.vent), meshes_of(solids)
    printing = check_printing(spec, meshes)
    checks = (*_checks(spec, solids, facts, meshes), *printing.checks)
    if not passed(checks):
        raise CheckFailedError(tuple(c for c in checks if c.verdict != "pass"))
    return Examined(solids, facts, meshes, printing, checks)


def _checks(
    spec: VentSpec, solids: VentSolids, facts: SolidFacts, meshes: Meshes
) -> tuple[CheckResult, ...]:
    results = list(check_vent(spec, solids.vent, facts, *meshes[""]))
    for name, solid in solids.companions():
        for check in check_body(solid, measure(solid), *meshes[name]):
            results.append(
                CheckResult(
                    f"{name}: {check.name}",
                    check.verdict,
                    check.message,
                    check.value,
                    check.limit,
                    check.unit,
                )
            )
    return tuple(results)


def check_part(spec: VentSpec) -> tuple[CheckResult, ...]:
    """Build and check a part without writing anything.

    Raises :class:`CheckFailedError` if a check fails.
    """
    return examined(spec).checks

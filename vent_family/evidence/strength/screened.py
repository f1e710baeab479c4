"""Whether a vent bears what it must, and how far it is from that: only what is judged is computed.

The report tells besides what a hammer does, at which push a slat breaks and which changes would
help; a search that tries many vents asks for none of it.
"""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.base.limits import HEAT_MARGIN
from vent_family.base.materials import FLAMMABILITY
from vent_family.evidence.result import CheckResult
from vent_family.evidence.strength.flame import Flame, flame
from vent_family.evidence.strength.heat import Heat, judged, stands_outdoors
from vent_family.evidence.strength.members import bearing
from vent_family.evidence.strength.shells import SOLID, Shell
from vent_family.spec.families import filled_row
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class StrengthScreen:
    """What of a vent does not hold.

    ``failing`` are the checks of its strength report that fail, without advice; ``reserve`` is the
    least of all safeties over those needed, a ratio: 1 or more where all hold. ``limited_by`` names
    the check it belongs to.
    """

    failing: tuple[CheckResult, ...]
    reserve: float
    limited_by: str

    @property
    def holds(self) -> bool:
        """True if every check passes."""
        return not self.failing


def strength_holds(spec: VentSpec, shell: Shell = SOLID) -> StrengthScreen:
    """Return which of the judged checks of a vent's strength fail, and by how much.

    ``shell`` says what of it is solid.

    Raises
    ------
    ValueError
        if the material is not printed, or the section has no whole slat

    Examples
    --------
    A plate of 80 x 60 mm in ASA, light grey:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> cells = {"part_number": "A", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> found = strength_holds(resolve(CatalogRow(**cells)))
    >>> found.holds, found.reserve >= 1.0
    (True, True)

    In black it gets too warm in the sun, whatever its slats bear:

    >>> found = strength_holds(resolve(CatalogRow(**cells, material="PETG", colour="black")))
    >>> [check.name for check in found.failing], found.reserve < 1.0
    (['strength: heat'], True)
    """
    exposures = filled_row(spec.row).exposure
    warm = judged(spec.material.name, spec.colour, outdoors=stands_outdoors(exposures))
    burns = flame(spec)
    members = [m for m in bearing(spec, shell) if m.judged]
    found = [(m.check(), m.safety / m.least) for m in members]
    found.append((warm.check(), _heat_reserve(warm)))
    found += [(check, _flame_reserve(burns)) for check in burns.checks()]
    worst, reserve = min(found, key=lambda f: f[1])
    failing = tuple(check for check, _ in found if check.verdict != "pass")
    return StrengthScreen(failing, reserve, worst.name)


def _heat_reserve(warm: Heat) -> float:
    """Return heat deflection over the warmest that is allowed for, a ratio."""
    return warm.deflects_deg_c / (warm.hottest_deg_c + HEAT_MARGIN.value)


def _flame_reserve(burns: Flame) -> float:
    """Return the place of the class as usually bought over that of the class asked for, a ratio."""
    order = [FLAMMABILITY.index(name) + 1 for name in (burns.given, burns.asked)]
    return order[0] / order[1]

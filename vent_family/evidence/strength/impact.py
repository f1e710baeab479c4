"""What a slat takes of an impact before it breaks, and the highest IK code that follows.

Predicted, never a rating: an IK code is that of a whole enclosure, found by tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from vent_family.evidence.strength.member import Member
from vent_family.evidence.strength.shells import SOLID, Shell
from vent_family.evidence.strength.slats import all_pushed
from vent_family.spec.vent import VentSpec

IK_J: Final = MappingProxyType(
    {
        # IEC 62262, impact energies in joules; the standard's own text was not read, two public
        # summaries agree, one of them with IK11 of the amendment of 2021.
        "IK01": 0.14,
        "IK02": 0.20,
        "IK03": 0.35,
        "IK04": 0.50,
        "IK05": 0.70,
        "IK06": 1.0,
        "IK07": 2.0,
        "IK08": 5.0,
        "IK09": 10.0,
        "IK10": 20.0,
        "IK11": 50.0,
    }
)
"""Impact energy of each code."""
NO_CODE: Final = "below IK01"


@dataclass(frozen=True, slots=True)
class Impact:
    """What the weakest slat of the outermost bank takes.

    Parameters
    ----------
    energy_j
        energy at which it breaks, in J
    code
        the IK code it reaches
    """

    energy_j: float
    code: str


def highest_code(energy_j: float) -> str:
    """Return the highest IK code whose energy is no more than this.

    Parameters
    ----------
    energy_j
        energy, in J

    Examples
    --------
    >>> highest_code(0.13), highest_code(1.0), highest_code(4.9)
    ('below IK01', 'IK06', 'IK07')
    """
    return next(
        (code for code, energy in reversed(tuple(IK_J.items())) if energy <= energy_j), NO_CODE
    )


def impact(spec: VentSpec, shell: Shell = SOLID) -> Impact:
    """Return what the front of a vent takes.

    A hammer stops against one slat, in the middle of its bay, and gives all its energy to it, for
    the hammer is hundreds of times heavier. The slat stores E = F d / 2 = F^2 / (2 k) until it
    breaks at F, as a beam between ribs that give way; k is that of a static push. Strength is the
    static one less its scatter, so what fast loading adds and what flows before it breaks are left
    out: the figure is low.
    """
    reserve = spec.material.print_profile.safety_min
    energies = []
    for found in all_pushed(spec, 1.0, 0.0, shell, banks=1):
        breaks_at = found.safety / reserve
        energies.append(0.5 * breaks_at**2 * found.beam.deflection_mm / 1000.0)
    energy = min(energies)
    return Impact(energy, highest_code(energy))


def slat_under_hammer(spec: VentSpec, shell: Shell = SOLID) -> Member:
    """Return the weakest slat of the outermost bank under the weakest hammer of IEC 62262."""
    found = impact(spec, shell)
    least = next(iter(IK_J.values()))
    return Member(
        name="front slat under a hammer",
        load=f"IK01, {least:g} J on one slat; predicted: {found.code}, never a rating",
        stress=least,
        strength=found.energy_j,
        unit="J",
        safety=found.energy_j / least,
        least=1.0,
        deflection_mm=None,
        formula="E = F^2 / (2 k), F at which the slat breaks less scatter, k its stiffness",
        judged=False,
    )

"""What the front takes of an impact before it breaks, and the IK codes that follow.

Two ends are told. Elastic energy of one slat is a bound from below: tough plastics yield, and take
many times as much. Impact strength of printed specimens times the section that must break, of all
slats under the striking element, is the estimate at the other end.

Predicted, never a rating: an IK code is that of a whole enclosure, found by tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from vent_family.evidence.strength.member import Member
from vent_family.evidence.strength.shells import SOLID, Shell
from vent_family.evidence.strength.slats import all_pushed, front_sections_mm2
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
NOSE_MM: Final = MappingProxyType(
    # IEC 60068-2-75, diameters of the striking elements in mm; as above, two public tables agree.
    dict.fromkeys(("IK01", "IK02", "IK03", "IK04", "IK05", "IK06"), 18.5)
    | {"IK07": 35.0, "IK08": 60.0, "IK09": 80.0, "IK10": 100.0, "IK11": 125.0}
)
"""Diameter of the element that strikes for each code."""
_FIRST: Final = "IK01"
NO_CODE: Final = "below IK01"


@dataclass(frozen=True, slots=True)
class Impact:
    """What the outermost bank takes, at least and by its impact strength.

    Parameters
    ----------
    energy_j
        energy at which its weakest slat breaks, were it elastic, in J
    code
        the IK code it reaches
    tough_energy_j
        energy that breaks all slats out that the element of the tough code strikes, in J
    tough_code
        the IK code that they reach
    """

    energy_j: float
    code: str
    tough_energy_j: float
    tough_code: str

    @property
    def codes(self) -> str:
        """Both codes in words.

        Examples
        --------
        >>> Impact(0.002, "below IK01", 0.3, "IK02").codes
        'between below IK01 and IK02'
        >>> Impact(0.15, "IK01", 0.19, "IK01").codes
        'IK01'
        """
        if self.code == self.tough_code:
            return self.code
        return f"between {self.code} and {self.tough_code}"


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

    At least: a hammer stops against one slat, in the middle of its bay, and gives all its energy to
    it, for the hammer is hundreds of times heavier. The slat stores E = F d / 2 = F^2 / (2 k) until
    it breaks at F, as a beam between ribs that give way; k is that of a static push. Strength is
    the static one less its scatter, so what fast loading adds and what flows before it breaks are
    left out. Estimated: :func:`breaks_out_j`, by the element that strikes for each code; a code is
    reached where all codes below it are, too.
    """
    reserve = spec.material.print_profile.safety_min
    energies = []
    for found in all_pushed(spec, 1.0, 0.0, shell, banks=1):
        breaks_at = found.safety / reserve
        energies.append(0.5 * breaks_at**2 * found.beam.deflection_mm / 1000.0)
    energy = min(energies)
    tough_code, tough = NO_CODE, breaks_out_j(spec, NOSE_MM[_FIRST], shell)
    for code, asked in IK_J.items():
        found_j = breaks_out_j(spec, NOSE_MM[code], shell)
        if found_j < asked:
            break
        tough_code, tough = code, found_j
    return Impact(energy, highest_code(energy), tough, tough_code)


def breaks_out_j(spec: VentSpec, nose_mm: float, shell: Shell = SOLID) -> float:
    """Return the energy (J) that breaks all slats out that a striking element meets.

    It meets as many as whole pitches lie within its width, but one at least, in one bay; each
    breaks at both ends, across the beads that run along it. What slats behind, ribs and yielding
    elsewhere take is left out, and so is that slats may break one by one.

    Parameters
    ----------
    spec
        the vent
    nose_mm
        diameter of the striking element, mm
    shell
        what of the slats is solid

    Examples
    --------
    Flat slats of 9 x 1.5 mm every 12 mm in ASA, 8 kJ/m2: 18.5 mm meet one, 2 x 13.5 x 8 = 216 mJ;
    60 mm meet five, but the front has only three:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> vent = resolve(CatalogRow(part_number="V", status="draft", family="rectangular",
    ...                           size="80x60", slat_form="flat"))
    >>> round(breaks_out_j(vent, 18.5), 6), round(breaks_out_j(vent, 60.0), 6)
    (0.216, 0.648)
    """
    sections = sorted(front_sections_mm2(spec, shell))
    met = max(int(nose_mm / spec.section.stack.pitch_mm), 1)
    return 2.0 * sum(sections[:met]) * spec.material.print_profile.impact_kj_m2 / 1000.0


def under_hammer(spec: VentSpec, shell: Shell = SOLID) -> list[Member]:
    """Return the outermost bank under the weakest hammer of IEC 62262, elastic and broken out."""
    found, least = impact(spec, shell), IK_J[_FIRST]
    breaks_out = breaks_out_j(spec, NOSE_MM[_FIRST], shell)
    elastic = Member(
        name="front slat under a hammer",
        load=f"{_FIRST}, {least:g} J on one slat, were it elastic; predicted: {found.codes},"
        " never a rating",
        stress=least,
        strength=found.energy_j,
        unit="J",
        least=1.0,
        deflection_mm=None,
        formula="E = F^2 / (2 k), F at which the slat breaks less scatter, k its stiffness",
        judged=False,
    )
    tough = Member(
        name="front slats broken out by a hammer",
        load=f"{_FIRST}, {least:g} J on the slats under its striking element",
        stress=least,
        strength=breaks_out,
        unit="J",
        least=1.0,
        deflection_mm=None,
        formula="E = 2 a A, a notched impact strength along the beads, A section of all slats"
        " struck, broken at both ends",
        judged=False,
    )
    return [elastic, tough]

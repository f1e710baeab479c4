"""Material profiles of the shop: one table, sources beside the numbers.

Values marked "from memory" are typical data-sheet values of unfilled printing grades, not looked
up; confirm them against the data sheet of the filament in use.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import BRIDGE_GOOD, BRIDGE_MAX, OVERHANG_MAX, SAFETY_DEVIATIONS

FROM_MEMORY: Final = "typical data-sheet value, from memory"

FLAMMABILITY: Final = ("HB", "V-2", "V-1", "V-0")
"""Burning classes of UL 94 and IEC 60695-11-10, the least demanding first.

HB burns slowly lying down; V-2, V-1 and V-0 go out upright, within 30 s with burning drops, within
30 s without, within 10 s (public summaries read). A class is that of one grade at one thickness.
"""


@dataclass(frozen=True, slots=True)
class PrintProfile:
    """How a material prints and what a printed part of it bears.

    ``in_layer_mpa`` and ``across_layer_mpa`` are tensile strengths of printed specimens along the
    beads and across the layers, ``scatter`` their coefficient of variation, one standard deviation
    over the mean (1). ``impact_kj_m2`` is the notched impact strength of printed specimens broken
    along the beads, ``impact_source`` where it comes from. ``poisson`` is Poisson's ratio,
    ``snap_strain`` the strain a snap arm may take once (1). ``heat_deflection_deg_c`` is at 0.45
    MPa (ISO 75). ``overhang_deg`` is measured from the vertical. ``flow_mm3_s`` is the fastest the
    nozzle melts it. ``flammability_class`` is one of :data:`FLAMMABILITY`, that of an ordinary
    filament, ``retardant_class`` the best that flame-retardant filaments of the material are sold
    in.
    """

    in_layer_mpa: float
    across_layer_mpa: float
    scatter: float
    modulus_mpa: float
    poisson: float
    snap_strain: float
    heat_deflection_deg_c: float
    flow_mm3_s: float
    uv: str
    flammability_class: str
    retardant_class: str
    strength_source: str
    impact_kj_m2: float
    impact_source: str
    bridge_good_mm: float = BRIDGE_GOOD.value
    bridge_max_mm: float = BRIDGE_MAX.value
    overhang_deg: float = OVERHANG_MAX.value

    @property
    def flammability(self) -> str:
        """How the material burns, in words.

        Examples
        --------
        >>> MATERIALS["ASA"].print_profile.flammability
        'HB as usually bought, flame-retardant grades to V-0 (UL 94, IEC 60695-11-10; from memory)'
        """
        return (
            f"{self.flammability_class} as usually bought, flame-retardant grades to"
            f" {self.retardant_class} (UL 94, IEC 60695-11-10; from memory)"
        )

    @property
    def bears_sun(self) -> bool:
        """Whether it is made for outdoor use.

        Examples
        --------
        >>> [name for name, material in MATERIALS.items() if material.print_profile.bears_sun]
        ['ASA']
        """
        return self.uv.startswith("good")

    @property
    def safety_min(self) -> float:
        """Least safety against the mean strength, 1, from the scatter of printed parts.

        A specimen k standard deviations below the mean bears 1 - k times the scatter of it; the
        least safety is one over that, rounded up to a tenth.

        Raises
        ------
        ValueError
            where the scatter is so large that such a specimen bears nothing

        Examples
        --------
        >>> MATERIALS["ASA"].print_profile.scatter, MATERIALS["ASA"].print_profile.safety_min
        (0.15, 1.5)
        >>> MATERIALS["PP"].print_profile.scatter, MATERIALS["PP"].print_profile.safety_min
        (0.2, 1.7)
        """
        left = 1.0 - SAFETY_DEVIATIONS.value * self.scatter
        if left <= 0.0:
            raise ValueError(f"a scatter of {self.scatter:g} leaves no strength to count on")
        return math.ceil(round(10.0 / left, 9)) / 10.0


@dataclass(frozen=True, slots=True)
class Material:
    """A printing material.

    ``thread_clearance_normal_mm`` is the gap between vent thread and locknut, measured normal to
    the flanks and also left at crest and root. ``printing`` is ``None`` for what is not printed.
    """

    name: str
    description: str
    density_g_cm3: float
    thread_clearance_normal_mm: float
    source: str
    printing: PrintProfile | None = None

    @property
    def print_profile(self) -> PrintProfile:
        """The print profile.

        Raises
        ------
        ValueError
            for a material that is not printed
        """
        if self.printing is None:
            raise ValueError(f"{self.name} is not a printing material")
        return self.printing


_ACROSS: Final = "across the layers 0.5 to 0.65 of it, from memory"
_STYRENE: Final = (
    "68 % of about 47 MPa moulded, the share of 65 to 72 % as in Ahn et al. 2002, Rapid"
    " Prototyping J. 8:248, for the related ABS (from memory); " + _ACROSS
)
_PETG: Final = (
    "35.1 and 37.0 MPa along the beads on two machines, Hernandez-Alvarez et al. 2026, J. Manuf."
    " Mater. Process. 10:64 (abstract read); " + _ACROSS
)

_IMPACT_STYRENE: Final = (
    "least of moulded grades of 8 to 22 kJ/m2, notched Charpy (a maker's guide read); printed ones"
    " bear about as much, from memory"
)
_IMPACT_PETG: Final = (
    "printed specimens of the tougher PCTG 5.4 to 7.5 kJ/m2 in the layers, notched Izod (a"
    " supplier's data sheet read); a little less taken for PETG"
)

MATERIALS: Final[dict[str, Material]] = {
    m.name: m
    for m in (
        Material(
            "ASA",
            "acrylonitrile styrene acrylate",
            1.07,
            0.15,
            FROM_MEMORY,
            PrintProfile(
                in_layer_mpa=32.0,
                across_layer_mpa=18.0,
                scatter=0.15,
                modulus_mpa=1900.0,
                poisson=0.36,
                snap_strain=0.019,
                heat_deflection_deg_c=95.0,
                flow_mm3_s=11.0,
                uv="good: made for outdoor use",
                flammability_class="HB",
                retardant_class="V-0",
                strength_source=_STYRENE,
                impact_kj_m2=8.0,
                impact_source=_IMPACT_STYRENE,
            ),
        ),
        Material(
            "PETG",
            "glycol-modified polyethylene terephthalate",
            1.27,
            0.20,
            FROM_MEMORY,
            PrintProfile(
                in_layer_mpa=36.0,
                across_layer_mpa=20.0,
                scatter=0.15,
                modulus_mpa=1700.0,
                poisson=0.38,
                snap_strain=0.025,
                heat_deflection_deg_c=68.0,
                flow_mm3_s=10.0,
                uv="fair: yellows and embrittles over years",
                flammability_class="HB",
                retardant_class="V-0",
                strength_source=_PETG,
                impact_kj_m2=5.0,
                impact_source=_IMPACT_PETG,
            ),
        ),
        Material(
            "PA",
            "polyamide 12",
            1.02,
            0.20,
            FROM_MEMORY,
            PrintProfile(
                in_layer_mpa=40.0,
                across_layer_mpa=24.0,
                scatter=0.15,
                modulus_mpa=1300.0,
                poisson=0.39,
                snap_strain=0.04,
                heat_deflection_deg_c=95.0,
                flow_mm3_s=9.0,
                uv="poor unless stabilised or black",
                flammability_class="HB",
                retardant_class="V-0",
                strength_source=FROM_MEMORY,
                impact_kj_m2=8.0,
                impact_source=FROM_MEMORY,
            ),
        ),
        Material(
            "PC",
            "polycarbonate",
            1.20,
            0.15,
            FROM_MEMORY,
            PrintProfile(
                in_layer_mpa=52.0,
                across_layer_mpa=30.0,
                scatter=0.15,
                modulus_mpa=2100.0,
                poisson=0.37,
                snap_strain=0.02,
                heat_deflection_deg_c=125.0,
                flow_mm3_s=9.0,
                uv="poor unless stabilised: yellows",
                flammability_class="V-2",
                retardant_class="V-0",
                strength_source=FROM_MEMORY,
                impact_kj_m2=10.0,
                impact_source=FROM_MEMORY,
            ),
        ),
        Material(
            "PP",
            "polypropylene",
            0.90,
            0.25,
            FROM_MEMORY,
            PrintProfile(
                in_layer_mpa=20.0,
                across_layer_mpa=12.0,
                scatter=0.20,
                modulus_mpa=900.0,
                poisson=0.42,
                snap_strain=0.04,
                heat_deflection_deg_c=75.0,
                flow_mm3_s=7.0,
                uv="poor unless stabilised",
                flammability_class="HB",
                retardant_class="V-0",
                strength_source=FROM_MEMORY,
                impact_kj_m2=5.0,
                impact_source=FROM_MEMORY,
                # Sags more than the others while it hangs free.
                bridge_good_mm=20.0,
                bridge_max_mm=40.0,
            ),
        ),
    )
}

Rgb = tuple[float, float, float]

COLOURS: Final[dict[str, Rgb]] = {
    # sRGB, 0 to 1; our own choice
    "light_grey": (0.80, 0.81, 0.82),
    "dark_grey": (0.33, 0.35, 0.37),
    "black": (0.12, 0.12, 0.13),
    "white": (0.94, 0.94, 0.92),
    "blue": (0.16, 0.37, 0.60),
}
GASKET_COLOUR: Final[Rgb] = (0.20, 0.20, 0.20)
PANEL_COLOUR: Final[Rgb] = (0.62, 0.66, 0.70)
MESH_COLOUR: Final[Rgb] = (0.72, 0.74, 0.76)
STEEL_COLOUR: Final[Rgb] = (0.75, 0.76, 0.78)
FAN_COLOUR: Final[Rgb] = (0.15, 0.15, 0.16)
GASKET_MATERIAL: Final = Material(
    "EPDM", "ethylene propylene diene rubber, closed-cell sheet", 0.60, 0.0, FROM_MEMORY
)
PANEL_MATERIAL: Final = Material("steel", "sheet steel", 7.85, 0.0, FROM_MEMORY)
STEEL_DENSITY_G_CM3: Final = 7.9
"""Stainless steel 1.4301, from memory."""
STEEL_MATERIAL: Final = Material(
    "A2", "stainless steel A2 (ISO 3506)", STEEL_DENSITY_G_CM3, 0.0, FROM_MEMORY
)


def mesh_material(opening_mm: float, wire_mm: float) -> Material:
    """Return a woven mesh as the material of a sheet two wires thick.

    Two sets of wires, pi d^2 / 4 each opening and wire apart: of the sheet they fill pi d / (4 (w +
    d)), their crimp left out.

    Parameters
    ----------
    opening_mm, wire_mm
        Opening and wire, mm.

    Examples
    --------
    >>> round(mesh_material(1.0, 0.25).density_g_cm3, 2)
    1.24
    """
    share = math.pi * wire_mm / (4.0 * (opening_mm + wire_mm))
    return Material(
        "steel mesh",
        f"stainless steel, woven, {opening_mm:g} mm openings, {wire_mm:g} mm wire",
        STEEL_DENSITY_G_CM3 * share,
        0.0,
        FROM_MEMORY,
    )

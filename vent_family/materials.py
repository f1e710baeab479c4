"""Material profiles of the shop: one table, sources beside the numbers.

Values marked "from memory" are typical data-sheet values of unfilled printing grades, not looked
up; confirm them against the data sheet of the filament in use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

FROM_MEMORY: Final = "typical data-sheet value, from memory"


@dataclass(frozen=True, slots=True)
class Material:
    """A printing material.

    ``thread_clearance_normal_mm`` is the gap between vent thread and locknut, measured normal to
    the flanks and also left at crest and root.
    """

    name: str
    description: str
    density_g_cm3: float
    thread_clearance_normal_mm: float
    source: str


MATERIALS: Final[dict[str, Material]] = {
    m.name: m
    for m in (
        Material("ASA", "acrylonitrile styrene acrylate", 1.07, 0.15, FROM_MEMORY),
        Material("PETG", "glycol-modified polyethylene terephthalate", 1.27, 0.20, FROM_MEMORY),
        Material("PA", "polyamide 12", 1.02, 0.20, FROM_MEMORY),
        Material("PC", "polycarbonate", 1.20, 0.15, FROM_MEMORY),
        Material("PP", "polypropylene", 0.90, 0.25, FROM_MEMORY),
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
GASKET_MATERIAL: Final = Material(
    "EPDM", "ethylene propylene diene rubber, closed-cell sheet", 0.60, 0.0, FROM_MEMORY
)
PANEL_MATERIAL: Final = Material("steel", "sheet steel", 7.85, 0.0, FROM_MEMORY)

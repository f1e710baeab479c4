"""A slat form of the tests' own: thin plates that lean by 30 degrees, unlike any built-in one.

They end parallel to the bed, as whatever bridges from rib to rib must.
"""

from __future__ import annotations

import math
from typing import Any, Final

from vent_family.base.limits import EDGE_MIN, GAP_MIN, SLAT_MIN, SLIVER_MIN
from vent_family.spec.forms import OUT, FormDefaults, Outline, SlatBox

SIN: Final = 0.5
COS: Final = math.sqrt(0.75)


class Leaning:
    """Plates at 30 degrees to z, each bank out or in; no flow solver ever saw them."""

    name = "leaning"
    defaults = FormDefaults(pitch_mm=8.0, overlap_mm=3.0, bank_count=3, bank_gap_mm=3.5)
    slopes_chosen = True
    slant_deg = 30.0
    folds = 0
    jets_strike = False
    air_table = None
    solver_cells = 12
    corner_clear_mm = EDGE_MIN.value
    thinnest = SLAT_MIN

    def cuts_mm(self, foot_mm: float) -> tuple[float, float]:
        return (0.0, 0.0)

    def foot_most_mm(self, thickness_mm: float) -> float | None:
        return None

    def bank_depth_mm(self, height_mm: Any, thickness_mm: Any) -> Any:
        return (height_mm - thickness_mm / COS) * COS / SIN

    def passage_mm(self, pitch_mm: Any, height_mm: Any, thickness_mm: Any) -> Any:
        return pitch_mm * COS - thickness_mm

    def free_fraction(self, pitch_mm: Any, height_mm: Any, thickness_mm: Any) -> Any:
        return 1.0 - thickness_mm / COS / pitch_mm

    def path_mm(self, height_mm: Any, thickness_mm: Any) -> Any:
        return (height_mm - thickness_mm / COS) / SIN

    def turns_between(self, banks: Any, slope_changes: Any) -> Any:
        return slope_changes

    def least_height_mm(self, thickness_mm: float) -> float:
        return thickness_mm / COS + 1.0

    def remnant_mm(self, thickness_mm: float) -> float:
        return self.least_height_mm(thickness_mm)

    def shortened(self, box: SlatBox, lower_mm: float) -> SlatBox:
        depth = self.bank_depth_mm(box.y_mm[1] - lower_mm, box.thickness_mm)
        z0, z1 = box.z_mm
        z = (z0, z0 + depth) if box.slope == OUT else (z1 - depth, z1)
        return box._replace(z_mm=z, y_mm=(lower_mm, box.y_mm[1]))

    def outline(self, box: SlatBox) -> Outline:
        (z0, z1), (y0, y1) = box.z_mm, box.y_mm
        strand = box.thickness_mm / COS
        falling = ((z0, y1 - strand), (z1, y0), (z1, y0 + strand), (z0, y1))
        if box.slope == OUT:
            return falling
        return tuple((z0 + z1 - z, y) for z, y in reversed(falling))

    def pieces(self, box: SlatBox) -> tuple[Outline, ...]:
        return (self.outline(box),)

    def leaves(self, box: SlatBox) -> tuple[Outline, ...]:
        return (self.outline(box),)

    def apron_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        return GAP_MIN.value

    def ceiling_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        return GAP_MIN.value

    def stub_mm(self, thickness_mm: float) -> float:
        return SLIVER_MIN.value + thickness_mm


LEANING: Final = Leaning()

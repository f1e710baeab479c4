"""What upright slats, flat or with lips, have in common: webs square to the flow.

Air passes between the edges of webs that stand one above the other, and strikes the next bank.
"""

from __future__ import annotations

from typing import Final

from vent_family.base.arrays import IntArray
from vent_family.base.limits import GAP_MIN, SLIVER_MIN
from vent_family.spec.forms.form import Number, SlatBox


class Upright:
    """Webs that stand along y, staggered so that each covers a gap."""

    slopes_chosen: Final = False
    slant_deg: Final = 0.0
    folds: Final = 0
    jets_strike: Final = True
    solver_cells: Final = 12

    def cuts_mm(self, foot_mm: float) -> tuple[float, float]:
        """Return none: a slat stands on the whole of its lower edge."""
        return (0.0, 0.0)

    def foot_most_mm(self, thickness_mm: float) -> float | None:
        """Return none: its corners are square."""
        return None

    def passage_mm(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return what the slats leave of the pitch (mm)."""
        return pitch_mm - height_mm

    def free_fraction(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return what the slats leave of the pitch, as a share of it."""
        return 1.0 - height_mm / pitch_mm

    def turns_between(self, banks: IntArray, slope_changes: IntArray) -> IntArray:
        """Return none: between these banks jets strike and split instead."""
        return 0 * banks

    def remnant_mm(self, thickness_mm: float) -> float:
        """Return more than the thickness (mm): a plate, or what is left below a lip, is higher than
        it is thick."""
        return SLIVER_MIN.value + thickness_mm

    def shortened(self, box: SlatBox, lower_mm: float) -> SlatBox:
        """Return the rest of the slat, cut level."""
        return box.level_from(lower_mm)

    def apron_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the gap between two slats (mm), or the narrowest gap if that is more."""
        return max(GAP_MIN.value, self.passage_mm(pitch_mm, height_mm, 0.0))

    def ceiling_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the narrowest gap (mm), or the gap between two slats if that is less."""
        return min(GAP_MIN.value, self.passage_mm(pitch_mm, height_mm, 0.0))

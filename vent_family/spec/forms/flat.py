"""Flat slats: upright plates square to the flow, staggered so that each covers a gap."""

from __future__ import annotations

from typing import Final

from vent_family.base.arrays import IntArray
from vent_family.base.limits import GAP_MIN, SLAT_MIN, SLIVER_MIN, Limit
from vent_family.spec.forms.form import (
    NUDGE_MM,
    AirTable,
    FormDefaults,
    Number,
    Outline,
    SlatBox,
)


class Flat:
    """Upright plates: the thickness lies along z, the height along y.

    Examples
    --------
    Slats 9 mm high at 12 mm pitch leave a gap of 3 mm, a quarter of the height:

    >>> FLAT.passage_mm(12.0, 9.0, 1.5), FLAT.free_fraction(12.0, 9.0, 1.5)
    (3.0, 0.25)
    >>> FLAT.bank_depth_mm(9.0, 1.5)
    1.5
    """

    name: Final = "flat"
    defaults: Final = FormDefaults(pitch_mm=12.0, overlap_mm=3.0, bank_count=4, bank_gap_mm=4.0)
    slopes_chosen: Final = False
    slant_deg: Final = 0.0
    folds: Final = 0
    jets_strike: Final = True
    thinnest: Final[Limit] = SLAT_MIN
    air_table: Final = AirTable(
        pitch_mm=12.0,
        thicknesses_mm=(0.75, 1.5, 2.0),
        height_ratios=(0.6, 0.7, 0.8),
        gap_ratios=(0.9, 1.6, 3.0),
        single_height_ratios=(),
        reynolds=(10.0, 50.0, 90.0, 150.0, 400.0),
        shifts=(0.45, 0.55),
    )
    solver_cells: Final = 12
    corner_clear_mm: Final = NUDGE_MM

    def cuts_mm(self, foot_mm: float) -> tuple[float, float]:
        """Return none: a plate on edge stands on its whole thickness."""
        return (0.0, 0.0)

    def foot_most_mm(self, thickness_mm: float) -> float | None:
        """Return none: its corners are square."""
        return None

    def bank_depth_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the thickness (mm)."""
        return thickness_mm

    def passage_mm(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return what the slats leave of the pitch (mm)."""
        return pitch_mm - height_mm

    def free_fraction(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return what the slats leave of the pitch, as a share of it."""
        return 1.0 - height_mm / pitch_mm

    def path_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the thickness (mm)."""
        return thickness_mm

    def turns_between(self, banks: IntArray, slope_changes: IntArray) -> IntArray:
        """Return none: between these banks jets strike and split instead."""
        return 0 * banks

    def least_height_mm(self, thickness_mm: float) -> float:
        """Return the height (mm) that is 1 mm more than the thickness.

        Examples
        --------
        >>> FLAT.least_height_mm(1.5)
        2.5
        """
        return thickness_mm + 1.0

    def remnant_mm(self, thickness_mm: float) -> float:
        """Return more than the thickness (mm): a plate is higher than it is thick."""
        return SLIVER_MIN.value + thickness_mm

    def shortened(self, box: SlatBox, lower_mm: float) -> SlatBox:
        """Return the rest of the plate."""
        return box.level_from(lower_mm)

    def outline(self, box: SlatBox) -> Outline:
        """Return the whole box.

        Examples
        --------
        >>> FLAT.outline(SlatBox((-1.5, 0.0), (10.0, 19.0), 1.5))
        ((-1.5, 10.0), (0.0, 10.0), (0.0, 19.0), (-1.5, 19.0))
        """
        (z0, z1), (y0, y1) = box.z_mm, box.y_mm
        return ((z0, y0), (z1, y0), (z1, y1), (z0, y1))

    def pieces(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the outline, which is convex."""
        return (self.outline(box),)

    def leaves(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the whole slat."""
        return (self.outline(box),)

    def apron_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the gap between two slats (mm), or the narrowest gap if that is more."""
        return max(GAP_MIN.value, self.passage_mm(pitch_mm, height_mm, 0.0))

    def ceiling_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the narrowest gap (mm), or the gap between two slats if that is less."""
        return min(GAP_MIN.value, self.passage_mm(pitch_mm, height_mm, 0.0))

    def stub_mm(self, thickness_mm: float) -> float:
        """Return the least height (mm) of any piece of material: the cut is square."""
        return SLIVER_MIN.value


FLAT: Final = Flat()

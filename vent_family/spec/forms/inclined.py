"""Inclined slats: planks that lean by 45 degrees, bank by bank outwards or inwards."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from vent_family.base.arrays import IntArray
from vent_family.spec.forms.form import OUT, AirTable, FormDefaults, Number, Outline, SlatBox
from vent_family.spec.forms.slanted import R2, Slanted, level_cut, plank


class Inclined(Slanted):
    """Planks; each bank's slope is chosen.

    Examples
    --------
    A plank 1.5 mm thick in a slat 6.75 mm high falls by 6.75 - 1.5 sqrt 2 = 4.629 mm:

    >>> round(INCLINED.bank_depth_mm(6.75, 1.5), 3)
    4.629
    >>> round(INCLINED.path_mm(6.75, 1.5), 3)
    6.546
    """

    name: Final = "inclined"
    defaults: Final = FormDefaults(
        pitch_mm=6.5, overlap_mm=3.5, bank_count=3, bank_gap_mm=3.0, foot_overlap_mm=0.5
    )
    slopes_chosen: Final = True
    folds: Final = 0
    air_table: Final = AirTable(
        pitch_mm=6.5,
        thicknesses_mm=(0.7, 1.5, 2.0),
        height_ratios=(0.8, 1.05, 1.35),
        gap_ratios=(0.6, 1.0, 2.0),
        single_height_ratios=(1.1, 1.7),
        reynolds=(10.0, 50.0, 150.0, 400.0),
        shifts=(0.33, 0.67),
        foot_thicknesses_mm=(1.5, 2.0),
        foot_reynolds=(10.0, 50.0, 150.0, 400.0),
    )
    solver_cells: Final = 14

    def cuts_mm(self, foot_mm: float) -> tuple[float, float]:
        """Return as much at both ends: a corner of 45 degrees is as wide as it is high."""
        return (foot_mm, foot_mm)

    def bank_depth_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the fall of a plank (mm)."""
        return height_mm - thickness_mm * R2

    def path_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the length (mm) of a plank's long side."""
        length = R2 * (height_mm - thickness_mm * R2)
        # Nothing, where it is shorter than none: number or array alike.
        return (length + abs(length)) / 2.0

    def turns_between(self, banks: IntArray, slope_changes: IntArray) -> IntArray:
        """Return the changes of slope."""
        return slope_changes

    def shortened(self, box: SlatBox, lower_mm: float) -> SlatBox:
        """Return a shorter plank with the same upper end.

        Examples
        --------
        >>> slat = SlatBox((-4.0, 0.0), (0.0, 6.0), 2.0 / 2.0**0.5)
        >>> short = INCLINED.shortened(slat, 1.0)
        >>> [(round(z, 2), round(y, 2)) for z, y in INCLINED.outline(short)]
        [(-4.0, 4.0), (-1.0, 1.0), (-1.0, 3.0), (-4.0, 6.0)]
        """
        depth = self.bank_depth_mm(box.y_mm[1] - lower_mm + sum(box.cuts_mm), box.thickness_mm)
        z0, z1 = box.z_mm
        z = (z0, z0 + depth) if box.slope == OUT else (z1 - depth, z1)
        return box._replace(z_mm=z, y_mm=(lower_mm, box.y_mm[1]))

    def outline(self, box: SlatBox) -> Outline:
        """Return the plank, its acute corners cut off level.

        Examples
        --------
        >>> slat = INCLINED.outline(SlatBox((-4.0, 0.0), (0.0, 6.0), 2.0 / 2.0**0.5))
        >>> [(round(z, 2), round(y, 2)) for z, y in slat]
        [(-4.0, 4.0), (0.0, 0.0), (0.0, 2.0), (-4.0, 6.0)]
        >>> box = SlatBox((-4.0, 0.0), (0.5, 5.5), 2.0 / 2.0**0.5, cuts_mm=(0.5, 0.5))
        >>> [(round(z, 2), round(y, 2)) for z, y in INCLINED.outline(box)]
        [(-4.0, 4.0), (-0.5, 0.5), (0.0, 0.5), (0.0, 2.0), (-3.5, 5.5), (-4.0, 5.5)]
        """
        return _drawn(box)

    def pieces(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the plank, which is convex."""
        return (self.outline(box),)

    def leaves(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the whole plank."""
        return (self.outline(box),)


@lru_cache(maxsize=1024)
def _drawn(box: SlatBox) -> Outline:
    """Return a plank; a layout asks for the same one as outline, piece and leaf."""
    (z0, z1), (bottom, top) = box.z_mm, box.uncut_mm
    high = top - box.thickness_mm * R2
    y0, y1 = (high, bottom) if box.slope == OUT else (bottom, high)
    return level_cut(plank((z0, y0), (z1, y1), box.thickness_mm), *box.y_mm)


INCLINED: Final = Inclined()

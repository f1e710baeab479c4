"""Folded slats: two planks that meet in a ridge, so that every bank turns the air by itself."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from vent_family.base.arrays import IntArray
from vent_family.spec.forms.form import AirTable, FormDefaults, Number, Outline, SlatBox
from vent_family.spec.forms.slanted import R2, Slanted, level_cut, plank


class Folded(Slanted):
    """Two leaves at 45 degrees, ridge up, seen along x; they shed outwards and inwards.

    Examples
    --------
    Leaves 1.5 mm thick in a slat 7 mm high rise by 7 - 1.5 sqrt 2 = 4.879 mm each:

    >>> round(FOLDED.bank_depth_mm(7.0, 1.5), 3)
    9.757
    >>> round(FOLDED.path_mm(7.0, 1.5), 3)
    13.799
    """

    name: Final = "folded"
    defaults: Final = FormDefaults(pitch_mm=8.0, overlap_mm=3.0, bank_count=2, bank_gap_mm=3.0)
    slopes_chosen: Final = False
    folds: Final = 1
    air_table: Final = AirTable(
        pitch_mm=8.0,
        thicknesses_mm=(0.7, 1.5, 2.0),
        height_ratios=(0.7, 0.9, 1.1),
        gap_ratios=(0.6, 1.6),
        single_height_ratios=(1.1, 1.4, 1.7),
        reynolds=(10.0, 50.0, 90.0, 150.0, 400.0),
        shifts=(0.33, 0.67),
        foot_thicknesses_mm=(1.5, 2.0),
        foot_reynolds=(10.0, 50.0, 150.0, 400.0),
    )
    # The flow that parts at a fold needs the finer grid.
    solver_cells: Final = 18

    def cuts_mm(self, foot_mm: float) -> tuple[float, float]:
        """Return as much below: a foot of 45 degrees is as wide as it is high."""
        return (foot_mm, 0.0)

    def bank_depth_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return twice the rise of a leaf (mm)."""
        return 2.0 * (height_mm - thickness_mm * R2)

    def path_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the length (mm) of both leaves."""
        return 2 * R2 * (height_mm - thickness_mm * R2)

    def turns_between(self, banks: IntArray, slope_changes: IntArray) -> IntArray:
        """Return one turn per gap: every bank ends falling and the next begins rising."""
        return banks - 1

    def shortened(self, box: SlatBox, lower_mm: float) -> SlatBox:
        """Return shorter leaves with the same ridge."""
        height = box.y_mm[1] - lower_mm + sum(box.cuts_mm)
        half = self.bank_depth_mm(height, box.thickness_mm) / 2
        middle = (box.z_mm[0] + box.z_mm[1]) / 2
        return box._replace(z_mm=(middle - half, middle + half), y_mm=(lower_mm, box.y_mm[1]))

    def outline(self, box: SlatBox) -> Outline:
        """Return both leaves as one polygon, their feet cut off level.

        Examples
        --------
        >>> fold = FOLDED.outline(SlatBox((-8.0, 0.0), (0.0, 6.0), 2.0 / 2.0**0.5))
        >>> [(round(z, 2), round(y, 2)) for z, y in fold]
        [(-4.0, 4.0), (0.0, 0.0), (0.0, 2.0), (-4.0, 6.0), (-8.0, 2.0), (-8.0, 0.0)]
        >>> low = FOLDED.outline(
        ...     SlatBox((-8.0, 0.0), (0.5, 6.0), 2.0 / 2.0**0.5, cuts_mm=(0.5, 0.0)))
        >>> [(round(z, 2), round(y, 2)) for z, y in low[:4]]
        [(-4.0, 4.0), (-0.5, 0.5), (0.0, 0.5), (0.0, 2.0)]
        """
        inner, outer = self.pieces(box)
        # The outer leaf from the ridge's underside round to its top; then the inner leaf.
        return (*outer, *inner[1:-1])

    def pieces(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the inner and the outer leaf."""
        return _drawn(box)

    def leaves(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the two leaves: as a beam, the fold looks far too stiff (finite elements)."""
        return self.pieces(box)


@lru_cache(maxsize=1024)
def _drawn(box: SlatBox) -> tuple[Outline, Outline]:
    """Return both planks; a layout asks for the same ones as outline, pieces and leaves."""
    (z0, z1), (bottom, top) = box.z_mm, box.uncut_mm
    ridge = ((z0 + z1) / 2, top - box.thickness_mm * R2)
    outer = level_cut(plank(ridge, (z1, bottom), box.thickness_mm), *box.y_mm)
    inner = tuple((z0 + z1 - z, y) for z, y in reversed(outer))
    return (inner, outer)


FOLDED: Final = Folded()

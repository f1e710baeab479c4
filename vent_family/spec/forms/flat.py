"""Flat slats: upright plates square to the flow, staggered so that each covers a gap."""

from __future__ import annotations

from typing import Final

from vent_family.base.limits import EDGE_MIN, SLAT_MIN, SLIVER_MIN, Limit
from vent_family.spec.forms.form import (
    AirTable,
    FormDefaults,
    Number,
    Outline,
    SlatBox,
)
from vent_family.spec.forms.upright import Upright


class Flat(Upright):
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
    corner_clear_mm: Final = EDGE_MIN.value

    def bank_depth_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the thickness (mm)."""
        return thickness_mm

    def path_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the thickness (mm)."""
        return thickness_mm

    def least_height_mm(self, thickness_mm: float) -> float:
        """Return the height (mm) that is 1 mm more than the thickness.

        Examples
        --------
        >>> FLAT.least_height_mm(1.5)
        2.5
        """
        return thickness_mm + 1.0

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

    def stub_mm(self, thickness_mm: float) -> float:
        """Return the least height (mm) of any piece of material: the cut is square."""
        return SLIVER_MIN.value


FLAT: Final = Flat()

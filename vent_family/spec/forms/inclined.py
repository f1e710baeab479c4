"""Inclined slats: plates that lean by 45 degrees, bank by bank outwards or inwards."""

from __future__ import annotations

from typing import Final

from vent_family.base.arrays import IntArray
from vent_family.spec.forms.form import OUT, AirTable, FormDefaults, Number, Outline, SlatBox
from vent_family.spec.forms.slanted import R2, Slanted


class Inclined(Slanted):
    """Bars turned by 45 degrees; each bank's slope is chosen.

    Examples
    --------
    A slat 6.25 mm high is as deep as it is high, for the box of a turned bar is square:

    >>> INCLINED.bank_depth_mm(6.25, 1.5)
    6.25
    >>> round(INCLINED.path_mm(6.25, 1.5), 3)
    7.339
    """

    name: Final = "inclined"
    defaults: Final = FormDefaults(pitch_mm=6.5, bank_count=3, bank_gap_mm=3.0)
    slopes_chosen: Final = True
    folds: Final = 0
    air_table: Final = AirTable(
        pitch_mm=6.5,
        thicknesses_mm=(0.7, 1.5, 2.0),
        height_ratios=(0.7, 0.95, 1.2),
        gap_ratios=(0.6, 0.9, 3.0),
        single_height_ratios=(1.1, 1.7),
        reynolds=(10.0, 50.0, 150.0, 400.0),
        shifts=(0.33, 0.67),
    )
    solver_cells: Final = 12

    def bank_depth_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the height (mm)."""
        return height_mm

    def path_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the length (mm) of a bar's long side."""
        length = height_mm * R2 - thickness_mm
        # Nothing, where it is shorter than none: number or array alike.
        return (length + abs(length)) / 2.0

    def turns_between(self, banks: IntArray, slope_changes: IntArray) -> IntArray:
        """Return the changes of slope."""
        return slope_changes

    def outline(self, box: SlatBox) -> Outline:
        """Return the bar.

        Examples
        --------
        >>> bar = INCLINED.outline(SlatBox((-6.0, 0.0), (0.0, 6.0), 6.0, 1.5))
        >>> [(round(z, 2), round(y, 2)) for z, y in bar]
        [(-6.0, 4.94), (-1.06, 0.0), (0.0, 1.06), (-4.94, 6.0)]
        """
        (z0, z1), (y0, y1) = box.z_mm, box.y_mm
        # A bar turned by 45 degrees: its box is square, the corners lie c from the box's.
        c = box.thickness_mm / R2
        falling = ((z0, y1 - c), (z1 - c, y0), (z1, y0 + c), (z0 + c, y1))
        if box.slope == OUT:
            return falling
        return tuple((z0 + z1 - z, y) for z, y in reversed(falling))

    def pieces(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the bar, which is convex."""
        return (self.outline(box),)

    def leaves(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the whole bar."""
        return (self.outline(box),)


INCLINED: Final = Inclined()

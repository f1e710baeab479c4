"""Channel slats: an upright web with a lip outwards at both edges, which turns jets back out."""

from __future__ import annotations

from typing import Final

from vent_family.base.limits import CHANNEL_LIP, GAP_MIN, SLAT_MIN_CHANNEL, SLIVER_MIN, Limit
from vent_family.spec.forms.form import AirTable, FormDefaults, Number, Outline, SlatBox
from vent_family.spec.forms.upright import Upright

LIP_MM: Final = CHANNEL_LIP.value
"""How far lips stand out from the web; web and lips are as thick as the slat."""


class Channel(Upright):
    """Upright webs, a lip at either edge: what strikes a web runs to a lip and is thrown back.

    A web cut short at the drain channel keeps its upper lip only.

    Examples
    --------
    Slats 9 mm high at 12 mm pitch leave a gap of 3 mm; a bank is as deep as web and lip:

    >>> CHANNEL.passage_mm(12.0, 9.0, 1.2), CHANNEL.free_fraction(12.0, 9.0, 1.2)
    (3.0, 0.25)
    >>> CHANNEL.bank_depth_mm(9.0, 1.2)
    3.7
    """

    name: Final = "channel"
    defaults: Final = FormDefaults(
        pitch_mm=12.0, overlap_mm=3.0, bank_count=4, bank_gap_mm=3.0, slat_thickness_mm=1.2
    )
    thinnest: Final[Limit] = SLAT_MIN_CHANNEL
    air_table: Final = AirTable(
        pitch_mm=12.0,
        thicknesses_mm=(1.2, 1.8),
        height_ratios=(0.65, 0.75),
        gap_ratios=(0.7, 1.8),
        single_height_ratios=(),
        reynolds=(10.0, 50.0, 150.0, 400.0),
        shifts=(0.45, 0.55),
    )
    corner_clear_mm: Final = 0.4

    def bank_depth_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return web and lip (mm)."""
        return thickness_mm + LIP_MM

    def path_mm(self, height_mm: Number, thickness_mm: Number) -> Number:
        """Return web and lip (mm)."""
        return thickness_mm + LIP_MM

    def least_height_mm(self, thickness_mm: float) -> float:
        """Return the height (mm) at which no film closes the channel between the lips.

        Examples
        --------
        >>> CHANNEL.least_height_mm(1.2)
        5.1
        """
        return round(2.0 * thickness_mm + GAP_MIN.value, 9)

    def outline(self, box: SlatBox) -> Outline:
        """Return web and lips as one polygon; a slat cut short has lost its lower lip.

        Examples
        --------
        >>> slat = SlatBox((-4.0, 0.0), (0.0, 9.0), 1.5)
        >>> CHANNEL.outline(slat)[:4]
        ((-4.0, 0.0), (0.0, 0.0), (0.0, 1.5), (-2.5, 1.5))
        >>> CHANNEL.outline(slat.level_from(1.0))[:3]
        ((-4.0, 1.0), (-2.5, 1.0), (-2.5, 7.5))
        """
        (z0, z1), (y0, y1), t = box.z_mm, box.y_mm, box.thickness_mm
        web = z0 + t
        upper = ((web, y1 - t), (z1, y1 - t), (z1, y1), (z0, y1))
        if box.cuts_mm[0] > 0.0:
            return ((z0, y0), (web, y0), *upper)
        return ((z0, y0), (z1, y0), (z1, y0 + t), (web, y0 + t), *upper)

    def pieces(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the web and its lips."""
        (z0, z1), (y0, y1), t = box.z_mm, box.y_mm, box.thickness_mm
        found = [_plate((z0, z0 + t), (y0, y1)), _plate((z0 + t, z1), (y1 - t, y1))]
        if not box.cuts_mm[0] > 0.0:
            found.append(_plate((z0 + t, z1), (y0, y0 + t)))
        return tuple(found)

    def leaves(self, box: SlatBox) -> tuple[Outline, ...]:
        """Return the whole slat: its lips are too short to bend by themselves."""
        return (self.outline(box),)

    def stub_mm(self, thickness_mm: float) -> float:
        """Return a lip and the least height (mm) of any piece of material above it."""
        return SLIVER_MIN.value + thickness_mm


def _plate(z_mm: tuple[float, float], y_mm: tuple[float, float]) -> Outline:
    """Return a rectangle."""
    (z0, z1), (y0, y1) = z_mm, y_mm
    return ((z0, y0), (z1, y0), (z1, y1), (z0, y1))


CHANNEL: Final = Channel()

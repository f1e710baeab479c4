"""Rectangles (x, y) with their corners taken off, by closed forms."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely.geometry import Polygon

from vent_family.spec.pieces import quarter_chords

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_LEG_PER_INSET: Final = 2.0 - math.sqrt(2.0)
"""By how much a bevel's leg falls per mm of inset: its line moves in as the sides do."""


def corner_room_mm(inset_mm: tuple[float, float], clear_mm: float) -> float:
    """Return the largest corner radius (mm) that leaves a point so much clear of the edge.

    The point lies ``inset_mm`` from the corner's two sides, each at least ``clear_mm``: with
    a and b its insets and m the clearance, R - hypot(R - a, R - b) = m solved for R.

    Examples
    --------
    >>> round(corner_room_mm((5.0, 5.0), 5.0), 3), round(corner_room_mm((2.0, 2.0), 1.0), 3)
    (5.0, 4.414)
    """
    a, b, m = *inset_mm, clear_mm
    return a + b - m + math.sqrt(2.0 * (a - m) * (b - m))


def bevel_room_mm(inset_mm: tuple[float, float], clear_mm: float) -> float:
    """Return the longest leg (mm) of a 45 degree bevel that leaves a point so much clear of it.

    Examples
    --------
    >>> round(bevel_room_mm((3.0, 2.0), 1.0), 3)
    3.586
    """
    return sum(inset_mm) - math.sqrt(2.0) * clear_mm


@dataclass(frozen=True, slots=True)
class CornerPlate:
    """A rectangle with rounded corners, of which the lower two may be bevelled; mm.

    ``reach_mm`` is its reach from the origin to left, right, bottom and top, ``corner_mm`` the
    corners' radius. ``bevel_mm`` is the leg of 45 degree bevels in place of the lower corners'
    radius: a round corner that stands on the print bed would begin as an overhang.
    """

    reach_mm: tuple[float, float, float, float]
    corner_mm: float
    bevel_mm: float | None = None

    @property
    def width_mm(self) -> float:
        """Width over everything."""
        return self.reach_mm[0] + self.reach_mm[1]

    @property
    def height_mm(self) -> float:
        """Height over everything."""
        return self.reach_mm[2] + self.reach_mm[3]

    @property
    def area_mm2(self) -> float:
        """Area.

        Examples
        --------
        >>> round(CornerPlate((2.0, 2.0, 2.0, 2.0), 2.0).area_mm2 - 4.0 * math.pi, 12)
        0.0
        >>> CornerPlate((2.0, 2.0, 2.0, 2.0), 0.0, 1.0).area_mm2
        15.0
        """
        upper, lower = self._missing_mm2(math.inf, upper=True), self._missing_mm2(math.inf)
        return self.width_mm * self.height_mm - 2.0 * (upper + lower)

    @property
    def outline_mm(self) -> float:
        """Length of the outline."""
        rounded = (2.0 - math.pi / 2.0) * self.corner_mm
        lower = rounded if self.bevel_mm is None else _LEG_PER_INSET * self.bevel_mm
        return 2.0 * (self.width_mm + self.height_mm - rounded - lower)

    def outline(self) -> Polygon:
        """Return the outline (x, y), its round corners in chords.

        Examples
        --------
        >>> plate = CornerPlate((4.0, 4.0, 3.0, 3.0), 0.0, 1.0)
        >>> plate.outline().area == plate.area_mm2
        True
        """
        left, right, bottom, top = self.reach_mm
        r, leg = max(self.corner_mm, 0.0), self.bevel_mm
        upper = [(right - r, top - r, 0.0), (r - left, top - r, 90.0)]
        lower = [(r - left, r - bottom, 180.0), (right - r, r - bottom, 270.0)]
        ring = [at for corner in upper for at in _arc(*corner, r)]
        if leg is None:
            ring += [at for corner in lower for at in _arc(*corner, r)]
        else:
            ring += [(-left, leg - bottom), (leg - left, -bottom)]
            ring += [(right - leg, -bottom), (right, leg - bottom)]
        return Polygon(ring)

    def below_mm2(self, height_mm: float) -> float:
        """Return the area up to a height (mm) above the lower edge, short of the upper corners."""
        return self.width_mm * height_mm - 2.0 * self._missing_mm2(height_mm)

    def above_mm2(self, depth_mm: float) -> float:
        """Return the area down to a depth (mm) below the upper edge, short of the lower corners."""
        return self.width_mm * depth_mm - 2.0 * self._missing_mm2(depth_mm, upper=True)

    def beside_mm2(self, reach_mm: float) -> float:
        """Return the area within a distance (mm) of one side."""
        missing = self._missing_mm2(reach_mm) + self._missing_mm2(reach_mm, upper=True)
        return self.height_mm * reach_mm - missing

    def chamfered_off_mm3(self, leg_mm: float) -> float:
        """Return what a 45 degree chamfer of a leg (mm) takes off all round one of its faces.

        By Simpson's rule, which is exact: the area falls with the square of the inset.

        Examples
        --------
        A disc of 2 mm radius less a cone's frustum down to 1 mm, 1 mm high:

        >>> disc = CornerPlate((2.0, 2.0, 2.0, 2.0), 2.0)
        >>> round(disc.chamfered_off_mm3(1.0) - math.pi * (4.0 - 7.0 / 3.0), 12)
        0.0
        """
        middle, end = self.inset(leg_mm / 2.0).area_mm2, self.inset(leg_mm).area_mm2
        return leg_mm * (5.0 * self.area_mm2 - 4.0 * middle - end) / 6.0

    def bevelled_off_mm3(self, leg_mm: float) -> float:
        """Return what a 45 degree bevel of a leg (mm) takes off along the lower edge of a face."""
        return sum(
            0.5 * leg_mm * float(weight) * self.below_mm2(0.5 * leg_mm * (1.0 + float(node)))
            for node, weight in zip(_NODES, _WEIGHTS, strict=True)
        )

    def inset(self, by_mm: float) -> CornerPlate:
        """Return the plate with its outline moved inwards (mm), less than the corners' radius."""
        left, right, bottom, top = (side - by_mm for side in self.reach_mm)
        leg = self.bevel_mm
        lower = None if leg is None else leg - _LEG_PER_INSET * by_mm
        return CornerPlate((left, right, bottom, top), self.corner_mm - by_mm, lower)

    def _missing_mm2(self, depth_mm: float, *, upper: bool = False) -> float:
        """Return what one corner lacks within a depth (mm) of either of its sides."""
        if self.bevel_mm is not None and not upper:
            s = min(depth_mm, self.bevel_mm)
            return self.bevel_mm * s - 0.5 * s * s
        r = self.corner_mm
        s = min(depth_mm, r)
        if r == 0.0:
            return 0.0
        # A square strip less half of the circle's segment of that height.
        half = r * r * math.acos((r - s) / r) - (r - s) * math.sqrt(s * (2.0 * r - s))
        return r * s - 0.5 * half


def _arc(x: float, y: float, from_deg: float, radius_mm: float) -> list[tuple[float, float]]:
    """Return places along a quarter of a circle about (x, y), mm, from an angle on (degrees)."""
    if radius_mm <= 0.0:
        return [(x, y)]
    angles = np.radians(from_deg + np.linspace(0.0, 90.0, quarter_chords(radius_mm) + 1))
    return [(x + radius_mm * math.cos(a), y + radius_mm * math.sin(a)) for a in angles.tolist()]

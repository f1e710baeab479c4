"""What slats have in common whose sides stand at 45 degrees: they are made of planks.

A plank is a plate that leans by 45 degrees and ends in planes z = const, which are parallel to the
bed where the vent is printed face down: its first strand is as wide as a cut through it is high.
Its acute corners may be cut off level: where the bed lies below the vent, it begins on these feet,
and air that meets blunt ends goes round them more easily than round sharp ones.
"""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.limits import (
    EDGE_MIN,
    GAP_MIN,
    SLAT_MIN_SLANTED,
    SLIVER_MIN,
    STRAND_MIN,
    Limit,
)
from vent_family.spec.forms.form import Number, Outline

R2: Final = math.sqrt(2.0)
"""Height over thickness of a plate that leans by 45 degrees."""
_IN_PLANE_MM: Final = 5e-10
"""How near a corner is to a plane in which it lies but for rounding."""


def plank(
    inner_mm: tuple[float, float], outer_mm: tuple[float, float], thickness_mm: float
) -> Outline:
    """Return a plank between the inner and the outer end (z, y) of its lower side.

    Examples
    --------
    >>> [(round(z, 2), round(y, 2)) for z, y in plank((-4.0, 4.0), (0.0, 0.0), 1.5)]
    [(-4.0, 4.0), (0.0, 0.0), (0.0, 2.12), (-4.0, 6.12)]
    """
    (z0, y0), (z1, y1), rise = inner_mm, outer_mm, thickness_mm * R2
    return ((z0, y0), (z1, y1), (z1, y1 + rise), (z0, y0 + rise))


def level_cut(outline: Outline, lower_mm: float, upper_mm: float) -> Outline:
    """Return what of a convex outline lies between two heights (mm).

    Examples
    --------
    A corner of 45 degrees, cut 0.75 mm above its tip, is 0.75 mm wide:

    >>> corner = ((-4.0, 4.0), (0.0, 0.0), (0.0, 4.0))
    >>> level_cut(corner, 0.75, 4.0)
    ((-4.0, 4.0), (-0.75, 0.75), (0.0, 0.75), (0.0, 4.0))
    """
    for level, sense in ((lower_mm, 1.0), (upper_mm, -1.0)):
        inside = [sense * (y - level) for _, y in outline]
        least = min(inside)
        if least >= 0.0:
            continue
        if least > -_IN_PLANE_MM or min(map(abs, inside)) < _IN_PLANE_MM:
            # A corner in the cut's plane lies in it and not a hair beyond.
            inside = [0.0 if abs(d) < _IN_PLANE_MM else d for d in inside]
        kept: list[tuple[float, float]] = []
        for i, (here, a) in enumerate(zip(outline, inside, strict=True)):
            j = i + 1 - len(outline)  # the next one, and after the last the first
            b = inside[j]
            if a >= 0.0:
                kept.append(here)
            if a * b < 0.0:
                (za, ya), (zb, yb) = here, outline[j]
                kept.append((za + (zb - za) * (level - ya) / (yb - ya), level))
        outline = tuple(kept)
    return outline


class Slanted:
    """Passages between parallel plates that lean by 45 degrees."""

    slant_deg: Final = 45.0
    jets_strike: Final = False
    thinnest: Final[Limit] = SLAT_MIN_SLANTED
    corner_clear_mm: Final = EDGE_MIN.value

    def passage_mm(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the distance (mm) between two parallel plates.

        Examples
        --------
        Plates 1.5 mm thick, 6.5 mm apart in height:

        >>> round(Slanted().passage_mm(6.5, 6.25, 1.5), 3)
        3.096
        """
        return pitch_mm / R2 - thickness_mm

    def free_fraction(self, pitch_mm: Number, height_mm: Number, thickness_mm: Number) -> Number:
        """Return the share of the pitch that a leaning plate's thickness leaves open.

        Examples
        --------
        >>> round(Slanted().free_fraction(6.5, 6.25, 1.5), 3)
        0.674
        """
        return 1.0 - thickness_mm * R2 / pitch_mm

    def foot_most_mm(self, thickness_mm: float) -> float | None:
        """Return what two beads leave of the plank's end (mm).

        Examples
        --------
        >>> round(Slanted().foot_most_mm(1.5), 3), Slanted().foot_most_mm(0.6)
        (1.221, 0.0)
        """
        return max(thickness_mm * R2 - STRAND_MIN.value, 0.0)

    def least_height_mm(self, thickness_mm: float) -> float:
        """Return the height (mm) that is 1 mm more than the plate's thickness measured upright."""
        return thickness_mm * R2 + 1.0

    def remnant_mm(self, thickness_mm: float) -> float:
        """Return the least height (mm) of a slat: what is left is a shorter one."""
        return self.least_height_mm(thickness_mm)

    def apron_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the narrowest gap (mm)."""
        return GAP_MIN.value

    def ceiling_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the narrowest gap (mm)."""
        return GAP_MIN.value

    def stub_mm(self, thickness_mm: float) -> float:
        """Return the height of a whole strand (mm), or enough of a thick one."""
        return max(SLIVER_MIN.value, min(thickness_mm * R2, SLIVER_MIN.value + thickness_mm))

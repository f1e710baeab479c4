"""What slats have in common whose sides stand at 45 degrees."""

from __future__ import annotations

import math
from typing import Final

from vent_family.base.limits import GAP_MIN, SLIVER_MIN
from vent_family.spec.forms.form import Number

R2: Final = math.sqrt(2.0)
"""Height over thickness of a plate that leans by 45 degrees."""


class Slanted:
    """Passages between parallel plates that lean by 45 degrees."""

    slant_deg: Final = 45.0
    jets_strike: Final = False

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

    def least_height_mm(self, thickness_mm: float) -> float:
        """Return the height (mm) that is 1 mm more than the plate's thickness measured upright."""
        return thickness_mm * R2 + 1.0

    def apron_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the narrowest gap (mm)."""
        return GAP_MIN.value

    def ceiling_gap_mm(self, pitch_mm: float, height_mm: float) -> float:
        """Return the narrowest gap (mm)."""
        return GAP_MIN.value

    def stub_mm(self, thickness_mm: float) -> float:
        """Return more than the thickness (mm): the cut ends in a wedge."""
        return SLIVER_MIN.value + thickness_mm

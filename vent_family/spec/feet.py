"""Feet: the flats in which acute corners of slats end, and how wide they may be.

Printed upright, slats begin with their feet; printed face down, with what the feet leave of their
ends. Either must be a strand two beads wide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from vent_family.base.limits import EDGE_MIN, STRAND_MIN
from vent_family.catalog.model import Orientation
from vent_family.spec.forms import SlatForm


@dataclass(frozen=True, slots=True)
class Feet:
    """Least and greatest width (mm) of the feet of a row's slats; both 0 where they have none."""

    least_mm: float
    most_mm: float

    @classmethod
    def of(cls, form: SlatForm, thickness_mm: float, print_orientation: Orientation) -> Feet:
        """Return the widths that print.

        Examples
        --------
        >>> from vent_family.spec.forms import FORMS
        >>> Feet.of(FORMS["inclined"], 1.2, "face_down").held_mm(0.9)
        0.79
        >>> Feet.of(FORMS["inclined"], 1.2, "upright")
        Feet(least_mm=0.9, most_mm=0.9)
        """
        most = form.foot_most_mm(thickness_mm)
        if most is None:
            return cls(0.0, 0.0)
        least = STRAND_MIN.value if print_orientation == "upright" else 0.0
        return cls(least, max(most, least))

    def held_mm(self, usual_mm: float) -> float:
        """Return the width (mm) nearest to the usual one, rounded down to 0.01 mm.

        What would be too narrow to be drawn is none.
        """
        held = math.floor(100.0 * min(max(usual_mm, self.least_mm), self.most_mm) + 1e-6) / 100.0
        return held if held >= EDGE_MIN.value else 0.0

"""What a quantity that is not known exactly may be: a range with a shape between its ends.

Where only the ends are known, all between them is equally likely; where a best value is known
besides, it is the likeliest and the ends are not reached: a triangle (JCGM 100:2008, the guide to
uncertainty in measurement, 4.3.7 and 4.3.9, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from vent_family.base.arrays import FloatArray

Shape = Literal["even", "triangle", "triangle of the logarithm", "either"]
SHAPE_WORDS: Final[dict[Shape, str]] = {
    "even": "all alike",
    "triangle": "likeliest in the middle",
    "triangle of the logarithm": "likeliest in the middle, as a factor",
    "either": "one of both",
}


@dataclass(frozen=True, slots=True)
class Spread:
    """A range and its shape; ``low``, ``middle`` and ``high`` are in the unit of the quantity.

    ``either`` is one of both ends. An even range keeps its middle only to be told.
    """

    shape: Shape
    low: float
    middle: float
    high: float

    def at(self, place: FloatArray | float) -> FloatArray:
        """Return the values below which shares ``place`` (1) of all lie.

        Examples
        --------
        >>> Spread("even", -1.0, 0.0, 1.0).at(0.75).tolist()
        0.5
        >>> Spread("triangle", 0.0, 1.0, 2.0).at([0.0, 0.125, 0.5, 1.0]).tolist()
        [0.0, 0.5, 1.0, 2.0]
        >>> Spread("triangle of the logarithm", 0.5, 1.0, 2.0).at(0.5).tolist()
        1.0
        >>> Spread("either", 0.0, 0.0, 1.0).at([0.49, 0.51]).tolist()
        [0.0, 1.0]
        """
        u = np.asarray(place, dtype=float)
        if self.shape == "even":
            return np.asarray(self.low + u * (self.high - self.low))
        if self.shape == "either":
            return np.where(u < 0.5, self.low, self.high)
        if self.shape == "triangle":
            return _triangle(u, self.low, self.middle, self.high)
        ends = (float(np.log(v)) for v in (self.low, self.middle, self.high))
        return np.asarray(np.exp(_triangle(u, *ends)))


def _triangle(u: FloatArray, low: float, middle: float, high: float) -> FloatArray:
    """Return the values of a triangle's distribution, its ends in any unit."""
    whole = high - low
    if whole == 0.0:
        return np.full_like(u, middle)
    rising = low + np.sqrt(np.maximum(u * whole * (middle - low), 0.0))
    falling = high - np.sqrt(np.maximum((1.0 - u) * whole * (high - middle), 0.0))
    return np.where(u * whole < middle - low, rising, falling)

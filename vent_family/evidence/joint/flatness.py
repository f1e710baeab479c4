"""How far two plates laid on one another gape: general flatness of the cover and of the sheet."""

from __future__ import annotations

from bisect import bisect_left
from typing import Final, Literal

FlatnessClass = Literal["H", "K", "L"]

USUAL: Final[FlatnessClass] = "K"
"""What a printed lip on a cabinet's sheet is taken for (common practice, no source)."""
CLASSES: Final[tuple[FlatnessClass, ...]] = ("H", "K", "L")
"""From the finest to the coarsest."""
SOURCE: Final = "ISO 2768-2:1989, flatness (public table read)"
_UP_TO_MM: Final = (10.0, 30.0, 100.0, 300.0, 1000.0)
_FLATNESS_MM: Final[dict[FlatnessClass, tuple[float, ...]]] = {
    "H": (0.02, 0.05, 0.1, 0.2, 0.3),
    "K": (0.05, 0.1, 0.2, 0.4, 0.6),
    "L": (0.1, 0.2, 0.4, 0.8, 1.2),
}


def gape_mm(length_mm: float, flatness: FlatnessClass = USUAL) -> float:
    """Return the gap (mm) under a bare cover along a side of a length, mm.

    Examples
    --------
    >>> gape_mm(80.0), gape_mm(100.0), gape_mm(120.0), gape_mm(80.0, "L")
    (0.2, 0.2, 0.4, 0.4)
    """
    place = min(bisect_left(_UP_TO_MM, length_mm), len(_UP_TO_MM) - 1)
    return _FLATNESS_MM[flatness][place]

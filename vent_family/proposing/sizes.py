"""Sizes of openings as a requirement names them: threads, or width x height in mm."""

from __future__ import annotations

import math
import re
from typing import Final

from vent_family.base.limits import OPENING_MAX, OPENING_MIN
from vent_family.catalog.columns import decimal
from vent_family.catalog.model import ROUND_THREADS, SIZE_RECTANGULAR, SIZE_WORDS

STEP_MM: Final = 5.0
"""Where an opening may be smaller than the largest, its sides are tried in steps of this."""


def is_thread(size: str) -> bool:
    """Return whether a size is that of a thread.

    Examples
    --------
    >>> is_thread("M50x1.5"), is_thread("160x120")
    (True, False)
    """
    return size.startswith("M")


def size_fault(size: str) -> str:
    """Return what is allowed in place of a size that is none; "" for one that is.

    Examples
    --------
    >>> size_fault("160x120"), size_fault("M63x1.5")
    ('', '')
    >>> size_fault("160 by 120")
    'width x height as 80x60, each 25 to 400 mm'
    """
    if is_thread(size):
        named = size in {f"{thread}x1.5" for thread in ROUND_THREADS}
        return "" if named else SIZE_WORDS["thread"]
    if not re.fullmatch(SIZE_RECTANGULAR, size):
        return SIZE_WORDS["opening"]
    good = all(OPENING_MIN.value <= side <= OPENING_MAX.value for side in sides_mm(size))
    return "" if good else SIZE_WORDS["opening"]


def sides_mm(size: str) -> tuple[float, float]:
    """Return width and height of an opening, mm; of a thread its nominal diameter, twice.

    Examples
    --------
    >>> sides_mm("160x120"), sides_mm("M50x1.5")
    ((160.0, 120.0), (50.0, 50.0))
    """
    if is_thread(size):
        nominal = float(size[1:].split("x")[0])
        return nominal, nominal
    width, height = size.split("x")
    return float(width), float(height)


def size_text(width_mm: float, height_mm: float) -> str:
    """Return an opening as the catalogue writes it.

    Examples
    --------
    >>> size_text(160.0, 92.5)
    '160x92.5'
    """
    return f"{decimal(width_mm)}x{decimal(height_mm)}"


def up_to(size: str) -> tuple[str, ...]:
    """Return the sizes no larger than one, the largest first.

    Threads are those of the catalogue; of openings both sides go down in steps of
    :data:`STEP_MM`.

    Examples
    --------
    >>> up_to("M32x1.5"), up_to("32x30")
    (('M32x1.5', 'M25x1.5', 'M20x1.5'), ('32x30', '32x25', '30x30', '30x25', '25x30', '25x25'))
    """
    if is_thread(size):
        nominal = sides_mm(size)[0]
        fit = [t for t in ROUND_THREADS if float(t[1:]) <= nominal]
        return tuple(f"{t}x1.5" for t in reversed(fit))
    widths, heights = (_down(side) for side in sides_mm(size))
    return tuple(size_text(w, h) for w in widths for h in heights)


def _down(side_mm: float) -> list[float]:
    """Return a side and the smaller ones, mm."""
    first = STEP_MM * math.floor((side_mm - 1e-9) / STEP_MM)
    count = math.floor((first - OPENING_MIN.value) / STEP_MM + 1e-9) + 1
    return [side_mm, *(first - STEP_MM * i for i in range(count))]

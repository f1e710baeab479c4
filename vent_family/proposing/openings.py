"""Openings by the area that is cut, and those larger than the ones asked for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from vent_family.base.limits import OPENING_MAX
from vent_family.catalog.model import ROUND_THREADS
from vent_family.proposing.sizes import STEP_MM, is_thread, sides_mm, size_text

_GROWTH: Final = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32)
"""By how many steps of :data:`STEP_MM` the sides of larger openings differ from those asked for."""


def area_mm2(size: str) -> float:
    """Return the area of an opening, mm2; of a thread that of its nominal diameter.

    Examples
    --------
    >>> area_mm2("160x120"), round(area_mm2("M50x1.5"))
    (19200.0, 1963)
    """
    width, height = sides_mm(size)
    return math.pi / 4.0 * width * height if is_thread(size) else width * height


def larger_sizes(sizes: Sequence[str]) -> tuple[str, ...]:
    """Return openings larger than all that are named, the smallest first.

    Of threads all that come after; of openings the largest one with its width, its height or both
    grown, to 160 mm more at most.

    Examples
    --------
    >>> larger_sizes(["M50x1.5"]), larger_sizes(["M75x1.5"])
    (('M63x1.5', 'M75x1.5'), ())
    >>> larger_sizes(["40x40", "60x40"])[:4]
    ('65x40', '60x45', '70x40', '65x45')
    """
    largest = max(sizes, key=area_mm2)
    if is_thread(largest):
        nominal = sides_mm(largest)[0]
        return tuple(f"{t}x1.5" for t in ROUND_THREADS if float(t[1:]) > nominal)
    width, height = sides_mm(largest)
    steps = [STEP_MM * n for n in _GROWTH]
    grown = {(w, h) for s in steps for w, h in ((width + s, height), (width, height + s))}
    grown |= {(width + s, height + s) for s in steps}
    fit = [(w, h) for w, h in grown if max(w, h) <= OPENING_MAX.value]
    return tuple(
        size_text(w, h) for w, h in sorted(fit, key=lambda side: (side[0] * side[1], side))
    )

"""Size of the locknut that goes with a neck thread."""

from __future__ import annotations

import math
from dataclasses import dataclass

from vent_family.spec.iso_thread import ThreadSpec


@dataclass(frozen=True, slots=True)
class LocknutSize:
    """Across flats and thickness of a hexagon locknut, mm."""

    across_flats_mm: float
    thickness_mm: float


def locknut_size(thread: ThreadSpec) -> LocknutSize:
    """Return the printed locknut's size for a thread (common practice, no source)."""
    return LocknutSize(
        across_flats_mm=float(2 * math.ceil((1.16 * thread.nominal_mm + 5.0) / 2.0)),
        thickness_mm=float(math.ceil(4.0 + 0.08 * thread.nominal_mm)),
    )

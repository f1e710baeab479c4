"""What the free-surface solution finds beyond the sheets: added to the band, kind by kind.

Sheets that meet and passages that run full are not modelled, a free-surface solution of particles
has both. Where it lets more inside than the sheets under their most permissive assumption, the
difference is added: runs of 20 ms, any spacing of particles. What the particles let through later
is spent water at 1 to 2 m/s that on real slats stays as a film; it is left out here and drips.
Kinds are told by the slats' outlines alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely.geometry import Polygon

from vent_family.spec.section import Section

UPRIGHT: Final = 0.94
"""Least cosine between a slat's longest edge and the vertical for an upright face, 20 degrees."""
HOLLOW: Final = 0.02
"""Least part of its convex hull that a hollow outline leaves empty."""
SOURCE: Final = (
    "free-surface solution of particles in the plane, tests/benchmarks/free_surface, against sheets"
    " under clean assumptions at the same aims"
)


@dataclass(frozen=True, slots=True)
class Excess:
    """What the free-surface solution found beyond the sheets on a stack of ``banks``.

    ``mean_share`` and ``worst_share`` over aims at the front, ``drain_mean_share`` and
    ``drain_worst_share`` over aims at the drain; ``dry_mean_share`` and ``dry_worst_share`` the
    last two with a dry floor.
    """

    banks: int
    mean_share: float
    worst_share: float
    drain_mean_share: float
    drain_worst_share: float
    dry_mean_share: float = 0.0
    dry_worst_share: float = 0.0


TABLE: Final[dict[tuple[bool, bool], Excess]] = {
    (False, False): Excess(3, 0.0706, 0.1265, 0.0637, 0.081, 0.0335, 0.0411),
    (False, True): Excess(2, 0.0555, 0.155, 0.052, 0.098, 0.0, 0.0),
    (True, False): Excess(4, 0.0103, 0.0205, 0.082, 0.138, 0.0, 0.030),
    (True, True): Excess(4, 0.0008, 0.0014, 0.0017, 0.0023, 0.0019, 0.0028),
}
"""By whether the slats are upright and whether they are hollow."""


def kind_of(section: Section) -> tuple[bool, bool]:
    """Return whether most slats of a section stand upright, and whether they are hollow."""
    upright, hollow = [], []
    for slat in section.slats:
        ring = np.array(slat.outline)
        step = np.roll(ring, -1, axis=0) - ring
        length = np.hypot(step[:, 0], step[:, 1])
        k = int(np.argmax(length))
        upright.append(abs(step[k, 1]) / length[k] >= UPRIGHT)
        shape = Polygon(ring)
        hollow.append(1.0 - shape.area / shape.convex_hull.area >= HOLLOW)
    return bool(np.mean(upright) > 0.5), bool(np.mean(hollow) > 0.5)


def excess_of(section: Section) -> Excess:
    """Return what is added for a section.

    Each bank is taken to let through the same part of what reaches it, so that fewer banks than
    were solved get more and more banks less (assumed).
    """
    found = TABLE[kind_of(section)]
    power = section.stack.bank_count / found.banks
    return Excess(
        section.stack.bank_count,
        found.mean_share**power,
        found.worst_share**power,
        found.drain_mean_share,
        found.drain_worst_share,
        found.dry_mean_share,
        found.dry_worst_share,
    )

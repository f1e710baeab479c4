"""How a piece leaves its mould: the way it opens, side slides, cores that unscrew, what is left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray, ObjectArray
from vent_family.evidence.cost.mould.samples import DIRECTIONS, Samples

SMALL_MM2: Final = 10.0
"""Undercuts that together are smaller are designed away: a radius, a shut-off, a little draft;
common practice, no source."""
AXES: Final = (2, 1, 0)
"""Ways a mould may open, by number of the axis; a depth is preferred to a height or width."""


@dataclass(frozen=True, slots=True)
class Undercut:
    """What neither half of a mould that opens along ``axis`` forms, in mm2.

    ``regions`` are names and areas (mm2) of those parts of the surface, largest first.
    """

    axis: str
    area_mm2: float
    regions: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Draw:
    """How a piece leaves its mould.

    The mould opens along ``axis``, leaned by ``lean_deg`` from +z towards +y. ``slides`` are the
    ways side slides are pulled; ``unscrewed`` says that a core turns out of a thread. ``left_mm2``
    is what none of them frees, in ``left_in``; each of those regions takes a lifter.
    """

    axis: str
    slides: tuple[str, ...] = ()
    unscrewed: bool = False
    left_mm2: float = 0.0
    left_in: tuple[str, ...] = ()
    lean_deg: float = 0.0

    @property
    def free(self) -> bool:
        """True if the piece comes out without lifters."""
        return not self.left_in


def undercut(samples: Samples, ways: BoolArray, names: ObjectArray, axis: int) -> Undercut:
    """Return what a mould of two halves along an axis does not form; ``ways`` as open_ways."""
    caught = ~(ways[:, 2 * axis] | ways[:, 2 * axis + 1])
    found = _by_region(samples.areas_mm2, caught, names)
    parts = tuple(sorted(found.items(), key=lambda item: -item[1]))
    return Undercut("xyz"[axis], sum(found.values()), parts)


def draw_along(
    samples: Samples,
    ways: BoolArray,
    names: ObjectArray,
    axis: int,
    threads: frozenset[str] = frozenset(),
) -> Draw:
    """Return how a piece leaves a mould that opens along an axis.

    Slides are added one by one, each time the one that frees most, until what is left is small or
    no slide frees more. What is then caught in a region of ``threads`` is turned out.
    """
    areas = samples.areas_mm2
    caught = ~(ways[:, 2 * axis] | ways[:, 2 * axis + 1])
    slides: list[str] = []
    aside = [d for d in range(6) if d // 2 != axis]
    while areas[caught].sum() > SMALL_MM2:
        freed = [float(areas[caught & ways[:, d]].sum()) for d in aside]
        best = int(np.argmax(freed))
        if freed[best] <= SMALL_MM2:
            break
        slides.append(DIRECTIONS[aside[best]])
        caught &= ~ways[:, aside[best]]
    left = _by_region(areas, caught, names)
    turned = {name for name in threads if left.get(name, 0.0) > SMALL_MM2}
    rest = {name: area for name, area in left.items() if name not in turned}
    total = sum(rest.values())
    held: tuple[str, ...] = ()
    if total > SMALL_MM2:
        order = sorted(rest, key=lambda name: -rest[name])
        held = tuple(n for n in order if rest[n] > SMALL_MM2) or (order[0],)
    return Draw("xyz"[axis], tuple(slides), bool(turned), total, held)


def best_draw(
    samples: Samples,
    ways: BoolArray,
    names: ObjectArray,
    threads: frozenset[str] = frozenset(),
) -> Draw:
    """Return the way out that leaves least, of equal ones the one with fewest slides."""
    draws = [draw_along(samples, ways, names, axis, threads) for axis in AXES]
    return min(draws, key=lambda d: (len(d.left_in) > 0, round(d.left_mm2), len(d.slides)))


def _by_region(areas: FloatArray, caught: BoolArray, names: ObjectArray) -> Mapping[str, float]:
    """Return the caught area of each region that has any, mm2."""
    found = {str(n): float(areas[caught & (names == n)].sum()) for n in np.unique(names[caught])}
    return {name: area for name, area in found.items() if area > 0.0}

"""What can be poked through: the largest sphere that passes, and straight probes.

A disc of diameter D gets from outside to inside of a plane section exactly when no chain of solids
leads from the lower to the upper wall with all its gaps narrower than D. The largest disc is thus
the smallest, over all chains, of a chain's widest gap: a bottleneck path over the exact distances
between the solids.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass
from typing import Annotated, Final

from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from vent_family.evidence.facts import Fact
from vent_family.spec.section import Section

FAR_MM: Final = 1e3


@dataclass(frozen=True, slots=True)
class Probe:
    """An access probe of IEC 60529, first numeral; diameter in mm; stiff probes are straight."""

    numeral: int
    diameter_mm: float
    stiff: bool
    title: str


PROBES: Final = (
    # IEC 60529, from memory.
    Probe(1, 50.0, False, "sphere of 50 mm"),
    Probe(2, 12.5, False, "sphere of 12.5 mm"),
    Probe(3, 2.5, True, "rod of 2.5 mm"),
    Probe(4, 1.0, True, "wire of 1.0 mm"),
)


@dataclass(frozen=True, slots=True)
class ProbeResult:
    """One probe: does its tip fit all the way in, and can it do so as a straight, stiff rod."""

    numeral: Annotated[int, Fact("first numeral of IEC 60529")]
    title: Annotated[str, Fact("the probe in words")]
    diameter_mm: Annotated[float, Fact("diameter of the probe", "mm")]
    fits_through: Annotated[bool, Fact("does its tip fit all the way in")]
    passes: Annotated[bool, Fact("can it be pushed in, stiff ones straight")]


@dataclass(frozen=True, slots=True)
class AccessReport:
    """Largest sphere that passes the part, mm, what bounds it, and each probe's answer.

    A sphere passes if it fits through the section, between the ribs and through the openings of a
    screen. A stiff rod needs a straight path as well; wires that bend are covered by
    ``fits_through``.
    """

    sphere_mm: Annotated[
        float, Fact("largest sphere that passes", "mm", attribute="access_largest_sphere_mm")
    ]
    bound_by: Annotated[str, Fact("section, ribs or screen")]
    probes: Annotated[tuple[ProbeResult, ...], Fact("probe by probe")]


def access_report(
    section: Section, widest_bay_mm: float, screen_mm: float = math.inf
) -> AccessReport:
    """Return what passes a section with bays of the given width, in mm.

    ``screen_mm`` is the opening of a screen behind it, mm; without end where it has none.
    """
    bounds = {
        "section": widest_disc_mm(section),
        "ribs": widest_bay_mm,
        "screen": screen_mm,
    }
    bound_by, sphere = min(bounds.items(), key=lambda bound: bound[1])
    results = []
    for probe in PROBES:
        fits = probe.diameter_mm <= sphere
        straight = -section.sight.margin_mm >= probe.diameter_mm
        passes = fits and (straight if probe.stiff else True)
        results.append(ProbeResult(probe.numeral, probe.title, probe.diameter_mm, fits, passes))
    return AccessReport(sphere, bound_by, tuple(results))


def widest_disc_mm(section: Section) -> float:
    """Return the diameter of the largest disc that gets through the section, in mm."""
    below = section.ground(section.lowest_mm - FAR_MM)
    above = section.roof(section.highest_mm + FAR_MM)
    solids: list[BaseGeometry] = [Polygon(s.outline) for s in section.slats]
    solids.append(section.apron_solid)
    return bottleneck(below, above, solids)


def bottleneck(below: BaseGeometry, above: BaseGeometry, solids: list[BaseGeometry]) -> float:
    """Return the smallest widest gap (mm) over all chains of solids from one wall to the other."""
    nodes = [below, *solids, above]
    goal = len(nodes) - 1
    best = [float("inf")] * len(nodes)
    best[0] = 0.0
    queue = [(0.0, 0)]
    done: set[int] = set()
    while queue:
        widest, here = heapq.heappop(queue)
        if here == goal:
            return widest
        if here in done:
            continue
        done.add(here)
        for other, shape in enumerate(nodes):
            if other in done:
                continue
            reach = max(widest, float(nodes[here].distance(shape)))
            if reach < best[other]:
                best[other] = reach
                heapq.heappush(queue, (reach, other))
    return best[goal]


def slab(z0: float, z1: float, y0: float, y1: float) -> BaseGeometry:
    """Return a rectangle for sections built by hand: ``z0``, ``z1``, ``y0`` and ``y1`` in mm."""
    return box(z0, y0, z1, y1)

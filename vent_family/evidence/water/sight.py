"""Straight paths through the section: margin by direction, through the drain, from below, in plan.

All exact: the critical slopes of :mod:`vent_family.spec.sightlines` decide, nothing is sampled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import shapely
from shapely.geometry import LineString

from vent_family.base.arrays import FloatArray
from vent_family.evidence.facts import Fact
from vent_family.spec.section import Section
from vent_family.spec.sightlines import (
    SightResult,
    critical_slopes,
    free_widths,
    nearest_between,
)

NOZZLES_DEG: Final = np.arange(-75.0, 76.0, 15.0)
_BEHIND_MM: Final = 5.0
_BEFORE_MM: Final = 10.0
"""How far a line that is drawn reaches beyond the inner and the outer plane."""


@dataclass(frozen=True, slots=True)
class SightLine:
    """The nearest straight line as it is drawn.

    ``ends_mm`` are its ends (z, y), inside first; ``stopped_mm`` the stretches of it, from end to
    end, that run through solid; lengths in mm.
    """

    drawn: SightResult
    ends_mm: tuple[tuple[float, float], tuple[float, float]]
    stopped_mm: tuple[tuple[tuple[float, float], tuple[float, float]], ...]


def sight_line(section: Section) -> SightLine:
    """Return the line that comes nearest to getting through a section.

    Where that one lies within floor or ceiling, it is the nearest between slats.
    """
    sight = section.sight
    between = nearest_between(section.pieces, section.lower, section.upper)
    drawn = sight if sight.is_open or between is None else between
    (z0, y0), (z1, y1) = drawn.line
    slope = (y1 - y0) / (z1 - z0)
    ends = tuple((z, y0 + slope * (z - z0)) for z in (z0 - _BEHIND_MM, z1 + _BEFORE_MM))
    free = section.room.difference(section.slats_solid).difference(section.apron_solid)
    stopped = shapely.get_parts(LineString(drawn.line).difference(free))
    return SightLine(
        drawn,
        (ends[0], ends[1]),
        tuple((p.coords[0], p.coords[-1]) for p in stopped if p.length > 0.0),
    )


@dataclass(frozen=True, slots=True)
class SightReport:
    """Answer on straight paths through the fitted vent; margins positive where every line misses.

    Elevations are directions water would come from, in degrees above the horizon: the nearest
    line of ``margin_mm`` arrives from ``worst_elevation_deg``. ``open_deg`` lists the exact
    ranges of elevations from which a straight path leads inside. ``drain_margin_mm`` holds for
    lines through the drain slot, ``from_below_margin_mm`` for lines that climb inwards; ``None``
    where no line of that kind reaches the inner plane at all.
    ``plan_limit_deg`` is the angle, seen in plan against the normal, beyond which ribs alone stop
    every line; nearer to the normal the section decides. ``by_elevation`` pairs elevations with the
    margin of the nearest line at that elevation, for aiming a nozzle. ``beside_body_mm2`` is what
    can be seen through between the fitted body and its panel: nothing where the cover reaches over
    the opening's edge, for a line that came in under it would have to fall by all of the overlap
    within the gap there and by no more than the slit beside the body over its whole depth.
    """

    margin_mm: Annotated[float, Fact("by how much the nearest straight line misses", "mm")]
    worst_elevation_deg: Annotated[float, Fact("where that line comes from", "deg")]
    open_deg: Annotated[
        tuple[tuple[float, float], ...], Fact("elevations from which a line leads inside", "deg")
    ]
    drain_margin_mm: Annotated[float | None, Fact("through the drain slot; null: none", "mm")]
    from_below_margin_mm: Annotated[
        float | None, Fact("lines that climb inwards; null: none", "mm")
    ]
    plan_limit_deg: Annotated[
        float, Fact("angle in plan beyond which ribs alone stop every line", "deg")
    ]
    by_elevation: Annotated[
        tuple[tuple[float, float], ...], Fact("elevation and margin at it", "deg, mm")
    ]
    beside_body_mm2: Annotated[
        float, Fact("area seen through beside the body, fitted into its panel", "mm2")
    ]


def sight_report(section: Section, widest_bay_mm: float, beside_body_mm2: float) -> SightReport:
    """Return the straight-path report of a section.

    ``widest_bay_mm`` is its widest bay (mm), ``beside_body_mm2`` what can be seen through beside
    the fitted body, mm2.
    """
    depth = section.stack_z_mm[1] - section.stack_z_mm[0]
    return SightReport(
        margin_mm=section.sight.margin_mm,
        # Water that comes from above travels on a line that falls inwards.
        worst_elevation_deg=-section.sight.elevation_deg,
        open_deg=open_ranges(section),
        drain_margin_mm=_drain_margin(section),
        from_below_margin_mm=_from_below(section),
        plan_limit_deg=math.degrees(math.atan2(widest_bay_mm, depth)),
        by_elevation=tuple(
            (float(a), float(m))
            for a, m in zip(NOZZLES_DEG, margin_by_elevation(section, NOZZLES_DEG), strict=True)
        ),
        beside_body_mm2=beside_body_mm2,
    )


def open_ranges(section: Section) -> tuple[tuple[float, float], ...]:
    """Return the exact ranges of elevation (deg, from above positive) with a straight path."""
    slopes = _critical(section)
    middle = 0.5 * (slopes[1:] + slopes[:-1])
    # Gaps open and close only at critical slopes, so the middle speaks for its whole interval.
    free = free_widths(middle, section.pieces, section.lower, section.upper) > 1e-9
    ranges: list[list[float]] = []
    for low, high, is_free in zip(slopes[:-1], slopes[1:], free, strict=True):
        if not is_free:
            continue
        if ranges and abs(ranges[-1][1] - low) < 1e-9:
            ranges[-1][1] = float(high)
        else:
            ranges.append([float(low), float(high)])
    return tuple((math.degrees(math.atan(a)), math.degrees(math.atan(b))) for a, b in ranges)


def margin_by_elevation(section: Section, elevations_deg: FloatArray) -> FloatArray:
    """Return the margin (mm) of the nearest line at each elevation (deg, from above positive)."""
    slopes = np.tan(np.radians(np.asarray(elevations_deg, dtype=float)))
    return -free_widths(slopes, section.pieces, section.lower, section.upper)


def _critical(section: Section) -> FloatArray:
    corners = np.array([p for piece in section.pieces for p in piece]).reshape(-1, 1, 2)
    along, _ = critical_slopes(corners, np.array(section.lower), np.array(section.upper))
    return along


def _drain_margin(section: Section) -> float | None:
    """Return the margin of lines that pass under the apron."""
    front = section.front_z_mm
    top = section.highest_mm + 1.0
    back, under = section.apron[0]
    shutter = (
        (back, under),
        (front, under),
        (front, top),
        (back, top),
    )
    return _least_margin(section, [*section.pieces, shutter], 0.0, False)


def _from_below(section: Section) -> float | None:
    """Return the margin of lines that climb inwards (slope below zero)."""
    return _least_margin(section, section.pieces, 0.0, True)


def _least_margin(
    section: Section,
    pieces: list[tuple[tuple[float, float], ...]],
    most_slope: float,
    limited: bool,
) -> float | None:
    corners = np.array([p for piece in pieces for p in piece]).reshape(-1, 1, 2)
    along, square = critical_slopes(corners, np.array(section.lower), np.array(section.upper))
    if limited:
        along = np.append(along[along < most_slope], most_slope)
        square = np.append(square[square < most_slope], most_slope)
    margin = float(-free_widths(along, pieces, section.lower, section.upper).max())
    if margin < 0.0:
        margin = min(
            margin, float(-free_widths(square, pieces, section.lower, section.upper).max())
        )
    return margin if math.isfinite(margin) else None

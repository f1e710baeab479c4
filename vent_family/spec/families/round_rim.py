"""Where the ribs of a round head stand, so that its bore's steps and its wall leave no slivers.

Outlines are (x, y), mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Final

import shapely
from shapely.geometry import MultiPolygon, Polygon

from vent_family.base.limits import EDGE_MIN, FACE_MIN
from vent_family.spec.families.round_head import Head
from vent_family.spec.families.round_ribs import opened
from vent_family.spec.section import Section

_NUDGE_MM: Final = 0.05
_NUDGES: Final = 24
"""Ribs move by these at most, inwards, where they narrow the bridge over the bore."""
_SAME_MM: Final = 1e-4
_PLAIN_MM: Final = 1e-6

Bays = tuple[tuple[float, float], ...]


def without_slivers(head: Head, section: Section, bays: Callable[[Head], Bays]) -> Head:
    """Return a head whose ribs beside the bore stand where nothing leaves a sliver.

    The steps of the rim end sideways at these ribs, so a corner of one may lie within a hair of a
    rib or of the circle behind it; and where a rib meets the round wall, so may corners of slats
    and of what is cut out of ribs. Of a head for which no place within reach is clean the one with
    most room is returned. ``bays`` gives the bays (x, mm) of a head.
    """
    best, most = head, -math.inf
    for k in range(_NUDGES):
        moved = replace(head, bore_half_mm=head.bore_half_mm - k * _NUDGE_MM)
        if not is_clean(moved):
            continue
        room = wall_room_mm(moved, section, bays(moved))
        if room >= EDGE_MIN.value:
            return moved
        if room > most:
            best, most = moved, room
    return best


def wall_room_mm(head: Head, section: Section, bays: Bays) -> float:
    """Return the least distance (mm) from the round wall to a corner on a rib's face, as |r - R|.

    Corners are those of slats, ceiling and apron and of what is cut out of ribs.
    """
    slats = [place for slat in section.slats for place in slat.outline]
    slats += [*section.apron, (section.front_z_mm, section.ceiling_mm)]
    room = math.inf
    for (_, x0), (x1, _) in pairwise(bays):
        if x0 + x1 < -_PLAIN_MM:
            continue  # ribs stand alike on both sides
        cut = [p for outline in opened(head, section, (x0, x1)) for p in outline.exterior.coords]
        for z, y in (*slats, *cut):
            if head.plate_z_mm < z < section.front_z_mm + _SAME_MM:
                wall = head.cavity_radius_mm(z)
                room = min(room, *(abs(math.hypot(x, y) - wall) for x in (x0, x1)))
    return room


def is_clean(head: Head) -> bool:
    """Return whether every edge and ledge of the steps is large enough to be meant."""
    outlines = [outline for _, outline in head.rim]
    if any(min(_edges(outline)) < EDGE_MIN.value for outline in outlines):
        return False
    for front, behind in pairwise(outlines):
        for ledge in _parts(front.difference(behind)):
            if ledge.area < FACE_MIN.value or min(_edges(ledge)) < EDGE_MIN.value:
                return False
    return all(_meets_cleanly(a, b, head.mouth_radius_mm) for a, b in _sides(outlines[-1]))


def _parts(shape: Polygon | MultiPolygon) -> list[Polygon]:
    """Return the polygons of a difference, without what rounding leaves of equal sides."""
    whole = shapely.set_precision(shape, _SAME_MM)
    found = getattr(whole, "geoms", [whole])
    return [p.simplify(_SAME_MM) for p in found if p.area > 0.0]


def _sides(outline: Polygon) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Yield the ends of each side of an outline."""
    yield from pairwise(outline.exterior.coords)


def _edges(outline: Polygon) -> Iterator[float]:
    """Yield the length (mm) of each side of an outline."""
    return (math.dist(a, b) for a, b in _sides(outline))


def _meets_cleanly(a: tuple[float, float], b: tuple[float, float], radius_mm: float) -> bool:
    """Return whether a side crosses a circle (mm) neither near an end nor twice within a hair."""
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    foot = -(a[0] * ux + a[1] * uy)
    away = abs(a[0] * uy - a[1] * ux)
    if away > radius_mm - _SAME_MM:
        return True
    half = math.sqrt(radius_mm**2 - away**2)
    at = [t for t in (foot - half, foot + half) if -EDGE_MIN.value < t < length + EDGE_MIN.value]
    places = sorted([0.0, length, *at])
    return all(q - p >= EDGE_MIN.value for p, q in pairwise(places))

"""Do the steps, by which a hole in the back plate becomes a circle, meet without slivers.

Outlines are (x, y), mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Final

import shapely
from shapely.geometry import MultiPolygon, Polygon

from vent_family.base.limits import EDGE_MIN, FACE_MIN
from vent_family.spec.families.round_head import Head, clear_of_corner, rim_outlines

_SAME_MM: Final = 1e-4
_FAR_MM: Final = 1e3
"""Radius of a plate whose edge is nowhere near the hole."""


def is_clean(head: Head) -> bool:
    """Return whether every edge and ledge of the steps is large enough to be meant."""
    half, plate = head.bore_half_mm, head.plate_radius_mm
    if clear_of_corner(half, head.mouth_radius_mm, plate):
        plate = _FAR_MM
    return _is_clean(head.bore_radius_mm, head.bevel_mm, half, plate)


@lru_cache(maxsize=4096)
def _is_clean(bore_radius: float, bevel: float, half: float, plate_radius: float) -> bool:
    """Return the answer for a bore, whatever the head around it, mm."""
    outlines = rim_outlines(bore_radius, bevel, half, plate_radius)
    if any(min(_edges(outline)) < EDGE_MIN.value for outline in outlines):
        return False
    if not all(_meets_cleanly(a, b, bore_radius + bevel) for a, b in _sides(outlines[-1])):
        return False
    for front, behind in pairwise(outlines):
        for ledge in _parts(front.difference(behind)):
            if ledge.area < FACE_MIN.value or min(_edges(ledge)) < EDGE_MIN.value:
                return False
    return True


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

"""Numbered balloons beside a view, each with a line to its place in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from vent_family.files.drawing.model import (
    OUTLINE_MM,
    THIN_MM,
    Box,
    Lettering,
    Marks,
    Patch,
    Point,
    Stroke,
    together,
)

RADIUS_MM: Final = 2.6
_OFF_MM: Final = 6.5
"""Distance of a balloon's middle from the view."""
_APART_MM: Final = 6.2
"""Least distance of two balloons' middles on one side."""
_LETTERS_MM: Final = 3.0
_DOT_MM: Final = 0.45
_CHORDS: Final = 32


def ballooned(box: Box, places: Sequence[tuple[str, Point]]) -> Marks:
    """Return balloons left and right of a view's ``box`` (mm), in the order of their heights.

    ``places`` are numbers and the places (mm) that they stand for. Each goes to the nearer side,
    unless that one is full.
    """
    middle = (box[0] + box[2]) / 2.0
    room = max(1, int((box[3] - box[1]) / _APART_MM) + 1)
    sides: dict[float, list[tuple[str, Point]]] = {box[0] - _OFF_MM: [], box[2] + _OFF_MM: []}
    left, right = sides
    for number, at in sorted(places, key=lambda p: -abs(p[1][0] - middle)):
        near, far = (left, right) if at[0] < middle else (right, left)
        there = near if len(sides[near]) < room or len(sides[far]) >= room else far
        sides[there].append((number, at))
    return together(
        _balloon(number, (x, y), at)
        for x, found in sides.items()
        for (number, at), y in _stacked(found)
    )


def _stacked(places: list[tuple[str, Point]]) -> list[tuple[tuple[str, Point], float]]:
    """Return places with the heights of their balloons, as near to their own as others let them."""
    order = sorted(places, key=lambda place: place[1][1])
    heights = [at[1] for _, at in order]
    # Each group that is too tight is spread evenly about its middle; groups that meet become one.
    groups: list[list[float]] = []
    for height in heights:
        groups.append([height])
        while len(groups) > 1 and _low(groups[-1]) - _high(groups[-2]) < _APART_MM:
            last = groups.pop()
            groups[-1] += last
    spread = [_low(group) + index * _APART_MM for group in groups for index in range(len(group))]
    return list(zip(order, spread, strict=True))


def _low(group: list[float]) -> float:
    return sum(group) / len(group) - (len(group) - 1) * _APART_MM / 2.0


def _high(group: list[float]) -> float:
    return sum(group) / len(group) + (len(group) - 1) * _APART_MM / 2.0


def _balloon(number: str, centre: Point, at: Point) -> Marks:
    length = math.dist(centre, at)
    rim = tuple(c + (a - c) * RADIUS_MM / length for c, a in zip(centre, at, strict=True))
    return Marks(
        (Patch((_circle(at, _DOT_MM),)),),
        (Stroke(_circle(centre, RADIUS_MM), OUTLINE_MM), Stroke(((rim[0], rim[1]), at), THIN_MM)),
        (Lettering(number, centre[0], centre[1] - 1.1, _LETTERS_MM, "middle", bold=True),),
    )


def _circle(centre: Point, radius_mm: float) -> tuple[Point, ...]:
    turns = [2.0 * math.pi * i / _CHORDS for i in range(_CHORDS)]
    ring = [
        (centre[0] + radius_mm * math.cos(t), centre[1] + radius_mm * math.sin(t)) for t in turns
    ]
    return (*ring, ring[0])

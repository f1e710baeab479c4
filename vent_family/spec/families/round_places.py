"""Where sides and ribs of a round head stand, so that they meet nothing by a hair.

Corners of slats may lie within a hair of the line in which the cavity's flat sides, or the faces of
a rib, meet its round wall; such places are slivers of the solid. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import chain, pairwise
from typing import Final, TypeVar

import numpy as np
import shapely
from shapely.geometry import box
from shapely.ops import unary_union

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import EDGE_MIN, FACE_MIN
from vent_family.spec.families.round_head import Head
from vent_family.spec.families.round_ribs import Span, opened
from vent_family.spec.families.round_rim import is_clean
from vent_family.spec.section import BEYOND_MM, Section

_STEP_MM: Final = 0.05
_STEPS: Final = 24
"""Sides, and ribs beside the bore, move inwards by these at most: thicker walls, and a narrower
bridge over the bore. Other ribs move either way, as far."""
_ROOM_MM: Final = max(EDGE_MIN.value, math.sqrt(2.0 * FACE_MIN.value)) + 0.01
"""Room enough: a corner cut off by as much still is an edge and a face."""
_SAME_MM: Final = 1e-4
_MIDDLE_MM: Final = 1e-6

Bays = tuple[Span, ...]
_Place = TypeVar("_Place")


def without_slivers(
    head: Head, section: Section, bays: Callable[[Head], Bays]
) -> tuple[Head, Bays]:
    """Return a head and its bays, whose sides and ribs stand where nothing leaves a sliver.

    Besides, the steps of the bore's rim end sideways at the ribs beside it, and must do so cleanly.
    Where no place within reach is clean, the one with most room is taken. ``bays`` gives the bays
    (x, mm) of a head.
    """
    walls = _Walls.of(head, section, _corners(head, section))
    reach = [k * _STEP_MM for k in range(_STEPS)]
    sides = (replace(head, side_mm=step) for step in reach)
    head = _roomiest(sides, lambda moved: walls.beside_mm(moved.half_width_mm))
    moves = [replace(head, bore_half_mm=head.bore_half_mm - step) for step in reach]

    def most(moved: Head) -> float:
        return walls.around_mm(_beside_bore(moved, bays(moved)))

    def room(moved: Head) -> float:
        return _room_of_rib_mm(moved, section, _beside_bore(moved, bays(moved)), walls)

    # Whether steps end cleanly takes longest to find out.
    roomy = (moved for moved in moves if most(moved) >= _ROOM_MM and room(moved) >= _ROOM_MM)
    found = next(filter(is_clean, roomy), None)
    if found is None:
        found = _roomiest(list(filter(is_clean, moves)) or moves, room, most)
    head = found
    return head, _placed(head, section, bays(head), walls)


def _placed(head: Head, section: Section, bays: Bays, walls: _Walls) -> Bays:
    """Return bays whose ribs, but for those beside the bore, stand where there is room."""
    fixed = _beside_bore(head, bays)
    steps = [0.0, *chain(*((k * _STEP_MM, -k * _STEP_MM) for k in range(1, _STEPS)))]
    right: list[Span] = []
    middle: list[Span] = []
    for (_, x0), (x1, _) in pairwise(bays):
        if abs(x0 + x1) <= _MIDDLE_MM:
            middle.append((x0, x1))
        elif (x0, x1) == fixed:
            right.append(fixed)
        elif x0 + x1 > 0.0:
            tried = [(x0 + step, x1 + step) for step in steps]
            right.append(
                _roomiest(
                    tried, lambda rib: _room_of_rib_mm(head, section, rib, walls), walls.around_mm
                )
            )
    left = [(-x1, -x0) for x0, x1 in reversed(right)]
    edges = [bays[0][0], *chain(*left, *middle, *right), bays[-1][1]]
    return tuple(zip(edges[::2], edges[1::2], strict=True))


def _beside_bore(head: Head, bays: Bays) -> Span:
    """Return the faces (x, mm) of the rib on the right of the bore."""
    return next((a[1], b[0]) for a, b in pairwise(bays) if abs(a[1] - head.bore_half_mm) < _SAME_MM)


def _roomiest(
    places: Iterable[_Place],
    room: Callable[[_Place], float],
    most: Callable[[_Place], float] = lambda _: math.inf,
) -> _Place:
    """Return the first place with room enough (mm), or the one with most.

    ``most`` says sooner how much room (mm) there is at most.
    """
    met: list[tuple[_Place, float | None]] = []
    for place in places:
        found = room(place) if most(place) >= _ROOM_MM else None
        if found is not None and found >= _ROOM_MM:
            return place
        met.append((place, found))
    return max(met, key=lambda m: room(m[0]) if m[1] is None else m[1])[0]


@dataclass(frozen=True, slots=True)
class _Walls:
    """Heights (y) of corners and the round wall's radius at their depths, its square, too, mm."""

    ys: FloatArray
    radii: FloatArray
    squares: FloatArray

    @classmethod
    def of(cls, head: Head, section: Section, corners: Iterable[tuple[float, float]]) -> _Walls:
        """Return the walls at those corners (z, y) that stand before the plate, mm."""
        back, front = head.plate_z_mm, section.front_z_mm + _SAME_MM
        found = [(y, head.cavity_radius_mm(z)) for z, y in corners if back < z < front]
        ys, radii = np.array(found).reshape(-1, 2).T
        return cls(ys, radii, np.array([radius**2 for _, radius in found]))

    def around_mm(self, rib: Span) -> float:
        """Return the room (mm) at the faces of a rib, both up or down and sideways."""
        return min(self._apart_mm(x) for x in rib)

    def beside_mm(self, x_mm: float) -> float:
        """Return the room (mm) along the flat sides, at which slats end."""
        return self._least_mm(self.ys, np.full_like(self.ys, x_mm))

    def _apart_mm(self, x_mm: float) -> float:
        """Return the room (mm) up or down and sideways at one face."""
        xs = np.full_like(self.ys, x_mm)
        return min(self._least_mm(self.ys, xs), self._least_mm(xs, self.ys))

    def _least_mm(self, a: FloatArray, b: FloatArray) -> float:
        """Return the least of how far coordinates are from the circles at the other ones, mm."""
        meets = np.abs(b) < self.radii
        wall = np.sqrt(self.squares[meets] - b[meets] * b[meets])
        return float(np.abs(np.abs(a[meets]) - wall).min(initial=math.inf))


def _room_of_rib_mm(head: Head, section: Section, rib: Span, walls: _Walls) -> float:
    """Return the room (mm) at a rib's faces, at ``walls`` and at corners of what is open of it."""
    inside = box(-BEYOND_MM, -BEYOND_MM, section.front_z_mm, BEYOND_MM)
    cut = unary_union(opened(head, section, rib)).intersection(inside)
    more = [(float(z), float(y)) for z, y in shapely.get_coordinates(cut)]
    return min(walls.around_mm(rib), _Walls.of(head, section, more).around_mm(rib))


def _corners(head: Head, section: Section) -> list[tuple[float, float]]:
    """Return the corners (z, y) of slats, ceiling and apron, mm."""
    found = [place for slat in section.slats for place in slat.outline]
    found += [*section.apron, section.brink, (section.front_z_mm, section.ceiling_mm)]
    if head.shelter is not None:
        # A lip's roots lie in the plate's plane, where the round wall begins.
        lip = head.shelter.sill_face(section.foot, section.sill_top_mm)
        found += [*section.outlet, *((z + 2.0 * _SAME_MM, y) for z, y in lip)]
    return found

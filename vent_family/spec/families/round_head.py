"""The form of a low round head: a flat back plate, a cylinder in front of it, flats on both sides.

Profiles are (r, z), sections (z, y), mm: z = 0 on the panel and positive outwards.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from shapely.geometry import Point as Place
from shapely.geometry import Polygon, box

from vent_family.spec.section import BEYOND_MM
from vent_family.spec.shelter import Shelter

Profile = tuple[tuple[float, float], ...]
"""Corners (r, z) of a solid of revolution, mm."""

BRIM_MM: Final = 2.0
"""Thickness of the brim in front, above the ceiling's plate: it carries the mark."""
RIM_STEP_MM: Final = 0.4
"""Depth of each step by which the hole in the bridged back plate becomes a circle: two layers."""
RIM_SIDES: Final = (4, 8, 16)
"""Sides of the hole, step by step from the plate's front: each lies within the one before it, so
that only corners are bridged, from one carried edge to the next."""
_FINEST: Final = 32
"""Sides of the steps behind these. They take a part each off what corners are left, too small to
bridge, so that none hangs out by more than a ledge may."""
_CORNER_MAX_MM: Final = 0.4
_CORNER_SHARE_MM: Final = 0.33
"""Corners that reach farther beyond the circle take more steps, each for about so much of them."""
_LEFT_SHARE: Final = 0.8
"""Of equal shares these steps leave less: in the layer behind the last the bevel narrows, too."""
RIM_CLEAR_MM: Final = 0.12
"""How far the sides of every step stay off the circle behind: more than the least edge."""
_SHOULDER_CLEAR_MM: Final = 0.15
"""How far what is cut off the outside stays from the shoulder's circle."""
_SHORT_MM: Final = 0.12
"""Sides of the rim's outlines shorter than this are left out: more than the least edge."""
_RIM_IN_CORNER_MM: Final = 0.1
"""How far the hole stays inside the rear corner of the cavity."""
BEVEL_MM: Final = 1.6
"""Bevel of 45 degrees at the bore's front end, behind the steps: air parts less from its edge.
It ends sideways with the steps, at the ribs: behind them it would be a pocket."""
_BEVEL_OVER_PANEL_MM: Final = 0.4
"""How far in front of the panel the bevel ends at least, so that the neck has its whole wall."""
BEAM_MM: Final = 0.8
"""Depth of what is left of a rib above a window in it, two beads or four layers, mm."""
_LEAST_SIDES: Final = 4
_QUARTER: Final = 64
"""Chords of a quarter of a circle."""


@dataclass(frozen=True, slots=True)
class Head:
    """Sizes of a head, mm.

    ``shoulder_mm`` is the height of the ring that sits on the panel and holds the gasket, out to
    ``shoulder_radius_mm``; behind the ``back_plate_mm`` thick plate lies the panel, before it the
    plenum, ``plenum_mm`` deep, before that the stack. The plate ends in a corner of 45 degrees,
    ``corner_mm`` deep. ``bore_half_mm`` is where the bore's hole in the plate ends sideways, flush
    with two ribs. ``plate_mm`` is the thickness of floor and ceiling, ``wall_mm`` the least of all
    other walls; behind the flats the wall is ``side_mm`` thicker. With a ``shelter`` the
    drain opens downwards.
    """

    radius_mm: float
    wall_mm: float
    plate_mm: float
    back_plate_mm: float
    flat_depth_mm: float
    shoulder_mm: float
    shoulder_radius_mm: float
    plenum_mm: float
    corner_mm: float
    bore_radius_mm: float
    bore_half_mm: float
    front_z_mm: float
    side_mm: float = 0.0
    shelter: Shelter | None = None

    @property
    def inner_radius_mm(self) -> float:
        """Radius of the cavity."""
        return self.radius_mm - self.wall_mm

    @property
    def half_width_mm(self) -> float:
        """Half the cavity's width: its sides are parallel to the spanner flats."""
        return self.inner_radius_mm - self.flat_depth_mm - self.side_mm

    @property
    def plate_z_mm(self) -> float:
        """Front of the back plate, z."""
        return self.shoulder_mm + self.back_plate_mm

    @property
    def stack_z_mm(self) -> float:
        """Inner end of the stack, z."""
        return self.plate_z_mm + self.plenum_mm

    @property
    def plate_radius_mm(self) -> float:
        """Radius of the cavity at the back plate."""
        return self.inner_radius_mm - self.corner_mm

    @property
    def cone_end_mm(self) -> float:
        """Front end of the outer cone around the corner, z."""
        return self.plate_z_mm + self.corner_mm - self.wall_mm * (math.sqrt(2.0) - 1.0)

    @property
    def cavity_profile(self) -> Profile:
        """Profile of the cavity before the back plate."""
        z1, r = self.plate_z_mm, self.inner_radius_mm
        rear = ((0.0, z1), (self.plate_radius_mm, z1), (r, z1 + self.corner_mm))
        return (*rear, (r, self.front_z_mm), (0.0, self.front_z_mm))

    @property
    def outer_profile(self) -> Profile:
        """Profile of head and shoulder before flats and trims, the shoulder's foot first."""
        rs, z0, r = self.shoulder_radius_mm, self.shoulder_mm, self.radius_mm
        rear = self.rear_mm
        if rear > rs + _SHOULDER_CLEAR_MM:
            foot: Profile = ((rs, 0.0), (rs, z0), (rear, z0))
        else:
            foot = ((rs, 0.0), (rs, z0 + rs - rear))
        return (
            (0.0, 0.0),
            *foot,
            (r, self.cone_end_mm),
            (r, self.front_z_mm),
            (0.0, self.front_z_mm),
        )

    @property
    def flats_mm(self) -> tuple[float, float]:
        """Width and length of each spanner flat, as far as it is as wide all along."""
        r, depth = self.radius_mm, self.flat_depth_mm
        return 2.0 * math.sqrt(2.0 * r * depth - depth**2), self.front_z_mm - self.cone_end_mm

    @property
    def rim(self) -> tuple[tuple[tuple[float, float], Polygon], ...]:
        """Depths (z) and outlines (x, y) of the steps of the hole in the plate, mm, from the front.

        The first is a rectangle, whose long edges are bridged from rib to rib. Behind the last
        begins the bevel.
        """
        outlines = rim_outlines(
            self.bore_radius_mm, self.bevel_mm, self.bore_half_mm, self.plate_radius_mm
        )
        return tuple(zip(self._rim_z_mm, outlines, strict=True))

    @property
    def _rim_z_mm(self) -> tuple[tuple[float, float], ...]:
        """Depths (z) between which each step of the hole lies, mm, from the front."""
        found, at = [], self.plate_z_mm
        for _ in _steps(self.bore_radius_mm):
            found.append((at - RIM_STEP_MM, at))
            at -= RIM_STEP_MM
        return tuple(found)

    @property
    def mouth_radius_mm(self) -> float:
        """Radius to which the bore widens at its front end; its hole's height in the plate, too."""
        return self.bore_radius_mm + self.bevel_mm

    @property
    def bevel_mm(self) -> float:
        """Depth of the bevel at the bore's front end."""
        room = (
            self.plate_z_mm - RIM_STEP_MM * len(_steps(self.bore_radius_mm)) - _BEVEL_OVER_PANEL_MM
        )
        return min(BEVEL_MM, room)

    @property
    def bevel_z_mm(self) -> tuple[float, float]:
        """Where the bevel begins and ends, z; behind it the bore is round and even."""
        end = self.plate_z_mm - RIM_STEP_MM * len(_steps(self.bore_radius_mm))
        return (end - self.bevel_mm, end)

    @property
    def depths_mm(self) -> tuple[float, ...]:
        """Depths (z) at which the outline of bore or cavity changes, from inside out."""
        steps = sorted(z0 for z0, _ in self._rim_z_mm)
        return (self.bevel_z_mm[0], *steps, self.plate_z_mm, self.plate_z_mm + self.corner_mm)

    @property
    def bore_mm3(self) -> float:
        """Volume of bore and bevel in front of the panel, behind the steps."""
        bore, half, mouth = self.bore_radius_mm, self.bore_half_mm, self.mouth_radius_mm

        def beside(r: float) -> float:
            """Integral over r of both segments that the ribs cut off a circle."""
            root = math.sqrt(r * r - half * half)
            below = 2.0 * r * root - half * half * math.acosh(r / half)
            return 2.0 / 3.0 * (r**3 * math.acos(half / r) - half * below)

        segments = bore * bore * math.acos(half / bore) - half * math.sqrt(bore**2 - half**2)
        round_mm3 = math.pi * (bore * bore * self.bevel_z_mm[0] + (mouth**3 - bore**3) / 3.0)
        return round_mm3 - (beside(mouth) - beside(bore)) + 2.0 * segments * self.bevel_mm

    def _bore_outline(self, z_mm: float) -> Polygon:
        """Return the outline (x, y) of bore and bevel at a depth (mm) behind the steps."""
        widened = min(max(z_mm - self.bevel_z_mm[0], 0.0), self.bevel_mm)
        bore, bevel = (
            Place(0.0, 0.0).buffer(self.bore_radius_mm + more, quad_segs=_QUARTER)
            for more in (0.0, widened)
        )
        half = self.bore_half_mm
        return bore.union(bevel.intersection(box(-half, -BEYOND_MM, half, BEYOND_MM)))

    def cavity_radius_mm(self, z_mm: float) -> float:
        """Return the cavity's radius at a depth before the plate (mm)."""
        return min(self.plate_radius_mm + z_mm - self.plate_z_mm, self.inner_radius_mm)

    def cavity_outline(self, z_mm: float) -> Polygon:
        """Return the outline (x, y) of bore or cavity at a depth (mm)."""
        if z_mm < self.plate_z_mm:
            holes = [hole for (z0, z1), hole in self.rim if z0 <= z_mm < z1]
            return holes[0] if holes else self._bore_outline(z_mm)
        circle = Place(0.0, 0.0).buffer(self.cavity_radius_mm(z_mm), quad_segs=_QUARTER)
        half = self.half_width_mm
        return circle.intersection(box(-half, -BEYOND_MM, half, BEYOND_MM))

    def trim_mm(
        self, floor_mm: tuple[float, float], ceiling_mm: float
    ) -> tuple[tuple[float, float], float]:
        """Return heights (y) of the outer side below, behind and in front, and above (mm).

        ``floor_mm`` are the floor's heights at z = 0 and in front, ``ceiling_mm`` the ceiling's.
        The lower plane is parallel to the floor; neither cuts into the shoulder's height.
        """
        slope = (floor_mm[0] - floor_mm[1]) / self.front_z_mm
        plate = self.plate_mm * math.hypot(1.0, slope)
        below = (floor_mm[0] - plate, floor_mm[1] - plate)
        return below, max(ceiling_mm + self.plate_mm, self.beyond_shoulder_mm)

    @property
    def rear_mm(self) -> float:
        """Radius of the outer cone where it meets the shoulder's plane."""
        return self.radius_mm + self.shoulder_mm - self.cone_end_mm

    def clear_of_rear_mm(self, y_mm: float) -> float:
        """Return a height (mm) below the axis, lower where it nearly meets the rear circle."""
        low = -(self.rear_mm + _SHOULDER_CLEAR_MM)
        return low if abs(y_mm + self.rear_mm) < _SHOULDER_CLEAR_MM else y_mm

    @property
    def beyond_shoulder_mm(self) -> float:
        """How near the axis flats come above and below: touching the shoulder is a sliver."""
        return self.shoulder_radius_mm + _SHOULDER_CLEAR_MM


@lru_cache(maxsize=4096)
def rim_outlines(
    bore_radius_mm: float, bevel_mm: float, half_mm: float, plate_radius_mm: float
) -> tuple[Polygon, ...]:
    """Return the outlines (x, y) of the steps of the hole in a plate, from the front.

    Parameters
    ----------
    bore_radius_mm, bevel_mm
        radius of the bore and depth of the bevel at its front end, mm
    half_mm
        where the hole ends sideways, mm
    plate_radius_mm
        radius of the cavity at the plate, mm

    Examples
    --------
    >>> [round(outline.area) for outline in rim_outlines(10.0, 1.6, 9.9, 40.0)]
    [464, 413, 404]
    """
    r = bore_radius_mm + bevel_mm
    hole = Place(0.0, 0.0).buffer(plate_radius_mm - _RIM_IN_CORNER_MM, quad_segs=24)
    hole = hole.intersection(box(-half_mm, -BEYOND_MM, half_mm, BEYOND_MM))
    found = []
    for sides, left in _steps(bore_radius_mm):
        more = max(left * _corners(r), RIM_CLEAR_MM)
        hole = _without_short(hole.intersection(_around(r + more, sides)).simplify(1e-6))
        found.append(hole)
    return tuple(found)


def clear_of_corner(half_mm: float, mouth_radius_mm: float, plate_radius_mm: float) -> bool:
    """Return whether a hole's first step, a rectangle, ends before the cavity's rear corner.

    ``half_mm`` and ``mouth_radius_mm`` are half its width and, but for a hair, its height.
    """
    inside = (plate_radius_mm - _RIM_IN_CORNER_MM) * math.cos(math.pi / 96.0)
    return math.hypot(half_mm, mouth_radius_mm + RIM_CLEAR_MM) < inside - _SHORT_MM


def _steps(bore_radius_mm: float) -> tuple[tuple[int, float], ...]:
    """Return sides of the steps, and what share of the corners each leaves beyond the circle."""
    coarse = tuple((sides, 0.0) for sides in RIM_SIDES)
    reach = _corners(bore_radius_mm + BEVEL_MM)
    if reach + RIM_CLEAR_MM <= _CORNER_MAX_MM:
        return coarse
    parts = max(2, math.ceil(reach / _CORNER_SHARE_MM))
    return (*coarse, *((_FINEST, _LEFT_SHARE * (1.0 - k / parts)) for k in range(1, parts)))


def _corners(radius_mm: float) -> float:
    """Return how far the corners of the coarse steps reach beyond the circle at last, mm."""
    return radius_mm * (1.0 / math.cos(math.pi / RIM_SIDES[-1]) - 1.0)


def _without_short(outline: Polygon) -> Polygon:
    """Return a convex outline without sides too short to be meant.

    Of a short side's ends that goes at which the outline turns less, so straight sides stay.
    """
    ring = list(outline.exterior.coords)[:-1]
    while len(ring) > _LEAST_SIDES:
        count = len(ring)
        short = min(range(count), key=lambda k: math.dist(ring[k], ring[(k + 1) % count]))
        if math.dist(ring[short], ring[(short + 1) % count]) >= _SHORT_MM:
            break
        ring.pop(min(short, (short + 1) % count, key=lambda k: _turn(ring, k)))
    return Polygon(ring)


def _turn(ring: list[tuple[float, ...]], k: int) -> float:
    """Return by how much (rad) a ring of places turns at one of them."""
    (x0, y0), (x1, y1), (x2, y2) = ring[k - 1][:2], ring[k][:2], ring[(k + 1) % len(ring)][:2]
    ax, ay, bx, by = x1 - x0, y1 - y0, x2 - x1, y2 - y1
    return abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def _around(radius_mm: float, sides: int) -> Polygon:
    """Return the regular polygon around a circle, one side level and on top."""
    corner = radius_mm / math.cos(math.pi / sides)
    angles = [math.pi * (0.5 + (2 * k + 1) / sides) for k in range(sides)]
    return Polygon([(corner * math.cos(a), corner * math.sin(a)) for a in angles])

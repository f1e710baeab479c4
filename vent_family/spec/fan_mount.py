"""A fan behind a block: a duct from the inner plane to the fan's frame, with four bosses.

The duct begins around the open inner side of the block and ends on the frame. It narrows, or
widens, by 45 degrees at most, so that it prints face down on the block's own walls. Its floor rises
inwards from the sill's top: what gets over the sill runs back over it. Where the fan sweeps lower
than the sill, a wall below the floor keeps the fan from drawing the cabinet's own air past it. The
bosses fill the corners, bridged from wall to wall. All of it lies within the block's outline, or it
would not pass the opening; the fan is fitted from inside and may be larger.

Coordinates as in :mod:`vent_family.spec.section`, lengths in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from types import MappingProxyType
from typing import Final

import numpy as np
import shapely
from numpy.polynomial.legendre import leggauss
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from vent_family.base.limits import (
    EDGE_MIN,
    FAN_BORE_DEPTH,
    FAN_BORE_SHARE,
    FAN_BOSS,
    FAN_BOSS_FLOOR,
    FAN_DUCT_SLOPE,
    FAN_GUARD_MIN,
    FIT_CLEARANCE,
    GAP_MIN,
    OVERHANG_MAX,
    WALL_MIN,
)
from vent_family.spec.forms import Outline
from vent_family.spec.section import Section

TAPER: Final = 0.98 * math.tan(math.radians(OVERHANG_MAX.value))
"""How much a duct's wall leans at most, mm per mm of depth: a hair less than the limit."""
BEVEL_MM: Final = 2.0
"""What is cut off the outline's corners, so that it passes an opening punched with round ones."""
SHORTEST_MM: Final = 1.0
"""Least depth over which a duct changes from the block's inner side to its end."""
CUT_MIN_MM: Final = 2.0 * EDGE_MIN.value
"""What a corner with a boss cuts off a clear space's corner, at least, if anything: edges and face
of a smaller cut would be too small to be meant."""
CIRCLE_STEPS: Final = 64
"""Sides of a quarter of the circles that areas are reckoned with."""
LEVELS: Final = 16
"""Levels in each part of a duct at which its volume is reckoned (Gauss and Legendre)."""


@dataclass(frozen=True, slots=True)
class FanFrame:
    """An axial fan's square frame: side, hole spacing, what its blades sweep; mm.

    ``bore_mm`` is the diameter of the round opening in the frame, ``hub_mm`` that of the hub,
    ``screw_mm`` the nominal diameter of its screws, ``depth_mm`` the depth of a deep one.
    """

    name: str
    spacing_mm: float
    bore_mm: float
    hub_mm: float
    screw_mm: float
    depth_mm: float

    @property
    def side_mm(self) -> float:
        """Side of the frame."""
        return float(self.name)

    @property
    def screw(self) -> str:
        """The screw's name."""
        return f"M{self.screw_mm:g}"

    @property
    def boss_mm(self) -> float:
        """Outside radius of a boss."""
        return FAN_BOSS.value * self.screw_mm / 2.0

    @property
    def pilot_mm(self) -> float:
        """Radius of the bore that a screw cuts its thread into."""
        return FAN_BORE_SHARE.value * self.screw_mm / 2.0

    @property
    def pilot_depth_mm(self) -> float:
        """Depth of that bore."""
        return FAN_BORE_DEPTH.value * self.screw_mm

    @property
    def reach_mm(self) -> float:
        """How far from the fan's axis, across and up, a block's outline must reach.

        As far as the fan's bore, or it would draw air past the block, and around the screws.

        Examples
        --------
        Half of 82.5 mm, the screw's bore of 3.2 mm and 1.2 mm of wall around it; half of 115 mm:

        >>> round(FRAMES["92"].reach_mm, 6), FRAMES["120"].reach_mm
        (44.05, 57.5)
        """
        screws = self.spacing_mm / 2.0 + self.pilot_mm + WALL_MIN.value
        return max(screws, self.bore_mm / 2.0)

    @property
    def swept_mm2(self) -> float:
        """Area that the blades sweep: bore less hub."""
        return math.pi / 4.0 * (self.bore_mm**2 - self.hub_mm**2)


FRAMES: Final = MappingProxyType(
    {
        # Trade sizes of axial fans: hole spacing, bore, hub, screw, depth of a deep one.
        # Common practice, no source.
        "40": FanFrame("40", 32.0, 38.0, 25.0, 3.0, 28.0),
        "60": FanFrame("60", 50.0, 57.0, 32.0, 4.0, 38.0),
        "80": FanFrame("80", 71.5, 76.0, 40.0, 4.0, 38.0),
        "92": FanFrame("92", 82.5, 88.0, 42.0, 4.0, 38.0),
        "120": FanFrame("120", 105.0, 115.0, 50.0, 4.0, 38.0),
    }
)
"""Frames that a row can name, by their side in mm. Hubs differ by maker: these are large ones."""


@dataclass(frozen=True, slots=True)
class FanMount:
    """What a block knows of the fan behind it before its section is laid out; mm.

    ``half_mm`` are half the width and height of the block's outline, ``open_half_mm`` half the
    width of its open inner side; ``wall_mm`` is no more than what is left of the block around it.
    """

    frame: FanFrame
    half_mm: tuple[float, float]
    open_half_mm: float
    wall_mm: float
    panel_mm: float

    @property
    def opening_least_mm(self) -> float:
        """Least width and height of an opening that the fan's bosses pass."""
        return 2.0 * (self.frame.reach_mm + FIT_CLEARANCE.value)

    @property
    def lack_mm(self) -> float:
        """How much wider or higher the opening must be; none if not above 0."""
        return 2.0 * (self.frame.reach_mm - min(self.half_mm))

    def duct(self, section: Section) -> FanDuct:
        """Return the duct behind a section, for a block wide and high enough for the bosses."""
        frame, wall = self.frame, self.wall_mm
        sill, ceiling, z0 = section.sill_top_mm, section.mouth_top_mm, section.inner_z_mm
        slack = self.half_mm[1] - frame.reach_mm
        centre = min(max((sill + ceiling) / 2.0, -slack), slack)
        radius, low = frame.bore_mm / 2.0, wall - self.half_mm[1]
        half = min(radius, self.half_mm[0] - wall)
        top, bottom = min(centre + radius, -low), max(centre - radius, low)
        (foot_z, foot_y), (brink_z, brink_y) = section.foot, section.brink
        rise = min((foot_y - brink_y) / (brink_z - foot_z), _tangent(FAN_DUCT_SLOPE.value))
        collar = frame.pilot_depth_mm + FAN_BOSS_FLOOR.value
        lean = max(
            abs(self.open_half_mm - half),
            abs(ceiling - top),
            foot_y - bottom,
            centre - radius - rise * collar - sill,
        )
        least = max(
            FAN_GUARD_MIN.value - (section.stack_z_mm[0] - z0),
            # A frame wider than the opening stands behind the panel, not in it.
            self.panel_mm + FIT_CLEARANCE.value + z0,
        )
        depth = max(lean / TAPER + collar, SHORTEST_MM + collar, least)
        end = max(centre - radius, sill + rise * depth)
        return FanDuct(
            frame=frame,
            half_mm=self.half_mm,
            wall_mm=wall,
            z_mm=(z0, z0 - depth + collar, z0 - depth),
            centre_mm=centre,
            sides_mm=(self.open_half_mm, half, half),
            tops_mm=(ceiling, top, top),
            floor_mm=(sill, end - rise * collar, end),
            bottoms_mm=(max(foot_y, bottom), bottom, bottom),
            slats_z_mm=section.stack_z_mm[0],
        )


@dataclass(frozen=True)
class FanDuct:
    """The duct of one vent; mm.

    ``z_mm`` are the depths of the block's inner plane, of the corners' outer face and of the fan's
    frame; at these, and straight from one to the next, run half the duct's clear width
    ``sides_mm``, the underside of its roof ``tops_mm``, the top of its floor ``floor_mm`` and that
    of the wall below it, ``bottoms_mm``: as low as the fan sweeps, or the block allows.
    ``slats_z_mm`` is where the slats end.
    """

    frame: FanFrame
    half_mm: tuple[float, float]
    wall_mm: float
    z_mm: tuple[float, float, float]
    centre_mm: float
    sides_mm: tuple[float, float, float]
    tops_mm: tuple[float, float, float]
    floor_mm: tuple[float, float, float]
    bottoms_mm: tuple[float, float, float]
    slats_z_mm: float

    @property
    def end_z_mm(self) -> float:
        """Plane that the fan's frame stands on."""
        return self.z_mm[2]

    @property
    def depth_mm(self) -> float:
        """How deep the duct is."""
        return self.z_mm[0] - self.z_mm[2]

    @property
    def guard_mm(self) -> float:
        """Distance from the fan's frame to the slats."""
        return self.slats_z_mm - self.z_mm[2]

    @property
    def bosses_mm(self) -> tuple[tuple[float, float], ...]:
        """Axes of the bosses (x, y)."""
        p = self.frame.spacing_mm / 2.0
        return tuple((sx * p, self.centre_mm + sy * p) for sx in (-1, 1) for sy in (-1, 1))

    @property
    def below_mm(self) -> tuple[float, float, float]:
        """Underside of the duct's lowest wall, at the three depths."""
        low = [min(at) - self.wall_mm for at in zip(self.floor_mm, self.bottoms_mm, strict=True)]
        return (low[0], low[1], low[2])

    @property
    def has_pocket(self) -> bool:
        """Whether the space below the floor, in front of the fan, is open; else it is solid."""
        return self.floor_mm[0] - self.wall_mm - self.bottoms_mm[0] >= GAP_MIN.value

    @property
    def clear(self) -> Outline:
        """Outline (z, y) of the duct's clear space above its floor."""
        return self.profile(self.floor_mm, self.tops_mm)

    @property
    def pocket(self) -> Outline:
        """Outline (z, y) of the space below the floor."""
        under = tuple(y - self.wall_mm for y in self.floor_mm)
        return self.profile(self.bottoms_mm, under)

    @property
    def walls(self) -> Outline:
        """Outline (z, y) of all of the duct, walls included."""
        return self.profile(self.below_mm, tuple(y + self.wall_mm for y in self.tops_mm))

    def profile(self, low_mm: tuple[float, ...], high_mm: tuple[float, ...]) -> Outline:
        """Return the outline (z, y) between two lines given at the three depths, mm."""
        lower = list(zip(self.z_mm, low_mm, strict=True))
        upper = list(zip(self.z_mm, high_mm, strict=True))
        return (*lower, *reversed(upper))

    def across(self, more_mm: float) -> Outline:
        """Return the outline (x, z) of the clear width, every side moved out by so much, mm."""
        right = [(x + more_mm, z) for x, z in zip(self.sides_mm, self.z_mm, strict=True)]
        return (*right, *((-x, z) for x, z in reversed(right)))

    @property
    def outline(self) -> Outline:
        """The block's outline (x, y), its corners bevelled, within which the duct lies."""
        (w, h), leg = self.half_mm, BEVEL_MM
        half = [(w, leg - h), (w, h - leg), (w - leg, h)]
        right = [(w - leg, -h), *half]
        return (*right, *((-x, y) for x, y in reversed(right)))

    @cached_property
    def corner_line_mm(self) -> float:
        """Where the corners end: x and y from the fan's axis add up to this, mm.

        A corner that would only just cut one of the clear spaces' corners is a little larger.
        """
        line = self.frame.spacing_mm - self.frame.boss_mm * math.sqrt(2.0)
        heights = [*self.tops_mm[1:], *self.floor_mm[1:]]
        if self.has_pocket:
            heights += [*self.bottoms_mm[1:], *(y - self.wall_mm for y in self.floor_mm[1:])]
        ends = sorted((abs(y - self.centre_mm) for y in heights), reverse=True)
        for end in ends:
            cut = self.sides_mm[2] + end - line
            if 0.0 < cut < CUT_MIN_MM:
                line -= CUT_MIN_MM - cut
        return line

    @cached_property
    def open_swept_mm2(self) -> float:
        """What the fan sweeps as far as the duct leaves it open."""
        centre, half = Point(0.0, self.centre_mm), self.sides_mm[2]
        swept = _disc(centre, self.frame.bore_mm / 2.0) - _disc(centre, self.frame.hub_mm / 2.0)
        way = box(-half, self.floor_mm[2], half, self.tops_mm[2])
        # The sides of a polygon lie within its circle.
        whole = self.frame.swept_mm2 / swept.area
        return float(swept.intersection(way & self._middle()).area * whole)

    @property
    def open_share(self) -> float:
        """Share of what the fan sweeps that the duct leaves open."""
        return self.open_swept_mm2 / self.frame.swept_mm2

    @property
    def begin_area_mm2(self) -> float:
        """Area of the block's inner side that the duct begins with, ribs included."""
        return 2.0 * self.sides_mm[0] * (self.tops_mm[0] - self.floor_mm[0])

    def volume_mm3(self) -> float:
        """Return the volume of the duct, by its areas at many depths."""
        total = 0.0
        depths = [
            self.z_mm[0],
            self.z_mm[1],
            self.z_mm[2] + self.frame.pilot_depth_mm,
            self.z_mm[2],
        ]
        for high, low in pairwise(depths):
            for at, weight in zip(*leggauss(LEVELS), strict=True):
                z = (high + low) / 2.0 + at * (high - low) / 2.0
                total += weight * (high - low) / 2.0 * self.plastic(z).area
        return total

    def plastic(self, z: float) -> BaseGeometry:
        """Return what of the duct stands at a depth z (mm), as an outline (x, y)."""
        side, roof = self._at(self.sides_mm, z), self._at(self.tops_mm, z)
        floor, below = self._at(self.floor_mm, z), self._at(self.below_mm, z)
        air: BaseGeometry = box(-side, floor, side, roof)
        if self.has_pocket:
            bottom = self._at(self.bottoms_mm, z)
            air |= box(-side, bottom, side, floor - self.wall_mm)
        t = self.wall_mm
        found = box(-side - t, below, side + t, roof + t) & Polygon(self.outline)
        found -= air & self._middle() if z < self.z_mm[1] else air
        if z < self.z_mm[2] + self.frame.pilot_depth_mm:
            found -= shapely.union_all(
                [_disc(Point(at), self.frame.pilot_mm) for at in self.bosses_mm]
            )
        return found

    def _at(self, values_mm: tuple[float, ...], z: float) -> float:
        """Return what runs through three values at a depth, mm."""
        return float(np.interp(-z, [-at for at in self.z_mm], values_mm))

    def _middle(self) -> Polygon:
        """Return what the corners leave free, (x, y)."""
        reach = self.corner_line_mm
        y = self.centre_mm
        return Polygon([(reach, y), (0.0, y + reach), (-reach, y), (0.0, y - reach)])


def _disc(at: Point, radius_mm: float) -> Polygon:
    return at.buffer(radius_mm, quad_segs=CIRCLE_STEPS)


def _tangent(slope_deg: float) -> float:
    return math.tan(math.radians(slope_deg))

"""Screws, nuts and washers that hold vents: dimensions by their standards, and solids. mm.

Solids are exact in what others must clear: head, hexagon, washer. Threads are not drawn: shank and
nut meet in a cylinder of the pitch diameter (ISO 724), which has the volume of a thread half of
whose ridges are filled, so that masses are right within a few per cent.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Final

import cadquery as cq

from vent_family.base.limits import FAN_BORE_SHARE, FAN_FLANGE
from vent_family.geometry.primitives import cut, cylinder, fuse
from vent_family.spec.defaults import WASHER_MM

LENGTHS_MM: Final = (4, 5, 6, 8, 10, 12, 14, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60)
"""Nominal lengths of ISO 7045 (an open library's table read), chosen from those of ISO 888."""
PITCH_DIAMETER: Final = 0.6495
"""Nominal less pitch diameter, in pitches: 3 sqrt(3) / 8, ISO 724."""
FAN_WALL_MM: Final = 1.5
"""Wall of the tube between the flanges of a drawn fan; common practice, no source."""
CLEAR_MM: Final = 0.2
"""Between screws and what they pass in a drawn fan."""
_BAR_MM: Final = 4.0
"""Width and depth of the bars that hold the hub of a drawn fan."""


@dataclass(frozen=True, slots=True)
class Hardware:
    """Dimensions of one size of screw, with its nuts and its washer.

    Parameters
    ----------
    thread
        its name
    nominal_mm, pitch_mm
        nominal diameter and pitch of the coarse thread, ISO 261 (from memory)
    head_mm, head_height_mm
        pan head with cross recess, greatest diameter and height, ISO 7045 (a supplier's table read)
    flats_mm
        width across the nut's flats, greatest, ISO 4032 (a supplier's table read); that of ISO 7040
        is the same (from memory)
    nut_mm
        greatest height of the plain nut, ISO 4032 (the same table read)
    locking_mm
        greatest height of the nut with a ring of polyamide, ISO 7040 (from memory)
    washer_hole_mm, washer_height_mm
        plain washer, normal series, ISO 7089 (a supplier's table read)
    shortest_mm, longest_mm
        range of lengths sold (from memory)
    """

    thread: str
    nominal_mm: float
    pitch_mm: float
    head_mm: float
    head_height_mm: float
    flats_mm: float
    nut_mm: float
    locking_mm: float
    washer_hole_mm: float
    washer_height_mm: float
    shortest_mm: int
    longest_mm: int

    @property
    def washer_mm(self) -> float:
        """Outside diameter of the washer."""
        return WASHER_MM[self.thread]

    @property
    def pitch_diameter_mm(self) -> float:
        """Pitch diameter of the thread.

        Examples
        --------
        >>> round(HARDWARE["M4"].pitch_diameter_mm, 3)
        3.545
        """
        return self.nominal_mm - PITCH_DIAMETER * self.pitch_mm

    def nut_height_mm(self, *, locking: bool) -> float:
        """Return the height of the nut, with a ring of polyamide or without."""
        return self.locking_mm if locking else self.nut_mm

    def length_from(self, least_mm: float) -> int | None:
        """Return the shortest length sold from a least one (mm) on, ``None`` if there is none.

        Examples
        --------
        >>> HARDWARE["M4"].length_from(14.2), HARDWARE["M4"].length_from(41.0)
        (16, None)
        """
        return next((n for n in self._lengths() if n >= least_mm - 1e-9), None)

    def length_up_to(self, most_mm: float) -> int | None:
        """Return the longest length sold up to a greatest one (mm), ``None`` if there is none."""
        return next((n for n in reversed(self._lengths()) if n <= most_mm + 1e-9), None)

    def _lengths(self) -> list[int]:
        return [n for n in LENGTHS_MM if self.shortest_mm <= n <= self.longest_mm]


HARDWARE: Final = MappingProxyType(
    {
        h.thread: h
        for h in (
            Hardware("M3", 3.0, 0.5, 5.6, 2.4, 5.5, 2.4, 4.5, 3.2, 0.5, 4, 30),
            Hardware("M4", 4.0, 0.7, 8.0, 3.1, 7.0, 3.2, 6.0, 4.3, 0.8, 5, 40),
            Hardware("M5", 5.0, 0.8, 9.5, 3.7, 8.0, 4.7, 6.8, 5.3, 1.0, 6, 45),
            Hardware("M6", 6.0, 1.0, 12.0, 4.6, 10.0, 5.2, 8.0, 6.4, 1.6, 8, 60),
        )
    }
)


@lru_cache(maxsize=64)
def screw(thread: str, length_mm: int) -> cq.Solid:
    """Return a pan head screw: it bears on z = 0, its head is above, its shank ``length_mm`` below.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    size = HARDWARE[thread]
    return _headed(size, size.pitch_diameter_mm, length_mm)


@lru_cache(maxsize=64)
def forming_screw(thread: str, length_mm: int) -> cq.Solid:
    """Return a thread-forming screw as thick as the bore (mm) that its ridges cut into.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    size = HARDWARE[thread]
    return _headed(size, FAN_BORE_SHARE.value * size.nominal_mm, length_mm)


@lru_cache(maxsize=16)
def nut(thread: str, *, locking: bool) -> cq.Solid:
    """Return a hexagon nut that bears on z = 0 from below, two of its flats upright.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    size = HARDWARE[thread]
    high = size.nut_height_mm(locking=locking)
    # Corners as wide as flats of the nominal width make them; a made nut has a little less.
    hexagon = cq.Workplane("XY", origin=(0.0, 0.0, -high)).polygon(
        6, size.flats_mm, circumscribed=True
    )
    return cut(hexagon.extrude(high).val(), [cylinder(size.pitch_diameter_mm / 2.0, (-high, 0.0))])


@lru_cache(maxsize=16)
def washer(thread: str) -> cq.Solid:
    """Return a plain washer that lies on z = 0.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    size = HARDWARE[thread]
    high = size.washer_height_mm
    hole = cylinder(size.washer_hole_mm / 2.0, (0.0, high))
    return cut(cylinder(size.washer_mm / 2.0, (0.0, high)), [hole])


@lru_cache(maxsize=16)
def fan_envelope(
    side_mm: float,
    depth_mm: float,
    spacing_mm: float,
    bore_mm: float,
    hub_mm: float,
    thread: str,
) -> cq.Solid:
    """Return the room that an axial fan takes up: two square flanges, tube, hub and bars.

    It stands on z = 0 and reaches down, its axis is z.

    Parameters
    ----------
    side_mm, depth_mm
        side of the square frame and depth of the fan, mm
    spacing_mm
        distance of the holes, mm
    bore_mm, hub_mm
        diameter of the way through and of the hub, mm
    thread
        the screws that pass its holes

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    thick, half, size = FAN_FLANGE.value, spacing_mm / 2.0, HARDWARE[thread]
    # Screws have their heads between the flanges, beside the tube.
    beside = spacing_mm / math.sqrt(2.0) - size.head_mm / 2.0 - CLEAR_MM
    tube = cylinder(min(bore_mm / 2.0 + FAN_WALL_MM, side_mm / 2.0, beside), (-depth_mm, 0.0))
    ends = [(-thick, 0.0), (-depth_mm, thick - depth_mm)]
    frame = fuse(tube, [_square(side_mm, z) for z in ends])
    holes = [
        cylinder((size.nominal_mm + CLEAR_MM) / 2.0, z, sx * half, sy * half)
        for z in ends
        for sx in (-1, 1)
        for sy in (-1, 1)
    ]
    frame = cut(frame, [cylinder(bore_mm / 2.0, (-depth_mm, 0.0)), *holes])
    hub = cylinder(hub_mm / 2.0, (-depth_mm, -thick / 2.0))
    reach, width = bore_mm / 2.0 + CLEAR_MM, _BAR_MM / 2.0
    low = -depth_mm + _BAR_MM / 2.0
    bars = [
        cq.Solid.makeBox(2 * x, 2 * y, _BAR_MM, cq.Vector(-x, -y, low - _BAR_MM / 2.0))
        for x, y in ((reach, width), (width, reach))
    ]
    return fuse(frame, [hub, *bars])


def _headed(size: Hardware, shank_mm: float, length_mm: float) -> cq.Solid:
    """Return a head of a size on a shank of a diameter and a length (mm)."""
    head = cylinder(size.head_mm / 2.0, (0.0, size.head_height_mm))
    return fuse(head, [cylinder(shank_mm / 2.0, (-length_mm, 0.0))])


def _square(side_mm: float, z_mm: tuple[float, float]) -> cq.Solid:
    half = side_mm / 2.0
    return cq.Solid.makeBox(side_mm, side_mm, z_mm[1] - z_mm[0], cq.Vector(-half, -half, z_mm[0]))

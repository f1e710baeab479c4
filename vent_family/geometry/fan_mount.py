"""Solid of the duct and the bosses behind a block that hold a fan."""

from __future__ import annotations

from typing import Final

import cadquery as cq

from vent_family.geometry.primitives import (
    box,
    common,
    cut,
    cylinder,
    fuse,
    prism_x,
    prism_y,
    prism_z,
)
from vent_family.spec.fan_mount import FanDuct
from vent_family.spec.forms import Outline
from vent_family.spec.section import FAR

CORNER_INTO_MM: Final = 0.5
"""How far a corner reaches into the walls, so that no seam is left between."""
FAN_DEPTH_MM: Final = 25.0
"""Depth of a fan that is drawn: the usual one of larger frames (common trade size, no source)."""
_STRUT_MM: Final = 3.0


def fan_duct(duct: FanDuct) -> cq.Solid:
    """Return the duct with its bosses, in part coordinates; it begins on the inner plane.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    z0, _, z2 = duct.z_mm
    outside = prism_z(duct.outline, z2, z0)
    spaces = [duct.clear, duct.pocket] if duct.has_pocket else [duct.clear]
    solid = cut(
        _drawn(duct, duct.walls, duct.wall_mm), [_drawn(duct, space, 0.0) for space in spaces]
    )
    solid = common(fuse(solid, _corners(duct)), outside)
    depth = duct.frame.pilot_depth_mm
    pilots = [cylinder(duct.frame.pilot_mm, (z2 - FAR, z2 + depth), *at) for at in duct.bosses_mm]
    return cut(solid, pilots)


def fan_stand_in(duct: FanDuct) -> cq.Solid:
    """Return a fan's frame and hub as they stand on the duct, in part coordinates.

    Only what a frame's trade size says is drawn; hub and frame are held together by struts.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid
    """
    frame, z = duct.frame, (duct.end_z_mm - FAN_DEPTH_MM, duct.end_z_mm)
    half, y = frame.side_mm / 2.0, duct.centre_mm
    solid = cut(
        box((-half, half), (y - half, y + half), z),
        [cylinder(frame.bore_mm / 2.0, (z[0] - FAR, z[1] + FAR), 0.0, y)],
    )
    holes = [cylinder(frame.screw_mm / 2.0, (z[0] - FAR, z[1] + FAR), *at) for at in duct.bosses_mm]
    back, reach = (z[0], z[0] + _STRUT_MM), frame.bore_mm / 2.0 + CORNER_INTO_MM
    struts = [
        box((-reach, reach), (y - _STRUT_MM, y + _STRUT_MM), back),
        box((-_STRUT_MM, _STRUT_MM), (y - reach, y + reach), back),
    ]
    hub = cylinder(frame.hub_mm / 2.0, z, 0.0, y)
    return fuse(cut(solid, holes), [*struts, hub])


def _drawn(duct: FanDuct, outline: Outline, more_mm: float) -> cq.Solid:
    """Return an outline (z, y) as wide as the duct, every side moved out by so much, mm."""
    reach = max(duct.half_mm) + FAR
    return common(prism_x(outline, -reach, reach), prism_y(duct.across(more_mm), -reach, reach))


def _corners(duct: FanDuct) -> list[cq.Solid]:
    """Return the four corners that hold the bosses."""
    _, z1, z2 = duct.z_mm
    x = duct.sides_mm[2] + CORNER_INTO_MM
    low = min(duct.bottoms_mm[1], duct.floor_mm[1]) - CORNER_INTO_MM
    high = duct.tops_mm[2] + CORNER_INTO_MM
    found = []
    for y in (low, high):
        # The corner's outer face runs at 45 degrees.
        leg = x + abs(y - duct.centre_mm) - duct.corner_line_mm
        inwards = leg if y < duct.centre_mm else -leg
        for sx in (-1.0, 1.0):
            outline = [(sx * x, y), (sx * (x - leg), y), (sx * x, y + inwards)]
            found.append(prism_z(outline, z2, z1))
    return found

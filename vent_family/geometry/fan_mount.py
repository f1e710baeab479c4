"""Solid of the duct and the bosses behind a block that hold a fan."""

from __future__ import annotations

from typing import Final

import cadquery as cq

from vent_family.geometry.primitives import (
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

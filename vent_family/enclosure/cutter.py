"""The tool that cuts a vent's opening, from what its record says of it; a piece of wall. mm."""

from __future__ import annotations

import math

import cadquery as cq

from vent_family.evidence.installed.record import InstallationRecord
from vent_family.geometry.opening import OVERCUT_MM, PANEL_MARGIN_MM
from vent_family.geometry.primitives import box, cut, cylinder


def opening_cutter(room: InstallationRecord, depth_mm: float) -> cq.Compound:
    """Return what to cut from a wall whose outer face is z = 0, down to z = ``-depth_mm`` (mm).

    Main opening, key notch and screw holes.

    Raises
    ------
    ValueError
        if the depth is not a number above zero
    """
    if not (math.isfinite(depth_mm) and depth_mm > 0.0):
        raise ValueError(f"depth_mm is {depth_mm}; a depth above zero is needed")
    z = (-depth_mm, OVERCUT_MM)
    holes = [cylinder(s.hole_mm / 2.0, z, s.x_mm, s.y_mm) for s in room.screws]
    return cq.Compound.makeCompound([_main(room, z), *holes])


def piece_of_wall(room: InstallationRecord, wall_mm: float) -> cq.Solid:
    """Return a piece of wall of ``wall_mm`` (mm) with the opening in it, outer face at z = 0."""
    xs, ys = zip(*room.outside_mm, strict=True)
    x = (min(xs) - PANEL_MARGIN_MM, max(xs) + PANEL_MARGIN_MM)
    y = (min(ys) - PANEL_MARGIN_MM, max(ys) + PANEL_MARGIN_MM)
    return cut(box(x, y, (-wall_mm, 0.0)), opening_cutter(room, wall_mm + OVERCUT_MM).Solids())


def _main(room: InstallationRecord, z_mm: tuple[float, float]) -> cq.Solid:
    if room.circle_mm is not None:
        return cylinder(room.circle_mm / 2.0, z_mm)
    low, high = z_mm
    corners = [cq.Vector(x, y, low) for x, y in room.outline_mm]
    edges = [
        _side(a, b, bulge)
        for a, b, bulge in zip(corners, corners[1:] + corners[:1], room.bulges, strict=True)
    ]
    wire = cq.Wire.assembleEdges(edges)
    return cq.Solid.extrudeLinear(wire, [], cq.Vector(0.0, 0.0, high - low))


def _side(start: cq.Vector, end: cq.Vector, bulge: float) -> cq.Edge:
    """Return a side of the outline; a bent one bulges to its right by ``bulge`` half chords."""
    if bulge == 0.0:
        return cq.Edge.makeLine(start, end)
    along = end - start
    right = cq.Vector(along.y, -along.x, 0.0)
    return cq.Edge.makeThreePointArc(start, (start + end) * 0.5 + right * (0.5 * bulge), end)

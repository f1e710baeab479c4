"""Measuring on finished solids: half-plane sections through the Z axis, thread sizes, gaps.

Sections are shapely polygons with x = radius and y = height Z, in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import cadquery as cq
import numpy as np
from scipy.optimize import brentq
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import polygonize, unary_union

Range = tuple[float, float]


def axial_section(shape: cq.Shape, angle_deg: float) -> BaseGeometry:
    """Return what a shape shows in the half-plane that leaves the Z axis at an angle from +X."""
    bounds = shape.BoundingBox()
    reach = 1.0 + math.hypot(
        max(abs(bounds.xmin), abs(bounds.xmax)), max(abs(bounds.ymin), abs(bounds.ymax))
    )
    low, high = bounds.zmin - 1.0, bounds.zmax + 1.0
    x, y = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    corners = [(0.0, low), (reach, low), (reach, high), (0.0, high)]
    half_plane = cq.Face.makeFromWires(
        cq.Wire.makePolygon([cq.Vector(r * x, r * y, z) for r, z in corners], close=True)
    )

    def flat(wire: cq.Wire) -> Polygon:
        seen: list[tuple[float, float]] = []

        def snapped(point: cq.Vector) -> tuple[float, float]:
            # Lines that meet must share their end exactly to close into a polygon.
            here = point.x * x + point.y * y, point.z
            near = next((there for there in seen if math.dist(here, there) < 2e-5), None)
            if near is None:
                seen.append(here)
            return near or here

        lines = [
            LineString([snapped(point) for point in edge.positions(np.linspace(0.0, 1.0, 5))])
            for edge in wire.Edges()
        ]
        return max(polygonize(unary_union(lines)), key=lambda found: found.area)

    parts = []
    for face in half_plane.intersect(shape).Faces():
        part = flat(face.outerWire())
        for wire in face.innerWires():
            part = part.difference(flat(wire))
        parts.append(part)
    # Normalized, rings begin in a corner: simplifying never drops the point a ring begins in.
    return unary_union(parts).normalize().simplify(2e-6)


def crossings(section: BaseGeometry, radius_mm: float, z_mm: Range) -> list[Range]:
    """Return the stretches of material met going up at a radius, those cut off left out."""
    line = LineString([(radius_mm, z_mm[0]), (radius_mm, z_mm[1])])
    met = section.intersection(line)
    pieces = [p for p in getattr(met, "geoms", [met]) if p.geom_type == "LineString"]
    stretches = sorted((min(p.xy[1]), max(p.xy[1])) for p in pieces if not p.is_empty)
    return [(a, b) for a, b in stretches if a > z_mm[0] + 1e-9 and b < z_mm[1] - 1e-9]


@dataclass(frozen=True)
class ThreadSizes:
    """What was measured on a section of a thread, mm."""

    major_mm: float
    pitch_diameter_mm: float
    minor_mm: float
    pitch_mm: float
    tooth_mm: float
    """Height Z of one tooth's middle at the pitch diameter."""


def thread_sizes(
    section: BaseGeometry, z_mm: Range, pitch_mm: float, internal: bool = False
) -> ThreadSizes:
    """Measure a thread between two heights, full thread all along.

    The pitch diameter is where a tooth is as wide as half the nominal pitch ``pitch_mm``.
    """
    edge = []
    for z in np.arange(z_mm[0], z_mm[1], 0.01):
        met = section.intersection(LineString([(0.0, z), (section.bounds[2] + 1.0, z)]))
        edge.append(met.bounds[0] if internal else met.bounds[2])
    minor, major = min(edge), max(edge)

    def width(radius: float) -> float:
        return float(np.mean([b - a for a, b in crossings(section, radius, z_mm)]))

    pitch_radius = brentq(lambda r: width(r) - pitch_mm / 2.0, minor + 0.05, major - 0.05)
    middles = [(a + b) / 2.0 for a, b in crossings(section, pitch_radius, z_mm)]
    return ThreadSizes(
        major_mm=2.0 * major,
        pitch_diameter_mm=2.0 * pitch_radius,
        minor_mm=2.0 * minor,
        pitch_mm=float(np.mean(np.diff(middles))),
        tooth_mm=middles[0],
    )


def rise_mm(before: BaseGeometry, after: BaseGeometry, z_mm: Range, pitch_mm: float) -> float:
    """Return how much higher a thread's teeth stand in one section than in another, mm.

    Known but for whole pitches: the answer lies between minus and plus half a pitch.
    """
    low, high = (thread_sizes(one, z_mm, pitch_mm).tooth_mm for one in (before, after))
    return (high - low + pitch_mm / 2.0) % pitch_mm - pitch_mm / 2.0


@dataclass(frozen=True)
class Gaps:
    """Least and greatest gap around an inner thread in an outer one, mm, by place.

    Every gap is measured from the middle of a straight piece of the inner profile to the nearest
    point of the outer one: normal to the flanks, radial at crest and root.
    """

    crest_mm: Range
    root_mm: Range
    upper_flank_mm: Range
    lower_flank_mm: Range
    overlap_mm2: float
    """Area the two sections have in common: above zero they run into each other."""

    @property
    def all_mm(self) -> Range:
        """Least and greatest of all gaps."""
        ranges = (self.crest_mm, self.root_mm, self.upper_flank_mm, self.lower_flank_mm)
        return min(r[0] for r in ranges), max(r[1] for r in ranges)


def thread_gaps(inner: BaseGeometry, outer: BaseGeometry, z_mm: Range) -> Gaps:
    """Measure the gaps between two heights, full thread on both sides all along."""
    places: dict[str, list[float]] = {"crest": [], "root": [], "upper": [], "lower": []}
    ring = list(inner.exterior.coords)
    pieces = [
        (a, b)
        for a, b in pairwise(ring)
        if min(a[1], b[1]) >= z_mm[0] and max(a[1], b[1]) <= z_mm[1]
    ]
    flank_ends = [r for a, b in pieces for r in (a[0], b[0]) if abs(a[0] - b[0]) > 1e-3]
    crest, root = max(flank_ends), min(flank_ends)
    probe = 1e-4
    for (r0, z0), (r1, z1) in pieces:
        middle = Point((r0 + r1) / 2.0, (z0 + z1) / 2.0)
        if abs(r0 - r1) <= 1e-3:
            place = "crest" if r0 > crest - 1e-3 else "root" if r0 > root - 1e-3 else ""
        else:
            above = Point(middle.x, middle.y + probe)
            place = "lower" if inner.covers(above) else "upper"
        if place:
            places[place].append(outer.distance(middle))
    spread = {name: (min(found), max(found)) for name, found in places.items()}
    band = box(0.0, z_mm[0], 1e4, z_mm[1])
    return Gaps(
        crest_mm=spread["crest"],
        root_mm=spread["root"],
        upper_flank_mm=spread["upper"],
        lower_flank_mm=spread["lower"],
        overlap_mm2=inner.intersection(outer).intersection(band).area,
    )

"""Closed outlines of drawings as polygons, by what the drawing library makes of them."""

from __future__ import annotations

import math
from typing import Any

from ezdxf.math import Vec2
from shapely.geometry import Polygon


def closed_polygon(entity: Any, chord_mm: float = 1e-5) -> Polygon:
    """Return a circle or a closed polyline as a polygon, its arcs in chords of so small a rise."""
    if entity.dxftype() == "CIRCLE":
        return Polygon([(p.x, p.y) for p in entity.flattening(chord_mm)])
    assert entity.closed
    ring: list[tuple[float, float]] = []
    corners = [(Vec2(x, y), bulge) for x, y, bulge in entity.get_points("xyb")]
    for (a, bulge), (b, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        ring.append((a.x, a.y))
        if bulge:
            # A bulge is the rise over half the chord: rise, chord and radius follow by Pythagoras.
            chord = (b - a).magnitude
            rise = 0.5 * chord * bulge
            radius = (0.25 * chord**2 + rise**2) / (2.0 * rise)
            # The centre lies to the left of the chord for a bulge to its right.
            centre = a.lerp(b) + (b - a).normalize().orthogonal() * (radius - rise)
            start, turn = (a - centre).angle, 4.0 * math.atan(bulge)
            steps = math.ceil(abs(turn) / math.sqrt(8.0 * chord_mm / abs(radius)))
            for step in range(1, steps):
                at = centre + Vec2.from_angle(start + turn * step / steps, abs(radius))
                ring.append((at.x, at.y))
    return Polygon(ring)

"""Outlines of upper faces, compared with closed forms."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from vent_family.geometry.outline import Bend, Disc, upper_outline
from vent_family.geometry.primitives import GeometryError, box, cylinder, fuse, prism_z


def area_mm2(sides: tuple[Bend, ...]) -> float:
    """Return the area: the corners' polygon, and a circle's segment over every bent side."""
    total = 0.0
    for a, b in zip(sides, (*sides[1:], sides[0]), strict=True):
        total += 0.5 * (a.x_mm * b.y_mm - b.x_mm * a.y_mm)
        turn = 4.0 * math.atan(a.bulge)
        if turn:
            chord = math.hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm)
            radius = abs(0.5 * chord / math.sin(0.5 * turn))
            total += 0.5 * radius**2 * (turn - math.sin(turn))
    return total


def test_straight_sides_run_counterclockwise_from_the_lowest_corner() -> None:
    ring = [(0.0, -2.0), (3.0, 0.0), (0.0, 4.0), (-1.0, 0.0)]
    found = upper_outline(prism_z(ring[::-1], -3.0, 1.0))
    assert [(s.x_mm, s.y_mm, s.bulge) for s in found] == [(x, y, 0.0) for x, y in ring]


def test_a_notched_circle_keeps_its_arc() -> None:
    """More than half a circle: its bulge is above 1."""
    solid = fuse(cylinder(10.0, (0.0, 2.0)), [box((-2.0, 2.0), (-12.0, -5.0), (0.0, 2.0))])
    found = upper_outline(solid)
    assert isinstance(found, tuple)
    (arc,) = (side for side in found if side.bulge)
    assert arc.bulge > 1.0
    # The part of the notch beyond the circle: a rectangle less the segment over its width.
    half = math.asin(0.2)
    beyond = 4.0 * (12.0 - 10.0 * math.cos(half)) - 100.0 * (half - math.sin(half) * math.cos(half))
    assert area_mm2(found) == pytest.approx(100.0 * math.pi + beyond, rel=1e-9)


def test_rounded_corners_and_a_hollow_side_bend_both_ways() -> None:
    plate = box((-10.0, 10.0), (-6.0, 6.0), (0.0, 2.0))
    plate = cq.Workplane(plate).edges("|Z").fillet(2.0).val()
    hollow = plate.cut(cylinder(3.0, (-1.0, 3.0), 0.0, 6.0)).Solids()[0]
    found = upper_outline(hollow)
    assert isinstance(found, tuple)
    # The hollow is in two pieces, since its cylinder has a seam there.
    assert sum(side.bulge > 0.0 for side in found) == 4
    assert sum(side.bulge < 0.0 for side in found) == 2
    exact = 240.0 - (4.0 - math.pi) * 4.0 - 4.5 * math.pi
    assert area_mm2(found) == pytest.approx(exact, rel=1e-9)


def test_a_circle_of_two_halves_is_one() -> None:
    left = cylinder(4.0, (0.0, 1.0), 1.0, 2.0).intersect(box((-9, 1), (-9, 9), (0, 1)))
    right = cylinder(4.0, (0.0, 1.0), 1.0, 2.0).intersect(box((1, 9), (-9, 9), (0, 1)))
    whole = left.fuse(right).Solids()
    assert len(whole) in (1, 2)
    found = upper_outline(fuse(left.Solids()[0], right.Solids()))
    assert found == Disc(pytest.approx(1.0), pytest.approx(2.0), pytest.approx(8.0))


def test_what_is_no_plain_outline_is_refused() -> None:
    pierced = box((-5.0, 5.0), (-5.0, 5.0), (0.0, 1.0)).cut(cylinder(1.0, (-1.0, 2.0)))
    with pytest.raises(GeometryError, match="without holes"):
        upper_outline(pierced.Solids()[0])
    oval = cq.Workplane().ellipse(5.0, 3.0).extrude(2.0).val()
    with pytest.raises(GeometryError, match="neither straight nor round"):
        upper_outline(oval)

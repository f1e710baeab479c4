"""Projected and cut solids against outlines drawn by hand; nothing here asks the kernel."""

from __future__ import annotations

import math
from itertools import pairwise

import cadquery as cq
import pytest

from vent_family.geometry.primitives import box, cut, cylinder, fuse
from vent_family.geometry.projection import (
    FROM_FRONT,
    FROM_LEFT,
    Line,
    cut_areas,
    half_beyond,
    joined,
    seen_from,
)


def ring(*corners: tuple[float, float]) -> Line:
    """Return a closed outline that begins at its least corner and goes up first."""
    return (*corners, corners[0])


def length(lines: tuple[Line, ...]) -> float:
    return sum(math.dist(a, b) for line in lines for a, b in pairwise(line))


BLOCK = box((-3.0, 5.0), (1.0, 4.0), (-7.0, -1.0))


@pytest.mark.parametrize("facets", [False, True])
def test_a_block_from_the_front_and_from_the_left(facets: bool) -> None:
    front = seen_from(FROM_FRONT, BLOCK, facets=facets)
    assert front == (ring((-3.0, 1.0), (-3.0, 4.0), (5.0, 4.0), (5.0, 1.0)),)
    left = seen_from(FROM_LEFT, BLOCK, facets=facets)
    assert left == (ring((-7.0, 1.0), (-7.0, 4.0), (-1.0, 4.0), (-1.0, 1.0)),)


@pytest.mark.parametrize("facets", [False, True])
def test_a_cylinder_is_a_circle_and_a_rectangle_without_a_seam(facets: bool) -> None:
    solid = cylinder(6.0, (2.0, 11.0))
    side = seen_from(FROM_LEFT, solid, facets=facets)
    (outline,) = side
    zs, ys = zip(*outline, strict=True)
    assert (min(zs), max(zs)) == (2.0, 11.0)
    assert max(ys) == pytest.approx(6.0, abs=0.07)
    assert min(ys) == pytest.approx(-6.0, abs=0.07)
    assert length(side) == pytest.approx(2.0 * (9.0 + 12.0), abs=0.3)
    (circle,) = seen_from(FROM_FRONT, solid, facets=facets)
    assert circle[0] == circle[-1]
    for x, y in circle:
        assert math.hypot(x, y) == pytest.approx(6.0, abs=0.011)
    slack = 0.06 if facets else 0.015
    for a, b in pairwise(circle):
        middle = math.hypot(a[0] + b[0], a[1] + b[1]) / 2.0
        assert 6.0 - slack <= middle <= 6.01


def test_a_ball_is_seen_by_its_outline_alone() -> None:
    (outline,) = seen_from(FROM_FRONT, cq.Solid.makeSphere(4.0, angleDegrees1=-90))
    assert all(math.hypot(x, y) == pytest.approx(4.0, abs=0.011) for x, y in outline)
    assert length((outline,)) == pytest.approx(8.0 * math.pi, rel=0.005)


def test_what_stands_behind_is_hidden() -> None:
    """A small block behind a large one, beside which it stands out by 2 mm to the right."""
    both = cq.Compound.makeCompound(
        [box((0.0, 10.0), (0.0, 10.0), (0.0, 1.0)), box((6.0, 12.0), (3.0, 5.0), (-4.0, -3.0))]
    )
    seen = seen_from(FROM_FRONT, both)
    large, beside = ring((0.0, 0.0), (0.0, 10.0), (10.0, 10.0), (10.0, 0.0)), 2.0 + 2.0 + 2.0
    assert length(seen) == pytest.approx(40.0 + beside)
    assert {p for line in seen for p in line} == set(large) | {
        (10.0, 3.0),
        (10.0, 5.0),
        (12.0, 3.0),
        (12.0, 5.0),
    }


def test_every_piece_is_drawn_once() -> None:
    """Steps of equal edges in front of each other: twice the same lines, drawn once."""
    stairs = fuse(
        box((0.0, 4.0), (0.0, 3.0), (0.0, 5.0)), [box((0.0, 4.0), (0.0, 6.0), (0.0, 2.0))]
    )
    lines = seen_from(FROM_FRONT, stairs)
    # Outline of 4 x 6 and the edge of the step at half height.
    assert length(lines) == pytest.approx(2.0 * (4.0 + 6.0) + 4.0)
    assert all(x in (0.0, 4.0) and y in (0.0, 3.0, 6.0) for line in lines for x, y in line)


def test_a_smooth_corner_is_no_line() -> None:
    """A block with one edge rounded: no line where the round begins."""
    solid = cq.Workplane(obj=BLOCK).edges("|Y and >X and >Z").fillet(2.0).val()
    lines = seen_from(FROM_FRONT, solid)
    assert all(x in (-3.0, 5.0) for line in lines for x, _ in line)


def test_a_cut_is_the_area_of_the_half_that_is_left() -> None:
    """A block with a bore along z that opens below: what is left above it, or all of the block."""
    solid = cut(BLOCK, [cylinder(1.0, (-8.0, 0.0), x=1.0, y=2.0)])
    through = cut_areas(half_beyond(solid, 1.0), 1.0)
    assert [area.bounds for area in through] == [(-7.0, 3.0, -1.0, 4.0)]
    beside = cut_areas(half_beyond(solid, 4.0), 4.0)
    assert [area.bounds for area in beside] == [(-7.0, 1.0, -1.0, 4.0)]
    assert beside[0].area == pytest.approx(18.0)
    assert cut_areas(half_beyond(solid, 6.0), 6.0) == ()
    left = half_beyond(solid, 1.0).BoundingBox()
    assert (left.xmin, left.xmax) == pytest.approx((1.0, 5.0))


def test_an_area_has_its_holes() -> None:
    solid = cut(BLOCK, [box((-9.0, 9.0), (2.0, 3.0), (-5.0, -3.0))])
    (area,) = cut_areas(half_beyond(solid, 0.0), 0.0)
    assert area.area == pytest.approx(18.0 - 2.0)
    assert len(area.interiors) == 1


def test_a_face_beside_the_plane_is_not_cut() -> None:
    """A face at x = 2 that is parallel to the cut at x = 0 does not count."""
    steps = fuse(BLOCK, [box((2.0, 3.0), (4.0, 9.0), (-7.0, -1.0))])
    (area,) = cut_areas(half_beyond(steps, 0.0), 0.0)
    assert area.bounds == (-7.0, 1.0, -1.0, 4.0)


def test_lines_are_the_same_each_time_whoever_meshed_the_shape_before() -> None:
    solid = cut(cylinder(9.0, (0.0, 4.0)), [cylinder(5.0, (2.0, 5.0), x=3.0)])
    first = [seen_from(FROM_LEFT, solid, facets=facets) for facets in (False, True)]
    solid.tessellate(1.0, 1.0)
    assert [seen_from(FROM_LEFT, solid, facets=facets) for facets in (False, True)] == first


def test_joined_lines_keep_every_branch() -> None:
    """A T of three pieces stays three lines at its joint; a square becomes one ring."""
    level, stem = ((0.0, 0.0), (4.0, 0.0)), ((2.0, 0.0), (2.5, 3.0))
    assert joined([level, stem]) == (level, stem)
    square = [((0, 0), (0, 1)), ((1, 1), (0, 1)), ((1, 0), (1, 1)), ((0, 0), (1, 0))]
    assert joined(square) == (ring((0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)),)
    assert joined([((0, 0), (0.001, 0.002))]) == ()
    lapped = [((0, 0), (2, 0)), ((1, 0), (5, 0)), ((3, 3), (3, 1)), ((3, 2), (3, 9))]
    assert joined(lapped) == (((0.0, 0.0), (5.0, 0.0)), ((3.0, 1.0), (3.0, 9.0)))

"""Low round heads on their meshes: channel under the ribs, even walls, rim in steps, windows."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import trimesh
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from tests.helpers.meshes import section_at_x, section_at_z, trimesh_of
from tests.helpers.rows import spec
from vent_family.geometry.families.round import RoundBuilder
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.vent import VentSpec

SIZES = ["M20x1.5", "M32x1.5", "M63x1.5"]


@cache
def part(size: str) -> tuple[VentSpec, RoundBody, trimesh.Trimesh]:
    resolved = spec("round", size=size)
    body = resolved.body
    assert isinstance(body, RoundBody)
    return resolved, body, trimesh_of(RoundBuilder().vent(resolved, true_thread=False))


def floor_mm(resolved: VentSpec, z: float) -> float:
    """Return the height of the floor, 5 degrees, by its front edge alone."""
    section = resolved.section
    return section.brink[1] + (section.front_z_mm - z) * math.tan(math.radians(5.0))


@pytest.mark.parametrize("size", SIZES)
def test_water_on_the_floor_passes_below_every_rib(size: str) -> None:
    resolved, body, mesh = part(size)
    section = resolved.section
    for z in np.linspace(section.stack_z_mm[0] + 0.2, section.front_z_mm - 0.3, 9):
        level = floor_mm(resolved, z) + 1.6
        half = math.sqrt(body.head.inner_radius_mm**2 - level**2)
        reach = min(half, abs(resolved.bays[0][0])) - 0.8
        line = LineString([(-reach, level), (reach, level)])
        solid = unary_union(section_at_z(mesh, float(z)))
        inner = [x for bay in resolved.bays for x in bay if abs(x) < reach - 1.5]
        assert inner, "no rib stands on this stretch of floor"
        assert line.intersection(solid).length < 1e-6, z


@pytest.mark.parametrize("size", SIZES)
def test_round_wall_and_flats_are_as_thick_as_the_wall(size: str) -> None:
    """2.4 mm behind the flats, where they are level, and along the radius beside them.

    Behind the flats the wall may be thicker by what keeps slats off the corner with the round one.
    """
    resolved, body, mesh = part(size)
    stack0 = resolved.section.stack_z_mm[0]
    for z in (stack0 + 1.0, resolved.section.front_z_mm - 3.0):
        ring = max(section_at_z(mesh, z), key=lambda p: p.area)
        level = box(-500.0, -0.05, 500.0, 0.05).intersection(ring)
        left, right = level.bounds[0], level.bounds[2]
        void = box(left, -0.05, right, 0.05).difference(level)
        assert 2.38 < void.bounds[0] - left < 2.62
        assert right - void.bounds[2] == pytest.approx(void.bounds[0] - left, abs=0.02)
    # Beside the flats the circle bounds: 2.4 mm along the radius, in a gap between banks.
    gap = resolved.section.stack_z_mm[1] + resolved.section.stack.bank_z(0)[0] - 1.5
    ring = max(section_at_z(mesh, gap), key=lambda p: p.area)
    last_rib, side = resolved.bays[-1]
    turn = -math.acos((0.3 * last_rib + 0.7 * side) / body.head.inner_radius_mm)
    beam = LineString([(0.0, 0.0), (500.0 * math.cos(turn), 500.0 * math.sin(turn))])
    last = beam.intersection(ring)
    wall = list(last.geoms)[-1] if hasattr(last, "geoms") else last
    assert wall.length == pytest.approx(2.4, abs=0.03)


@pytest.mark.parametrize("size", SIZES)
def test_floor_and_ceiling_are_plates(size: str) -> None:
    """Cut along the middle: 2 mm above the ceiling, 2 mm square to the floor's slope."""
    resolved, body, mesh = part(size)
    section = resolved.section
    x = 0.5 * sum(next(b for b in resolved.bays if b[1] > 1.0))
    z = section.front_z_mm - 4.0
    cut = unary_union(section_at_x(mesh, x))
    column = cut.intersection(box(z - 1e-3, -500.0, z + 1e-3, 500.0))
    low, high = column.bounds[1], column.bounds[3]
    shoulder = body.head.shoulder_radius_mm
    assert high == pytest.approx(max(section.ceiling_mm + 2.0, shoulder), abs=0.02)
    assert low == pytest.approx(floor_mm(resolved, z) - 2.0 / math.cos(math.radians(5.0)), abs=0.02)


def hole_at(mesh: trimesh.Trimesh, z: float) -> Polygon:
    """Return the smallest hole around the axis in a section."""
    holes = [Polygon(ring) for solid in section_at_z(mesh, z) for ring in solid.interiors]
    middle = Polygon([(-1, -1), (1, -1), (0, 1)])
    return min((h for h in holes if h.contains(middle)), key=lambda h: h.area)


@pytest.mark.parametrize("size", SIZES)
def test_the_hole_in_the_back_plate_narrows_from_a_rectangle_to_the_bore(size: str) -> None:
    """Every layer's hole lies within that of the layer before: only its corners are bridged."""
    _, body, mesh = part(size)
    top = body.head.plate_z_mm
    first = hole_at(mesh, top - 0.2)
    x0, y0, x1, y1 = first.bounds
    corner = box(x0, y0, x1, y1).difference(first)
    # All of its long edges are straight; only the rear corner of the head may round it.
    assert corner.area < 0.1 * first.area
    before, counts = first, [first.area]
    for z in np.arange(top - 0.6, top - 1.21, -0.4):
        hole = hole_at(mesh, float(z))
        assert hole.difference(before.buffer(0.02)).area < 1e-3
        before = hole
        counts.append(hole.area)
    assert all(a > b + 0.1 for a, b in pairwise(counts))
    bore = hole_at(mesh, 0.1)
    assert bore.area == pytest.approx(math.pi * body.head.bore_radius_mm**2, rel=0.01)


@pytest.mark.parametrize("size", SIZES)
def test_the_bevel_of_the_bore_leaves_no_pocket_behind_the_ribs(size: str) -> None:
    """Behind the steps, what is open beside the bore's circle lies between the ribs' faces."""
    resolved, body, mesh = part(size)
    edge = next(a[1] for a in resolved.bays if a[1] > 0.5 * body.head.bore_radius_mm)
    back = body.head.plate_z_mm - 0.4 * len(body.head.rim)
    circle = Point(0.0, 0.0).buffer(body.head.bore_radius_mm + 0.03, quad_segs=64)
    for z in (back - 0.1, back - 0.6):
        beside = hole_at(mesh, z).difference(circle)
        assert beside.bounds[2] == pytest.approx(edge, abs=0.02)
        assert beside.bounds[3] == pytest.approx(body.head.mouth_radius_mm + z - back, abs=0.03)


@pytest.mark.parametrize("size", ["M32x1.5", "M63x1.5", "M75x1.5"])
def test_corners_of_a_rim_hang_out_by_a_ledge_at_most(size: str) -> None:
    """Corners beyond a polygon of 16 sides cannot be bridged: half a millimetre may hang."""
    _, body, mesh = part(size)
    top, steps = body.head.plate_z_mm, len(body.head.rim)
    holes = [hole_at(mesh, top - 0.2 - 0.4 * k) for k in range(steps)]
    holes.append(hole_at(mesh, top - 0.4 * steps - 0.01))
    for before, behind in pairwise(holes[2:]):
        assert max(Point(place).distance(behind) for place in before.exterior.coords) < 0.5


@pytest.mark.parametrize("size", SIZES)
def test_ribs_beside_the_bore_have_windows_and_keep_a_beam(size: str) -> None:
    resolved, body, mesh = part(size)
    edge = next(a[1] for a in resolved.bays if a[1] > 0.5 * body.head.bore_radius_mm)
    cut = unary_union(section_at_x(mesh, edge + 0.5 * resolved.rib_thickness_mm))
    plate, stack = body.head.plate_z_mm, resolved.section.stack_z_mm[0]
    high = 0.5 * body.head.bore_radius_mm
    beam = box(plate + 0.1, -high, plate + 0.7, high)
    assert cut.intersection(beam).area == pytest.approx(beam.area, rel=0.01)
    below = box(plate + 0.9, -high, stack - 0.4, high)
    assert cut.intersection(below).area < 0.5 * below.area


@pytest.mark.parametrize("sill", [8.0, 12.0, 15.0])
def test_a_sill_that_is_asked_for_is_built(sill: float) -> None:
    """The plate below the bore stands over the floor by it, measured on the mesh."""
    resolved = spec("round", size="M32x1.5", sill_height_mm=sill)
    mesh = trimesh_of(RoundBuilder().vent(resolved, true_thread=False))
    body = resolved.body
    assert isinstance(body, RoundBody)
    foot = resolved.section.foot[0]
    x = max(next(b[0] for b in resolved.bays if b[1] > 1.0), 0.0) + 0.3
    cut = unary_union(section_at_x(mesh, x))
    column = cut.intersection(box(foot + 0.3, -500.0, foot + 0.3 + 1e-3, 0.0))
    solid = min(getattr(column, "geoms", [column]), key=lambda g: g.bounds[1])
    floor = solid.bounds[3] + 0.3 * math.tan(math.radians(5.0))
    assert -body.head.bore_radius_mm - floor == pytest.approx(sill, abs=0.05)


@pytest.mark.parametrize(
    "cells",
    [
        {"size": "M25x1.5", "slat_form": "folded"},
        {"size": "M25x1.5"},
        {"size": "M20x1.5", "slat_form": "folded", "pitch_mm": 7.0},
        {"size": "M32x1.5", "head_diameter_mm": 100.0},
        {"size": "M40x1.5", "slat_form": "flat"},
        {"size": "M50x1.5", "slat_form": "folded", "material": "PC"},
        {"size": "M75x1.5", "slat_form": "folded", "slat_thickness_mm": 1.6},
    ],
    ids=lambda cells: "-".join(str(v) for v in cells.values()),
)
def test_no_corner_lies_within_a_hair_of_wall_or_rim(cells: dict[str, Any]) -> None:
    """Ribs where they would stand by themselves leave edges of 0.003 to 0.07 mm in all of these."""
    solid = RoundBuilder().vent(spec("round", **cells), true_thread=False)
    assert min(edge.Length() for edge in solid.Edges()) > 0.0999
    assert min(face.Area() for face in solid.Faces()) > 0.00999
    # What is moved for it moves by less than would be seen, and both sides alike.
    resolved = spec("round", **cells)
    assert np.allclose([(-b, -a) for a, b in reversed(resolved.bays)], resolved.bays)


@pytest.mark.parametrize("size", SIZES)
def test_way_into_the_bore_is_as_stated(size: str) -> None:
    """Over the edge of the bore's hole: through the ribs beside it, above and below it."""
    resolved, body, mesh = part(size)
    head = body.head
    z0, z1, r = head.plate_z_mm, resolved.section.stack_z_mm[0], head.mouth_radius_mm
    ribs = [(a[1], b[0]) for a, b in pairwise(resolved.bays)]
    left, right = (min(ribs, key=lambda rib: abs(sum(rib) / 2 - x)) for x in (-r, r))
    beside = 0.0
    for rib in (left, right):
        cut = unary_union(section_at_x(mesh, 0.5 * sum(rib)))
        beside += box(z0, -r, z1, r).difference(cut).area
    level = unary_union(section_at_z(mesh, 0.5 * (z0 + z1)))
    over = LineString([(left[1], r), (right[0], r)]).difference(level).length
    assert body.neck.way_mm2 == pytest.approx(beside + 2.0 * over * (z1 - z0), rel=0.02)


@pytest.mark.parametrize("size", SIZES)
def test_steps_of_the_rim_stay_off_the_circle_behind(size: str) -> None:
    """Where a step is no rib, its side is an edge's least length off the bevel's front, 0.1 mm."""
    _, body, _ = part(size)
    head = body.head
    for _, outline in head.rim:
        for a, b in pairwise(outline.exterior.coords):
            if not abs(a[0]) == pytest.approx(abs(b[0])) == pytest.approx(head.bore_half_mm):
                assert LineString([a, b]).distance(Point(0.0, 0.0)) > head.mouth_radius_mm + 0.1


@pytest.mark.parametrize("size", SIZES)
def test_ribs_carry_the_apron(size: str) -> None:
    """Below it, in each rib that has a channel, a beam of 0.2 mm is left."""
    resolved, _, mesh = part(size)
    section = resolved.section
    z0, z1 = min(z for z, _ in section.apron), max(z for z, _ in section.apron)
    beam = box(z0 + 0.1, section.drain_mm[1] - 0.2, z1 - 0.1, section.drain_mm[1] + 0.2)
    crossed = 0
    for (_, x0), (x1, _) in pairwise(resolved.bays):
        solid = unary_union(section_at_x(mesh, 0.5 * (x0 + x1)))
        below = box(z0 + 0.1, floor_mm(resolved, z0) + 0.5, z1 - 0.1, floor_mm(resolved, z1) + 2.0)
        if not solid.intersects(below):
            crossed += 1
            assert solid.contains(beam)
    assert crossed


@pytest.mark.parametrize("size", SIZES)
def test_bore_and_bevel_are_as_large_as_reckoned(size: str) -> None:
    """Behind the steps, by what the solid leaves of a disc around them."""
    resolved, body, _ = part(size)
    head = body.head
    radius, depth = head.mouth_radius_mm + 0.5, head.bevel_z_mm[1]
    disc = cq.Solid.makeCylinder(radius, depth)
    solid = RoundBuilder().vent(resolved, true_thread=False)
    left = disc.Volume() - disc.intersect(solid).Volume()
    assert head.bore_mm3 == pytest.approx(left, rel=1e-5)

"""Undercuts of small solids whose caught surface is known in closed form, and of whole vents."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import cadquery as cq
import numpy as np
import pytest
import trimesh
from trimesh.ray.ray_triangle import RayMeshIntersector

from tests.helpers.print_shapes import box, fused, mesh, prism
from tests.helpers.rows import spec
from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.evidence.cost.mould.draw import Draw, best_draw, draw_along, undercut
from vent_family.evidence.cost.mould.rays import clear_ways
from vent_family.evidence.cost.mould.samples import Samples, open_ways, sampled
from vent_family.geometry.primitives import cut
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of

Mesh = tuple[FloatArray, IntArray]


def looked_at(solid: cq.Solid, side_mm: float = 1.0) -> tuple[Samples, BoolArray, np.ndarray]:
    body = mesh(solid)
    samples = sampled(*body, side_mm)
    return samples, open_ways(*body, samples), np.full(len(samples), "body", dtype=object)


def caught(solid: cq.Solid, axis: int, side_mm: float = 1.0) -> float:
    return undercut(*looked_at(solid, side_mm), axis).area_mm2


def draw(solid: cq.Solid) -> Draw:
    return best_draw(*looked_at(solid))


def turned_profile(points: list[tuple[float, float]]) -> cq.Solid:
    """Return the solid that a profile (r, z) sweeps about z."""
    wire = cq.Wire.makePolygon([cq.Vector(r, 0.0, z) for r, z in points], close=True)
    return cq.Solid.revolve(wire, [], 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))


def bored_plate() -> cq.Solid:
    holes = [
        cq.Solid.makeCylinder(r, 12.0, cq.Vector(x, 10.0, -1.0), cq.Vector(0, 0, 1))
        for x, r in ((10.0, 4.0), (28.0, 6.0))
    ]
    return cut(box((0.0, 40.0), (0.0, 20.0), (0.0, 10.0)), holes)


def test_a_slide_is_not_pulled_for_next_to_nothing() -> None:
    """Two faces of 8 mm2, each of which another slide would free: 10 mm2 a slide are too little."""
    surface = sampled(*mesh(bored_plate()))
    two = surface.of(np.arange(len(surface)) < 2)
    ways = np.zeros((2, 6), dtype=np.bool_)
    ways[0, 0] = ways[1, 2] = True
    names = np.full(2, "body", dtype=object)
    small = draw_along(replace(two, areas_mm2=np.array([8.0, 8.0])), ways, names, 2)
    assert (small.slides, small.left_mm2, small.left_in) == ((), 16.0, ("body",))
    large = draw_along(replace(two, areas_mm2=np.array([8.0, 12.0])), ways, names, 2)
    assert (large.slides, large.left_in) == (("+y",), ())


def test_a_plate_with_holes_is_free_along_them_only() -> None:
    """Sideways every wall of the holes is caught: 2 pi r t each."""
    assert caught(bored_plate(), 2) == 0.0
    walls = 2.0 * math.pi * (4.0 + 6.0) * 10.0
    assert caught(bored_plate(), 0) == pytest.approx(walls, rel=0.01)
    assert draw(bored_plate()) == Draw("z")


def test_an_angle_bracket_is_one_piece() -> None:
    bracket = fused(
        box((0.0, 30.0), (0.0, 20.0), (0.0, 3.0)), box((0.0, 3.0), (0.0, 20.0), (0.0, 25.0))
    )
    assert [caught(bracket, axis) for axis in range(3)] == [0.0, 0.0, 0.0]
    assert draw(bracket) == Draw("z")


def test_slot_with_a_wider_foot() -> None:
    """Along z the wings of the slot are caught: floor, side and roof of each, 2 L (2 w + h).

    The slot runs through along y, so a mould that opens that way has nothing in its way.
    """
    length, wing, height = 24.0, 5.0, 4.0
    tools = [
        box((10.0, 14.0), (-1.0, length + 1.0), (6.0, 13.0)),
        box((10.0 - wing, 14.0 + wing), (-1.0, length + 1.0), (3.0, 3.0 + height)),
    ]
    slotted = cut(box((0.0, 24.0), (0.0, length), (0.0, 12.0)), tools)
    expected = 2.0 * length * (2.0 * wing + height)
    assert caught(slotted, 2) == pytest.approx(expected, rel=0.01)
    assert caught(slotted, 1) == 0.0
    assert draw(slotted) == Draw("y")


def test_groove_around_a_peg_splits_the_mould_and_one_inside_does_not_come_out() -> None:
    """Faces of a groove from r to R, h high: 2 pi (R^2 - r^2) + 2 pi h times its floor's radius.

    Outside, two halves that open sideways free it; a hole in the end then takes one slide, a hole
    in each end two. With the mould open along the peg two slides free the groove. Inside a tube
    nothing does but turning.
    """
    inner, outer, high = 6.0, 10.0, 5.0
    rings = 2.0 * math.pi * (outer**2 - inner**2)
    peg = [(0.0, 0.0), (outer, 0.0), (outer, 6.0), (inner, 6.0), (inner, 6.0 + high)]
    peg += [(outer, 6.0 + high), (outer, 18.0), (0.0, 18.0)]
    grooved = turned_profile(peg)
    assert caught(grooved, 2) == pytest.approx(rings + 2.0 * math.pi * inner * high, rel=0.01)
    found = draw(grooved)
    assert found.axis in "xy"
    assert (found.slides, found.left_in) == ((), ())

    hole = cq.Solid.makeCylinder(2.0, 10.0, cq.Vector(0, 0, 12.0), cq.Vector(0, 0, 1))
    found = draw(cut(grooved, [hole]))
    assert found.axis in "xy"
    assert (found.slides, found.left_in) == (("+z",), ())
    other = cq.Solid.makeCylinder(2.0, 5.0, cq.Vector(0, 0, -1.0), cq.Vector(0, 0, 1))
    both = looked_at(cut(grooved, [hole, other]))
    assert sorted(best_draw(*both).slides) in (["+x", "-x"], ["+y", "-y"], ["+z", "-z"])
    along = draw_along(*both, 2)
    assert sorted(along.slides) in (["+x", "-x"], ["+y", "-y"])
    assert along.free

    tube = [(inner, 0.0), (14.0, 0.0), (14.0, 18.0), (inner, 18.0), (inner, 6.0 + high)]
    tube += [(outer, 6.0 + high), (outer, 6.0), (inner, 6.0)]
    bored = turned_profile(tube)
    left = rings + 2.0 * math.pi * outer * high
    found = draw(bored)
    assert (found.axis, found.slides, found.left_in) == ("z", (), ("body",))
    assert found.left_mm2 == pytest.approx(left, rel=0.01)
    samples, ways, names = looked_at(bored)
    turned_out = draw_along(samples, ways, names, 2, frozenset(("body",)))
    assert turned_out.unscrewed
    assert turned_out.free


def louvre(pitch: float) -> cq.Solid:
    """Return two planks of 45 degrees, 3 mm high and 9 mm deep, 20 mm long, joined at both ends."""
    parts = [box((0.0, 1.0), (-2.0, 30.0), (0.0, 9.0)), box((19.0, 20.0), (-2.0, 30.0), (0.0, 9.0))]
    for y in (0.0, pitch):
        outline = [(y, 0.0), (y + 9.0, 9.0), (y + 12.0, 9.0), (y + 3.0, 0.0)]
        plank = prism(outline, 20.0)
        turn = plank.rotate(cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), 90.0)
        parts.append(turn.moved(cq.Location(cq.Vector(20.0, 0.0, 0.0))))
    return fused(*parts)


def test_leaning_planks_that_cover_one_another() -> None:
    """Each plank stands 12 high: with a pitch of 8 two of them share 4 mm of height.

    There the upper face of the lower one and the lower face of the upper one are caught along z,
    18 mm between the ends: 2 x 4 sqrt 2 x 18. So are the ends between them, the room there being
    8 - 3 deep along z: 2 x 4 x 5. Along their own slope they are free; with a pitch of 13, along
    z, too. Leaned the other way the faces strike.
    """
    covered = 2 * 4.0 * math.sqrt(2.0) * 18.0 + 2 * 4.0 * 5.0
    assert caught(louvre(8.0), 2) == pytest.approx(covered, rel=0.02)
    assert caught(louvre(13.0), 2) == 0.0
    samples = sampled(*mesh(louvre(8.0)), 1.0)

    def leaned(angle_deg: float) -> float:
        turned = samples.leaning(angle_deg)
        ways = open_ways(*turned.mesh, turned, (2,))
        return undercut(turned, ways, np.full(len(turned), "body", dtype=object), 2).area_mm2

    assert leaned(45.0) == pytest.approx(0.0, abs=1e-9)
    assert leaned(-45.0) > 200.0


@cache
def vent(family: str, **cells: str) -> Mesh:
    return mesh_of(build_solids(spec(family, **cells)).vent, 0.05, 0.3)


def test_rays_meet_what_another_tracer_meets() -> None:
    """First hits from 150 places beside a threaded vent, by trimesh's tracer."""
    vertices, triangles = vent("round", size="M20x1.5")
    surface = trimesh.Trimesh(vertices, triangles, process=False)
    random = np.random.default_rng(3)
    points, face = trimesh.sample.sample_surface(surface, 150, seed=3)
    points = points + surface.face_normals[face] * random.uniform(0.1, 1.0, (150, 1))
    tracer = RayMeshIntersector(surface)
    for axis in range(3):
        found = clear_ways(vertices, triangles, points, axis)
        for sense, mine in zip((1.0, -1.0), found, strict=True):
            way = np.zeros((len(points), 3))
            way[:, axis] = sense
            hits, ray, _ = tracer.intersects_location(points, way, multiple_hits=True)
            theirs = np.full(len(points), np.inf)
            np.minimum.at(theirs, ray, np.linalg.norm(hits - points[ray], axis=1))
            assert np.isfinite(theirs).sum() > 20
            assert mine == pytest.approx(theirs, abs=1e-6)


def test_undercut_of_a_whole_vent_by_chance_samples() -> None:
    """Share of the surface caught along z: 1,500 random points, rays by trimesh; 4 sigma."""
    vertices, triangles = vent("rectangular", size="40x40")
    surface = trimesh.Trimesh(vertices, triangles, process=False)
    points, face = trimesh.sample.sample_surface(surface, 1500, seed=5)
    points = points + 0.1 * surface.face_normals[face]
    tracer = RayMeshIntersector(surface)
    blocked = [
        tracer.intersects_any(points, np.tile([0.0, 0.0, sense], (len(points), 1)))
        for sense in (1.0, -1.0)
    ]
    share = float((blocked[0] & blocked[1]).mean())
    samples = sampled(vertices, triangles)
    ways = open_ways(vertices, triangles, samples)
    names = np.full(len(samples), "body", dtype=object)
    found = undercut(samples, ways, names, 2).area_mm2 / surface.area
    assert 0.2 < share < 0.7
    assert found == pytest.approx(share, abs=4.0 * math.sqrt(share * (1.0 - share) / 1500))


def test_small_triangles_add_up_whatever_their_size() -> None:
    vertices, triangles = vent("rectangular", size="40x40")
    area = trimesh.Trimesh(vertices, triangles, process=False).area
    for side in (2.0, 5.0):
        samples = sampled(vertices, triangles, side)
        spread = samples.corners_mm - np.roll(samples.corners_mm, 1, axis=1)
        assert samples.areas_mm2.sum() == pytest.approx(area, rel=1e-9)
        assert np.linalg.norm(spread, axis=2).max() <= side
        corners = samples.corners_mm
        across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        assert (across * samples.normals).sum(axis=1) == pytest.approx(2.0 * samples.areas_mm2)

"""Slices against solids with known sections (elementary geometry) and against trimesh."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest
import trimesh
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull, QhullError

from tests.helpers.print_shapes import Mesh, box, fused, layers_of, mesh
from tests.helpers.rows import spec
from vent_family.evidence.printing.orientation import turned
from vent_family.geometry.vent import build_solids
from vent_family.mesh.layers import layer_plan
from vent_family.mesh.regions import Region, regions_of
from vent_family.mesh.slices import Cuts, OpenMeshError
from vent_family.mesh.triangles import mesh_of, mesh_volume_mm3


def regions_at(body: Mesh, levels: object) -> list[Region]:
    return regions_of(Cuts(*body, np.asarray(levels, dtype=np.float64)))


BALL = cq.Solid.makeSphere(
    10.0, cq.Vector(0, 0, 10), cq.Vector(0, 0, 1), angleDegrees1=-90, angleDegrees2=90
)


def test_cylinder_slices_are_circles() -> None:
    radius = 8.0
    layers = layers_of(mesh(cq.Solid.makeCylinder(radius, 20.0), 0.001))
    assert len(layers.regions) == 100
    assert layers.areas_mm2 == pytest.approx(math.pi * radius**2, rel=1e-3)


def test_cone_slices_shrink_with_the_square_of_the_height() -> None:
    layers = layers_of(mesh(cq.Solid.makeCone(10.0, 0.0, 10.0), 0.001))
    expected = math.pi * (10.0 - layers.middles_mm) ** 2
    assert layers.areas_mm2 == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize(
    ("solid", "volume"),
    [
        (BALL, 4.0 / 3.0 * math.pi * 1e3),
        (cq.Solid.makeCone(10.0, 4.0, 12.0), math.pi * 12.0 / 3.0 * (100.0 + 40.0 + 16.0)),
        (
            cq.Solid.makeTorus(12.0, 3.0).moved(cq.Location((0, 0, 3))),
            2.0 * math.pi**2 * 12.0 * 9.0,  # Pappus
        ),
    ],
    ids=["sphere", "frustum", "torus"],
)
def test_cavalieri(solid: cq.Shape, volume: float) -> None:
    """The slices' areas times their height sum to the volume (Cavalieri's principle)."""
    body = mesh(solid.Solids()[0], 0.002)
    layers = layers_of(body, 0.05)
    assert layers.volume_mm3 == pytest.approx(mesh_volume_mm3(*body), rel=5e-4)
    assert layers.volume_mm3 == pytest.approx(volume, rel=1e-3)


def test_holes_bodies_in_holes_and_separate_bodies() -> None:
    tube = cq.Solid.makeCylinder(10.0, 4.0).cut(cq.Solid.makeCylinder(8.0, 4.0)).Solids()[0]
    ring = tube.fuse(box((-30, -20), (-5, 5), (0, 4)), box((-2, 2), (-2, 2), (0, 4)))
    vertices, triangles = mesh(ring, 0.001)
    (region,) = regions_at((vertices, triangles), [2.0])
    assert len(region.geoms) == 3
    assert region.area == pytest.approx(math.pi * 36.0 + 100.0 + 16.0, rel=1e-4)


def test_faces_exactly_at_a_cut_fall_on_one_side() -> None:
    """Stairs of 0.1 mm, cut where their treads lie: each section is one whole tread or the next."""
    steps = [box((i, 10.0), (0, 5), (0, 0.1 * (i + 1))) for i in range(10)]
    vertices, triangles = mesh(fused(*steps))
    levels = np.round(np.arange(1, 10) * 0.1, 10)
    found = [r.area for r in regions_at((vertices, triangles), levels)]
    assert found == pytest.approx([5.0 * (10 - i) for i in range(1, 10)])


def test_a_cut_just_above_a_face_keeps_every_corner() -> None:
    """A bar 10x10x100 on a plate 1 mm thick: at the plate's top the bar's whole section is cut."""
    body = mesh(fused(box((-20, 30), (-20, 30), (0, 1)), box((0, 10), (0, 10), (0, 101))))
    found = [r.area for r in regions_at(body, [0.999, 1.0, 1.001])]
    assert found == pytest.approx([2500.0, 100.0, 100.0])


CORNERS = st.lists(
    st.tuples(*[st.integers(-3000, 3000).map(lambda i: i / 100.0)] * 3), min_size=5, max_size=24
)


@settings(max_examples=150, deadline=None)
@example(
    [
        (0.0, 0.0, 0.0),
        (-0.91, -16.73, -13.61),
        (2.32, -3.5, -2.26),
        (2.83, 0.5, -2.13),
        (3.35, -8.93, 9.76),
    ]
)
@given(CORNERS)
def test_levels_on_the_corners_of_any_convex_body(corners: list[tuple[float, ...]]) -> None:
    """Sections through corners, against hulls of all lines between corners cut by the plane.

    A plane cuts a convex body in the hull of its cuts with the lines between the body's corners:
    no triangle, no outline and no order of points comes into that.
    """
    try:
        hull = ConvexHull(np.array(corners))
    except QhullError:
        assume(False)
    assume(hull.volume > 1.0)
    body = trimesh.Trimesh(hull.points, hull.simplices, process=True)
    trimesh.repair.fix_normals(body)
    levels = np.unique(body.vertices[:, 2])[:-1]
    found = regions_at((np.asarray(body.vertices), np.asarray(body.faces)), levels)
    for level, region in zip(levels, found, strict=True):
        # Cuts lie a half of 1e-5 mm above what is asked, so that no corner lies on one.
        expected = hull_section_mm2(np.asarray(body.vertices), float(level) + 5e-6)
        assert region.area == pytest.approx(expected, rel=1e-5, abs=1e-4), level
        assert region.is_valid


def hull_section_mm2(corners: np.ndarray, level: float) -> float:
    above, below = corners[corners[:, 2] > level], corners[corners[:, 2] <= level]
    a, b = np.repeat(above, len(below), axis=0), np.tile(below, (len(above), 1))
    t = (level - a[:, 2]) / (b[:, 2] - a[:, 2])
    points = a[:, :2] + t[:, None] * (b[:, :2] - a[:, :2])
    try:
        return float(ConvexHull(points).volume)  # of a plane hull this is the area
    except QhullError:
        return 0.0


STEPS = st.lists(
    st.tuples(st.integers(1, 400), st.integers(1, 60), st.integers(3, 9)), min_size=2, max_size=6
)


@settings(max_examples=100, deadline=None)
@given(STEPS, st.integers(0, 359), st.integers(-5000, 5000))
def test_levels_at_the_feet_of_any_columns(
    steps: list[tuple[int, int, int]], turn_deg: int, shift: int
) -> None:
    """Regular columns side by side, cut where each begins; areas by n/2 r2 sin(2 pi/n)."""
    columns = []
    for k, (height, _, count) in enumerate(steps):
        column = trimesh.creation.cylinder(radius=3.0 + k, height=height / 10.0, sections=count)
        turn = trimesh.transformations.rotation_matrix(math.radians(turn_deg), [0, 0, 1])
        column.apply_transform(turn)
        column.apply_translation([shift / 100.0 + 40.0 * k, 0.0, height / 20.0 + base_mm(steps, k)])
        columns.append(column)
    body = trimesh.util.concatenate(columns)
    levels = np.unique([base_mm(steps, k) for k in range(len(steps))])
    found = regions_at((np.asarray(body.vertices), np.asarray(body.faces)), levels)
    for level, region in zip(levels, found, strict=True):
        expected = sum(
            0.5 * n * (3.0 + k) ** 2 * math.sin(2.0 * math.pi / n)
            for k, (height, _, n) in enumerate(steps)
            if base_mm(steps, k) <= level < base_mm(steps, k) + height / 10.0 - 1e-9
        )
        assert region.area == pytest.approx(expected, rel=1e-6), level


def base_mm(steps: list[tuple[int, int, int]], k: int) -> float:
    return steps[k][1] / 10.0


def test_open_mesh_is_refused() -> None:
    vertices, triangles = mesh(box((0, 1), (0, 1), (0, 1)))
    upright = np.ptp(vertices[triangles, 2], axis=1) > 0.5
    torn = np.delete(triangles, np.flatnonzero(upright)[0], axis=0)
    with pytest.raises(OpenMeshError):
        regions_at((vertices, torn), [0.3, 0.5])


def test_levels_outside_the_body_are_empty() -> None:
    body = mesh(box((0, 1), (0, 1), (0, 1)))
    below, inside, above = regions_at(body, [-1.0, 0.5, 2.0])
    assert below.is_empty
    assert above.is_empty
    assert inside.area == pytest.approx(1.0)


def test_segments_know_their_triangles() -> None:
    vertices, triangles = mesh(cq.Solid.makeCone(10.0, 0.0, 10.0), 0.01)
    cut = Cuts(vertices, triangles, np.array([1.0, 4.0])).segments(1)
    around = np.hypot(*(cut.ends - cut.starts).T).sum()
    assert around == pytest.approx(2 * math.pi * 6.0, rel=1e-2)
    z = vertices[triangles[cut.triangle], 2]
    assert (z.min(axis=1) < 4.0).all()
    assert (z.max(axis=1) > 4.0).all()


@pytest.mark.parametrize("family", ["rectangular", "round"])
def test_same_areas_as_trimesh_on_a_vent(family: str) -> None:
    """trimesh cuts plane by plane and joins by coordinates: another way to the same areas."""
    cells = {"size": "M20x1.5", "slat_form": "folded"} if family == "round" else {"size": "40x40"}
    part = spec(family, **cells)
    vertices, triangles = mesh_of(build_solids(part).vent, 0.05, 0.3)
    vertices = turned(vertices, part.print_orientation)
    levels = np.linspace(0.53, vertices[:, 2].max() - 0.57, 12)
    ours = [r.area for r in regions_at((vertices, triangles), levels)]
    body = trimesh.Trimesh(vertices, triangles, process=False)
    theirs = []
    for level in levels:
        plane = body.section(plane_origin=[0, 0, level], plane_normal=[0, 0, 1])
        theirs.append(plane.to_2D()[0].area)
    assert ours == pytest.approx(theirs, rel=1e-3)


def test_layer_plan_with_a_fine_stretch() -> None:
    bottoms, heights = layer_plan(30.0, 0.2, [(20.0, 26.0, 0.12)])
    assert bottoms[0] == 0.0
    assert (bottoms + heights)[-1] == pytest.approx(30.0)
    assert bottoms[1:] == pytest.approx((bottoms + heights)[:-1])
    fine = (bottoms > 19.99) & (bottoms < 25.99)
    assert fine.sum() == 50
    assert heights[fine] == pytest.approx(0.12)
    assert heights[~fine] == pytest.approx(0.2)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 80.0), st.floats(0.05, 0.4))
def test_layer_plan_fills_any_height(height: float, layer: float) -> None:
    bottoms, heights = layer_plan(height, layer)
    assert heights.sum() == pytest.approx(height)
    assert heights.max() <= layer + 1e-9
    assert len(bottoms) == math.ceil(height / layer - 1e-6)


@pytest.mark.parametrize(
    "bad", [(-1.0, 0.2, ()), (5.0, 0.0, ()), (9.0, 0.2, ((5, 7, 1), (6, 8, 1)))]
)
def test_layer_plan_refuses_nonsense(bad: tuple[float, float, tuple[object, ...]]) -> None:
    with pytest.raises(ValueError, match=r"positive|overlap"):
        layer_plan(*bad)  # type: ignore[arg-type]

"""Slices against solids with known sections (elementary geometry) and against trimesh."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.helpers.print_shapes import box, fused, layers_of, mesh
from tests.helpers.rows import spec
from vent_family.evidence.printing.orientation import turned
from vent_family.geometry.vent import build_solids
from vent_family.mesh.slices import (
    OpenMeshError,
    layer_plan,
    section_regions,
    section_segments,
)
from vent_family.mesh.triangles import mesh_of, mesh_volume_mm3

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
    (region,) = section_regions(vertices, triangles, np.array([2.0]))
    assert len(region.geoms) == 3
    assert region.area == pytest.approx(math.pi * 36.0 + 100.0 + 16.0, rel=1e-4)


def test_faces_exactly_at_a_cut_fall_on_one_side() -> None:
    """Stairs of 0.1 mm, cut where their treads lie: each section is one whole tread or the next."""
    steps = [box((i, 10.0), (0, 5), (0, 0.1 * (i + 1))) for i in range(10)]
    vertices, triangles = mesh(fused(*steps))
    levels = np.round(np.arange(1, 10) * 0.1, 10)
    found = [r.area for r in section_regions(vertices, triangles, levels)]
    assert found == pytest.approx([5.0 * (10 - i) for i in range(1, 10)])


def test_open_mesh_is_refused() -> None:
    vertices, triangles = mesh(box((0, 1), (0, 1), (0, 1)))
    upright = np.ptp(vertices[triangles, 2], axis=1) > 0.5
    torn = np.delete(triangles, np.flatnonzero(upright)[0], axis=0)
    with pytest.raises(OpenMeshError):
        section_regions(vertices, torn, np.array([0.3, 0.5]))


def test_levels_outside_the_body_are_empty() -> None:
    body = mesh(box((0, 1), (0, 1), (0, 1)))
    below, inside, above = section_regions(*body, np.array([-1.0, 0.5, 2.0]))
    assert below.is_empty
    assert above.is_empty
    assert inside.area == pytest.approx(1.0)


def test_segments_know_their_triangles() -> None:
    vertices, triangles = mesh(cq.Solid.makeCone(10.0, 0.0, 10.0), 0.01)
    starts, ends, owner = section_segments(vertices, triangles, 4.0)
    assert np.hypot(*(ends - starts).T).sum() == pytest.approx(2 * math.pi * 6.0, rel=1e-2)
    z = vertices[triangles[owner], 2]
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
    ours = [r.area for r in section_regions(vertices, triangles, levels)]
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

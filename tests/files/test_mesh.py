"""Triangles of a shape."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest

from tests.helpers.plain_shapes import (
    cylinder,
    plate,
    plate_volume_mm3,
    slatted,
    slatted_volume_mm3,
)
from vent_family.mesh.triangles import (
    edge_multiplicity,
    is_watertight,
    mesh_of,
    mesh_volume_mm3,
    weld,
)


@pytest.mark.parametrize(
    ("shape", "volume_mm3"),
    [
        (plate(), plate_volume_mm3()),
        (slatted(10), slatted_volume_mm3(10)),
        (cylinder(), math.pi * 8.0**2 * 20.0),
    ],
    ids=["plate", "slatted", "cylinder"],
)
def test_closed_and_of_the_right_volume(shape: cq.Shape, volume_mm3: float) -> None:
    vertices, triangles = mesh_of(shape, 0.02, 0.2)
    assert vertices.dtype == np.float64
    assert vertices.shape[1] == triangles.shape[1] == 3
    assert set(edge_multiplicity(triangles)) == {2}
    assert is_watertight(triangles)
    assert len(np.unique(vertices, axis=0)) == len(vertices)
    assert sorted(set(triangles.ravel())) == list(range(len(vertices)))
    assert mesh_volume_mm3(vertices, triangles) == pytest.approx(volume_mm3, rel=0.005)


@pytest.mark.parametrize("radius_mm", [4.0, 40.0])
def test_chord_is_absolute_and_kept(radius_mm: float) -> None:
    """The depth of the arc over a chord, r(1 - cos(a/2)), stays below the tolerance in mm."""
    vertices, _ = mesh_of(cylinder(radius_mm, 1.0), 0.05, 3.0)
    rim = vertices[np.abs(vertices[:, 2]) < 1e-6]
    angles = np.sort(np.arctan2(rim[:, 1], rim[:, 0]))
    steps = np.diff(np.append(angles, angles[0] + 2.0 * math.pi))
    depth = radius_mm * (1.0 - np.cos(0.5 * steps))
    assert depth.max() <= 0.05
    # Not finer by an order of magnitude either, as a tolerance relative to the size would make it.
    assert depth.max() >= 0.01


def test_earlier_meshes_do_not_matter() -> None:
    alone = mesh_of(cylinder(), 0.01, 0.5)
    shape = cylinder()
    shape.mesh(1.0, 1.0)
    mesh_of(shape, 0.5, 1.0)
    after = mesh_of(shape, 0.01, 0.5)
    assert np.array_equal(alone[0], after[0])
    assert np.array_equal(alone[1], after[1])


def test_placed_shape() -> None:
    place = cq.Location((1.0, 2.0, 3.0), (1.0, 2.0, 3.0), 40.0)
    vertices, triangles = mesh_of(plate().moved(place), 0.05, 0.2)
    assert is_watertight(triangles)
    assert mesh_volume_mm3(vertices, triangles) == pytest.approx(plate_volume_mm3(), rel=0.005)
    box = plate().moved(place).BoundingBox()
    assert vertices.max(axis=0) == pytest.approx((box.xmax, box.ymax, box.zmax), abs=1e-3)


def test_multiplicity_tells_holes_and_touching_edges() -> None:
    tetrahedron = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    assert edge_multiplicity(tetrahedron) == {2: 6}
    assert is_watertight(tetrahedron)
    assert edge_multiplicity(tetrahedron[:3]) == {1: 3, 2: 3}
    assert not is_watertight(tetrahedron[:3])
    # One triangle turned over: every edge is still shared by two, but not in opposite directions.
    turned = tetrahedron.copy()
    turned[0] = turned[0, ::-1]
    assert edge_multiplicity(turned) == {2: 6}
    assert not is_watertight(turned)
    # Two boxes along a common edge, made into one body: the kernel calls it valid.
    boxes = cq.Compound.makeCompound(
        [cq.Solid.makeBox(1, 1, 1), cq.Solid.makeBox(1, 1, 1).moved(cq.Location((1, 1, 0)))]
    )
    _, triangles = mesh_of(boxes, 0.1, 0.5)
    assert edge_multiplicity(triangles)[4] == 1
    assert not is_watertight(triangles)
    assert not is_watertight(triangles[:0])


def test_weld() -> None:
    points = np.array([[0.0, 0, 0], [1.0, 0, 0], [0.0, 1, 0], [1.0 + 4e-6, 0, 0], [1.0, 1, 0]])
    triangles = np.array([[0, 1, 2], [3, 4, 2], [1, 3, 4]])
    vertices, welded = weld(points, triangles, 1e-5)
    assert len(vertices) == 4
    # The sliver between the two near points is gone, its neighbours now share an edge.
    assert edge_multiplicity(welded) == {1: 4, 2: 1}
    vertices, welded = weld(points, triangles, 0.0)
    assert len(vertices) == 5
    assert len(welded) == 3


def test_volume_far_from_the_origin() -> None:
    vertices, triangles = mesh_of(cq.Solid.makeBox(1.0, 2.0, 3.0), 0.1, 0.5)
    assert mesh_volume_mm3(vertices, triangles) == pytest.approx(6.0, rel=1e-12)
    assert mesh_volume_mm3(vertices + 1e6, triangles) == pytest.approx(6.0, rel=1e-9)
    assert mesh_volume_mm3(vertices, triangles[:, ::-1]) == pytest.approx(-6.0, rel=1e-12)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_refused_tolerances(bad: float) -> None:
    with pytest.raises(ValueError, match="chord_mm"):
        mesh_of(plate(), bad, 0.2)
    with pytest.raises(ValueError, match="angle_rad"):
        mesh_of(plate(), 0.1, bad)


def test_nothing_to_mesh() -> None:
    with pytest.raises(RuntimeError, match="no faces"):
        mesh_of(cq.Edge.makeLine((0, 0, 0), (1, 0, 0)), 0.1, 0.2)

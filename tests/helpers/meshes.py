"""Measurements on the mesh of a finished part."""

from __future__ import annotations

import numpy as np
import trimesh
from shapely.geometry import Polygon
from shapely.ops import unary_union

from vent_family.base.limits import STL_ANGLE, STL_CHORD
from vent_family.mesh.triangles import mesh_of


def trimesh_of(shape: object) -> trimesh.Trimesh:
    """Return the shape's mesh at the exported tolerance."""
    vertices, triangles = mesh_of(shape, STL_CHORD.value, STL_ANGLE.value)
    return trimesh.Trimesh(vertices, triangles, process=False)


def section_at_x(mesh: trimesh.Trimesh, x: float) -> list[Polygon]:
    """Return the solid's polygons (z, y) in the plane at ``x``."""
    return _polygons(mesh, (x, 0, 0), (1, 0, 0), (2, 1))


def section_at_z(mesh: trimesh.Trimesh, z: float) -> list[Polygon]:
    """Return the solid's polygons (x, y) in the plane at ``z``."""
    return _polygons(mesh, (0, 0, z), (0, 0, 1), (0, 1))


def _polygons(
    mesh: trimesh.Trimesh,
    origin: tuple[float, float, float],
    normal: tuple[float, float, float],
    axes: tuple[int, int],
) -> list[Polygon]:
    path = mesh.section(plane_origin=origin, plane_normal=normal)
    rings = [Polygon(np.asarray(loop)[:, axes]) for loop in path.discrete]
    rings.sort(key=lambda r: -r.area)
    solid = Polygon()
    # Even-odd: every ring inside another turns solid into void or back.
    for ring in rings:
        solid = solid.symmetric_difference(ring)
    merged = unary_union(solid)
    return list(getattr(merged, "geoms", [merged]))


def free_sight_lines(mesh: trimesh.Trimesh, starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Return which straight lines from start to end meet no triangle; points outside the part."""
    direction = ends - starts
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    return ~mesh.ray.intersects_any(starts, direction)

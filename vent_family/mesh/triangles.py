"""Triangles of a shape: welded, measured, counted. Nothing here knows of files."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import cadquery as cq
import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.gp import gp_Trsf
from OCP.Poly import Poly_Triangulation
from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Face
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from vent_family.base.arrays import FloatArray, IntArray

WELD_MM: Final = 1e-5
"""Nodes nearer than this (mm) become one vertex.

Well above the kernel's 1e-7 mm confusion distance, by which the nodes of two faces on their common
edge can differ, and far below any chord tolerance in use. Common practice, no source.
"""


def mesh_of(
    shape: cq.Shape, chord_mm: float, angle_rad: float, weld_mm: float = WELD_MM
) -> tuple[FloatArray, IntArray]:
    """Return vertices (n, 3) in mm and triangles (m, 3) of indices, outward normals by right hand.

    The distance of the mesh from the faces is at most ``chord_mm`` (absolute, in mm), the turn
    between neighbouring segments at most ``angle_rad``. A copy of the shape is meshed: the kernel
    keeps triangles with the faces, so a mesh made before, finer or coarser, would otherwise be
    used again, and this one would be found by the next caller. Vertices closer than ``weld_mm``
    are one, and triangles that lose their area by that are left out.

    Raises
    ------
    ValueError
        if a tolerance is not a positive number
    RuntimeError
        if the kernel could not mesh the shape, or a face of it
    """
    if not (np.isfinite(weld_mm) and weld_mm > 0.0):
        raise ValueError(f"weld_mm is {weld_mm}; a positive number is needed")
    nodes: list[tuple[float, float, float]] = []
    triangles: list[tuple[int, int, int]] = []
    for face, part, move in meshed_faces(shape, chord_mm, angle_rad):
        offset = len(nodes)
        if move is None:
            nodes += [part.Node(i).Coord() for i in range(1, part.NbNodes() + 1)]
        else:
            nodes += [part.Node(i).Transformed(move).Coord() for i in range(1, part.NbNodes() + 1)]
        triangles += [(offset + a, offset + b, offset + c) for a, b, c in corners_of(face, part)]
    if not triangles:
        raise RuntimeError("the shape has no faces to mesh")
    return weld(np.array(nodes, dtype=np.float64), np.array(triangles, dtype=np.int64), weld_mm)


def meshed_faces(
    shape: cq.Shape, chord_mm: float, angle_rad: float
) -> Iterator[tuple[TopoDS_Face, Poly_Triangulation, gp_Trsf | None]]:
    """Yield every face of a copy of a shape with its triangles, and how they are moved, if at all.

    ``chord_mm`` (mm) and ``angle_rad`` (rad) are those of :func:`mesh_of`.

    Raises
    ------
    ValueError
        if a tolerance is not a positive number
    RuntimeError
        if the kernel could not mesh the shape, or a face of it
    """
    for name, value in (("chord_mm", chord_mm), ("angle_rad", angle_rad)):
        if not (np.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} is {value}; a positive number is needed")
    # New topology over the same surfaces, without the triangles cached on the original.
    bare = BRepBuilderAPI_Copy(shape.wrapped, False, False).Shape()
    # Third argument: the tolerance is absolute. Last: in one thread, for the same bytes each time.
    mesher = BRepMesh_IncrementalMesh(bare, float(chord_mm), False, float(angle_rad), False)
    if not mesher.IsDone():
        raise RuntimeError("the kernel could not mesh the shape")
    faces = TopExp_Explorer(bare, TopAbs_FACE)
    while faces.More():
        face = TopoDS.Face_s(faces.Current())
        faces.Next()
        location = TopLoc_Location()
        part = BRep_Tool.Triangulation_s(face, location)
        if part is None:
            raise RuntimeError("the kernel left a face without triangles")
        yield face, part, None if location.IsIdentity() else location.Transformation()


def corners_of(face: TopoDS_Face, part: Poly_Triangulation) -> list[tuple[int, int, int]]:
    """Return a face's triangles by its nodes from 0, with normals outwards by the right hand."""
    found = [part.Triangle(i).Get() for i in range(1, part.NbTriangles() + 1)]
    if face.Orientation() == TopAbs_REVERSED:
        return [(a - 1, c - 1, b - 1) for a, b, c in found]
    return [(a - 1, b - 1, c - 1) for a, b, c in found]


def weld(
    vertices: FloatArray, triangles: IntArray, distance_mm: float
) -> tuple[FloatArray, IntArray]:
    """Join vertices (mm) at most ``distance_mm`` apart; drop triangles that become lines or points.

    The vertex kept is the first of its group in order of (x, y, z), so the result does not depend
    on chance. A distance of zero joins equal vertices only.

    Parameters
    ----------
    vertices, triangles : (n, 3) and (m, 3) arrays
        A mesh, mm.
    distance_mm : float
        Largest distance of vertices that become one, mm.

    Examples
    --------
    Two triangles that meet along an edge, one of them a hair off:

    >>> corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1e-6, 0], [1, 1, 0], [0, 1, 0]])
    >>> joined, triangles = weld(corners, np.array([[0, 1, 2], [3, 4, 5]]), 1e-5)
    >>> len(joined), edge_multiplicity(triangles)
    (4, {1: 4, 2: 1})
    """
    unique, index = np.unique(vertices, axis=0, return_inverse=True)
    index = index.reshape(-1)
    if distance_mm > 0.0:
        # Neighbours by distance, not by rounding to a grid: two nodes a hair apart can lie on
        # both sides of a grid line.
        pairs = cKDTree(unique).query_pairs(distance_mm, output_type="ndarray")
        if len(pairs):
            links = coo_matrix(
                (np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(unique),) * 2
            )
            groups = connected_components(links, directed=False)[1]
            _, first, group = np.unique(groups, return_index=True, return_inverse=True)
            unique, index = unique[first], group.reshape(-1)[index]
    joined = index[triangles]
    a, b, c = joined.T
    kept = joined[(a != b) & (b != c) & (c != a)]
    used, renumbered = np.unique(kept, return_inverse=True)
    return unique[used], renumbered.reshape(-1, 3).astype(np.int64)


def edge_multiplicity(triangles: IntArray) -> dict[int, int]:
    """Return how many edges belong to how many triangles: ``{2: 5124}`` for a closed mesh.

    1 is an open border, 4 a place where the body touches itself along a line.

    Examples
    --------
    >>> edge_multiplicity(np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3]]))
    {1: 3, 2: 3}
    """
    _, counts = np.unique(_keys(np.sort(_sides(triangles), axis=1)), return_counts=True)
    multiplicity, edges = np.unique(counts, return_counts=True)
    return {int(m): int(n) for m, n in zip(multiplicity, edges, strict=True)}


def is_watertight(triangles: IntArray) -> bool:
    """Tell whether every edge joins two triangles that run along it in opposite directions.

    Examples
    --------
    >>> sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    >>> is_watertight(sides), is_watertight(sides[:3])
    (True, False)
    """
    if len(triangles) == 0 or set(edge_multiplicity(triangles)) != {2}:
        return False
    directed = _keys(_sides(triangles))
    return len(np.unique(directed)) == len(directed)


def mesh_volume_mm3(vertices: FloatArray, triangles: IntArray) -> float:
    """Return the enclosed volume (mm3), by the divergence theorem; negative if inside out.

    ``vertices`` are (n, 3) in mm.

    Examples
    --------
    A tetrahedron with edges of 10 mm along the axes:

    >>> corners = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 10]])
    >>> sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    >>> round(mesh_volume_mm3(corners, sides), 3)
    166.667
    >>> round(mesh_volume_mm3(corners, sides[:, ::-1]), 3)
    -166.667
    """
    # About the middle of the box: cancellation would cost digits far from the origin.
    corners = (vertices - 0.5 * (vertices.min(axis=0) + vertices.max(axis=0)))[triangles]
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def _sides(triangles: IntArray) -> IntArray:
    """Return the sides of all triangles, each as (from, to) in the sense of its triangle."""
    return np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])


def _keys(pairs: IntArray) -> IntArray:
    """Return one number per pair of indices: sorting numbers is much faster than sorting rows."""
    width = int(pairs.max(initial=0)) + 1
    return np.asarray(pairs[:, 0] * width + pairs[:, 1], dtype=np.int64)

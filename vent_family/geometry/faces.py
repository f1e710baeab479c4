"""Faces about the Z axis and across it, built from edges that neighbours share.

Where every edge is known beforehand, faces put together here need no boolean operation. A face lies
left of its edges, seen along its surface's normal. Lengths in mm, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import cadquery as cq
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeVertex
from OCP.Geom import Geom_Circle, Geom_CylindricalSurface, Geom_Plane
from OCP.Geom2d import Geom2d_BSplineCurve, Geom2d_Line
from OCP.gp import gp_Ax2, gp_Ax3, gp_Dir, gp_Dir2d, gp_Pnt, gp_Pnt2d
from OCP.TColgp import TColgp_Array1OfPnt2d
from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Face, TopoDS_Shell, TopoDS_Solid, TopoDS_Wire

# The kernel's bindings carry no types.
Edge: TypeAlias = Any
Vertex: TypeAlias = Any
Face: TypeAlias = Any
Surface: TypeAlias = Any

TURN: Final = 2.0 * math.pi
"""One turn, radians."""

TOLERANCE_MM: Final = 1e-5
"""Tolerance of edges and vertices, mm: how far an edge may leave the faces it bounds."""

_HERE: Final = TopLoc_Location()


@dataclass(frozen=True, slots=True)
class Rim:
    """A full circle about Z, counter-clockwise from its one vertex at angle ``seam_rad``."""

    edge: Edge
    vertex: Vertex
    radius_mm: float
    z_mm: float
    seam_rad: float


def rim(radius_mm: float, z_mm: float, seam_rad: float = 0.0) -> Rim:
    """Return a circle about Z with its vertex at the angle ``seam_rad``."""
    vertex = vertex_at(radius_mm, seam_rad, z_mm)
    circle = circle_about_z(radius_mm, z_mm, seam_rad, upwards=True)
    edge = BRepBuilderAPI_MakeEdge(circle, vertex, vertex, 0.0, TURN).Edge()
    return Rim(edge, vertex, radius_mm, z_mm, seam_rad)


def cylinder_face(first: Rim, second: Rim) -> Face:
    """Return the cylinder between two circles of one radius and seam angle, normal outwards."""
    low, high = sorted((first, second), key=lambda one: one.z_mm)
    frame = gp_Ax3(gp_Pnt(0.0, 0.0, low.z_mm), gp_Dir(0.0, 0.0, 1.0), radial(low.seam_rad))
    surface = Geom_CylindricalSurface(frame, low.radius_mm)
    height_mm = high.z_mm - low.z_mm
    for one, v in ((low, 0.0), (high, height_mm)):
        put_on_surface(one.edge, line2d((0.0, v), (1.0, 0.0)), surface)
    seam = seam_edge(surface, low.vertex, high.vertex, 0.0, height_mm)
    return face_of(surface, [low.edge, seam, high.edge.Reversed(), seam.Reversed()])


def ring_face(outer: Rim, inner: Rim) -> Face:
    """Return the flat ring between two circles at one height, normal upwards."""
    plane = Geom_Plane(gp_Ax3(gp_Pnt(0.0, 0.0, outer.z_mm), gp_Dir(0.0, 0.0, 1.0)))
    face = face_of(plane, [outer.edge])
    BRep_Builder().Add(face, _wire([inner.edge.Reversed()]))
    return face


def pierced_face(face: cq.Face, hole: Rim) -> Face:
    """Return a flat face across Z with a round hole in it, bounded by ``hole``.

    It keeps its other edges, so it still joins its neighbours.
    """
    # Wires are stored as seen along the surface's own normal, whichever way the face points.
    natural = cq.Face(face.wrapped.Oriented(TopAbs_Orientation.TopAbs_FORWARD))
    pierced = natural.wrapped.EmptyCopied()
    builder = BRep_Builder()
    for wire in natural.Wires():
        builder.Add(pierced, wire.wrapped)
    upwards = natural.normalAt().z > 0.0
    builder.Add(pierced, _wire([hole.edge.Reversed() if upwards else hole.edge]))
    return pierced.Oriented(face.wrapped.Orientation())


def inwards(face: Face) -> Face:
    """Return the face with its normal turned round."""
    return face.Reversed()


def solid_of(faces: Sequence[Face]) -> cq.Solid:
    """Join faces that share their edges and close a space, normals outwards, into one solid."""
    builder = BRep_Builder()
    shell = TopoDS_Shell()
    builder.MakeShell(shell)
    for face in faces:
        builder.Add(shell, face)
    shell.Closed(True)
    solid = TopoDS_Solid()
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return cq.Solid(solid)


def seam_edge(surface: Surface, low: Vertex, high: Vertex, low_v: float, high_v: float) -> Edge:
    """Return the straight edge, at angle zero, along which a surface of revolution meets itself.

    ``low_v`` and ``high_v`` are its ends along the surface's line, mm.
    """
    line = surface.UIso(0.0)
    edge = BRepBuilderAPI_MakeEdge(line, low, high, low_v, high_v).Edge()
    right, left = line2d((TURN, 0.0), (0.0, 1.0)), line2d((0.0, 0.0), (0.0, 1.0))
    BRep_Builder().UpdateEdge(edge, right, left, surface, _HERE, TOLERANCE_MM)
    return edge


def backwards(edges: Sequence[Edge]) -> list[Edge]:
    """Return a row of edges run through the other way."""
    return [edge.Reversed() for edge in reversed(edges)]


def put_on_surface(edge: Edge, curve: Any, surface: Surface) -> None:
    """Tell an edge its line in a surface's parameters, run through as its curve in space is."""
    BRep_Builder().UpdateEdge(edge, curve, surface, _HERE, TOLERANCE_MM)


def face_of(surface: Surface, edges: Sequence[Edge]) -> Face:
    """Return the face left of the closed row of edges, seen along the surface's normal."""
    face = TopoDS_Face()
    builder = BRep_Builder()
    builder.MakeFace(face, surface, TOLERANCE_MM)
    builder.Add(face, _wire(edges))
    return face


def _wire(edges: Sequence[Edge]) -> Any:
    wire = TopoDS_Wire()
    builder = BRep_Builder()
    builder.MakeWire(wire)
    for edge in edges:
        builder.Add(wire, edge)
    wire.Closed(True)
    return wire


def vertex_at(radius_mm: float, angle_rad: float, z_mm: float) -> Vertex:
    """Return a vertex given by cylindrical coordinates."""
    point = gp_Pnt(radius_mm * math.cos(angle_rad), radius_mm * math.sin(angle_rad), z_mm)
    vertex = BRepBuilderAPI_MakeVertex(point).Vertex()
    BRep_Builder().UpdateVertex(vertex, TOLERANCE_MM)
    return vertex


def circle_about_z(radius_mm: float, z_mm: float, from_rad: float, upwards: bool) -> Any:
    """Return a circle about Z that starts at an angle and runs round +Z (``upwards``) or -Z."""
    axis = gp_Dir(0.0, 0.0, 1.0 if upwards else -1.0)
    return Geom_Circle(gp_Ax2(gp_Pnt(0.0, 0.0, z_mm), axis, radial(from_rad)), radius_mm)


def radial(angle_rad: float) -> Any:
    """Return the direction away from the Z axis at an angle."""
    return gp_Dir(math.cos(angle_rad), math.sin(angle_rad), 0.0)


def line2d(origin: tuple[float, float], direction: tuple[float, float]) -> Any:
    """Return an endless straight line in a surface's parameters; its own runs from ``origin``.

    Of a face's two parameters one may be an angle: ``origin`` in radians or mm, ``direction`` of
    any length (1).
    """
    return Geom2d_Line(gp_Pnt2d(*origin), gp_Dir2d(*direction))


def segment2d(start: tuple[float, float], end: tuple[float, float], length: float) -> Any:
    """Return a straight curve between two points, its parameter running from 0 to ``length``.

    ``start`` and ``end`` are in the surface's parameters, each radians, mm or dimensionless;
    ``length`` is that of the edge's own parameter, in its unit.
    """
    poles = TColgp_Array1OfPnt2d(1, 2)
    poles.SetValue(1, gp_Pnt2d(*start))
    poles.SetValue(2, gp_Pnt2d(*end))
    return Geom2d_BSplineCurve(poles, reals([0.0, length]), integers([2, 2]), 1)


def reals(values: Sequence[float]) -> Any:
    """Return the kernel's array of ``values``, in their unit."""
    array = TColStd_Array1OfReal(1, len(values))
    for index, value in enumerate(values, start=1):
        array.SetValue(index, value)
    return array


def integers(values: Sequence[int]) -> Any:
    """Return the kernel's array of the values."""
    array = TColStd_Array1OfInteger(1, len(values))
    for index, value in enumerate(values, start=1):
        array.SetValue(index, value)
    return array

"""A helical thread between two cones, built face by face instead of by boolean operations.

Why: cutting a helical skin out of a blank takes the kernel a second of processor time. Yet every
edge such a cut finds is known beforehand. A thread face is ruled between two helices; its
parameters are the angle ``u`` (radians, counted through all turns) and ``v`` (0 to 1 across the
face). On it radius and height are linear in ``v``, and the height is linear in ``u``. A cone about
the same axis has its height linear in its radius. So the two meet along a *straight line* in the
parameters of either surface: a thread between two cones is four faces with four straight sides
each, closed by one conical face at each end. No intersection is computed, every edge is shared by
the two faces that meet in it, and time grows with the turns only through the spline poles.

Right-handed: the thread rises by one pitch per turn counter-clockwise seen from +Z. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final, TypeAlias

import cadquery as cq
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeVertex
from OCP.BRepLib import BRepLib
from OCP.Geom import (
    Geom_BSplineSurface,
    Geom_Circle,
    Geom_ConicalSurface,
    Geom_CylindricalSurface,
    Geom_Line,
    Geom_Plane,
)
from OCP.Geom2d import Geom2d_BSplineCurve, Geom2d_Line
from OCP.GeomAbs import GeomAbs_Shape
from OCP.gp import gp_Ax2, gp_Ax3, gp_Dir, gp_Dir2d, gp_Pnt, gp_Pnt2d
from OCP.TColgp import TColgp_Array1OfPnt2d, TColgp_Array2OfPnt
from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Face, TopoDS_Shell, TopoDS_Solid, TopoDS_Wire

# The kernel's bindings carry no types.
Edge: TypeAlias = Any
Vertex: TypeAlias = Any
Face: TypeAlias = Any
Surface: TypeAlias = Any

TOLERANCE_MM: Final = 1e-5
"""Tolerance put on edges, mm; the splines leave the true helix by less than 1e-6."""

# With these a uniform B-spline leaves a circle by (poles per turn - 1)^-(degree + 1) of its radius,
# 2e-8: below the kernel's own resolution up to M75, at a small number of poles.
_DEGREE: Final = 7
_POLES_PER_TURN: Final = 10
_TURN: Final = 2.0 * math.pi
_TURNS_PER_FACE: Final = 1
_CUT_MARGIN: Final = 0.3
_BEYOND: Final = 10**6
_HERE: Final = TopLoc_Location()


@dataclass(frozen=True, slots=True)
class Cone:
    """A cone about Z that ends a thread: radius ``radius_mm`` at height ``z_mm``.

    ``slope`` is d(height) / d(radius): +1 widens upwards at 45 degrees, -1 narrows upwards.
    """

    radius_mm: float
    z_mm: float
    slope: float

    def height_mm(self, radius_mm: float) -> float:
        """Return the cone's height at a radius, mm."""
        return self.z_mm + self.slope * (radius_mm - self.radius_mm)


@dataclass(frozen=True, slots=True)
class Rim:
    """A full circle about Z, counter-clockwise from its one vertex at angle ``seam_rad``."""

    edge: Edge
    vertex: Vertex
    radius_mm: float
    z_mm: float
    seam_rad: float


@dataclass(frozen=True, slots=True)
class ThreadFaces:
    """The thread's faces, normals away from the axis, and the circles that bound them."""

    faces: tuple[Face, ...]
    low: Rim
    high: Rim


def rim(radius_mm: float, z_mm: float, seam_rad: float = 0.0) -> Rim:
    """Return a circle about Z with its vertex at the angle ``seam_rad``."""
    vertex = _vertex(radius_mm, seam_rad, z_mm)
    circle = _circle(radius_mm, z_mm, seam_rad, upwards=True)
    edge = BRepBuilderAPI_MakeEdge(circle, vertex, vertex, 0.0, _TURN).Edge()
    return Rim(edge, vertex, radius_mm, z_mm, seam_rad)


def thread_faces(
    points_mm: Sequence[tuple[float, float]], pitch_mm: float, low: Cone, high: Cone
) -> ThreadFaces:
    """Build the faces of a thread from cone ``low`` to cone ``high``, both cones included.

    ``points_mm`` is one pitch of the profile as (radius, z), z rising, at angle zero; the last
    point is the first, one pitch higher. Each cone's face runs from its own circle (``radius_mm``
    at ``z_mm``, clear of the profile, all of it on one side) to the thread. Raises
    :class:`ValueError` if a cone runs along a flank, or if the cones are too close together to
    leave every point of the profile some length between them.
    """
    points_mm = _seam_first(points_mm, pitch_mm, low.radius_mm)
    starts = [_meeting_angle(low, point, pitch_mm) for point in points_mm]
    ends = [_meeting_angle(high, point, pitch_mm) for point in points_mm]
    if any(end - start < 1e-3 for start, end in zip(starts, ends, strict=True)):
        raise ValueError("the cones are too close together for this thread")

    count = len(points_mm) - 1
    cuts = [
        _cuts(max(starts[i : i + 2]) + _CUT_MARGIN, min(ends[i : i + 2]) - _CUT_MARGIN)
        for i in range(count)
    ]
    strips = []
    for i in range(count):
        turns = [_TURN * cut for cut in cuts[i]]
        bounds = [min(starts[i : i + 2]), *turns, max(ends[i : i + 2])]
        pair = points_mm[i : i + 2]
        strips.append([_ruled_surface(pair, pitch_mm, *span) for span in pairwise(bounds)])

    low_face, low_rim, low_edges, low_vertices = _end_face(
        low, starts, points_mm, [strip[0] for strip in strips]
    )
    high_face, high_rim, high_edges, high_vertices = _end_face(
        high, ends, points_mm, [strip[-1] for strip in strips]
    )
    helices = []
    for i in range(count):
        # A helix is cut wherever a face on either side of it is; the face before the first helix
        # is the last one, a turn behind.
        before = cuts[i - 1] if i else [cut + 1 for cut in cuts[-1]]
        helices.append(
            _Helix.build(
                points_mm[i],
                pitch_mm,
                (starts[i], ends[i]),
                sorted({*cuts[i], *before}),
                (low_vertices[i], high_vertices[i]),
            )
        )

    faces = [low_face, high_face]
    for i in range(count):
        below, above = helices[i], helices[(i + 1) % count]
        # The last face meets the first helix one turn on: same curve, its parameter a turn ahead.
        ahead = 1 if i + 1 == count else 0
        crossings = [
            _straight_edge(below.vertices[cut], above.vertices[cut + ahead]) for cut in cuts[i]
        ]
        bounds = [-_BEYOND, *cuts[i], _BEYOND]
        sides = [low_edges[i], *crossings, high_edges[i]]
        for k, surface in enumerate(strips[i]):
            first, last = bounds[k], bounds[k + 1]
            low_side = below.between(first, last)
            high_side = above.between(first + ahead, last + ahead)
            for edge in low_side:
                _put_on_surface(edge, _line2d((0.0, 0.0), (1.0, 0.0)), surface)
            for edge in high_side:
                _put_on_surface(edge, _line2d((-ahead * _TURN, 1.0), (1.0, 0.0)), surface)
            for cut, edge in ((first, sides[k]), (last, sides[k + 1])):
                if abs(cut) < _BEYOND:
                    _put_across(edge, cut * _TURN, surface)
            back = [edge.Reversed() for edge in reversed(high_side)]
            faces.append(_face(surface, [*low_side, sides[k + 1], *back, sides[k].Reversed()]))
    return ThreadFaces(tuple(faces), low_rim, high_rim)


def cylinder_face(first: Rim, second: Rim) -> Face:
    """Return the cylinder between two circles of one radius and seam angle, normal outwards."""
    low, high = sorted((first, second), key=lambda one: one.z_mm)
    frame = gp_Ax3(gp_Pnt(0.0, 0.0, low.z_mm), gp_Dir(0.0, 0.0, 1.0), _radial(low.seam_rad))
    surface = Geom_CylindricalSurface(frame, low.radius_mm)
    height_mm = high.z_mm - low.z_mm
    for one, v in ((low, 0.0), (high, height_mm)):
        _put_on_surface(one.edge, _line2d((0.0, v), (1.0, 0.0)), surface)
    seam = _seam(surface, low.vertex, high.vertex, 0.0, height_mm)
    return _face(surface, [low.edge, seam, high.edge.Reversed(), seam.Reversed()])


def ring_face(outer: Rim, inner: Rim) -> Face:
    """Return the flat ring between two circles at one height, normal upwards."""
    plane = Geom_Plane(gp_Ax3(gp_Pnt(0.0, 0.0, outer.z_mm), gp_Dir(0.0, 0.0, 1.0)))
    face = _face(plane, [outer.edge])
    BRep_Builder().Add(face, _wire([inner.edge.Reversed()]))
    return face


def pierced_face(face: cq.Face, hole: Rim) -> Face:
    """Return a copy of a flat face across Z with a round hole bounded by ``hole``."""
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
    """Join faces that share their edges, normals outwards, into one solid."""
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


@dataclass(frozen=True, slots=True)
class _Helix:
    """The edges along one point of the profile, cut at whole turns.

    ``edges`` holds each edge with the turns it begins and ends at (the open ends lie beyond all
    turns); ``vertices`` the vertex at each cut.
    """

    edges: tuple[tuple[int, int, Edge], ...]
    vertices: dict[int, Vertex]

    @classmethod
    def build(
        cls,
        point_mm: tuple[float, float],
        pitch_mm: float,
        span: tuple[float, float],
        cuts: Sequence[int],
        ends: tuple[Vertex, Vertex],
    ) -> _Helix:
        """Cut the helix through ``point_mm``, over ``span`` (radians), at the turns ``cuts``."""
        radius_mm, z_mm = point_mm
        vertices = {-_BEYOND: ends[0], _BEYOND: ends[1]}
        angles = {-_BEYOND: span[0], _BEYOND: span[1]}
        for cut in cuts:
            angles[cut] = cut * _TURN
            vertices[cut] = _vertex(radius_mm, angles[cut], z_mm + pitch_mm * cut)
        edges = []
        for first, last in pairwise([-_BEYOND, *cuts, _BEYOND]):
            bounds = angles[first], angles[last]
            curve = _ruled_surface([point_mm, point_mm], pitch_mm, *bounds).VIso(0.0)
            edge = BRepBuilderAPI_MakeEdge(curve, vertices[first], vertices[last], *bounds)
            edges.append((first, last, edge.Edge()))
        return cls(tuple(edges), vertices)

    def between(self, first: int, last: int) -> list[Edge]:
        """Return the edges from one cut to another."""
        return [
            edge
            for start, end, edge in self.edges
            if max(start, -_BEYOND + 1) >= first and min(end, _BEYOND - 1) <= last
        ]


def _cuts(first_rad: float, last_rad: float) -> list[int]:
    """Return the whole turns between two angles at which a row of thread faces is cut."""
    turns = range(math.ceil(first_rad / _TURN), math.floor(last_rad / _TURN) + 1)
    return [turn for turn in turns if turn % _TURNS_PER_FACE == 0]


def _seam_first(
    points_mm: Sequence[tuple[float, float]], pitch_mm: float, rim_mm: float
) -> list[tuple[float, float]]:
    """Return the profile begun at its point nearest the end circles' radius.

    A cone's face has its seam there: between that radius and the circle lies no part of the
    thread, so the seam cannot cross it.
    """
    once = list(points_mm[:-1])
    nearest = min(range(len(once)), key=lambda i: abs(once[i][0] - rim_mm))
    raised = [(radius_mm, z_mm + pitch_mm) for radius_mm, z_mm in once[: nearest + 1]]
    return once[nearest:] + raised


def _meeting_angle(cone: Cone, point: tuple[float, float], pitch_mm: float) -> float:
    """Return the angle at which the helix through ``point`` meets the cone, radians."""
    radius_mm, z_mm = point
    return _TURN * (cone.height_mm(radius_mm) - z_mm) / pitch_mm


def _end_face(
    cone: Cone,
    angles: Sequence[float],
    points_mm: Sequence[tuple[float, float]],
    thread_surfaces: Sequence[Surface],
) -> tuple[Face, Rim, list[Edge], list[Vertex]]:
    """Return the cone's face, its circle, its edges with the thread faces, and their vertices.

    Edge i runs from vertex i to vertex i + 1, that is, along the profile.
    """
    # The seam stands at the last point of the profile: a turn later it is the first point.
    seam_rad = angles[-1]
    widens_up = cone.slope > 0.0
    half_angle = math.atan2(1.0, abs(cone.slope))
    axis = gp_Dir(0.0, 0.0, 1.0 if widens_up else -1.0)
    frame = gp_Ax3(gp_Pnt(0.0, 0.0, cone.z_mm), axis, _radial(seam_rad))
    surface = Geom_ConicalSurface(frame, half_angle, cone.radius_mm)

    def on_cone(angle_rad: float, radius_mm: float) -> tuple[float, float]:
        """Parameters of a point on the conical surface; its angle runs backwards seen from below."""
        turned = angle_rad - seam_rad
        u = turned if widens_up else _TURN - turned
        return u, (radius_mm - cone.radius_mm) / math.sin(half_angle)

    vertices = [
        _vertex(radius_mm, angle_rad, cone.height_mm(radius_mm))
        for angle_rad, (radius_mm, _) in zip(angles[:-1], points_mm, strict=False)
    ]
    vertices.append(vertices[0])
    edges = []
    for i, thread_surface in enumerate(thread_surfaces):
        from_rad, to_rad = angles[i], angles[i + 1]
        from_mm, to_mm = points_mm[i][0], points_mm[i + 1][0]
        length = abs(to_rad - from_rad)
        if length < 1e-6:
            raise ValueError("a cone runs along a flank of the thread")
        on_thread = _segment2d((from_rad, 0.0), (to_rad, 1.0), length)
        if from_mm == to_mm:
            circle = _circle(from_mm, cone.height_mm(from_mm), from_rad, to_rad > from_rad)
            edge = BRepBuilderAPI_MakeEdge(circle, vertices[i], vertices[i + 1], 0.0, length).Edge()
            _put_on_surface(edge, on_thread, thread_surface)
        else:
            edge = BRepBuilderAPI_MakeEdge(
                on_thread, thread_surface, vertices[i], vertices[i + 1], 0.0, length
            ).Edge()
            BRepLib.BuildCurve3d_s(edge, TOLERANCE_MM / 10.0, GeomAbs_Shape.GeomAbs_C2, 11, 100)
        flat = _segment2d(on_cone(from_rad, from_mm), on_cone(to_rad, to_mm), length)
        _put_on_surface(edge, flat, surface)
        edges.append(edge)

    circle_rim = rim(cone.radius_mm, cone.z_mm, seam_rad)
    # On the surface the circle runs towards +u or, seen from below, towards -u.
    curve = _line2d((0.0, 0.0), (1.0, 0.0)) if widens_up else _line2d((_TURN, 0.0), (-1.0, 0.0))
    _put_on_surface(circle_rim.edge, curve, surface)

    round_circle = [circle_rim.edge if widens_up else circle_rim.edge.Reversed()]
    round_thread = [one.Reversed() for one in reversed(edges)] if widens_up else list(edges)
    v_thread = on_cone(seam_rad, points_mm[0][0])[1]
    if v_thread > 0.0:
        seam = _seam(surface, circle_rim.vertex, vertices[0], 0.0, v_thread)
        inner, outer = round_circle, round_thread
    else:
        seam = _seam(surface, vertices[0], circle_rim.vertex, v_thread, 0.0)
        inner, outer = round_thread, round_circle
    back = [one.Reversed() for one in reversed(outer)]
    face = _face(surface, [*inner, seam, *back, seam.Reversed()])
    return face, circle_rim, edges, vertices


def _ruled_surface(
    pair_mm: Sequence[tuple[float, float]], pitch_mm: float, first_rad: float, last_rad: float
) -> Surface:
    """Return the surface ruled between the helices through two points, u the angle in radians.

    Its splines are uniform, and their poles are those of the helix scaled: a uniform B-spline with
    poles on a circle is a circle of sinc(step / 2)^(degree + 1) times the radius, but for a ripple
    far below the tolerance; the height, linear in the angle, it reproduces exactly. Knots lie on
    one grid for all faces, so neighbours agree to the last digit.
    """
    step = _TURN / _POLES_PER_TURN
    low, high = math.floor(first_rad / step), math.ceil(last_rad / step)
    count = high - low + _DEGREE
    shrink = (math.sin(step / 2.0) / (step / 2.0)) ** (_DEGREE + 1)
    poles = TColgp_Array2OfPnt(1, count, 1, 2)
    for index in range(count):
        angle = (low + index - (_DEGREE - 1) / 2.0) * step
        for side, (radius_mm, z_mm) in enumerate(pair_mm, start=1):
            reach = radius_mm / shrink
            height = z_mm + pitch_mm * angle / _TURN
            poles.SetValue(
                index + 1,
                side,
                gp_Pnt(reach * math.cos(angle), reach * math.sin(angle), height),
            )
    grid = [(low - _DEGREE + index) * step for index in range(count + _DEGREE + 1)]
    surface = Geom_BSplineSurface(
        poles,
        _reals(grid),
        _reals([0.0, 1.0]),
        _integers([1] * len(grid)),
        _integers([2, 2]),
        _DEGREE,
        1,
    )
    # Clamp the ends: other systems expect a spline to begin and end in its poles.
    surface.Segment(low * step, high * step, 0.0, 1.0)
    return surface


def _seam(surface: Surface, low: Vertex, high: Vertex, low_v: float, high_v: float) -> Edge:
    """Return the straight edge along which a surface of revolution meets itself."""
    line = surface.UIso(0.0)
    assert isinstance(line, Geom_Line)
    edge = BRepBuilderAPI_MakeEdge(line, low, high, low_v, high_v).Edge()
    right, left = _line2d((_TURN, 0.0), (0.0, 1.0)), _line2d((0.0, 0.0), (0.0, 1.0))
    BRep_Builder().UpdateEdge(edge, right, left, surface, _HERE, TOLERANCE_MM)
    return edge


def _straight_edge(start: Vertex, end: Vertex) -> Edge:
    return BRepBuilderAPI_MakeEdge(start, end).Edge()


def _put_across(edge: Edge, angle: float, surface: Surface) -> None:
    """Lay a straight edge across a thread face onto the face's line at ``angle``."""
    length = cq.Edge(edge).Length()
    _put_on_surface(edge, _segment2d((angle, 0.0), (angle, 1.0), length), surface)


def _put_on_surface(edge: Edge, curve: Any, surface: Surface) -> None:
    BRep_Builder().UpdateEdge(edge, curve, surface, _HERE, TOLERANCE_MM)


def _face(surface: Surface, edges: Sequence[Edge]) -> Face:
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


def _vertex(radius_mm: float, angle_rad: float, z_mm: float) -> Vertex:
    point = gp_Pnt(radius_mm * math.cos(angle_rad), radius_mm * math.sin(angle_rad), z_mm)
    vertex = BRepBuilderAPI_MakeVertex(point).Vertex()
    BRep_Builder().UpdateVertex(vertex, TOLERANCE_MM)
    return vertex


def _circle(radius_mm: float, z_mm: float, from_rad: float, upwards: bool) -> Any:
    """Return a circle about Z that starts at an angle and runs round +Z (``upwards``) or -Z."""
    axis = gp_Dir(0.0, 0.0, 1.0 if upwards else -1.0)
    return Geom_Circle(gp_Ax2(gp_Pnt(0.0, 0.0, z_mm), axis, _radial(from_rad)), radius_mm)


def _radial(angle_rad: float) -> Any:
    return gp_Dir(math.cos(angle_rad), math.sin(angle_rad), 0.0)


def _line2d(origin: tuple[float, float], direction: tuple[float, float]) -> Any:
    return Geom2d_Line(gp_Pnt2d(*origin), gp_Dir2d(*direction))


def _segment2d(start: tuple[float, float], end: tuple[float, float], length: float) -> Any:
    """Return a straight curve between two points, its parameter running from 0 to ``length``."""
    poles = TColgp_Array1OfPnt2d(1, 2)
    poles.SetValue(1, gp_Pnt2d(*start))
    poles.SetValue(2, gp_Pnt2d(*end))
    return Geom2d_BSplineCurve(poles, _reals([0.0, length]), _integers([2, 2]), 1)


def _reals(values: Sequence[float]) -> Any:
    array = TColStd_Array1OfReal(1, len(values))
    for index, value in enumerate(values, start=1):
        array.SetValue(index, value)
    return array


def _integers(values: Sequence[int]) -> Any:
    array = TColStd_Array1OfInteger(1, len(values))
    for index, value in enumerate(values, start=1):
        array.SetValue(index, value)
    return array

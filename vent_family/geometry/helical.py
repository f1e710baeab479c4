"""A helical thread between two cones, built face by face instead of by boolean operations.

Why: cutting a helical skin out of a blank takes the kernel a second of processor time. Yet every
edge such a cut finds is known beforehand. A thread face is ruled between two helices; its
parameters are the angle ``u`` (radians, counted through all turns) and ``v`` (0 to 1 across the
face). On it radius and height are linear in ``v``, and the height is linear in ``u``. A cone about
the same axis has its height linear in its radius. So the two meet along a *straight line* in the
parameters of either surface: a thread between two cones is a strip with straight sides for each
piece of the profile, closed by one conical face at each end. No intersection is computed, and every
edge is shared by the two faces that meet in it.

The strips are cut into faces of one turn: the kernel's mesher needs time with the square of a
face's size (8 s for 40 turns in one face, 0.4 s in 40), its volume integral is right on them
without a tolerance, and other systems read them more readily than a face that winds forty times.

Right-handed: the thread rises by one pitch per turn counter-clockwise seen from +Z. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
from OCP.BRepLib import BRepLib
from OCP.Geom import Geom_BSplineSurface, Geom_ConicalSurface
from OCP.GeomAbs import GeomAbs_Shape
from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt
from OCP.TColgp import TColgp_Array2OfPnt

from vent_family.geometry.faces import (
    TOLERANCE_MM,
    TURN,
    Edge,
    Face,
    Rim,
    Surface,
    Vertex,
    backwards,
    circle_about_z,
    face_of,
    integers,
    line2d,
    put_on_surface,
    radial,
    reals,
    rim,
    seam_edge,
    segment2d,
    vertex_at,
)

# With these a uniform B-spline leaves a circle by (poles per turn - 1)^-(degree + 1) of its radius,
# 2e-8, which is less than 1e-6 mm up to M75, at a small number of poles.
_DEGREE: Final = 7
_POLES_PER_TURN: Final = 10

_CUT_MARGIN: Final = 0.3
"""Least angle between a strip's end and its nearest cut, radians: no slivers."""

_BEYOND: Final = 10**6
"""Stands for a strip's open ends among whole turns."""


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
class ThreadFaces:
    """The thread's faces, normals away from the axis, and the circles that bound them."""

    faces: tuple[Face, ...]
    low: Rim
    high: Rim


def thread_faces(
    points_mm: Sequence[tuple[float, float]], pitch_mm: float, low: Cone, high: Cone
) -> ThreadFaces:
    """Build the faces of a thread from cone ``low`` to cone ``high``, both cones included.

    ``points_mm`` is one pitch of the profile as (radius, z), z rising, at angle zero; the last
    point is the first, one pitch higher. Each cone's face runs from its own circle (``radius_mm``
    at ``z_mm``, clear of the profile, all of it on one side) to the thread.

    Raises
    ------
    ValueError
        if a cone runs along a flank, or if the cones are too close together to leave every point
        of the profile some length between them
    """
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
        turns = [TURN * cut for cut in cuts[i]]
        stops = [min(starts[i : i + 2]), *turns, max(ends[i : i + 2])]
        pair = points_mm[i : i + 2]
        strips.append([_ruled_surface(pair, pitch_mm, *span) for span in pairwise(stops)])

    bottom = _end_face(low, starts, points_mm, [strip[0] for strip in strips])
    top = _end_face(high, ends, points_mm, [strip[-1] for strip in strips])
    helices = []
    for i in range(count):
        # A helix is cut wherever a strip on either side of it is; the strip before the first helix
        # is the last one, a turn behind.
        before = cuts[i - 1] if i else [cut + 1 for cut in cuts[-1]]
        helices.append(
            _Helix.build(
                points_mm[i],
                pitch_mm,
                (starts[i], ends[i]),
                sorted({*cuts[i], *before}),
                (bottom.vertices[i], top.vertices[i]),
            )
        )

    faces = [bottom.face, top.face]
    for i in range(count):
        below, above = helices[i], helices[(i + 1) % count]
        # The last strip meets the first helix one turn on: same curve, its parameter a turn ahead.
        ahead = 1 if i + 1 == count else 0
        crossings = [
            [_straight_edge(below.vertices[cut], above.vertices[cut + ahead])] for cut in cuts[i]
        ]
        bounds = [-_BEYOND, *cuts[i], _BEYOND]
        sides = [bottom.edges[i], *crossings, top.edges[i]]
        for k, surface in enumerate(strips[i]):
            first, last = bounds[k], bounds[k + 1]
            low_side = below.between(first, last)
            high_side = above.between(first + ahead, last + ahead)
            for edge in low_side:
                put_on_surface(edge, line2d((0.0, 0.0), (1.0, 0.0)), surface)
            for edge in high_side:
                put_on_surface(edge, line2d((-ahead * TURN, 1.0), (1.0, 0.0)), surface)
            for cut, side in ((first, sides[k]), (last, sides[k + 1])):
                if abs(cut) < _BEYOND:
                    _put_across(side[0], cut * TURN, surface)
            around = [*low_side, *sides[k + 1], *backwards(high_side), *backwards(sides[k])]
            faces.append(face_of(surface, around))
    return ThreadFaces(tuple(faces), bottom.rim, top.rim)


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
            angles[cut] = cut * TURN
            vertices[cut] = vertex_at(radius_mm, angles[cut], z_mm + pitch_mm * cut)
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
    """Return the whole turns between two angles, at which a strip is cut into faces."""
    return list(range(math.ceil(first_rad / TURN), math.floor(last_rad / TURN) + 1))


def _meeting_angle(cone: Cone, point: tuple[float, float], pitch_mm: float) -> float:
    """Return the angle at which the helix through ``point`` meets the cone, radians."""
    radius_mm, z_mm = point
    return TURN * (cone.height_mm(radius_mm) - z_mm) / pitch_mm


@dataclass(frozen=True, slots=True)
class _End:
    """What closes a thread at one cone.

    ``edges`` holds, for each thread face, the edges it shares with the cone, in profile order;
    ``vertices`` the vertex at each point of the profile.
    """

    face: Face
    rim: Rim
    edges: list[list[Edge]]
    vertices: list[Vertex]


def _end_face(
    cone: Cone,
    angles: Sequence[float],
    points_mm: Sequence[tuple[float, float]],
    thread_surfaces: Sequence[Surface],
) -> _End:
    """Build the cone's face between its circle and the thread.

    On the cone, one turn of the thread is a closed line that runs backwards, in places, where the
    cone is steeper than the flanks. The seam stands in the middle of the flank that takes up most
    of the turn, far from those places: so the whole line lies within one turn of the surface.
    """
    spans = [abs(b - a) for a, b in pairwise(angles)]
    if min(spans) < 1e-6:
        raise ValueError("a cone runs along a flank of the thread")
    split = spans.index(max(spans))
    seam_rad = (angles[split] + angles[split + 1]) / 2.0
    seam_mm = (points_mm[split][0] + points_mm[split + 1][0]) / 2.0

    widens_up = cone.slope > 0.0
    half_angle = math.atan2(1.0, abs(cone.slope))
    axis = gp_Dir(0.0, 0.0, 1.0 if widens_up else -1.0)
    frame = gp_Ax3(gp_Pnt(0.0, 0.0, cone.z_mm), axis, radial(seam_rad))
    surface = Geom_ConicalSurface(frame, half_angle, cone.radius_mm)

    def on_cone(angle_rad: float, radius_mm: float, turn: int) -> tuple[float, float]:
        """Return the surface's parameters; its angle runs backwards if it is seen from below."""
        u = angle_rad - seam_rad + turn * TURN
        v = (radius_mm - cone.radius_mm) / math.sin(half_angle)
        return (u if widens_up else TURN - u), v

    vertices = [
        vertex_at(radius_mm, angle_rad, cone.height_mm(radius_mm))
        for angle_rad, (radius_mm, _) in zip(angles[:-1], points_mm, strict=False)
    ]
    vertices.append(vertices[0])
    seam_vertex = vertex_at(seam_mm, seam_rad, cone.height_mm(seam_mm))

    edges: list[list[Edge]] = []
    before: list[Edge] = []
    after: list[Edge] = []
    for i, thread_surface in enumerate(thread_surfaces):
        # Along the profile the angle falls by a turn in all: first comes what lies before the
        # seam's flank, last what lies behind it, which the closed line meets first.
        stops = [_Stop(angles[i], points_mm[i][0], 0.0, vertices[i])]
        if i == split:
            stops.append(_Stop(seam_rad, seam_mm, 0.5, seam_vertex))
        stops.append(_Stop(angles[i + 1], points_mm[i + 1][0], 1.0, vertices[i + 1]))
        pieces = []
        for start, stop in pairwise(stops):
            behind = i > split or start.vertex is seam_vertex
            turn = 1 if behind else 0
            edge = _end_edge(cone, thread_surface, start, stop)
            on_surface = segment2d(
                on_cone(start.angle_rad, start.radius_mm, turn),
                on_cone(stop.angle_rad, stop.radius_mm, turn),
                abs(stop.angle_rad - start.angle_rad),
            )
            put_on_surface(edge, on_surface, surface)
            pieces.append(edge)
            (after if behind else before).append(edge)
        edges.append(pieces)

    circle_rim = rim(cone.radius_mm, cone.z_mm, seam_rad)
    # On the surface the circle runs towards +u or, seen from below, towards -u.
    curve = line2d((0.0, 0.0), (1.0, 0.0)) if widens_up else line2d((TURN, 0.0), (-1.0, 0.0))
    put_on_surface(circle_rim.edge, curve, surface)

    # Both closed lines in the sense of rising u.
    line = [*after, *before]
    round_thread = backwards(line) if widens_up else line
    round_circle = [circle_rim.edge] if widens_up else backwards([circle_rim.edge])
    v_thread = on_cone(seam_rad, seam_mm, 0)[1]
    if v_thread > 0.0:
        seam = seam_edge(surface, circle_rim.vertex, seam_vertex, 0.0, v_thread)
        inner, outer = round_circle, round_thread
    else:
        seam = seam_edge(surface, seam_vertex, circle_rim.vertex, v_thread, 0.0)
        inner, outer = round_thread, round_circle
    face = face_of(surface, [*inner, seam, *backwards(outer), seam.Reversed()])
    return _End(face, circle_rim, edges, vertices)


@dataclass(frozen=True, slots=True)
class _Stop:
    """A point where thread and cone meet; ``across`` is its place across the face, 0 to 1."""

    angle_rad: float
    radius_mm: float
    across: float
    vertex: Vertex


def _end_edge(cone: Cone, thread_surface: Surface, start: _Stop, stop: _Stop) -> Edge:
    """Return the edge in which a thread face meets the cone, on the thread face's surface.

    Its parameter runs from 0 to the angle between the two stops.
    """
    length = abs(stop.angle_rad - start.angle_rad)
    on_thread = segment2d((start.angle_rad, start.across), (stop.angle_rad, stop.across), length)
    ends = start.vertex, stop.vertex, 0.0, length
    if start.radius_mm == stop.radius_mm:
        height_mm = cone.height_mm(start.radius_mm)
        rises = stop.angle_rad > start.angle_rad
        circle = circle_about_z(start.radius_mm, height_mm, start.angle_rad, rises)
        edge = BRepBuilderAPI_MakeEdge(circle, *ends).Edge()
        put_on_surface(edge, on_thread, thread_surface)
        return edge
    edge = BRepBuilderAPI_MakeEdge(on_thread, thread_surface, *ends).Edge()
    BRepLib.BuildCurve3d_s(edge, TOLERANCE_MM / 10.0, GeomAbs_Shape.GeomAbs_C2, 11, 100)
    return edge


def _ruled_surface(
    pair_mm: Sequence[tuple[float, float]], pitch_mm: float, first_rad: float, last_rad: float
) -> Surface:
    """Return the surface ruled between the helices through two points, u the angle in radians.

    Its splines are uniform, and their poles are those of the helix scaled: a uniform B-spline with
    poles on a circle is a circle of sinc(step / 2)^(degree + 1) times the radius, but for a ripple
    far below the tolerance; the height, linear in the angle, it reproduces exactly. Knots lie on
    one grid for all faces, so neighbours agree to the last digit.
    """
    step = TURN / _POLES_PER_TURN
    low, high = math.floor(first_rad / step + 1e-9), math.ceil(last_rad / step - 1e-9)
    count = high - low + _DEGREE
    shrink = (math.sin(step / 2.0) / (step / 2.0)) ** (_DEGREE + 1)
    poles = TColgp_Array2OfPnt(1, count, 1, 2)
    for index in range(count):
        angle = (low + index - (_DEGREE - 1) / 2.0) * step
        for side, (radius_mm, z_mm) in enumerate(pair_mm, start=1):
            reach = radius_mm / shrink
            height = z_mm + pitch_mm * angle / TURN
            poles.SetValue(
                index + 1,
                side,
                gp_Pnt(reach * math.cos(angle), reach * math.sin(angle), height),
            )
    grid = [(low - _DEGREE + index) * step for index in range(count + _DEGREE + 1)]
    surface = Geom_BSplineSurface(
        poles,
        reals(grid),
        reals([0.0, 1.0]),
        integers([1] * len(grid)),
        integers([2, 2]),
        _DEGREE,
        1,
    )
    # Clamp the ends: other systems expect a spline to begin and end in its poles.
    surface.Segment(low * step, high * step, 0.0, 1.0)
    return surface


def _straight_edge(start: Vertex, end: Vertex) -> Edge:
    return BRepBuilderAPI_MakeEdge(start, end).Edge()


def _put_across(edge: Edge, angle: float, surface: Surface) -> None:
    """Lay a straight edge across a thread face onto the face's line at ``angle``."""
    length = cq.Edge(edge).Length()
    put_on_surface(edge, segment2d((angle, 0.0), (angle, 1.0), length), surface)

"""Views of exact solids as plane lines: hidden ones left out by the kernel, cuts as areas.

Lines and areas are in the view's own plane, mm, x to the right and y up, rounded to
:data:`GRID_MM`, each drawn once, joined into long ones, and in an order that depends on nothing but
the shape.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import cadquery as cq
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
from OCP.BRepLib import BRepLib
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools_WireExplorer
from OCP.GCPnts import GCPnts_TangentialDeflection
from OCP.GeomAbs import GeomAbs_Line
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import (
    HLRBRep_Algo,
    HLRBRep_HLRToShape,
    HLRBRep_PolyAlgo,
    HLRBRep_PolyHLRToShape,
)
from OCP.TopAbs import TopAbs_EDGE, TopAbs_REVERSED
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Shape
from shapely.geometry import Polygon

from vent_family.geometry.primitives import box

Point = tuple[float, float]
Line = tuple[Point, ...]
"""A polyline, mm."""

GRID_MM: Final = 0.01
"""To what points of a view are rounded."""
_CHORD_MM: Final = 0.01
_ANGLE_RAD: Final = 0.2
"""How far a polyline may leave a curve, and turn from piece to piece."""
_FACET_MM: Final = 0.05
_FACET_RAD: Final = 0.3
"""The same for the facets of a view that is made of facets."""
_SMOOTH_RAD: Final = 1e-3
"""Faces that turn by less across an edge go on smoothly there."""
_BEYOND_MM: Final = 1e4
_ON_PLANE_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Direction:
    """From where a view is taken.

    ``towards`` the viewer and to the ``right`` of the view are ratios of x, y and z.
    """

    towards: tuple[float, float, float]
    right: tuple[float, float, float]


FROM_FRONT: Final = Direction((0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
"""From outside onto the panel: x to the right, y up."""
FROM_LEFT: Final = Direction((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
"""From the left: z, and with it the outside, to the right, y up."""


def seen_from(direction: Direction, shape: cq.Shape, *, facets: bool = False) -> tuple[Line, ...]:
    """Return the lines that are seen of a shape; smooth seams are none.

    With ``facets`` the view is that of a mesh of the shape, 0.05 mm from its faces at most: for
    true threads from the side, on which the exact way takes many seconds.

    Examples
    --------
    A box behind another one of the same size shows nothing of itself:

    >>> block = cq.Compound.makeCompound([box((0, 4), (0, 3), (z, z + 1)) for z in (0, 5)])
    >>> seen_from(FROM_FRONT, block)
    (((0.0, 0.0), (0.0, 3.0), (4.0, 3.0), (4.0, 0.0), (0.0, 0.0)),)
    """
    projector = HLRAlgo_Projector(
        gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*direction.towards), gp_Dir(*direction.right))
    )
    # A copy without triangles: those of the original depend on who meshed it before.
    bare = BRepBuilderAPI_Copy(shape.wrapped, False, False).Shape()
    # Edges across which faces go on smoothly are no lines; not every one says so itself.
    BRepLib.EncodeRegularity_s(bare, _SMOOTH_RAD)
    found = _by_facets(bare, projector) if facets else _exactly(bare, projector)
    return joined(_lines(found.VCompound(), found.OutLineVCompound()))


def _exactly(bare: TopoDS_Shape, projector: HLRAlgo_Projector) -> HLRBRep_HLRToShape:
    algorithm = HLRBRep_Algo()
    algorithm.Add(bare)
    algorithm.Projector(projector)
    algorithm.Update()
    algorithm.Hide()
    return HLRBRep_HLRToShape(algorithm)


def _by_facets(bare: TopoDS_Shape, projector: HLRAlgo_Projector) -> HLRBRep_PolyHLRToShape:
    # The last word: in one thread, for the same facets each time.
    BRepMesh_IncrementalMesh(bare, _FACET_MM, False, _FACET_RAD, False)
    algorithm = HLRBRep_PolyAlgo()
    algorithm.Load(bare)
    algorithm.Projector(projector)
    algorithm.Update()
    found = HLRBRep_PolyHLRToShape()
    found.Update(algorithm)
    return found


def _lines(*compounds: TopoDS_Shape | None) -> Iterator[Line]:
    """Yield the edges of what the kernel drew, as polylines in its plane."""
    for compound in compounds:
        if compound is None or compound.IsNull():
            continue
        BRepLib.BuildCurves3d_s(compound)
        edges = TopExp_Explorer(compound, TopAbs_EDGE)
        while edges.More():
            yield tuple((p.X(), p.Y()) for p in _points(TopoDS.Edge_s(edges.Current())))
            edges.Next()


def _points(edge: TopoDS_Edge) -> list[gp_Pnt]:
    """Return points along an edge: the ends of a straight one, more on curves."""
    curve = BRepAdaptor_Curve(edge)
    if curve.GetType() == GeomAbs_Line:
        return [curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter())]
    along = GCPnts_TangentialDeflection(curve, _ANGLE_RAD, _CHORD_MM)
    return [along.Value(i) for i in range(1, along.NbPoints() + 1)]


def cut_x_mm(bays: Sequence[tuple[float, float]]) -> float:
    """Return where a vent with these bays (x, mm) is cut open: in a bay, never along a rib.

    Examples
    --------
    In the middle if no rib stands there:

    >>> cut_x_mm([(-20.0, -8.0), (-6.0, 6.0), (8.0, 20.0)]), cut_x_mm([(-20.0, -1.0), (1.0, 20.0)])
    (0.0, -10.5)
    """
    if any(a < 0.0 < b for a, b in bays):
        return 0.0
    return min((0.5 * (a + b) for a, b in bays), key=abs)


def half_beyond(shape: cq.Shape, x_mm: float) -> cq.Shape:
    """Return what lies right of the plane at ``x_mm``, mm: what is seen of a cut from the left."""
    far = (-_BEYOND_MM, _BEYOND_MM)
    operation = BRepAlgoAPI_Common(shape.wrapped, box((x_mm, _BEYOND_MM), far, far).wrapped)
    return cq.Shape.cast(operation.Shape())


def cut_areas(half: cq.Shape, x_mm: float) -> tuple[Polygon, ...]:
    """Return the areas (z, y) in which a half of :func:`half_beyond` was cut at ``x_mm``, mm.

    Examples
    --------
    >>> tube = cq.Solid.makeCylinder(5.0, 20.0).cut(cq.Solid.makeCylinder(3.0, 20.0))
    >>> [area.bounds for area in cut_areas(half_beyond(tube, 0.0), 0.0)]
    [(0.0, -5.0, 20.0, -3.0), (0.0, 3.0, 20.0, 5.0)]
    """
    found = []
    for face in half.Faces():
        if face.geomType() != "PLANE" or abs(face.Center().x - x_mm) > _ON_PLANE_MM:
            continue
        reach = face.BoundingBox()
        if reach.xmax - reach.xmin > 1e-4:
            continue
        rings = [_ring(wire, face) for wire in (face.outerWire(), *face.innerWires())]
        found.append(Polygon(rings[0], rings[1:]))
    return tuple(sorted(found, key=lambda area: area.bounds))


def _ring(wire: cq.Wire, face: cq.Face) -> list[Point]:
    """Return a wire's corners (z, y) in the order in which it goes round."""
    ring: list[Point] = []
    edges = BRepTools_WireExplorer(wire.wrapped, face.wrapped)
    while edges.More():
        points = _points(edges.Current())
        if edges.Current().Orientation() == TopAbs_REVERSED:
            points.reverse()
        ring += [_near((p.Z(), p.Y())) for p in points[:-1]]
        edges.Next()
    return ring


def joined(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Return polylines rounded, each piece once, joined where two ends meet, and sorted.

    Level and upright pieces that overlap become one; so do pieces that go on straight.

    Examples
    --------
    >>> joined([((0, 0), (2, 0)), ((5, 0), (1, 0)), ((5, 0), (5.001, 3))])
    (((0.0, 0.0), (5.0, 0.0), (5.0, 3.0)),)
    """
    pieces = {
        (min(a, b), max(a, b))
        for line in lines
        for a, b in _pairs([_near(point) for point in line])
        if a != b
    }
    return tuple(sorted(_straightened(line) for line in _chains(sorted(_merged(pieces)))))


Piece = tuple[Point, Point]


def _near(point: Sequence[float]) -> Point:
    x, y = (round(round(value / GRID_MM) * GRID_MM, 2) + 0.0 for value in point)
    return x, y


def _pairs(line: Sequence[Point]) -> Iterator[Piece]:
    yield from pairwise(line)


def _merged(pieces: set[Piece]) -> list[Piece]:
    """Return pieces of which level and upright ones no longer overlap or end in each other."""
    rows: dict[tuple[int, float], list[tuple[float, float]]] = defaultdict(list)
    found: list[Piece] = []
    for a, b in pieces:
        if a[1] == b[1]:
            rows[0, a[1]].append((a[0], b[0]))
        elif a[0] == b[0]:
            rows[1, a[0]].append((a[1], b[1]))
        else:
            found.append((a, b))
    for (axis, across), spans in rows.items():
        spans.sort()
        low, high = spans[0]
        runs = []
        for start, end in spans[1:]:
            if start > high:
                runs.append((low, high))
                low, high = start, end
            high = max(high, end)
        runs.append((low, high))
        for start, end in runs:
            ends = [(start, across), (end, across)]
            a, b = ends if axis == 0 else [(y, x) for x, y in ends]
            found.append((a, b))
    return found


def _chains(pieces: list[Piece]) -> Iterator[Line]:
    """Yield pieces joined at the points where exactly two of them end."""
    ends: dict[Point, list[int]] = defaultdict(list)
    for index, piece in enumerate(pieces):
        for point in piece:
            ends[point].append(index)
    left = set(range(len(pieces)))

    def walk(start: Point, index: int) -> list[Point]:
        line = [start]
        while True:
            left.discard(index)
            a, b = pieces[index]
            line.append(b if line[-1] == a else a)
            onward = [i for i in ends[line[-1]] if i in left]
            if len(ends[line[-1]]) != 2 or not onward:
                return line
            index = onward[0]

    # Open lines begin at their ends; what is left then goes round.
    for index, piece in enumerate(pieces):
        for point in piece:
            if index in left and len(ends[point]) != 2:
                yield tuple(walk(point, index))
    for index, piece in enumerate(pieces):
        if index in left:
            yield tuple(walk(piece[0], index))


def _straightened(line: Line) -> Line:
    """Return a polyline without points on the straight way between their neighbours.

    It begins at the lesser end; a closed one at its least corner, and goes up first.
    """
    kept = [line[0]]
    for before, point, after in zip(line, line[1:], line[2:], strict=False):
        if not _straight(kept[-1] if kept else before, point, after):
            kept.append(point)
    kept.append(line[-1])
    if kept[0] != kept[-1]:
        return tuple(kept) if kept[0] < kept[-1] else tuple(reversed(kept))
    ring = kept[:-1]
    first = ring.index(min(ring))
    ring = ring[first:] + ring[:first]
    if ring[-1] < ring[1]:
        ring = [ring[0], *reversed(ring[1:])]
    return (*ring, ring[0])


def _straight(a: Point, b: Point, c: Point) -> bool:
    across = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    along = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
    return along > 0.0 and abs(across) <= 0.5 * GRID_MM * math.hypot(c[0] - a[0], c[1] - a[1])

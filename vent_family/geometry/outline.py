"""Outlines of flat faces as corners and bends, the way drawings for machines take them. mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cadquery as cq
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepTools import BRepTools_WireExplorer
from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Line
from OCP.gp import gp_Pnt
from OCP.TopAbs import TopAbs_FORWARD

from vent_family.geometry.primitives import GeometryError

_PLAY_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Bend:
    """A side of an outline, bent or straight: where it starts (x, y), mm, and how it is bent.

    ``bulge`` (1) is the tangent of a quarter of the angle that an arc turns through, above zero
    counterclockwise; 0 for a straight side.
    """

    x_mm: float
    y_mm: float
    bulge: float = 0.0


@dataclass(frozen=True, slots=True)
class Disc:
    """A whole circle: centre (x, y) and diameter, mm."""

    x_mm: float
    y_mm: float
    diameter_mm: float


def upper_outline(solid: cq.Solid) -> tuple[Bend, ...] | Disc:
    """Return the outline of a solid's upper face, counterclockwise.

    Raises
    ------
    GeometryError
        if its upper face is not one plane face without holes, bounded by straight lines and arcs

    Examples
    --------
    >>> upper_outline(cq.Solid.makeBox(4.0, 2.0, 1.0))[:2]
    (Bend(x_mm=0.0, y_mm=0.0, bulge=0.0), Bend(x_mm=4.0, y_mm=0.0, bulge=0.0))
    >>> upper_outline(cq.Solid.makeCylinder(3.0, 1.0, cq.Vector(1.0, 2.0, 0.0)))
    Disc(x_mm=1.0, y_mm=2.0, diameter_mm=6.0)
    """
    top = solid.BoundingBox().zmax
    upper = [
        face
        for face in solid.Faces()
        if face.geomType() == "PLANE"
        and abs(face.Center().z - top) < _PLAY_MM
        and face.normalAt().z > 0.5
    ]
    if len(upper) != 1 or upper[0].innerWires():
        raise GeometryError("the opening's tool does not end in one face without holes")
    sides = _sides(upper[0])
    disc = _disc(sides)
    if disc is not None:
        return disc
    return _ordered([Bend(a.X(), a.Y(), bulge) for a, _, bulge, _ in sides])


_Edge = tuple[gp_Pnt, gp_Pnt, float, Disc | None]


def _sides(face: cq.Face) -> list[_Edge]:
    """Return the sides of a face: start, end, bulge, and the circle that an arc is of."""
    found: list[_Edge] = []
    explorer = BRepTools_WireExplorer(face.outerWire().wrapped, face.wrapped)
    while explorer.More():
        edge = explorer.Current()
        curve = BRepAdaptor_Curve(edge)
        first, last = curve.FirstParameter(), curve.LastParameter()
        if edge.Orientation() != TopAbs_FORWARD:
            first, last = last, first
        start, end = curve.Value(first), curve.Value(last)
        kind = curve.GetType()
        if kind == GeomAbs_Line:
            found.append((start, end, 0.0, None))
        elif kind == GeomAbs_Circle:
            circle = curve.Circle()
            middle = circle.Location()
            disc = Disc(middle.X(), middle.Y(), 2.0 * circle.Radius())
            turn = math.copysign(abs(last - first), circle.Axis().Direction().Z() * (last - first))
            found.append((start, end, math.tan(0.25 * turn), disc))
        else:
            raise GeometryError("the opening's outline is neither straight nor round")
        explorer.Next()
    return found


def _disc(sides: Sequence[_Edge]) -> Disc | None:
    """Return the circle that all sides are arcs of, if they are."""
    first = sides[0][3]
    if first is None:
        return None
    for _, _, _, disc in sides:
        if (
            disc is None
            or max(
                abs(disc.x_mm - first.x_mm),
                abs(disc.y_mm - first.y_mm),
                abs(disc.diameter_mm - first.diameter_mm),
            )
            > _PLAY_MM
        ):
            return None
    return first


def _ordered(sides: list[Bend]) -> tuple[Bend, ...]:
    """Return an outline from its lowest, then leftmost corner."""
    start = min(range(len(sides)), key=lambda i: (round(sides[i].y_mm, 6), sides[i].x_mm))
    return tuple(sides[start:] + sides[:start])

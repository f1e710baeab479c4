"""Slats set into a finished hollow body without any boolean operation.

A slat between two flat, parallel rib faces is a handle on the body: its outline becomes a hole in
both rib faces, and its side faces run from one hole to the other. Building exactly those faces
around shared edges gives the same solid as a union, at a small, strictly linear cost per slat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cadquery as cq
from OCP.BRep import BRep_Builder
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.BRepTools import BRepTools_ReShape
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.gp import gp_Vec
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape, TopoDS_Shell, TopoDS_Solid

from vent_family.geometry.primitives import GeometryError, Point, wire_at_x

_SAME_X_MM: Final = 1e-4
"""Planes square to x this near to each other are one, mm; two sides of a rib are 1 mm apart."""


@dataclass(frozen=True, slots=True)
class Span:
    """A slat outline (z, y) that crosses one bay from ``x0`` to ``x1``, mm.

    The outline must lie wholly inside the flat faces that bound the bay at both x.
    """

    outline: tuple[Point, ...]
    x0: float
    x1: float


def insert_slats(body: cq.Solid, spans: Sequence[Span]) -> cq.Solid:
    """Return the body with all slats set in.

    Raises
    ------
    GeometryError
        if a bay's end is not bounded by a flat face that holds the outline
    """
    if not spans:
        return body
    ends = _EndFaces(body)
    sides: list[TopoDS_Shape] = []
    for span in spans:
        outline = _anticlockwise(span.outline)
        wire = wire_at_x(outline, span.x0)
        prism = BRepPrimAPI_MakePrism(wire.wrapped, gp_Vec(span.x1 - span.x0, 0.0, 0.0))
        sides.append(prism.Shape())
        ends.add_hole(outline, span.x0, prism.FirstShape(), low_side=True)
        ends.add_hole(outline, span.x1, prism.LastShape(), low_side=False)
    return _closed(ends.replaced(), sides)


class _EndFaces:
    """The faces of a body square to x, each collecting the holes it is given."""

    def __init__(self, body: cq.Solid) -> None:
        self._body = body.wrapped
        self._faces: list[_EndFace] = []
        faces = TopExp_Explorer(self._body, TopAbs_ShapeEnum.TopAbs_FACE)
        while faces.More():
            end = _EndFace.of(TopoDS.Face_s(faces.Current()))
            if end is not None:
                self._faces.append(end)
            faces.Next()

    def add_hole(
        self, outline: Sequence[Point], x: float, wire: TopoDS_Shape, *, low_side: bool
    ) -> None:
        # By distance, not by a rounded key: -74.36875 and a hair less round apart.
        holders = [
            face
            for face in self._faces
            if face.low_side == low_side and abs(face.x - x) <= _SAME_X_MM and face.holds(outline)
        ]
        if len(holders) != 1:
            raise GeometryError(f"no single flat wall at x = {x:.3f} mm to hold a slat")
        holders[0].add(TopoDS.Wire_s(wire))

    def replaced(self) -> TopoDS_Shape:
        reshape = BRepTools_ReShape()
        for face in self._faces:
            face.replace_in(reshape)
        return reshape.Apply(self._body)


class _EndFace:
    """One flat face square to x; ``low_side`` if the void lies on its +x side."""

    def __init__(self, face: TopoDS_Face, x: float, axis_positive: bool) -> None:
        self.face = face
        self.x = x
        self._axis_positive = axis_positive
        forward = face.Orientation() == TopAbs_Orientation.TopAbs_FORWARD
        # The face normal points out of the material, that is, into the void.
        self.low_side = axis_positive == forward
        box = cq.Face(face).BoundingBox()
        self._z = (box.zmin, box.zmax)
        self._y = (box.ymin, box.ymax)
        self._maker: BRepBuilderAPI_MakeFace | None = None

    @staticmethod
    def of(face: TopoDS_Face) -> _EndFace | None:
        surface = BRepAdaptor_Surface(face)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
            return None
        plane = surface.Plane()
        axis = plane.Axis().Direction().X()
        if abs(abs(axis) - 1.0) > 1e-9:
            return None
        positive = (axis > 0) == plane.Position().Direct()
        return _EndFace(face, plane.Location().X(), positive)

    def holds(self, outline: Sequence[Point]) -> bool:
        return all(self._z[0] < z < self._z[1] and self._y[0] < y < self._y[1] for z, y in outline)

    def add(self, wire: TopoDS_Shape) -> None:
        if self._maker is None:
            forward = self.face.Oriented(TopAbs_Orientation.TopAbs_FORWARD)
            self._maker = BRepBuilderAPI_MakeFace(TopoDS.Face_s(forward))
        # Outlines run anticlockwise about -x; a hole must run clockwise about the face's axis.
        hole = wire if self._axis_positive else wire.Reversed()
        self._maker.Add(TopoDS.Wire_s(hole))

    def replace_in(self, reshape: BRepTools_ReShape) -> None:
        if self._maker is not None:
            new = self._maker.Face().Oriented(self.face.Orientation())
            reshape.Replace(self.face, new)


def _anticlockwise(outline: Sequence[Point]) -> list[Point]:
    """Return the outline turning from +z towards +y."""
    twice_area = sum(
        z0 * y1 - z1 * y0
        for (z0, y0), (z1, y1) in zip(outline, [*outline[1:], outline[0]], strict=True)
    )
    return list(outline) if twice_area > 0 else list(reversed(outline))


def _closed(body: TopoDS_Shape, sides: Sequence[TopoDS_Shape]) -> cq.Solid:
    """Return the solid bounded by the body's faces and the slats' side faces."""
    builder = BRep_Builder()
    shell = TopoDS_Shell()
    builder.MakeShell(shell)
    for shape in (body, *sides):
        faces = TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_FACE)
        while faces.More():
            builder.Add(shell, faces.Current())
            faces.Next()
    shell.Closed(True)
    solid = TopoDS_Solid()
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return cq.Solid(solid)

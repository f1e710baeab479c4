"""Small helpers over the CAD kernel: faces from outlines, booleans that return one solid."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import cadquery as cq
from OCP.BRepAlgoAPI import (
    BRepAlgoAPI_BooleanOperation,
    BRepAlgoAPI_Common,
    BRepAlgoAPI_Cut,
    BRepAlgoAPI_Fuse,
)
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.TopTools import TopTools_ListOfShape

Point = tuple[float, float]


class GeometryError(RuntimeError):
    """The kernel did not return the one valid solid that was asked for."""


def wire_at_x(outline: Sequence[Point], x: float) -> cq.Wire:
    """Return a closed polygon (z, y) in mm as a wire in the plane of constant ``x``, mm."""
    return cq.Wire.makePolygon([cq.Vector(x, y, z) for z, y in outline], close=True)


def prism_x(
    outline: Sequence[Point], x0: float, x1: float, holes: Sequence[Sequence[Point]] = ()
) -> cq.Solid:
    """Return the prism of an outline (z, y), with holes, from ``x0`` to ``x1``, all mm."""
    face = cq.Face.makeFromWires(wire_at_x(outline, x0), [wire_at_x(hole, x0) for hole in holes])
    return cq.Solid.extrudeLinear(face, cq.Vector(x1 - x0, 0, 0))


def prism_y(outline: Sequence[Point], y0: float, y1: float) -> cq.Solid:
    """Return the prism of an outline (x, z) from ``y0`` to ``y1``, all mm."""
    wire = cq.Wire.makePolygon([cq.Vector(x, y0, z) for x, z in outline], close=True)
    return cq.Solid.extrudeLinear(cq.Face.makeFromWires(wire), cq.Vector(0, y1 - y0, 0))


def prism_z(outline: Sequence[Point], z0: float, z1: float) -> cq.Solid:
    """Return the prism of an outline (x, y) from ``z0`` to ``z1``, all mm."""
    wire = cq.Wire.makePolygon([cq.Vector(x, y, z0) for x, y in outline], close=True)
    return cq.Solid.extrudeLinear(cq.Face.makeFromWires(wire), cq.Vector(0, 0, z1 - z0))


def box(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> cq.Solid:
    """Return an axis-parallel box given its ranges ``x``, ``y`` and ``z``, mm."""
    return cq.Solid.makeBox(x[1] - x[0], y[1] - y[0], z[1] - z[0], cq.Vector(x[0], y[0], z[0]))


def cylinder(radius: float, z: tuple[float, float], x: float = 0.0, y: float = 0.0) -> cq.Solid:
    """Return a cylinder of ``radius`` over the range ``z`` with its axis at ``x``, ``y``, mm.

    Its seam lies below, as that of :func:`revolve_z`.
    """
    axes = gp_Ax2(gp_Pnt(x, y, z[0]), gp_Dir(0.0, 0.0, 1.0), gp_Dir(0.0, -1.0, 0.0))
    return cq.Solid(BRepPrimAPI_MakeCylinder(axes, radius, z[1] - z[0]).Solid())


def revolve_z(profile: Sequence[Point]) -> cq.Solid:
    """Return the solid of revolution about z of a profile (r, z) in mm.

    Its seam lies below, where no slats end: one beside a corner of a slat leaves a sliver.
    """
    wire = cq.Wire.makePolygon([cq.Vector(0, -r, z) for r, z in profile], close=True)
    return cq.Solid.revolve(wire, [], 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))


def cut(body: cq.Shape, tools: Iterable[cq.Shape]) -> cq.Solid:
    """Return body minus all tools, as one solid.

    Raises
    ------
    GeometryError
        if the operation fails, or leaves other than one solid
    """
    return _boolean(BRepAlgoAPI_Cut(), body, tools)


def fuse(body: cq.Shape, tools: Iterable[cq.Shape]) -> cq.Solid:
    """Return the union of body and tools, as one solid, co-planar faces merged.

    Raises
    ------
    GeometryError
        if the operation fails, or leaves other than one solid
    """
    merged = _boolean(BRepAlgoAPI_Fuse(), body, tools).clean()
    return one_solid(merged)


def common(body: cq.Shape, tool: cq.Shape) -> cq.Solid:
    """Return the common part of two shapes, as one solid.

    Raises
    ------
    GeometryError
        if the operation fails, or leaves other than one solid
    """
    return _boolean(BRepAlgoAPI_Common(), body, [tool])


def _boolean(
    operation: BRepAlgoAPI_BooleanOperation, body: cq.Shape, tools: Iterable[cq.Shape]
) -> cq.Solid:
    tools = list(tools)
    if not tools:
        return one_solid(body)
    operation.SetArguments(_list([body]))
    operation.SetTools(_list(tools))
    # Nobody asks which face came from where; keeping that record costs a fifth of the time.
    operation.SetToFillHistory(False)
    operation.Build()
    if not operation.IsDone():
        raise GeometryError("a boolean operation failed")
    return one_solid(cq.Shape.cast(operation.Shape()))


def _list(shapes: Iterable[cq.Shape]) -> TopTools_ListOfShape:
    result = TopTools_ListOfShape()
    for shape in shapes:
        result.Append(shape.wrapped)
    return result


def one_solid(shape: cq.Shape) -> cq.Solid:
    """Unwrap the single solid of a shape; booleans may return it in a compound.

    Raises
    ------
    GeometryError
        if there is no solid or more than one: a part must be one piece
    """
    solids = shape.Solids()
    if len(solids) != 1:
        raise GeometryError(f"expected one solid, found {len(solids)}")
    return solids[0]

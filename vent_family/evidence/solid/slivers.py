"""Edges and faces of a finished solid that are too small to be meant.

They come where two surfaces nearly coincide. Meshes carry needles there, and CAD systems heal or
lose such edges when the part is shelled, mated or blended. Faces of a thread are left out, and the
edges between them: what is narrow there are the flats at its crests and roots, which the thread's
profile sets and ``THREAD_FLAT_MIN`` bounds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cadquery as cq
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepGProp import BRepGProp
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopExp import TopExp
from OCP.TopoDS import TopoDS, TopoDS_Face
from OCP.TopTools import TopTools_IndexedDataMapOfShapeListOfShape

from vent_family.base.limits import EDGE_MIN, FACE_MIN
from vent_family.evidence.result import CheckResult

_HELICAL = frozenset(
    {GeomAbs_SurfaceType.GeomAbs_BSplineSurface, GeomAbs_SurfaceType.GeomAbs_BezierSurface}
)
"""Only threads have such surfaces."""
_ROUNDED = 1e-4
"""Share of a limit by which rounding may miss it: slats may end in flats as narrow as it."""


@dataclass(frozen=True, slots=True)
class Smallest:
    """The smallest of a solid's edges or faces.

    ``size`` is its length (mm) or its area (mm2), ``place_mm`` its middle (x, y, z), ``too_small``
    how many are smaller than they may be.
    """

    size: float
    place_mm: tuple[float, float, float]
    too_small: int


def smallest_edge(solid: cq.Solid) -> Smallest:
    """Return the shortest edge of a solid, those between a thread's faces left out.

    Examples
    --------
    >>> smallest_edge(cq.Solid.makeBox(10.0, 0.05, 3.0)).too_small
    4
    """
    return _smallest(_edges(solid), EDGE_MIN.value)


def smallest_face(solid: cq.Solid) -> Smallest:
    """Return the smallest face of a solid, a thread's left out.

    Examples
    --------
    >>> found = smallest_face(cq.Solid.makeBox(10.0, 2.0, 3.0))
    >>> round(found.size, 6), found.too_small
    (6.0, 0)
    """
    return _smallest(_faces(solid), FACE_MIN.value)


def check_slivers(solid: cq.Solid) -> tuple[CheckResult, ...]:
    """Return whether a finished solid has an edge or a face too small to be meant."""
    found = (
        ("shortest edge", smallest_edge(solid), EDGE_MIN.value, "mm", "edge", "long"),
        ("smallest face", smallest_face(solid), FACE_MIN.value, "mm2", "face", "large"),
    )
    results = []
    for name, least, limit, unit, noun, how in found:
        x, y, z = least.place_mm
        good = least.too_small == 0
        message = f"the smallest {noun} is {least.size:.3g} {unit} {how}"
        if not good:
            message = (
                f"{least.too_small} {noun}{'s' * (least.too_small > 1)} under {limit:g} {unit}, the"
                f" smallest {least.size:.2g} {unit} {how}, at x {x:.1f}, y {y:.1f}, z {z:.1f} mm:"
                " two surfaces nearly coincide there, and meshes and CAD systems lose such places"
            )
        results.append(
            CheckResult(name, "pass" if good else "fail", message, least.size, limit, unit)
        )
    return tuple(results)


def _smallest(sizes: Iterator[tuple[float, GProp_GProps]], limit: float) -> Smallest:
    measured = sorted(((size, found) for size, found in sizes), key=lambda item: item[0])
    size, found = measured[0]
    centre = found.CentreOfMass()
    few = sum(size < (1.0 - _ROUNDED) * limit for size, _ in measured)
    return Smallest(size, (centre.X(), centre.Y(), centre.Z()), few)


def _edges(solid: cq.Solid) -> Iterator[tuple[float, GProp_GProps]]:
    """Yield length and properties of every edge that is not a thread's alone."""
    faces_of = TopTools_IndexedDataMapOfShapeListOfShape()
    TopExp.MapShapesAndAncestors_s(solid.wrapped, TopAbs_EDGE, TopAbs_FACE, faces_of)
    for i in range(1, faces_of.Extent() + 1):
        edge = TopoDS.Edge_s(faces_of.FindKey(i))
        if BRep_Tool.Degenerated_s(edge):
            continue
        if all(_of_thread(TopoDS.Face_s(face)) for face in faces_of.FindFromIndex(i)):
            continue
        found = GProp_GProps()
        BRepGProp.LinearProperties_s(edge, found)
        yield found.Mass(), found


def _faces(solid: cq.Solid) -> Iterator[tuple[float, GProp_GProps]]:
    """Yield area and properties of every face that is not a thread's."""
    for face in solid.Faces():
        if not _of_thread(face.wrapped):
            found = GProp_GProps()
            BRepGProp.SurfaceProperties_s(face.wrapped, found)
            yield abs(found.Mass()), found


def _of_thread(face: TopoDS_Face) -> bool:
    return BRepAdaptor_Surface(face, False).GetType() in _HELICAL

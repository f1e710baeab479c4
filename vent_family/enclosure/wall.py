"""The wall that a vent goes into, measured on the solid. mm, in the coordinates of the cabinet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import cadquery as cq
from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
from OCP.TopAbs import TopAbs_FORWARD
from shapely.geometry import Polygon

from vent_family.base.problems import InputError, Problem

TOUCH_MM: Final = 1e-4
"""How near a point must be to a face to lie on it."""
SAME_MM: Final = 0.01
"""Thicknesses of one wall differ by no more."""
ALONG: Final = 1e-6
"""How far the normal of a face may be from the direction that is asked for, 1 less cosine."""
_CHORDS: Final = 64
"""Chords of a bent edge."""
_FAR_MM: Final = 1e5


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """A flat wall around a place.

    ``outer`` and ``inner`` are its two faces, ``outward`` is the normal of the outer one,
    ``thickness_mm`` its thickness at that place.
    """

    outer: cq.Face
    inner: cq.Face
    outward: cq.Vector
    thickness_mm: float


def outer_face(body: cq.Shape, at: cq.Vector, outward: cq.Vector | None = None) -> cq.Face:
    """Return the plane face of a body that a point lies on, looking ``outward`` if that is given.

    A point in an opening of a face lies on it, too.

    Raises
    ------
    InputError
        if the point lies on no face, or on one that is not flat
    """
    spot = cq.Vertex.makeVertex(*at.toTuple())
    faces = [f for f in body.Faces() if f.distance(spot) < TOUCH_MM] or [
        f
        for f in body.Faces()
        if f.geomType() == "PLANE" and f.innerWires() and _filled(f).distance(spot) < TOUCH_MM
    ]
    flat = [f for f in faces if f.geomType() == "PLANE"]
    if outward is not None:
        flat = [f for f in flat if _normal(f).dot(outward) > 1.0 - ALONG]
    if not faces:
        raise InputError([_nowhere(at)])
    if not flat:
        kinds = ", ".join(sorted({f.geomType().lower() for f in faces}))
        bent = not any(f.geomType() == "PLANE" for f in faces)
        raise InputError(
            [
                Problem(
                    "wall.face.bent" if bent else "wall.face.other",
                    f"the face at {_told(at)} is not flat ({kinds})"
                    if bent
                    else f"no flat face at {_told(at)} looks outwards",
                    suggestion="put the vent on a flat part of the wall",
                )
            ]
        )
    return flat[0]


def _filled(face: cq.Face) -> cq.Face:
    """Return a plane face without its openings: the point may lie in one that is cut already."""
    return cq.Face.makeFromWires(face.outerWire())


def _normal(face: cq.Face) -> cq.Vector:
    return face.normalAt()


def measured(body: cq.Shape, face: cq.Face, spots: Iterable[cq.Vector]) -> Wall:
    """Return the wall behind a plane face, measured inwards from points on it.

    Raises
    ------
    InputError
        if there is no material behind a point, or the wall is not of one thickness
    """
    outward = _normal(face)
    found: list[tuple[float, cq.Vector, cq.Face]] = []
    for spot in spots:
        depth, inner = _through(body, spot, outward)
        found.append((depth, spot, inner))
    thin, thick = min(found, key=lambda f: f[0]), max(found, key=lambda f: f[0])
    if thick[0] - thin[0] > SAME_MM:
        raise InputError(
            [
                Problem(
                    "wall.thickness.uneven",
                    f"the wall around the opening is not of one thickness: {thin[0]:.2f} mm at"
                    f" {_told(thin[1])}, {thick[0]:.2f} mm at {_told(thick[1])}",
                    suggestion="move the vent off ribs, bends and steps of the wall",
                )
            ]
        )
    return Wall(face, thin[2], outward, thin[0])


def _through(body: cq.Shape, spot: cq.Vector, outward: cq.Vector) -> tuple[float, cq.Face]:
    """Return how far it is through the material behind a point on a face, and where it ends."""
    start = spot + outward * TOUCH_MM
    inwards = gp_Dir(*(outward * -1.0).toTuple())
    shooter = IntCurvesFace_ShapeIntersector()
    shooter.Load(body.wrapped, TOUCH_MM)
    shooter.Perform(gp_Lin(gp_Pnt(*start.toTuple()), inwards), 0.0, _FAR_MM)
    hits = sorted((shooter.WParameter(i), i) for i in range(1, shooter.NbPnt() + 1))
    beyond = [(w - TOUCH_MM, i) for w, i in hits if w - TOUCH_MM > TOUCH_MM]
    on_face = bool(hits) and hits[0][0] <= 3.0 * TOUCH_MM
    if not (on_face and beyond):
        raise InputError(
            [
                Problem(
                    "wall.material.none",
                    f"there is no wall at {_told(spot)}: an opening, an edge, or nothing behind",
                    suggestion="choose a place with metal all around the vent's opening",
                )
            ]
        )
    depth, number = beyond[0]
    return depth, cq.Face(shooter.Face(number))


def drawn_in(face: cq.Face, plane: cq.Plane) -> Polygon:
    """Return a plane face as a polygon in a plane's coordinates, mm, its bends in chords."""
    outer = _ring(face.outerWire(), plane)
    return Polygon(outer, [_ring(wire, plane) for wire in face.innerWires()])


def _ring(wire: cq.Wire, plane: cq.Plane) -> list[tuple[float, float]]:
    points: list[tuple[float, float]] = []
    for edge in wire:
        count = 1 if edge.geomType() == "LINE" else _CHORDS
        forward = edge.wrapped.Orientation() == TopAbs_FORWARD
        along = [i / count if forward else 1.0 - i / count for i in range(count)]
        points += [plane.toLocalCoords(p).toTuple()[:2] for p in edge.positions(along)]
    return points


def _told(at: cq.Vector) -> str:
    return "(" + ", ".join(f"{value:.4g}" for value in at.toTuple()) + ")"


def _nowhere(at: cq.Vector) -> Problem:
    return Problem(
        "wall.face.none",
        f"the point {_told(at)} lies on no face of the body",
        suggestion="choose a point on the wall's outer face, in the body's own coordinates",
    )

"""What a fitted vent takes up in front of the wall and behind it, from its meshes. mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cadquery as cq
import numpy as np
from scipy.spatial import ConvexHull

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.geometry.vent import assembled
from vent_family.mesh.triangles import mesh_of

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext

_CHORD_MM: Final = 0.01
_ANGLE_RAD: Final = 0.1
"""How finely curves are followed."""
_DECIMALS: Final = 2

Ring = tuple[tuple[float, float], ...]
"""Corners of a convex outline (x, y), mm, counterclockwise."""


@dataclass(frozen=True, slots=True)
class Taken:
    """Convex outlines of what a fitted vent covers in front of the wall and takes up behind it.

    ``front_mm`` is how far it stands out from the wall's outer face, ``behind_mm`` how deep it
    reaches behind that face, mm. A fan counts with its frame, but not with its depth.
    """

    outside: Ring
    inside: Ring
    front_mm: float
    behind_mm: float


def taken_by(context: PartContext) -> Taken:
    """Return what a part takes up, fitted as stated in a wall of its row's thickness.

    Raises
    ------
    GeometryError
        where the kernel makes no solid
    """
    outside, inside = _points(context)
    fan = context.spec.fan_duct
    flat = [points[:, :2] for points in inside]
    if fan is not None:
        half = 0.5 * fan.frame.side_mm
        sides = (-half, half)
        flat.append(np.array([(x, fan.centre_mm + y) for x in sides for y in sides]))
    return Taken(
        outside=_ring(np.concatenate([points[:, :2] for points in outside])),
        inside=_ring(np.concatenate(flat)),
        front_mm=float(max(points[:, 2].max() for points in outside)),
        behind_mm=float(-min(points[:, 2].min() for points in inside)),
    )


def _points(context: PartContext) -> tuple[list[FloatArray], list[FloatArray]]:
    """Return points (n, 3), mm, of what stands in front of the panel, and of what is behind it."""
    spec = context.spec
    outside, inside = [], []
    for placed in assembled(spec, context.solids):
        if placed.name == "panel":
            continue
        if placed.name in context.meshes and placed.name:
            points, triangles = context.meshes[placed.name]
            points = _moved(points, placed.location)
        else:
            shape = placed.shape.moved(placed.location) if placed.name else context.envelope
            points, triangles = mesh_of(shape, _CHORD_MM, _ANGLE_RAD)
        behind = _beyond(points, triangles, -spec.panel_thickness_mm)
        if spec.body.neck is not None and placed.name:
            # What is screwed on may come to rest at any angle.
            behind = _turned(behind)
        outside.append(_beyond(points * (1, 1, -1), triangles, 0.0) * (1, 1, -1))
        inside.append(behind)
    return [p for p in outside if len(p)], [p for p in inside if len(p)]


def _moved(points: FloatArray, location: cq.Location) -> FloatArray:
    """Return points (n, 3), mm, moved to a place."""
    move = location.wrapped.Transformation()
    rows = [[move.Value(i, j) for j in range(1, 5)] for i in range(1, 4)]
    matrix = np.array(rows)
    return np.asarray(points @ matrix[:, :3].T + matrix[:, 3])


def _beyond(points: FloatArray, triangles: IntArray, z_mm: float) -> FloatArray:
    """Return the corners of what of a mesh (mm) lies below a plane, its cut included.

    Examples
    --------
    >>> corners = np.array([[0.0, 0.0, -1.0], [0.0, 0.0, 3.0], [4.0, 0.0, 3.0]])
    >>> _beyond(corners, np.array([[0, 1, 2]]), 0.0).tolist()
    [[0.0, 0.0, -1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]
    """
    pairs = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    crossing = pairs[(points[pairs][:, :, 2] < z_mm).sum(axis=1) == 1]
    a, b = points[crossing[:, 0]], points[crossing[:, 1]]
    share = (z_mm - a[:, 2]) / (b[:, 2] - a[:, 2])
    met = a + share[:, None] * (b - a)
    return np.unique(np.concatenate([points[points[:, 2] <= z_mm], met]), axis=0)


def _turned(points: FloatArray) -> FloatArray:
    """Return points (n, 3), mm, of all that others sweep when they are turned about z."""
    if not len(points):
        return points
    radius = float(np.hypot(points[:, 0], points[:, 1]).max())
    turn = np.arange(0.0, 2.0 * math.pi, _ANGLE_RAD / 2.0)
    ring = np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    low, high = points[:, 2].min(), points[:, 2].max()
    return np.concatenate([np.insert(ring, 2, z, axis=1) for z in (low, high)])


def _ring(points: FloatArray) -> Ring:
    """Return the convex outline of points (n, 2), mm, from its lowest, then leftmost corner."""
    corners = np.unique(points.round(_DECIMALS), axis=0)
    ring = corners[ConvexHull(corners).vertices]
    start = int(np.lexsort((ring[:, 0], ring[:, 1]))[0])
    return tuple((float(x) + 0.0, float(y) + 0.0) for x, y in np.roll(ring, -start, axis=0))

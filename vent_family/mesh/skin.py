"""The skin of shapes as pictures need it: fine triangles, true normals, colours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cadquery as cq
import numpy as np
from OCP.BRepLib import BRepLib_ToolTriangulatedShape
from OCP.gp import gp_Trsf
from OCP.TopAbs import TopAbs_REVERSED

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.materials import Rgb
from vent_family.mesh.triangles import corners_of, meshed_faces

_CUT_PLAY_MM: Final = 1e-4
"""A face so near the plane of the cut lies in it."""
_WELD_MM: Final = 1e-4
"""Vertices of two faces so near to each other are one."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A shape and its colour, sRGB, 0 to 1; ``cut_colour`` is that of its cut faces."""

    shape: cq.Shape
    colour: Rgb
    cut_colour: Rgb | None = None


@dataclass(frozen=True, eq=False)
class Skin:
    """Triangles of one piece.

    Attributes
    ----------
    points, normals : (n, 3) arrays
        Vertices, mm, and the unit normals (1) of the surfaces there. Faces share no vertices, so
        that edges stay sharp and curved faces are as smooth as they are.
    triangles : (m, 3) array
        Vertices of each triangle.
    colours : (m, 3) array
        Colour of each triangle, proportional to the light it throws back, 0 to 1 (1).
    """

    points: FloatArray
    normals: FloatArray
    triangles: IntArray
    colours: FloatArray


def skin_of(piece: Piece, chord_mm: float, angle_rad: float, cut_x_mm: float | None = None) -> Skin:
    """Return the skin of a piece.

    Parameters
    ----------
    piece : Piece
        What is drawn.
    chord_mm : float
        Largest distance of triangles from the faces, mm.
    angle_rad : float
        Largest turn between neighbouring segments, rad.
    cut_x_mm : float, optional
        Where everything beyond has been cut away, mm: faces that look along +x there are drawn in
        the piece's ``cut_colour``.

    Raises
    ------
    ValueError
        if a tolerance is not a positive number
    RuntimeError
        if the kernel could not mesh a shape
    """
    points, normals, triangles = _surface(piece.shape, chord_mm, angle_rad)
    colours = np.tile(linear(np.array(piece.colour)), (len(triangles), 1))
    if cut_x_mm is not None and piece.cut_colour is not None:
        there = np.abs(points[:, 0] - cut_x_mm) < _CUT_PLAY_MM
        facing = there & (normals[:, 0] > 1.0 - 1e-6)
        colours[facing[triangles].all(axis=1)] = linear(np.array(piece.cut_colour))
    return Skin(points, normals, triangles, colours)


def linear(colour: FloatArray) -> FloatArray:
    """Return a ``colour`` in sRGB, 0 to 1 (1), as shares of light (1), IEC 61966-2-1.

    Examples
    --------
    >>> linear(np.array([0.0, 0.5, 1.0])).round(4).tolist()
    [0.0, 0.214, 1.0]
    """
    return np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)


def sharp_edges(skin: Skin, angle_rad: float) -> FloatArray:
    """Return the edges (n, 2, 3) of a skin, mm, at which it turns by more than an angle (rad).

    Edges at which it ends are among them.

    Examples
    --------
    All twelve edges of a box; none of the diagonals of its faces:

    >>> box = skin_of(Piece(cq.Solid.makeBox(2.0, 1.0, 1.0), (1.0, 1.0, 1.0)), 0.1, 0.1)
    >>> sharp_edges(box, 0.4).shape
    (12, 2, 3)
    """
    grid = np.round(skin.points / _WELD_MM).astype(np.int64)
    # One number for each place: three in a row would take many times as long to sort.
    grid -= grid.min(axis=0)
    wide, tall = (int(size) + 1 for size in grid.max(axis=0)[1:])
    _, first, welded = np.unique(
        (grid[:, 0] * wide + grid[:, 1]) * tall + grid[:, 2],
        return_index=True,
        return_inverse=True,
    )
    corners = skin.points[skin.triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal = across / np.maximum(np.linalg.norm(across, axis=1), 1e-300)[:, None]
    sides = np.sort(welded[skin.triangles][:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(skin.triangles)), 3)
    order = np.argsort(sides[:, 0] * len(first) + sides[:, 1], kind="stable")
    sides, owner = sides[order], owner[order]
    new = np.ones(len(sides), dtype=bool)
    new[1:] = (sides[1:] != sides[:-1]).any(axis=1)
    start = np.flatnonzero(new)
    count = np.diff([*start, len(sides)])
    pair = start[count == 2]
    turn = np.einsum("ij,ij->i", normal[owner[pair]], normal[owner[pair + 1]])
    kept = np.concatenate([start[count == 1], pair[turn < np.cos(angle_rad)]])
    ends = sides[np.sort(kept)]
    return np.asarray(skin.points[first[ends[ends[:, 0] != ends[:, 1]]]])


def _surface(
    shape: cq.Shape, chord_mm: float, angle_rad: float
) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return vertices (mm), normals (1) and triangles of one shape."""
    points: list[tuple[float, float, float]] = []
    normals: list[tuple[float, float, float]] = []
    triangles: list[tuple[int, int, int]] = []
    for face, part, move in meshed_faces(shape, chord_mm, angle_rad):
        BRepLib_ToolTriangulatedShape.ComputeNormals_s(face, part)
        by = gp_Trsf() if move is None else move
        start = len(points)
        count = range(1, part.NbNodes() + 1)
        points += [part.Node(i).Transformed(by).Coord() for i in count]
        ways = [part.Normal(i).Transformed(by) for i in count]
        sign = -1.0 if face.Orientation() == TopAbs_REVERSED else 1.0
        normals += [(sign * way.X(), sign * way.Y(), sign * way.Z()) for way in ways]
        triangles += [(start + a, start + b, start + c) for a, b, c in corners_of(face, part)]
    return np.array(points), np.array(normals), np.array(triangles, dtype=np.int64)

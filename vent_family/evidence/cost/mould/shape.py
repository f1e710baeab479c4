"""What mould makers and moulders ask of a piece: size, shadow, plastic, walls, faces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.evidence.cost.mould.draw import Draw
from vent_family.evidence.cost.mould.samples import Samples, wall_mm

SMOOTH_DEG: Final = 25.0
"""Facets that turn by less from one to the next are one face."""
FACE_MIN_MM2: Final = 5.0
"""Smaller faces are not counted: letters, chamfers."""
THICK_SHARE: Final = 0.8
"""Share of a surface whose walls are no thicker than the wall that decides the cooling; behind the
rest another wall begins."""


@dataclass(frozen=True, slots=True)
class PieceShape:
    """One piece as it lies in its mould.

    ``size_mm`` is its box across and along the opening (width, height, depth in mm);
    ``shadow_mm2`` its area seen along the opening; ``volume_mm3`` the plastic of one;
    ``wall_mm`` its thickest wall; ``faces`` (dimensionless) how many faces must be cut into the
    steel, repeated ones counted less. ``count`` pieces go into one part.
    """

    name: str
    count: int
    draw: Draw
    size_mm: tuple[float, float, float]
    shadow_mm2: float
    volume_mm3: float
    wall_mm: float
    faces: float


def plastic(
    mesh: tuple[FloatArray, IntArray], samples: Samples, nominal_mm: float
) -> tuple[float, float]:
    """Return the plastic behind a surface, cored to a nominal wall, and its thickest wall.

    Each of a wall's two faces stands for half of it: V = sum of area x min(t, nominal) / 2, rims
    left out. A solid chunk thereby becomes a shell open on one side, as a moulder cores it.

    Parameters
    ----------
    mesh
        the closed body that the surface is part of: vertices (n, 3) in mm, triangles (m, 3)
    samples
        the surface
    nominal_mm
        thickness to which thicker walls are cored, mm

    Returns
    -------
    tuple of floats
        Volume, mm3, and the thickness of the wall that decides the cooling, mm.
    """
    if len(samples) == 0:
        return 0.0, 0.0
    walls, rim = wall_mm(*mesh, samples, nominal_mm)
    walls = np.minimum(walls, nominal_mm)
    volume = float((samples.areas_mm2 * walls)[~rim].sum()) / 2.0
    order = np.argsort(walls)
    filled = np.cumsum(samples.areas_mm2[order])
    at = int(np.searchsorted(filled, THICK_SHARE * filled[-1]))
    return volume, float(walls[order][min(at, len(order) - 1)])


def part_of_body(
    name: str,
    mesh: tuple[FloatArray, IntArray],
    samples: Samples,
    ways: BoolArray,
    draw: Draw,
    nominal_mm: float,
) -> PieceShape:
    """Return a piece that is part of a closed body as it stands, or all of it.

    Parameters
    ----------
    name
        what the piece is called
    mesh
        the body: vertices (n, 3) in mm, triangles (m, 3)
    samples, ways
        the piece's surface and what it sees past itself, as open_ways
    draw
        how it leaves its mould
    nominal_mm
        thickness to which thicker walls are cored, mm
    """
    axis = "xyz".index(draw.axis)
    vertices, triangles = mesh
    volume, wall = plastic(mesh, samples, nominal_mm)
    return PieceShape(
        name=name,
        count=1,
        draw=draw,
        size_mm=size_mm(samples, axis),
        shadow_mm2=shadow_mm2(samples, ways, axis),
        volume_mm3=volume,
        wall_mm=wall,
        faces=float(face_count(vertices, triangles[np.unique(samples.triangle)])),
    )


def shadow_mm2(samples: Samples, ways: BoolArray, axis: int) -> float:
    """Return the area (mm2) a surface covers seen along an axis; ``ways`` as open_ways."""
    facing = samples.normals[:, axis]
    seen = ways[:, 2 * axis] & (facing > 0.0)
    return float((samples.areas_mm2 * facing)[seen].sum())


def size_mm(samples: Samples, axis: int) -> tuple[float, float, float]:
    """Return the box of a surface: two sides across an axis, and the depth along it, mm."""
    corners = samples.corners_mm.reshape(-1, 3)
    spread = corners.max(axis=0) - corners.min(axis=0)
    a, b = (k for k in range(3) if k != axis)
    return float(spread[a]), float(spread[b]), float(spread[axis])


def face_count(vertices: FloatArray, triangles: IntArray) -> int:
    """Return how many faces a surface has, flat or smoothly bent.

    ``vertices`` are (n, 3) in mm; neighbours share vertices.

    Examples
    --------
    Two triangles in a plane and one that stands on their edge, 8 mm high:

    >>> corners = np.array([[0.0, 0, 0], [8, 0, 0], [8, 8, 0], [0, 8, 0], [0, 0, 8]])
    >>> face_count(corners, np.array([[0, 1, 2], [0, 2, 3], [0, 1, 4]]))
    2
    """
    if len(triangles) == 0:
        return 0
    corners = vertices[triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(across, axis=1)
    normals = across / np.maximum(twice, 1e-12)[:, None]
    sides = np.sort(
        np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1
    )
    owner = np.tile(np.arange(len(triangles)), 3)
    key = sides[:, 0] * (int(sides.max()) + 1) + sides[:, 1]
    order = np.argsort(key, kind="stable")
    meet = key[order][1:] == key[order][:-1]
    one, other = owner[order][1:][meet], owner[order][:-1][meet]
    smooth = (normals[one] * normals[other]).sum(axis=1) > math.cos(math.radians(SMOOTH_DEG))
    one, other = one[smooth], other[smooth]
    links = coo_matrix((np.ones(len(one)), (one, other)), shape=(len(triangles),) * 2)
    _, label = connected_components(links, directed=False)
    return int((np.bincount(label, weights=twice / 2.0) > FACE_MIN_MM2).sum())


def repeated(faces: int, count: int) -> float:
    """Return how many faces equal features count for (dimensionless): those of one x n^0.7.

    The exponent for features that repeat is that of Boothroyd, Dewhurst and Knight, Product
    Design for Manufacture and Assembly (from memory).

    Examples
    --------
    Ten slats of four faces count like five:

    >>> round(repeated(4, 10), 1)
    20.0
    """
    return faces * math.pow(count, 0.7)

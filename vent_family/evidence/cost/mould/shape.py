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
from vent_family.evidence.cost.mould.samples import Samples

SMOOTH_DEG: Final = 25.0
"""Facets that turn by less from one to the next are one face."""
FACE_MIN_MM2: Final = 5.0
"""Smaller faces are not counted: letters, chamfers."""
THICK_SHARE: Final = 0.95
"""Share of a surface whose walls are no thicker than the wall that decides the cooling."""


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


def moulded_volume_mm3(samples: Samples, walls_mm: FloatArray, nominal_mm: float) -> float:
    """Return the plastic behind a surface whose walls are cored down to a nominal thickness, mm3.

    Each of a wall's two faces stands for half of it: V = sum of area x min(t, nominal) / 2. A
    solid chunk thereby becomes a shell open on one side, as a moulder cores it. Rims count in
    full, which errs a little towards more plastic.

    Parameters
    ----------
    samples
        the surface
    walls_mm
        thickness behind each sample, mm
    nominal_mm
        nominal wall, mm
    """
    return float((samples.areas_mm2 * np.minimum(walls_mm, nominal_mm)).sum() / 2.0)


def thick_wall_mm(samples: Samples, walls_mm: FloatArray, nominal_mm: float) -> float:
    """Return the wall (mm) that decides the cooling: thicker ones have next to no surface.

    ``walls_mm`` is the thickness behind each sample, ``nominal_mm`` what thicker walls are cored
    to, both in mm.
    """
    order = np.argsort(walls_mm)
    filled = np.cumsum(samples.areas_mm2[order])
    at = int(np.searchsorted(filled, THICK_SHARE * filled[-1]))
    return float(min(walls_mm[order][min(at, len(order) - 1)], nominal_mm))


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

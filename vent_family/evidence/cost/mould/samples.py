"""The surface of a mesh as small triangles, and what each of them sees along the three axes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.base.limits import STL_CHORD
from vent_family.evidence.cost.mould.rays import clear_ways

SIDE_MM: Final = 4.0
"""Longest side of a small triangle, mm: about the width of a passage."""
SAMPLES_MAX: Final = 100_000
"""About so many small triangles; a larger part gets larger ones."""
SIDE_SHARE: Final = 12.0
"""Longest side, squared, of a small triangle of mean area, in such areas: halving long sides makes
many that are smaller than they might be."""
OFFSET_MM: Final = 2.0 * STL_CHORD.value
"""How far in front of the surface it looks out, mm: past what the chords of a curved wall's next
facets are off, and less than any step that is meant as one."""
SKIN_MM: Final = 1e-3
"""How far behind the surface a wall's thickness is measured from, mm."""
RIM_RATIO: Final = 1.5
"""A face with so many times more body behind it than across it is a wall's rim."""
DIRECTIONS: Final = ("+x", "-x", "+y", "-y", "+z", "-z")
"""Ways out, in the order of :func:`open_ways`."""


@dataclass(frozen=True, eq=False)
class Samples:
    """Small triangles of a surface.

    ``corners_mm`` (n, 3, 3) are their corners and ``points_mm`` (n, 3) their middles in mm,
    ``normals`` (n, 3) outward unit vectors, ``areas_mm2`` (n,) in mm2, ``triangle`` (n,) the
    triangle of the mesh that each is part of.
    """

    corners_mm: FloatArray
    points_mm: FloatArray
    normals: FloatArray
    areas_mm2: FloatArray
    triangle: IntArray

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.areas_mm2)

    def of(self, chosen: BoolArray) -> Samples:
        """Return those that are chosen."""
        return Samples(
            self.corners_mm[chosen],
            self.points_mm[chosen],
            self.normals[chosen],
            self.areas_mm2[chosen],
            self.triangle[chosen],
        )

    def leaning(self, angle_deg: float) -> Samples:
        """Return them turned about x until the direction that leans up from +z by an angle is +z.

        ``angle_deg`` is in degrees, from +z towards +y.
        """
        c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
        turn = np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]]).T
        return Samples(
            self.corners_mm @ turn,
            self.points_mm @ turn,
            self.normals @ turn,
            self.areas_mm2,
            self.triangle,
        )

    def parts(
        self, mesh: tuple[FloatArray, IntArray], chosen: BoolArray
    ) -> tuple[FloatArray, IntArray]:
        """Return the mesh (mm) of the chosen ones: triangles of ``mesh`` where all are chosen."""
        vertices, triangles = mesh
        mixed = np.zeros(len(triangles), dtype=np.bool_)
        mixed[self.triangle[~chosen]] = True
        whole = np.unique(self.triangle[chosen & ~mixed[self.triangle]])
        loose, order = self.of(chosen & mixed[self.triangle]).mesh
        return (
            np.concatenate([vertices, loose]),
            np.concatenate([triangles[whole], order + len(vertices)]),
        )

    @property
    def mesh(self) -> tuple[FloatArray, IntArray]:
        """The small triangles as a mesh: vertices in mm, and triangles."""
        return self.corners_mm.reshape(-1, 3), np.arange(3 * len(self)).reshape(-1, 3)


def sampled(vertices: FloatArray, triangles: IntArray, side_mm: float | None = None) -> Samples:
    """Return the small triangles of a mesh; every side is cut in half while it is too long.

    ``vertices`` are (n, 3) in mm; ``side_mm`` is the longest side allowed, by default
    :data:`SIDE_MM`, or longer for a large surface.

    Examples
    --------
    The parts add up to the whole:

    >>> square = np.array([[0.0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]])
    >>> parts = sampled(square, np.array([[0, 1, 2], [0, 2, 3]]), 3.0)
    >>> len(parts), round(float(parts.areas_mm2.sum()), 6)
    (64, 100.0)
    """
    corners = vertices[triangles]
    if side_mm is None:
        mean = float(_areas(corners).sum()) / SAMPLES_MAX
        side_mm = max(SIDE_MM, math.sqrt(SIDE_SHARE * mean))
    own = np.arange(len(triangles), dtype=np.int64)
    done: list[tuple[FloatArray, IntArray]] = []
    while len(corners):
        sides = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2)
        long = sides.max(axis=1) > side_mm
        done.append((corners[~long], own[~long]))
        corners, own = corners[long], own[long]
        # Turned so that the longest side is the first one, then cut in its middle.
        turn = (sides[long].argmax(axis=1)[:, None] + np.arange(3)) % 3
        corners = np.take_along_axis(corners, turn[:, :, None], axis=1)
        middle = corners[:, :2].mean(axis=1)
        one, other = corners.copy(), corners.copy()
        one[:, 1], other[:, 0] = middle, middle
        corners, own = np.concatenate([one, other]), np.concatenate([own, own])
    small = np.concatenate([c for c, _ in done])
    across = np.cross(small[:, 1] - small[:, 0], small[:, 2] - small[:, 0])
    twice = np.linalg.norm(across, axis=1)
    kept = twice > 1e-12
    return Samples(
        small[kept],
        small[kept].mean(axis=1),
        across[kept] / twice[kept, None],
        0.5 * twice[kept],
        np.concatenate([o for _, o in done])[kept],
    )


def _areas(corners: FloatArray) -> FloatArray:
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.asarray(0.5 * np.linalg.norm(across, axis=1))


def open_ways(
    vertices: FloatArray,
    triangles: IntArray,
    samples: Samples,
    axes: Sequence[int] = (0, 1, 2),
) -> BoolArray:
    """Return whether each sample sees out of the mesh in each of :data:`DIRECTIONS`: (n, 6).

    Looking out begins :data:`OFFSET_MM` in front of the surface, so a wall along a direction sees
    out both ways past itself, and a face that looks away from a direction is blocked by its own
    body. Directions of axes that are not asked for count as blocked. ``vertices`` (n, 3) in mm
    and ``triangles`` are what may stand in the way.
    """
    points = samples.points_mm + OFFSET_MM * samples.normals
    found = np.zeros((len(samples), 6), dtype=np.bool_)
    for axis in axes:
        above, below = clear_ways(vertices, triangles, points, axis)
        found[:, 2 * axis] = np.isinf(above)
        found[:, 2 * axis + 1] = np.isinf(below)
    return found


def wall_mm(
    vertices: FloatArray, triangles: IntArray, samples: Samples, reach_mm: float
) -> tuple[FloatArray, BoolArray]:
    """Return how thick the wall is at each sample, mm, and which samples lie on its rims.

    Behind a sample the thickness is measured along the axis nearest to its normal and taken square
    to the surface, which is exact between parallel faces. Where another axis finds the body thinner
    than that by :data:`RIM_RATIO`, looking from half the wall behind the surface, the sample lies
    on a rim of a wall that is as thick as found there.

    Parameters
    ----------
    vertices, triangles
        a closed mesh, mm
    samples
        places on it
    reach_mm
        the other axes look from half of this behind the surface at most, mm
    """
    axis = np.abs(samples.normals).argmax(axis=1)
    facing = np.take_along_axis(samples.normals, axis[:, None], axis=1)[:, 0]
    behind = samples.points_mm - SKIN_MM * samples.normals
    own = np.zeros(len(samples))
    for a in range(3):
        mine = axis == a
        above, below = clear_ways(vertices, triangles, behind[mine], a)
        own[mine] = np.where(facing[mine] > 0.0, below, above)
    own = np.where(np.isfinite(own), own * np.abs(facing) + SKIN_MM, 0.0)
    inside = samples.points_mm - (np.minimum(own, reach_mm) / 2.0)[:, None] * samples.normals
    least = np.full(len(samples), np.inf)
    for a in range(3):
        mine = axis != a
        above, below = clear_ways(vertices, triangles, inside[mine], a)
        least[mine] = np.minimum(least[mine], above + below)
    rim = own > RIM_RATIO * least
    return np.where(rim, least, own), rim

"""Walls, slats and gaps measured on the solid, by rays in plane sections.

From points along every outline of a section a ray runs square to the outline, inwards through the
material for a wall and outwards through the air for a gap, up to the outline opposite. It counts if
that outline faces the one it came from, which leaves out corners and wedge tips. A section that is
not square to a wall shows it thicker than it is, never thinner, so the thinnest of several sections
square to the part's own planes is its wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from shapely.geometry import Polygon
from shapely.geometry import box as rectangle

from vent_family.checks.printing.slices import Region, section_regions
from vent_family.geometry.mark import mark_width_mm
from vent_family.geometry.mesh import FloatArray, IntArray
from vent_family.spec.vent import BlockBody, VentSpec

_FACING: Final = -math.cos(math.radians(40.0))
"""Two outlines face each other if their normals turn from one to the other by 140 to 180 deg."""
_SAMPLES: Final = (0.15, 0.5, 0.85)
_EDGE_MIN_MM: Final = 0.05
_TOUCH_MM: Final = 1e-6
_CHUNK: Final = 400_000


@dataclass(frozen=True, slots=True)
class Width:
    """A measured width and where: middle of the ray, part coordinates, mm."""

    width_mm: float
    x_mm: float
    y_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True)
class WallFacts:
    """What the sections show; ``None`` where nothing of the kind was met.

    ``stroke`` is the thinnest stroke of the mark. ``shells`` counts closed surfaces; each beyond
    the first is a trapped volume or a loose body.
    """

    wall: Width | None
    slat: Width | None
    gap: Width | None
    stroke: Width | None
    sections: int
    shells: int


def measure_walls(spec: VentSpec, vertices: FloatArray, triangles: IntArray) -> WallFacts:
    """Return the thinnest places of a vent in use position; vertices (n, 3), mm."""
    walls: list[Width] = []
    gaps: list[Width] = []
    slats: list[Width] = []
    count = 0
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    for axis, levels in _levels(spec, low, high).items():
        for level, region in zip(levels, _sections(vertices, triangles, axis, levels), strict=True):
            if region.is_empty:
                continue
            count += 1
            walls += _placed(thinnest(region, inwards=True), axis, level)
            gaps += _placed(thinnest(region, inwards=False), axis, level)
            if axis == 0:
                # In the middle of a bay slats stand free of everything else.
                bodies = [p for p in shapely.get_parts(region) if isinstance(p, Polygon)]
                largest = max(p.area for p in bodies)
                for body in bodies:
                    if body.area < 0.5 * largest or len(bodies) > 4:
                        slats += _slat(body, spec, axis, level)
    return WallFacts(
        wall=_least(walls),
        slat=_least(slats),
        gap=_least(gaps),
        stroke=_stroke(spec, vertices, triangles),
        sections=count,
        shells=shell_count(triangles),
    )


def shell_count(triangles: IntArray) -> int:
    """Return the number of closed surfaces of a mesh that hang together by edges."""
    used, flat = np.unique(triangles, return_inverse=True)
    t = flat.reshape(-1, 3)
    ones = np.ones(2 * len(t))
    links = coo_matrix(
        (ones, (np.r_[t[:, 0], t[:, 1]], np.r_[t[:, 1], t[:, 2]])), shape=(len(used),) * 2
    )
    return int(connected_components(links, directed=False)[0])


def thinnest(region: Region, *, inwards: bool) -> tuple[float, float, float] | None:
    """Return the least width of a region (or of the gaps in it) and the middle (x, y), mm.

    ``None`` if no outline faces another.
    """
    starts, ends = _edges(region)
    edge = ends - starts
    length = np.hypot(*edge.T)
    long = length > _EDGE_MIN_MM
    # Material lies to the left of every outline.
    left = np.column_stack([-edge[:, 1], edge[:, 0]]) / np.maximum(length, 1e-12)[:, None]
    ray = left if inwards else -left
    best: tuple[float, float, float] | None = None
    at = np.array(_SAMPLES)
    origin = (starts[long, None, :] + at[None, :, None] * edge[long, None, :]).reshape(-1, 2)
    heading = np.repeat(ray[long], len(at), axis=0)
    chunk = max(1, _CHUNK // max(len(starts), 1))
    for begin in range(0, len(origin), chunk):
        o, d = origin[begin : begin + chunk], heading[begin : begin + chunk]
        relative = starts[None] - o[:, None]
        det = d[:, None, 0] * edge[None, :, 1] - d[:, None, 1] * edge[None, :, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (relative[..., 0] * edge[None, :, 1] - relative[..., 1] * edge[None, :, 0]) / det
            u = (relative[..., 0] * d[:, None, 1] - relative[..., 1] * d[:, None, 0]) / det
        hit = (np.abs(det) > 1e-12) & (t > _TOUCH_MM) & (u >= 0.0) & (u <= 1.0)
        t = np.where(hit, t, np.inf)
        nearest = np.argmin(t, axis=1)
        distance = t[np.arange(len(o)), nearest]
        facing = np.einsum("ij,ij->i", d, ray[nearest]) < _FACING
        distance = np.where(facing, distance, np.inf)
        i = int(np.argmin(distance))
        if math.isfinite(distance[i]) and (best is None or distance[i] < best[0]):
            middle = o[i] + 0.5 * distance[i] * d[i]
            best = (float(distance[i]), float(middle[0]), float(middle[1]))
    return best


def _edges(region: Region) -> tuple[FloatArray, FloatArray]:
    """Return start and end points (n, 2) of all outlines, material to their left."""
    starts, ends = [], []
    for part in shapely.get_parts(region):
        if not isinstance(part, Polygon):
            continue
        for k, ring in enumerate((part.exterior, *part.interiors)):
            points = np.asarray(ring.coords)
            if ring.is_ccw != (k == 0):
                points = points[::-1]
            starts.append(points[:-1])
            ends.append(points[1:])
    return np.concatenate(starts), np.concatenate(ends)


def _levels(spec: VentSpec, low: FloatArray, high: FloatArray) -> dict[int, FloatArray]:
    """Return the sections' places along x, y and z."""
    bays = [spec.bays[0], spec.bays[len(spec.bays) // 2], spec.bays[-1]]
    xs = sorted({round(0.45 * a + 0.55 * b, 4) for a, b in bays})
    z_stack = spec.section.stack_z_mm
    shares = (0.03, 0.2, 0.4, 0.6, 0.8, 0.97)
    zs = [z_stack[0] + s * (z_stack[1] - z_stack[0]) for s in shares]
    zs += [0.5 * (low[2] + min(z_stack)), low[2] + 0.6, 0.7]
    span = high[1] - low[1]
    ys = [low[1] + s * span for s in (0.3, 0.52, 0.7)]
    found = {0: xs, 1: ys, 2: zs}
    return {
        axis: np.array(sorted(v for v in values if low[axis] + 0.05 < v < high[axis] - 0.05))
        for axis, values in found.items()
    }


def _sections(
    vertices: FloatArray, triangles: IntArray, axis: int, levels: FloatArray
) -> list[Region]:
    """Return the sections normal to an axis, in the plane of the next two axes in turn."""
    return section_regions(np.roll(vertices, 2 - axis, axis=1), triangles, levels)


def _placed(found: tuple[float, float, float] | None, axis: int, level: float) -> list[Width]:
    """Return a width with its place in part coordinates."""
    if found is None:
        return []
    width, u, v = found
    place = np.roll(np.array([u, v, float(level)]), axis - 2)
    return [Width(width, *(float(c) for c in place))]


def _slat(body: Polygon, spec: VentSpec, axis: int, level: float) -> list[Width]:
    """Return the thickness of a free-standing piece if it lies in the stack."""
    # Section plane of axis x: (y, z).
    z = (body.bounds[1], body.bounds[3])
    inner, outer = spec.section.stack_z_mm
    if z[0] < inner - 0.1 or z[1] > outer + 0.1:
        return []
    return _placed(thinnest(body, inwards=True), axis, level)


def _stroke(spec: VentSpec, vertices: FloatArray, triangles: IntArray) -> Width | None:
    """Return the thinnest stroke of the mark, cut at half its depth."""
    mark = spec.mark
    front = (
        spec.body.cover_thickness_mm
        if isinstance(spec.body, BlockBody)
        else spec.section.front_z_mm
    )
    level = front + (0.5 if mark.raised else -0.5) * mark.depth_mm
    region = _sections(vertices, triangles, 2, np.array([level]))[0]
    half = mark_width_mm(mark.height_mm) / 2 + 0.5
    window = rectangle(
        mark.x_mm - half, mark.y_mm - 0.4, mark.x_mm + half, mark.y_mm + mark.height_mm + 0.9
    )
    inside = window.intersection(region) if mark.raised else window.difference(region)
    if not isinstance(inside, Region) or inside.is_empty:
        return None
    return _least(_placed(thinnest(inside, inwards=True), 2, level))


def _least(widths: list[Width]) -> Width | None:
    return min(widths, key=lambda w: w.width_mm, default=None)

"""Walls, slats and gaps measured on the solid, by rays in plane sections.

From points along every outline of a section a ray runs square to the outline, inwards through the
material for a wall and outwards through the air for a gap, up to the outline opposite. It counts if
that outline faces the one it came from, which leaves out corners and wedge tips, and if the surface
stands square to the section at both ends, so that what is measured is the wall's own thickness.
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

from vent_family.base.arrays import BoolArray, FloatArray, IntArray, ObjectArray
from vent_family.mesh.regions import Region, regions_of
from vent_family.mesh.slices import Cuts
from vent_family.spec.label import Label
from vent_family.spec.mark import mark_width_mm
from vent_family.spec.vent import VentSpec

_FACING: Final = -math.cos(math.radians(25.0))
"""Two outlines face each other if their normals turn from one to the other by 155 to 180 deg."""
_SAMPLES: Final = (0.15, 0.5, 0.85)
_EDGE_MIN_MM: Final = 0.05
_TOUCH_MM: Final = 1e-6
_SQUARE: Final = 0.2
"""A surface whose normal leans out of the section by less than this (sine) is square to it."""
REACH_MM: Final = 15.0
"""Widths above this are not looked for."""


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
    threaded = spec.body.neck is not None
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    # What is left of a slat cut short may be shorter than thick.
    whole = np.array([Polygon(s.outline) for s in spec.section.slats if s.whole], dtype=object)
    for axis, levels in _levels(spec, low, high).items():
        cuts = _cuts(vertices, triangles, axis, levels)
        for i, region in enumerate(regions_of(cuts)):
            if region.is_empty:
                continue
            count += 1
            level = float(levels[i])
            outline = _outline(cuts, i, axis, spec.label, threaded=threaded)
            walls += _placed(_thinnest(outline, inwards=True), axis, level)
            gaps += _placed(_thinnest(outline, inwards=False), axis, level)
            if axis == 0:
                # In the middle of a bay slats stand free of everything else.
                bodies = [p for p in shapely.get_parts(region) if isinstance(p, Polygon)]
                largest = max(p.area for p in bodies)
                for body in bodies:
                    if body.area < 0.5 * largest or len(bodies) > 4:
                        slats += _slat(body, whole, axis, level)
    return WallFacts(
        wall=_least(walls),
        slat=_least(slats),
        gap=_least(gaps),
        stroke=_stroke(spec, vertices, triangles),
        sections=count,
        shells=shell_count(triangles),
    )


def shell_count(triangles: IntArray) -> int:
    """Return the number of closed surfaces of a mesh that hang together by edges.

    Examples
    --------
    >>> sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    >>> shell_count(np.concatenate([sides, sides + 4]))
    2
    """
    used, flat = np.unique(triangles, return_inverse=True)
    t = flat.reshape(-1, 3)
    ones = np.ones(2 * len(t))
    links = coo_matrix(
        (ones, (np.r_[t[:, 0], t[:, 1]], np.r_[t[:, 1], t[:, 2]])), shape=(len(used),) * 2
    )
    return int(connected_components(links, directed=False)[0])


@dataclass(frozen=True, eq=False)
class _Outline:
    """Outline of a section: segments (n, 2), material to their left, and whether the surface
    there stands square to the section (n,)."""

    starts: FloatArray
    ends: FloatArray
    square: BoolArray


def thinnest(region: Region, *, inwards: bool) -> tuple[float, float, float] | None:
    """Return the least width of a plane region (or of the gaps in it) and its middle (x, y), mm.

    ``None`` if no outline faces another within :data:`REACH_MM`.

    Examples
    --------
    A frame of 10 x 10 mm with walls of 2 mm, but 1 mm on the left:

    >>> frame = rectangle(0, 0, 10, 10).difference(rectangle(1, 2, 8, 8))
    >>> width, x, _ = thinnest(frame, inwards=True)
    >>> width, x
    (1.0, 0.5)
    >>> thinnest(frame, inwards=False)[0]
    6.0
    """
    starts, ends = _edges(region)
    return _thinnest(_Outline(starts, ends, np.ones(len(starts), dtype=bool)), inwards=inwards)


def _thinnest(outline: _Outline, *, inwards: bool) -> tuple[float, float, float] | None:
    edge = outline.ends - outline.starts
    length = np.hypot(*edge.T)
    left = np.column_stack([-edge[:, 1], edge[:, 0]]) / np.maximum(length, 1e-12)[:, None]
    ray = left if inwards else -left
    source = np.flatnonzero((length > _EDGE_MIN_MM) & outline.square)
    if len(source) == 0:
        return None
    at = np.array(_SAMPLES)
    origin = (outline.starts[source, None] + at[None, :, None] * edge[source, None]).reshape(-1, 2)
    owner = np.repeat(source, len(at))
    heading = ray[owner]
    tree = shapely.STRtree(shapely.linestrings(np.stack([outline.starts, outline.ends], axis=1)))
    tips = origin + REACH_MM * heading
    which, hit = tree.query(
        shapely.linestrings(np.stack([origin, tips], axis=1)), predicate="intersects"
    )
    apart = hit != owner[which]
    which, hit = which[apart], hit[apart]
    o, d = origin[which], heading[which]
    relative = outline.starts[hit] - o
    det = d[:, 0] * edge[hit, 1] - d[:, 1] * edge[hit, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (relative[:, 0] * edge[hit, 1] - relative[:, 1] * edge[hit, 0]) / det
    good = (np.abs(det) > 1e-9) & (t > _TOUCH_MM)
    which, hit, t = which[good], hit[good], t[good]
    # The first outline a ray meets ends it, whether it counts or not.
    order = np.lexsort((t, which))
    which, hit, t = which[order], hit[order], t[order]
    first = np.flatnonzero(np.diff(which, prepend=-1))
    which, hit, t = which[first], hit[first], t[first]
    facing = np.einsum("ij,ij->i", heading[which], ray[hit]) < _FACING
    counts = facing & outline.square[hit]
    if not counts.any():
        return None
    i = int(np.argmin(np.where(counts, t, np.inf)))
    middle = origin[which[i]] + 0.5 * t[i] * heading[which[i]]
    return float(t[i]), float(middle[0]), float(middle[1])


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
    if spec.body.neck is not None:
        neck = spec.body.neck.length_mm
        zs += [-s * neck for s in (0.03, 0.3, 0.5, 0.7)]
    span = high[1] - low[1]
    ys = [low[1] + s * span for s in (0.3, 0.52, 0.7)]
    found = {0: xs, 1: ys, 2: zs}
    return {
        axis: np.array(sorted(v for v in values if low[axis] + 0.05 < v < high[axis] - 0.05))
        for axis, values in found.items()
    }


def _outline(cuts: Cuts, index: int, axis: int, label: Label, *, threaded: bool) -> _Outline:
    """Return the outline of one of the sections normal to an axis; letters inside do not count."""
    found = cuts.segments(index)
    starts, ends = found.starts, found.ends
    corners = cuts.vertices[cuts.triangles[found.triangle]]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lean = np.abs(normal[:, 2]) / np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    square = lean < _SQUARE
    if axis != 2:
        # Along x the section's plane is (y, z), along y it is (z, x).
        z = np.stack([starts[:, 1 - axis], ends[:, 1 - axis]]) - label.z_mm
        square &= ~((z.max(axis=0) > _TOUCH_MM) & (z.max(axis=0) < label.depth_mm + _TOUCH_MM))
    if threaded and axis != 2:
        # Crests and roots of the thread are the standard's affair; the neck's wall under them
        # shows in the sections square to its axis.
        square &= starts[:, 1 - axis] > 0.0
    return _Outline(starts, ends, square)


def _cuts(vertices: FloatArray, triangles: IntArray, axis: int, levels: FloatArray) -> Cuts:
    """Return the sections normal to an axis, in the plane of the next two axes in turn."""
    return Cuts(np.roll(vertices, 2 - axis, axis=1), triangles, levels)


def _placed(found: tuple[float, float, float] | None, axis: int, level: float) -> list[Width]:
    """Return a width with its place in part coordinates."""
    if found is None:
        return []
    width, u, v = found
    place = np.roll(np.array([u, v, float(level)]), axis - 2)
    return [Width(width, *(float(c) for c in place))]


def _slat(body: Polygon, whole: ObjectArray, axis: int, level: float) -> list[Width]:
    """Return the thickness of a free-standing piece if it is one of the whole slats (z, y)."""
    # Section plane of axis x: (y, z).
    y, z = body.representative_point().coords[0]
    if not shapely.intersects_xy(whole, z, y).any():
        return []
    return _placed(thinnest(body, inwards=True), axis, level)


def _stroke(spec: VentSpec, vertices: FloatArray, triangles: IntArray) -> Width | None:
    """Return the thinnest stroke of the mark, cut at half its depth."""
    mark = spec.mark
    front = spec.section.front_z_mm
    level = front + (0.5 if mark.raised else -0.5) * mark.depth_mm
    region = regions_of(_cuts(vertices, triangles, 2, np.array([level])))[0]
    half = mark_width_mm(mark) / 2 + 0.5
    window = rectangle(
        mark.x_mm - half, mark.y_mm - 0.4, mark.x_mm + half, mark.y_mm + mark.height_mm + 0.9
    )
    inside = window.intersection(region) if mark.raised else window.difference(region)
    if not isinstance(inside, Region) or inside.is_empty:
        return None
    return _least(_placed(thinnest(inside, inwards=True), 2, level))


def _least(widths: list[Width]) -> Width | None:
    return min(widths, key=lambda w: w.width_mm, default=None)

"""What the layer below does not carry: bridges, steep places, ledges, overhangs.

A layer is carried as far as the layer below reaches, and beyond it by the step a slope at the
overhang limit makes from one layer to the next. What lies farther out is one of

- ``bridge``: lines in one direction end on the layer below at both ends; the longest is the span;
- ``steep``: held on one side, but every bead still lies on the one below with half its width;
- ``ledge``: a single short step, shorter than the ledge limit, not repeated layer after layer;
- ``overhang``: held on one side only and longer than that: needs a support;
- ``floating``: not connected to anything below: needs a support.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.limits import (
    BEAD_CARRIED_MIN,
    CRUMB_AREA,
    CRUMB_WIDTH,
    LEDGE_MAX,
    LINE_WIDTH,
    OVERHANG_MAX,
)
from vent_family.mesh.layers import Layers
from vent_family.mesh.regions import Region

Kind = Literal["bridge", "steep", "ledge", "overhang", "floating"]

_Known = dict[tuple[bytes, ...], tuple[float, float] | None]
"""Bridges already judged, by shape: a vent has hundreds that differ only in place."""

NEEDS_SUPPORT: Final[frozenset[Kind]] = frozenset({"overhang", "floating"})

_SLACK_MM: Final = 0.01
"""Added to the carried width: rounding of slices and of facets lying exactly at the limit."""
_LEVEL_MM: Final = 1e-4
"""Heights nearer than this are taken as equal when layers are chosen."""
_THIN_MM: Final = 0.1
"""In a strip thinner than twice this no point is farther out than the rim."""
_TOUCH_MM: Final = 0.02
"""A line's end this near to the layer below rests on it."""
_ANCHORED_SHARE: Final = 0.9
"""Share of the lines of a region that must be held at both ends for it to count as a bridge."""
_SCANS: Final = 9
_SCANS_MAX: Final = 200
"""Least and largest number of lines laid across a region to see how it is held."""


@dataclass(frozen=True, slots=True)
class SupportRules:
    """What counts as carried; lengths in mm, angle in degrees from the vertical.

    ``turn_deg`` is the step of the bridging directions tried besides those of a region's edges.
    """

    overhang_deg: float = OVERHANG_MAX.value
    line_width_mm: float = LINE_WIDTH.value
    ledge_mm: float = LEDGE_MAX.value
    crumb_width_mm: float = CRUMB_WIDTH.value
    crumb_area_mm2: float = CRUMB_AREA.value
    turn_deg: float = 15.0

    @property
    def half_bead_mm(self) -> float:
        """How far a bead may reach out and still be carried enough, mm."""
        return self.line_width_mm * BEAD_CARRIED_MIN.value


@dataclass(frozen=True, eq=False)
class Finding:
    """One region of one layer that the layer below does not carry.

    ``z_mm`` is the layer's underside. ``span_mm`` is a bridge's longest line between its anchors,
    ``direction_deg`` its direction from the x axis of the bed; ``reach_mm`` is how far a region
    held on one side reaches beyond the layer below, steps of the layers before included.
    """

    layer: int
    z_mm: float
    kind: Kind
    region: Region
    area_mm2: float
    reach_mm: float
    span_mm: float = 0.0
    direction_deg: float = 0.0
    angle_deg: float = 90.0

    @property
    def size_mm(self) -> float:
        """The number the finding is judged by: a bridge's span, else the reach, mm."""
        return self.span_mm if self.kind == "bridge" else self.reach_mm


def find_unsupported(
    layers: Layers, rules: SupportRules, only: Iterable[int] | None = None
) -> list[Finding]:
    """Return every region not carried by the layer below, in order of the layers.

    ``only`` names the layers worth looking at (see :func:`suspect_layers`); all if ``None``. The
    first layer lies on the bed.
    """
    findings: list[Finding] = []
    before: list[Finding] = []
    known: _Known = {}
    wanted = range(1, len(layers.regions)) if only is None else sorted(set(only) - {0})
    middles, bottoms = layers.middles_mm, layers.bottoms_mm
    last = -1
    for i in wanted:
        here, below = layers.regions[i], layers.regions[i - 1]
        if here.is_empty:
            continue
        if last != i - 1:
            before = []
        last = i
        step = float(middles[i] - middles[i - 1])
        reach = step * math.tan(math.radians(rules.overhang_deg)) + _SLACK_MM
        found = []
        for piece in _uncarried(here, below, reach, rules):
            finding = _judge(piece, here, below, reach, step, rules, before, known)
            found.append(_placed(finding, i, float(bottoms[i])))
        findings += found
        before = [f for f in found if f.kind in ("ledge", "overhang")]
    return findings


def suspect_layers(
    vertices: FloatArray, triangles: IntArray, layers: Layers, overhang_deg: float
) -> list[int]:
    """Return the layers that can have anything uncarried: all others need no looking at.

    Between two cuts something new begins only where a face hangs over more steeply than the
    limit, along an edge nearer to level than the limit between two faces that look down (the tip
    of a wedge), or at a lowest point of the surface. ``vertices`` are (n, 3) in mm.
    """
    corners = vertices[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    slope = normal[:, 2] / np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    steep = -slope > np.sin(math.radians(overhang_deg + 0.5))
    z = vertices[:, 2]
    low, high = corners[:, :, 2].min(axis=1), corners[:, :, 2].max(axis=1)
    sides = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    lowest_neighbour = np.full(len(vertices), np.inf)
    np.minimum.at(lowest_neighbour, sides[:, 0], z[sides[:, 1]])
    minima = z[z <= lowest_neighbour + 1e-9]
    looks_down = np.repeat(slope < -0.1, 3)
    ends = np.sort(sides[looks_down], axis=1)
    edges, count = np.unique(ends, axis=0, return_counts=True)
    a, b = vertices[edges[count == 2]].transpose(1, 0, 2)
    rise = np.abs(b[:, 2] - a[:, 2])
    level = rise < np.cos(math.radians(overhang_deg + 0.5)) * np.linalg.norm(b - a, axis=1)
    tip = np.stack([a[level, 2], b[level, 2]])
    starts = np.concatenate([low[steep], minima, tip.min(axis=0)])
    stops = np.concatenate([high[steep], minima, tip.max(axis=0)])
    middles = layers.middles_mm
    first = np.searchsorted(middles, starts - _LEVEL_MM, side="left")
    after = np.searchsorted(middles, stops + _LEVEL_MM, side="left") + 1
    marks = np.zeros(len(middles) + 2, dtype=np.int64)
    np.add.at(marks, np.minimum(first, len(middles)), 1)
    np.add.at(marks, np.minimum(after, len(middles) + 1), -1)
    covered = np.cumsum(marks)[: len(middles)] > 0
    return [int(i) for i in np.flatnonzero(covered) if i > 0]


def _uncarried(here: Region, below: Region, reach: float, rules: SupportRules) -> list[Polygon]:
    """Return the pieces of a layer beyond what the layer below carries, crumbs left out."""
    new = here.difference(below)
    if new.is_empty or new.area < rules.crumb_area_mm2:
        return []
    grown = below.buffer(reach, quad_segs=6)
    pieces = []
    for piece in shapely.get_parts(new.difference(grown)):
        if not isinstance(piece, Polygon) or piece.area < rules.crumb_area_mm2:
            continue
        if piece.buffer(-rules.crumb_width_mm / 2).is_empty:
            continue
        pieces.append(piece)
    return pieces


@dataclass(frozen=True, eq=False)
class _Judged:
    kind: Kind
    region: Region
    reach_mm: float
    angle_deg: float
    span_mm: float = 0.0
    direction_deg: float = 0.0


def _placed(judged: _Judged, layer: int, z_mm: float) -> Finding:
    return Finding(
        layer=layer,
        z_mm=z_mm,
        kind=judged.kind,
        region=judged.region,
        area_mm2=float(judged.region.area),
        reach_mm=judged.reach_mm,
        span_mm=judged.span_mm,
        direction_deg=judged.direction_deg,
        angle_deg=judged.angle_deg,
    )


def _judge(
    piece: Polygon,
    here: Region,
    below: Region,
    reach: float,
    step: float,
    rules: SupportRules,
    before: Sequence[Finding],
    known: _Known,
) -> _Judged:
    """Say what one uncarried piece is."""
    body = _body_of(piece, here)
    if not body.intersects(below):
        return _Judged("floating", body, _INFINITE, 90.0)
    near = _clipped(below, piece, 3.0 * reach + 0.1)
    own = _farthest(piece, below if near.is_empty else near)
    angle = math.degrees(math.atan2(own, step))
    if own <= rules.half_bead_mm + _SLACK_MM:
        return _Judged("steep", piece, own, angle)
    bridge = _bridge(piece, here, near, reach, rules, known)
    if bridge is not None:
        span, direction = bridge
        return _Judged("bridge", piece, own, angle, span, direction)
    total = own + max(
        (f.reach_mm for f in before if piece.distance(f.region) <= reach + _TOUCH_MM), default=0.0
    )
    kind: Kind = "ledge" if total <= rules.ledge_mm + _SLACK_MM else "overhang"
    return _Judged(kind, piece, total, angle)


_INFINITE: Final = math.inf


def _body_of(piece: Polygon, here: Region) -> Polygon:
    """Return the connected part of a layer that holds a piece of it."""
    if isinstance(here, Polygon):
        return here
    point = piece.representative_point()
    for part in here.geoms:
        if part.covers(point):
            return part
    return piece


def _clipped(region: Region, piece: Polygon, margin: float) -> Region:
    """Return what lies of a region within a margin of a piece's box."""
    x0, y0, x1, y1 = piece.bounds
    cut = shapely.clip_by_rect(region, x0 - margin, y0 - margin, x1 + margin, y1 + margin)
    return cut if shapely.is_valid(cut) and isinstance(cut, Region) else _areas(cut)


def _areas(shape: shapely.Geometry) -> Region:
    """Return the polygons of a shape that may not be valid."""
    mended = shapely.make_valid(shape)
    parts = [p for p in shapely.get_parts(mended) if isinstance(p, Polygon)]
    union = shapely.union_all(parts)
    return union if isinstance(union, Polygon | MultiPolygon) else MultiPolygon()


def _farthest(piece: Polygon, near: Region) -> float:
    """Return the distance of the farthest point of a piece from the layer below, mm."""
    # The middle of a long edge can lie farther out than its ends, so edges are cut up.
    size = max(piece.bounds[2] - piece.bounds[0], piece.bounds[3] - piece.bounds[1])
    outline = shapely.segmentize(piece, max(size / 40.0, 0.1))
    points = shapely.points(shapely.get_coordinates(outline))
    rim = float(shapely.distance(points, near).max())
    if piece.buffer(-_THIN_MM, quad_segs=1).is_empty:
        return rim
    # A place held all round has its rim on the layer below and its middle in the air.
    middle = shapely.get_point(shapely.maximum_inscribed_circle(piece, tolerance=0.02), 0)
    return max(rim, float(shapely.distance(middle, near)))


def _bridge(
    piece: Polygon,
    here: Region,
    near: Region,
    reach: float,
    rules: SupportRules,
    known: _Known,
) -> tuple[float, float] | None:
    """Return span (mm) and direction (deg) of a piece held at both ends of its lines, or None."""
    gap = _clipped(here, piece, 3.0 * reach + 0.1).difference(near)
    parts = [p for p in shapely.get_parts(gap) if isinstance(p, Polygon) and p.intersects(piece)]
    if not parts or near.is_empty:
        return None
    gap = parts[0] if len(parts) == 1 else MultiPolygon(parts)
    shapely.prepare(near)
    key = _shape_key(piece, gap, near)
    if key not in known:
        known[key] = _shortest_bridge(piece, gap, near, rules)
    return known[key]


def _shape_key(piece: Polygon, gap: Region, near: Region) -> tuple[bytes, ...]:
    """Return a key equal for regions of equal shape, equally held, wherever they are."""
    ring = shapely.get_coordinates(gap)
    held = shapely.distance(shapely.points(0.5 * (ring[1:] + ring[:-1])), near) <= _TOUCH_MM
    corner = np.array(piece.bounds[:2])
    shapes = [shapely.get_coordinates(piece), ring]
    rounded = [(np.round((s - corner) / _SAME_MM)).astype(np.int64).tobytes() for s in shapes]
    return (*rounded, held.tobytes())


def _shortest_bridge(
    piece: Polygon, gap: Region, near: Region, rules: SupportRules
) -> tuple[float, float] | None:
    """Try directions from the shortest extent up; return span (mm) and direction (deg), or None."""
    starts, ends = _edges(gap)
    # An overlay puts a corner wherever the layer below begins or ends, so an edge rests on it
    # from end to end or not at all.
    held = shapely.distance(shapely.points(0.5 * (starts + ends)), near) <= _TOUCH_MM
    own_starts, own_ends = _edges(piece)
    for direction in _directions(piece, rules.turn_deg):
        c, s = math.cos(math.radians(direction)), math.sin(math.radians(direction))
        turn = np.array([[c, -s], [s, c]])
        mine = own_starts @ turn, own_ends @ turn
        low, high = float(mine[0][:, 1].min()), float(mine[0][:, 1].max())
        count = min(_SCANS_MAX, max(_SCANS, math.ceil((high - low) / rules.line_width_mm)))
        heights = low + (np.arange(count) + 0.5) * (high - low) / count
        line, x0, x1, first, last = _chords(starts @ turn, ends @ turn, heights)
        own_line, a, b, _, _ = _chords(*mine, heights)
        overlap = np.minimum(x1[:, None], b[None]) - np.maximum(x0[:, None], a[None])
        overlap[line[:, None] != own_line[None]] = 0.0
        inside = np.maximum(overlap, 0.0).sum(axis=1)
        crossing = inside > 1e-6
        both = crossing & held[first] & held[last]
        total = inside[crossing].sum()
        if total > 0.0 and inside[both].sum() >= _ANCHORED_SHARE * total:
            return float((x1 - x0)[both].max()), direction
    return None


def _edges(region: Region) -> tuple[FloatArray, FloatArray]:
    """Return start and end points (n, 2) of all edges of a region."""
    points, ring = shapely.get_coordinates(shapely.get_rings(region), return_index=True)
    same = ring[1:] == ring[:-1]
    return points[:-1][same], points[1:][same]


def _chords(
    starts: FloatArray, ends: FloatArray, heights: FloatArray
) -> tuple[IntArray, FloatArray, FloatArray, IntArray, IntArray]:
    """Return the pieces of level lines inside closed outlines given by their edges.

    For each piece: which line, x of its two ends, and the edges at which it begins and ends.
    """
    y0, y1 = starts[:, 1], ends[:, 1]
    crossed = (y0[None] > heights[:, None]) != (y1[None] > heights[:, None])
    line, edge = np.nonzero(crossed)
    t = (heights[line] - y0[edge]) / (y1[edge] - y0[edge])
    x = starts[edge, 0] + t * (ends[edge, 0] - starts[edge, 0])
    order = np.lexsort((x, line))
    line, edge, x = line[order], edge[order], x[order]
    # Closed outlines cross a line an even number of times: in, out, in, out.
    return line[::2], x[::2], x[1::2], edge[::2], edge[1::2]


_SAME_MM: Final = 0.005
"""Corners of two shapes that agree to this are the same shape, mm."""


def _directions(piece: Polygon, turn_deg: float) -> list[float]:
    """Return directions to try, degrees in [0, 180), that of the shortest extent first."""
    ring = np.asarray(piece.exterior.coords)
    edges = np.diff(ring, axis=0)
    lengths = np.hypot(*edges.T)
    longest = np.argsort(-lengths)[:6]
    own = np.degrees(np.arctan2(edges[longest, 1], edges[longest, 0]))
    tried = np.concatenate([own, own + 90.0, np.arange(0.0, 180.0, turn_deg)]) % 180.0
    unique: list[float] = []
    for angle in tried:
        if all(min(abs(angle - u), 180.0 - abs(angle - u)) > 1.0 for u in unique):
            unique.append(float(angle))
    rad = np.radians(unique)
    along = ring @ np.array([np.cos(rad), np.sin(rad)])
    extent = along.max(axis=0) - along.min(axis=0)
    return [unique[i] for i in np.argsort(extent, kind="stable")]


def longest(findings: Iterable[Finding], kind: Kind) -> Finding | None:
    """Return the largest finding of a kind, or None."""
    return max((f for f in findings if f.kind == kind), key=lambda f: f.size_mm, default=None)


__all__ = [
    "NEEDS_SUPPORT",
    "Finding",
    "Kind",
    "SupportRules",
    "find_unsupported",
    "longest",
    "suspect_layers",
]

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
from shapely.geometry import Polygon

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.printing.bridges import SLACK_MM, TOUCH_MM, Known, SupportRules, bridge_of
from vent_family.mesh.layers import Layers
from vent_family.mesh.regions import EMPTY, Region, polygons_of

Kind = Literal["bridge", "steep", "ledge", "overhang", "floating"]

NEEDS_SUPPORT: Final[frozenset[Kind]] = frozenset({"overhang", "floating"})

_LEVEL_MM: Final = 1e-4
"""Heights nearer than this are taken as equal when layers are chosen."""
_THIN_MM: Final = 0.1
"""In a strip thinner than twice this no point is farther out than the rim."""


@dataclass(frozen=True, eq=False)
class Finding:
    """One region of one layer that the layer below does not carry.

    ``z_mm`` is the layer's underside. ``span_mm`` is a bridge's longest line between its anchors,
    ``direction_deg`` its direction from the x axis of the bed, ``strand_mm`` the least width of
    what hangs free, square to its lines; infinite where one side rests on the layer below.
    ``reach_mm`` is how far a region held on one side reaches beyond the layer below, steps of the
    layers before included.
    """

    layer: int
    z_mm: float
    kind: Kind
    region: Region
    area_mm2: float
    reach_mm: float
    span_mm: float = 0.0
    direction_deg: float = 0.0
    strand_mm: float = math.inf
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
    lost: Region = EMPTY
    known: Known = {}
    wanted = frozenset(range(len(layers.regions)) if only is None else only)
    middles, bottoms = layers.middles_mm, layers.bottoms_mm
    for i in range(1, len(layers.regions)):
        here = layers.regions[i]
        # Whatever began too thin for a bead was not laid, so it carries nothing above.
        if here.is_empty or (i not in wanted and lost.is_empty):
            before, lost = [], EMPTY
            continue
        below = layers.regions[i - 1]
        if not lost.is_empty:
            below = polygons_of(below.difference(lost))
        step = float(middles[i] - middles[i - 1])
        reach = step * math.tan(math.radians(rules.overhang_deg)) + SLACK_MM
        pieces, lost = _uncarried(here, below, reach, rules)
        found = []
        for piece in pieces:
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
    limit, along an edge nearer to level than the limit between two faces that rise from it (the
    tip of a wedge), or at a lowest point of the surface. ``vertices`` are (n, 3) in mm.
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
    tip = z[_tips(vertices, sides, np.repeat(normal, 3, axis=0), overhang_deg)].T
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


def _tips(
    vertices: FloatArray, sides: IntArray, normals: FloatArray, overhang_deg: float
) -> IntArray:
    """Return the ends (n, 2) of the edges that wedges end in below, as numbers of vertices.

    ``sides`` (m, 2) run round every triangle anticlockwise seen from outside, ``normals`` (m, 3)
    are those of their triangles, of any length.
    """
    along = vertices[sides[:, 1]] - vertices[sides[:, 0]]
    level = np.abs(along[:, 2]) < np.cos(math.radians(overhang_deg + 0.5)) * np.linalg.norm(
        along, axis=1
    )
    # Normal times edge points into the triangle: it rises from the edge if that points upwards.
    rises = normals[:, 0] * along[:, 1] - normals[:, 1] * along[:, 0] > 0.0
    kept = np.flatnonzero(level & rises)
    ends = np.sort(sides[kept], axis=1)
    _, first, edge, count = np.unique(
        ends @ np.array([len(vertices), 1]),
        return_index=True,
        return_inverse=True,
        return_counts=True,
    )
    down = np.full(len(first), np.inf)
    np.minimum.at(down, edge, normals[kept, 2])
    # Where both look up, it is the bottom of a groove.
    return np.asarray(ends[first[(count == 2) & (down < 0.0)]])


def _uncarried(
    here: Region, below: Region, reach: float, rules: SupportRules
) -> tuple[list[Polygon], Region]:
    """Return the pieces of a layer beyond what the layer below carries, and what is not laid.

    Pieces smaller than a crumb are left out. Where they are no rim of something carried but all
    that the layer adds there, as the tip of a wedge, nothing is laid.
    """
    new = here.difference(below)
    if new.is_empty:
        return [], EMPTY
    grown = below.buffer(reach, quad_segs=6)
    beyond = [p for p in shapely.get_parts(new.difference(grown)) if isinstance(p, Polygon)]
    pieces = [p for p in beyond if not _is_crumb(p, rules)]
    if len(pieces) == len(beyond):
        return pieces, EMPTY
    loose = [p for p in shapely.get_parts(new) if isinstance(p, Polygon) and _is_thread(p, rules)]
    if not loose:
        return pieces, EMPTY
    crumbs = shapely.union_all([p for p in beyond if _is_crumb(p, rules)])
    lost = [part for part in loose if part.intersects(crumbs)]
    return pieces, polygons_of(shapely.union_all(lost))


def _is_crumb(piece: Polygon, rules: SupportRules) -> bool:
    """Tell whether a piece is too small or too thin for a bead."""
    small = bool(piece.area < rules.crumb_area_mm2)
    return small or bool(piece.buffer(-rules.crumb_width_mm / 2).is_empty)


def _is_thread(part: Polygon, rules: SupportRules) -> bool:
    """Tell whether all that a layer adds at a place is hardly more than a crumb."""
    # A hair more: what is carried at its ends counts here, and a crumb may be just below its limit.
    small = bool(part.area < 2.0 * rules.crumb_area_mm2)
    return small or bool(part.buffer(-rules.crumb_width_mm / 2 - SLACK_MM).is_empty)


@dataclass(frozen=True, eq=False)
class _Judged:
    kind: Kind
    region: Region
    reach_mm: float
    angle_deg: float
    span_mm: float = 0.0
    direction_deg: float = 0.0
    strand_mm: float = math.inf


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
        strand_mm=judged.strand_mm,
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
    known: Known,
) -> _Judged:
    """Say what one uncarried piece is."""
    body = _body_of(piece, here)
    if not body.intersects(below):
        return _Judged("floating", body, _INFINITE, 90.0)
    near = _clipped(below, piece, 3.0 * reach + 0.1)
    own = _farthest(piece, below if near.is_empty else near)
    angle = math.degrees(math.atan2(own, step))
    if own <= rules.half_bead_mm + SLACK_MM:
        return _Judged("steep", piece, own, angle)
    around = _clipped(here, piece, 3.0 * reach + 0.1)
    bridge = bridge_of(piece, around.difference(near), near, reach, rules, known)
    if bridge is not None:
        return _Judged(
            "bridge", piece, own, angle, bridge.span_mm, bridge.direction_deg, bridge.strand_mm
        )
    total = own + max(
        (f.reach_mm for f in before if piece.distance(f.region) <= reach + TOUCH_MM), default=0.0
    )
    kind: Kind = "ledge" if total <= rules.ledge_mm + SLACK_MM else "overhang"
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
    window = x0 - margin, y0 - margin, x1 + margin, y1 + margin
    try:
        return polygons_of(shapely.clip_by_rect(region, *window))
    except shapely.errors.GEOSException:
        # The quick clip refuses rings that it would cut down to less than a triangle.
        return polygons_of(region.intersection(shapely.box(*window)))


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


def longest(findings: Iterable[Finding], kind: Kind) -> Finding | None:
    """Return the largest finding of a kind, or None."""
    return max((f for f in findings if f.kind == kind), key=lambda f: f.size_mm, default=None)

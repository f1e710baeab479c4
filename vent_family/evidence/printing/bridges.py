"""Bridges: regions whose lines in one direction end on the layer below at both ends.

Lines are laid across a region in every direction worth trying, from the shortest extent up. A
direction bridges if nearly all lines are held at both ends, and those that are not add up nowhere
to a strip wider than a bead: such a strip hangs in the air, as the rim of a hole in a plate does.

The strand a bridge starts with is what hangs free between the anchors, measured square to the lines
where it is narrowest. Where one of its sides rests on the layer below, there is no strand: the bead
beside it holds it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from shapely.geometry import MultiPolygon, Polygon

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.base.limits import (
    BEAD_CARRIED_MIN,
    CRUMB_AREA,
    CRUMB_WIDTH,
    LEDGE_MAX,
    LINE_WIDTH,
    OVERHANG_MAX,
)
from vent_family.mesh.regions import Region

TOUCH_MM: Final = 0.02
"""A line's end this near to the layer below rests on it."""
_ANCHORED_SHARE: Final = 0.9
"""Least share of a region's area that lies on lines held at both ends."""
_SCANS: Final = 9
_SCANS_MAX: Final = 400
"""Least and largest number of lines laid across a region to see how it is held."""
_LINES_IN_BEAD: Final = 2.0
"""Lines laid across a width of one bead: a strip that hangs free is found to half a bead."""
SLACK_MM: Final = 0.01
"""Added to limits: rounding of slices and of facets lying exactly at the limit."""
_SAME_MM: Final = 0.005
"""Corners of two shapes that agree to this are the same shape, mm."""
_BESIDE_MM: Final = 1e-4
"""A strand is measured this far on either side of its corners, where it is narrowest."""
_CORNER_MM: Final = 0.01
"""Corners nearer than this are measured once."""


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


@dataclass(frozen=True, slots=True)
class Bridge:
    """How a region bridges; lengths in mm.

    ``span_mm`` is the longest line between anchors, ``direction_deg`` (deg) its direction from the
    x axis of the bed. ``strand_mm`` is the least width of what hangs free, square to the lines;
    infinite if one side of it rests on the layer below all along.
    """

    span_mm: float
    direction_deg: float
    strand_mm: float


Known = dict[tuple[bytes, ...], Bridge | None]
"""Bridges already judged, by shape: a vent has hundreds that differ only in place."""


def bridge_of(
    piece: Polygon, gap: Region, near: Region, reach: float, rules: SupportRules, known: Known
) -> Bridge | None:
    """Return how a piece is bridged, or ``None`` if its lines end in the air.

    Parameters
    ----------
    piece
        What is not carried, one region.
    gap
        The layer around it without the layer below: what its lines cross from anchor to anchor.
    near
        The layer below around it.
    reach : float
        How far the layer below carries beyond itself, mm.
    rules
        What counts as carried.
    known
        Bridges judged so far; read and added to.
    """
    parts = [p for p in shapely.get_parts(gap) if isinstance(p, Polygon) and p.intersects(piece)]
    if not parts or near.is_empty:
        return None
    gap = parts[0] if len(parts) == 1 else MultiPolygon(parts)
    shapely.prepare(near)
    key = _shape_key(piece, gap, near)
    if key not in known:
        known[key] = _shortest_bridge(piece, gap, near, reach, rules)
    return known[key]


def _shape_key(piece: Polygon, gap: Region, near: Region) -> tuple[bytes, ...]:
    """Return a key equal for regions of equal shape, equally held, wherever they are."""
    ring = shapely.get_coordinates(gap)
    held = shapely.distance(shapely.points(0.5 * (ring[1:] + ring[:-1])), near) <= TOUCH_MM
    corner = np.array(piece.bounds[:2])
    shapes = [shapely.get_coordinates(piece), ring]
    rounded = [(np.round((s - corner) / _SAME_MM)).astype(np.int64).tobytes() for s in shapes]
    return (*rounded, held.tobytes())


def _shortest_bridge(
    piece: Polygon, gap: Region, near: Region, reach: float, rules: SupportRules
) -> Bridge | None:
    """Try directions from the shortest extent up; return the first that bridges, or ``None``."""
    starts, ends = _edges(gap)
    # An overlay puts a corner wherever the layer below begins or ends, so an edge rests on it
    # from end to end or not at all.
    held = shapely.distance(shapely.points(0.5 * (starts + ends)), near) <= TOUCH_MM
    own_starts, own_ends = _edges(piece)
    for direction in _directions(piece, rules.turn_deg):
        c, s = math.cos(math.radians(direction)), math.sin(math.radians(direction))
        turn = np.array([[c, -s], [s, c]])
        mine = own_starts @ turn, own_ends @ turn
        low, high = float(mine[0][:, 1].min()), float(mine[0][:, 1].max())
        wanted = math.ceil((high - low) * _LINES_IN_BEAD / rules.line_width_mm)
        count = min(_SCANS_MAX, max(_SCANS, wanted))
        spacing = (high - low) / count
        heights = np.asarray(low + (np.arange(count) + 0.5) * spacing)
        line, x0, x1, first, last = _chords(starts @ turn, ends @ turn, heights)
        own_line, a, b, _, _ = _chords(*mine, heights)
        overlap = np.minimum(x1[:, None], b[None]) - np.maximum(x0[:, None], a[None])
        overlap[line[:, None] != own_line[None]] = 0.0
        inside = np.maximum(overlap, 0.0).sum(axis=1)
        crossing = inside > 1e-6
        both = crossing & held[first] & held[last]
        total = inside[crossing].sum()
        if not (total > 0.0 and inside[both].sum() >= _ANCHORED_SHARE * total):
            continue
        free = crossing & ~both & (inside > rules.ledge_mm + SLACK_MM)
        if _widest_strip(line[free], x0[free], x1[free]) * spacing > rules.line_width_mm:
            continue
        carried = shapely.distance(shapely.points(0.5 * (own_starts + own_ends)), near)
        strand = _strand(*mine, carried <= reach + TOUCH_MM)
        return Bridge(float((x1 - x0)[both].max()), direction, strand)
    return None


def _widest_strip(line: IntArray, x0: FloatArray, x1: FloatArray) -> int:
    """Return how many lines the widest run of pieces of neighbouring lines holds, side by side.

    Examples
    --------
    Pieces of three lines side by side, and one of the third line apart from them:

    >>> _widest_strip(np.array([0, 1, 2, 2]), np.array([0.0, 1, 2, 9]), np.array([3.0, 4, 5, 10]))
    3
    """
    if len(line) == 0:
        return 0
    beside = np.abs(line[:, None] - line[None]) <= 1
    beside &= np.minimum(x1[:, None], x1[None]) > np.maximum(x0[:, None], x0[None])
    count, run = connected_components(coo_matrix(beside), directed=False)
    return max(len(np.unique(line[run == i])) for i in range(count))


def _strand(starts: FloatArray, ends: FloatArray, held: BoolArray) -> float:
    """Return the least width (mm) between two free sides of a region whose lines run along x.

    ``starts`` and ``ends`` (n, 2) are its edges, ``held`` (n,) those that the layer below carries.
    Between corners the width changes linearly, so it is measured beside the corners.

    Examples
    --------
    A strand of 10 mm between two anchors, 2 mm wide at one and 1 mm at the other:

    >>> corners = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 1.0], [0.0, 2.0]])
    >>> edges = corners, np.roll(corners, -1, axis=0)
    >>> round(_strand(*edges, np.array([False, True, False, True])), 3)
    1.0

    Held along one side, it is no strand:

    >>> _strand(*edges, np.array([True, True, False, True]))
    inf
    """
    _, once = np.unique(np.round(starts[:, 0] / _CORNER_MM), return_index=True)
    at = np.concatenate([starts[once, 0] - _BESIDE_MM, starts[once, 0] + _BESIDE_MM])
    _, low, high, first, last = _chords(starts[:, ::-1], ends[:, ::-1], at)
    free = ~held[first] & ~held[last]
    return float((high - low)[free].min(initial=math.inf))


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

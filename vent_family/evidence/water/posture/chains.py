"""Films on a rib's face followed from slat to slat, compiled.

A face is handed over as plain arrays: ``walls`` (n, 4) are its edges at which films end, mm, and
``ends`` what becomes of them there; ``edges`` (m, 4) are those of all slats, mm, edge i from corner
i of its slat on; ``ring`` (m, 2) says for each where its slat's edges begin and how many they are;
``depth`` (m,) how far each corner lies along ``down``, mm. ``down`` is the unit vector (z, y) that
films follow. ``sides`` holds z of the rib's inner end and of the outer plane, mm; ``over`` what
becomes of films that get to either.
"""

from __future__ import annotations

import math

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.compiled import compiled
from vent_family.evidence.water.crossing import crossing

FaceArrays = tuple[
    FloatArray, IntArray, FloatArray, IntArray, FloatArray, FloatArray, FloatArray, IntArray
]
"""``walls``, ``ends``, ``edges``, ``ring``, ``depth``, ``down``, ``sides`` and ``over``."""


@compiled(error_model="numpy")
def _first(
    edges: FloatArray, z: float, y: float, dz: float, dy: float, touch: float, parallel: float
) -> tuple[float, int]:
    """Return the distance (mm) to the first edge met from a place on a straight way, and which."""
    nearest, which = np.inf, -1
    for k in range(edges.shape[0]):
        t, s, det = crossing(edges, k, z, y, dz, dy)
        if abs(det) > parallel and touch < t < nearest and -touch <= s <= 1.0 + touch:
            nearest, which = t, k
    return nearest, which


@compiled(error_model="numpy")
def _bears(edges: FloatArray, k: int, down: FloatArray, parallel: float) -> bool:
    """Return whether a slat's edge looks up; outlines are anticlockwise: outward is (dy, -dz)."""
    dz, dy = edges[k, 2] - edges[k, 0], edges[k, 3] - edges[k, 1]
    looks_up: bool = dy * down[0] - dz * down[1] < -parallel
    return looks_up


@compiled(error_model="numpy")
def _downhill(
    edges: FloatArray,
    ring: IntArray,
    depth: FloatArray,
    down: FloatArray,
    edge: int,
    touch: float,
    parallel: float,
    passed: IntArray,
) -> int:
    """Fill in the corners that a film passes on a slat from an edge on, to where it leaves.

    A film stays on edges that look up. It runs to their lower end; in a hollow it rises until it
    runs over the lower of the two rims. Returns the number of corners.
    """
    base, n = ring[edge, 0], ring[edge, 1]
    own = edge - base
    first, last = own, own
    while _bears(edges, base + (first - 1) % n, down, parallel) and (first - 1) % n != last:
        first = (first - 1) % n
    while _bears(edges, base + (last + 1) % n, down, parallel) and (last + 1) % n != first:
        last = (last + 1) % n
    # Corners of the bearing stretch in turn, and the place of the edge between two of them.
    count = (last - first) % n + 2
    here = (own - first) % n
    ahead = depth[base + (first + here + 1) % n] - depth[base + (first + here) % n]
    if abs(ahead) > touch:
        forwards = ahead > 0.0
    else:
        forwards = edges[base + (first + count - 1) % n, 0] < edges[base + first, 0]
    low = here + 1 if forwards else here
    step = 1 if forwards else -1
    passed[0] = base + (first + low) % n
    found = 1
    for _ in range(2 * count):
        if not 0 < low < count - 1:
            break
        ahead = depth[base + (first + low + step) % n]
        if ahead >= depth[base + (first + low) % n] - touch:
            low += step
            passed[found] = base + (first + low) % n
            found += 1
            continue
        # A hollow: over whichever rim is lower.
        left, right = 0, low
        for i in range(low + 1):
            if depth[base + (first + i) % n] < depth[base + (first + left) % n]:
                left = i
        for i in range(low, count):
            if depth[base + (first + i) % n] < depth[base + (first + right) % n]:
                right = i
        higher = depth[base + (first + right) % n] > depth[base + (first + left) % n]
        step = 1 if higher else -1
        rim = right if higher else left
        while low != rim:
            low += step
            passed[found] = base + (first + low) % n
            found += 1
    return found


@compiled(error_model="numpy")
def _run(
    walls: FloatArray,
    ends: IntArray,
    edges: FloatArray,
    ring: IntArray,
    depth: FloatArray,
    down: FloatArray,
    sides: FloatArray,
    over: IntArray,
    place: FloatArray,
    touch: float,
    parallel: float,
    way: FloatArray,
    passed: IntArray,
) -> tuple[int, int, int]:
    """Follow a film from a ``place`` (z, y, mm) until it next falls free, or ends.

    The corners of its way go into ``way`` (mm); ``passed`` is room for corners' numbers. Returns
    how many there are, the end (-1 for none), and the corner of a slat that it leaves from.
    """
    z, y = place[0], place[1]
    dz, dy = down[0], down[1]
    limit, out = np.inf, over[0]
    if dz < 0.0:
        limit = (sides[0] - z) / dz
    elif dz > 0.0:
        limit, out = (sides[1] - z) / dz, over[1]
    t, wall = _first(walls, z, y, dz, dy, touch, parallel)
    s, slat = _first(edges, z, y, dz, dy, touch, parallel)
    nearest = min(limit, t, s)
    if nearest == np.inf:
        # Straight down past everything: over the outer edge of the floor.
        way[0, 0], way[0, 1] = z, y
        return 1, over[1], -1
    fall = max(nearest, 0.0)
    way[0, 0], way[0, 1] = z + dz * fall, y + dy * fall
    if limit <= min(t, s):
        return 1, out, -1
    if t <= s:
        return 1, ends[wall], -1
    corners = _downhill(edges, ring, depth, down, slat, touch, parallel, passed)
    for i in range(corners):
        z, y = way[i, 0], way[i, 1]
        to_z, to_y = edges[passed[i], 0], edges[passed[i], 1]
        step_z, step_y = to_z - z, to_y - y
        length = math.hypot(step_z, step_y)
        if length > 0.0:
            t, wall = _first(walls, z, y, step_z / length, step_y / length, touch, parallel)
            if t < length:
                share = t / length
                way[i + 1, 0], way[i + 1, 1] = z + share * step_z, y + share * step_y
                return i + 2, ends[wall], -1
        way[i + 1, 0], way[i + 1, 1] = to_z, to_y
    return corners + 1, -1, passed[corners - 1]


@compiled(error_model="numpy")
def follow_films(
    walls: FloatArray,
    ends: IntArray,
    edges: FloatArray,
    ring: IntArray,
    depth: FloatArray,
    down: FloatArray,
    sides: FloatArray,
    over: IntArray,
    places: FloatArray,
    touch: float,
    parallel: float,
    runs_max: int,
    lost: int,
) -> tuple[IntArray, FloatArray]:
    """Return the ends of films from their beginnings (n, 2) on, and the z (mm) at which they end.

    Films that leave a slat at the same corner end alike. One that is still on its way after
    ``runs_max`` runs, or goes round, is ``lost`` at the rib's inner end.

    Parameters
    ----------
    walls, ends
        edges at which films end, (n, 4), mm, and what becomes of them there
    edges, ring, depth
        edges of all slats, (m, 4), mm; where those of each one's slat begin and how many they are;
        how far each corner lies along ``down``, mm
    down
        unit vector (z, y) that films follow (1)
    sides, over
        z of the rib's inner end and of the outer plane, mm; what becomes of films there
    places
        where films begin, (n, 2), mm
    touch
        what lies nearer than this, mm, is where the film stands
    parallel
        sines below this are none (1)
    runs_max, lost
        most runs of a film, and what becomes of one that takes more
    """
    largest = ring[:, 1].max() if edges.shape[0] else 0
    # Each corner may lead over a hollow, with all others on the way.
    room = 2 * (largest + 2) ** 2
    way = np.empty((room + 1, 2))
    passed = np.empty(room, dtype=np.int64)
    place = np.empty(2)
    # 0: not met, 1: met by the film on its way, 2: known.
    state = np.zeros(edges.shape[0], dtype=np.int64)
    end_at = np.empty(edges.shape[0], dtype=np.int64)
    z_at = np.empty(edges.shape[0])
    mine = np.empty(runs_max, dtype=np.int64)
    code = np.empty(places.shape[0], dtype=np.int64)
    at = np.empty(places.shape[0])
    for film in range(places.shape[0]):
        place[0], place[1] = places[film, 0], places[film, 1]
        end, z = lost, sides[0]
        met = 0
        for _ in range(runs_max):
            count, found, corner = _run(
                walls,
                ends,
                edges,
                ring,
                depth,
                down,
                sides,
                over,
                place,
                touch,
                parallel,
                way,
                passed,
            )
            place[0], place[1] = way[count - 1, 0], way[count - 1, 1]
            if found >= 0:
                end, z = found, place[0]
                break
            if state[corner] == 2:
                end, z = end_at[corner], z_at[corner]
                break
            if state[corner] == 1:
                break
            state[corner] = 1
            mine[met] = corner
            met += 1
        for i in range(met):
            state[mine[i]], end_at[mine[i]], z_at[mine[i]] = 2, end, z
        code[film], at[film] = end, z
    return code, at

"""Where water stands in a vent under any direction of gravity, and over which edge it leaves.

The room in front of the sill, between two ribs, is convex: between floor and ceiling, sill and
brink, ribs or side walls. So its pool is one body, the part of the room below a level, and
water that lies anywhere in it reaches the same lowest point. The level rises until it finds an edge
to run over: outwards over the drain or through the window, or inwards over the sill. In front of a
neck the room reaches to the back plate, which is its sill, and under and behind all ribs: it is one
whatever way the vent is turned. Inwards water runs over the edge of the hole in the plate, and of
the bore behind.

Heights count along the vertical from the part's origin, in mm; ``up`` is the unit vector against
gravity in the part's coordinates.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from scipy.spatial import ConvexHull, QhullError
from shapely.geometry import Polygon, box

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.posture.frame import Vector
from vent_family.spec.body import Body
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec

OUTLINE_STEPS: Final = 96
"""Heights at which a body's width is asked for: a circle comes out 0.05 % of its radius small."""
FLAT_MM3: Final = 1e-6
HAIR_MM: Final = 1e-6
"""How far beside a step of a bore its outline is asked for."""


@dataclass(frozen=True, eq=False)
class Bay:
    """One bay's room in front of the sill, and the openings that bound it; points in mm.

    ``room_mm`` holds the corners (n, 3) of the convex room; ``outlets_mm`` the outlines (x, y) of
    its openings in the outer plane, at ``front_z_mm``; ``inlets_mm`` the outlines (x, y) that water
    passes one after the other on its way inwards, each with its depth (z). ``dams_mm`` holds the
    free edges of slats that grow out of the ceiling, both ends of each (n, 2, 3): where the ceiling
    is the floor, water stands behind them. ``face_mm2`` is the open face.
    """

    room_mm: FloatArray
    outlets_mm: tuple[FloatArray, ...]
    front_z_mm: float
    inlets_mm: tuple[tuple[FloatArray, float], ...]
    dams_mm: FloatArray
    face_mm2: float

    def lowest_mm(self, up: Vector) -> float:
        """Return the height of the room's lowest point."""
        return float((self.room_mm @ np.array(up)).min())

    def outwards_mm(self, up: Vector) -> float:
        """Return the level at which water begins to leave outwards."""
        at = min(_lowest(o, up) for o in self.outlets_mm) + up[2] * self.front_z_mm
        return max(at, self.lowest_mm(up))

    def dam(self, up: Vector) -> FloatArray | None:
        """Return both ends (mm) of the highest dam, ``None`` where none holds water back."""
        if up[1] >= 0.0 or len(self.dams_mm) == 0:
            return None
        passes = (self.dams_mm @ np.array(up)).min(axis=1)
        k = int(np.argmax(passes))
        return self.dams_mm[k] if passes[k] > self.outwards_mm(up) else None

    def over_sill_mm(self, up: Vector) -> float:
        """Return the level at which water begins to leave inwards, over all edges on its way."""
        over = max(_lowest(outline, up) + up[2] * z for outline, z in self.inlets_mm)
        return max(over, self.lowest_mm(up))

    def volume_mm3(self, up: Vector, level_mm: float) -> float:
        """Return the water that stands in the bay up to a level."""
        return volume_below_mm3(self.room_mm, up, level_mm)


@dataclass(frozen=True, eq=False)
class Basin:
    """All bays of a vent that have a floor, each with a room of its own."""

    vent: VentSpec

    @cached_property
    def bays(self) -> tuple[Bay, ...]:
        """The bays, made when they are first asked for: an upright vent needs none."""
        section, body = self.vent.section, self.vent.body
        whole = _outline(body, section)
        bays = [_bay(section, body, whole, *x) for x in body.floor_spans_mm(self.vent.bays)]
        return tuple(b for b in bays if b is not None)


def _lowest(outline: FloatArray, up: Vector) -> float:
    """Return the least height (mm) over the corners (x, y) of an outline at z = 0."""
    return float((outline @ np.array(up[:2])).min())


def basin_of(vent: VentSpec) -> Basin:
    """Return the basin of a vent."""
    return Basin(vent)


def _outline(body: Body, section: Section) -> Polygon:
    """Return the cavity seen from outside, from below its floor to its ceiling."""
    low, high = section.brink[1], section.ceiling_mm
    # Denser towards the ends, where a round head is steep against its width.
    share = 0.5 - 0.5 * np.cos(np.linspace(0.0, math.pi, OUTLINE_STEPS))
    heights = low + (high - low) * share
    half = np.array([body.clear_half_width_mm(float(y)) for y in heights])
    right = np.stack([half, heights], axis=1)
    left = np.stack([-half, heights], axis=1)[::-1]
    return Polygon(np.concatenate([right, left]))


def _bay(section: Section, body: Body, whole: Polygon, x0: float, x1: float) -> Bay | None:
    """Return one bay, ``None`` where it has no stretch of floor."""

    def cut(low: float, high: float, outline: Polygon = whole) -> FloatArray:
        shape = outline.intersection(box(x0, low, x1, high))
        if not isinstance(shape, Polygon) or shape.is_empty:
            return np.empty((0, 2))
        return np.array(shape.exterior.coords[:-1])

    # The room ends at the brink: what is past it has left.
    front, (foot_z, foot_y) = section.brink[0], section.foot
    low, high = section.brink[1], section.ceiling_mm
    slot = cut(*section.brink_drain_mm)
    seen = cut(low, high)
    if len(slot) == 0 or len(seen) == 0:
        return None
    window = cut(section.window_bottom_mm, high)
    ends, inlets = [(seen, front)], []
    if body.neck is None:
        ends.append((seen, foot_z))
        mouth = cut(section.sill_top_mm, section.mouth_top_mm)
        inlets += [(mouth, section.sill[0]), (mouth, section.inner_z_mm)]
    else:
        plate = body.neck.bore_end_z_mm
        depths = (section.inner_z_mm, *body.neck.depths_mm)
        for z0, z1 in itertools.pairwise(depths):
            for at, z in ((z0 + HAIR_MM, z0), (z1 - HAIR_MM, z1)):
                shape = body.cavity_outline(at)
                if at > plate:
                    ends.append((cut(low, high, shape), z))
                else:
                    inlets.append((np.array(shape.exterior.coords[:-1]), z))
    prism = np.concatenate([np.column_stack([xy, np.full(len(xy), z)]) for xy, z in ends])
    slope = (foot_y - low) / (front - foot_z)
    # Above the floor: y + slope z >= brink's own.
    room = clipped(prism, (0.0, 1.0, slope), low + slope * front)
    return Bay(
        room_mm=room,
        outlets_mm=tuple(o for o in (slot, window) if len(o)),
        front_z_mm=front,
        inlets_mm=tuple(inlets),
        dams_mm=_dams(section, body, x0, x1),
        face_mm2=float(Polygon(seen).area),
    )


def _dams(section: Section, body: Body, x0: float, x1: float) -> FloatArray:
    """Return the free edges of slats that grow out of the ceiling between two ribs."""
    ends = []
    for slat in section.slats:
        if not slat.grown:
            continue
        z, y = min(slat.outline, key=lambda p: p[1])
        half = body.clear_half_width_mm(y)
        a, b = max(x0, -half), min(x1, half)
        if a < b:
            ends.append(((a, y, z), (b, y, z)))
    return np.array(ends, dtype=float).reshape(-1, 2, 3)


def clipped(corners_mm: FloatArray, normal: Vector, least_mm: float) -> FloatArray:
    """Return the corners (mm) of a convex body as far as it lies where normal . p >= least.

    Every line between a corner inside
    and one outside is cut, edges and diagonals alike: what the diagonals add lies in the cut face.
    """
    side = corners_mm @ np.array(normal) - least_mm
    inside, outside = side >= -1e-12, side < -1e-12
    if not outside.any():
        return corners_mm
    if not inside.any():
        return np.empty((0, 3))
    a, b = corners_mm[inside], corners_mm[outside]
    sa, sb = side[inside], side[outside]
    share = sa[:, None] / (sa[:, None] - sb[None, :])
    cut = a[:, None, :] + share[..., None] * (b[None, :, :] - a[:, None, :])
    return _hull(np.concatenate([a, cut.reshape(-1, 3)]))


def _hull(points: FloatArray) -> FloatArray:
    """Return the corners of the convex hull; all points where it has no volume."""
    if len(points) < 4:
        return points
    try:
        return np.asarray(points[ConvexHull(points).vertices])
    except QhullError:
        return points


def volume_below_mm3(corners_mm: FloatArray, up: Vector, level_mm: float) -> float:
    """Return the volume of the part of a convex body below a level.

    Examples
    --------
    A cube of 10 mm stands on its edge, up to half of the diagonal: half of it.

    >>> cube = np.array([(x, y, z) for x in (0, 10) for y in (0, 10) for z in (0, 10)], float)
    >>> half = 0.5**0.5
    >>> round(volume_below_mm3(cube, (half, half, 0.0), 10 * half), 6)
    500.0
    """
    part = clipped(corners_mm, (-up[0], -up[1], -up[2]), -level_mm)
    if len(part) < 4:
        return 0.0
    try:
        volume = float(ConvexHull(part).volume)
    except QhullError:
        return 0.0
    return volume if volume > FLAT_MM3 else 0.0


def chords(outline_mm: FloatArray, up: Vector, strips: int) -> tuple[FloatArray, FloatArray, float]:
    """Return the lower and upper ends of an upright opening's strips, and a strip's width, mm.

    The outline (x, y) is convex; it is cut into strips of equal width across what is up in its own
    plane, and the ends are measured along that direction, from the origin.
    """
    c = math.hypot(up[0], up[1])
    rise = np.array([up[0], up[1]]) / c if c > 1e-9 else np.array([0.0, 1.0])
    across = np.array([rise[1], -rise[0]])
    w, s = outline_mm @ across, outline_mm @ rise
    width = (w.max() - w.min()) / strips
    at = w.min() + width * (np.arange(strips) + 0.5)
    low, high = np.full(strips, math.inf), np.full(strips, -math.inf)
    for k in range(len(w)):
        w0, w1, s0, s1 = w[k - 1], w[k], s[k - 1], s[k]
        if w0 == w1:
            continue
        on = (at >= min(w0, w1)) & (at <= max(w0, w1))
        level = s0 + (s1 - s0) * (at[on] - w0) / (w1 - w0)
        low[on], high[on] = np.minimum(low[on], level), np.maximum(high[on], level)
    return low, high, float(width)


def bay_shares(bays: Sequence[Bay]) -> list[float]:
    """Return each bay's share of the open face."""
    total = sum(b.face_mm2 for b in bays)
    return [b.face_mm2 / total for b in bays]

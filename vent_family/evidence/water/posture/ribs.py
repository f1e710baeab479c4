"""Film on ribs and side walls: its way down their faces, and where it ends.

A rib's face shows the section: slats grow out of it, floor and sill meet it. A film on it runs the
way gravity pulls it in that plane, drawn inwards by the air besides; where a slat stands in its way
it slides down along it and leaves at the slat's lower end. So each film is a chain of straight
runs, and films that meet at a slat's end go on together.

It ends in the trough (floor, front of the sill, apron), out (over the outer plane), or behind the
sill: on the sill's top, or at the rib's own inner end, from which it drips. What lies behind the
sill is inside, unless the sill sheds it back in this mounting. In a round head the back plate is
the sill, and what comes onto it above the bore is inside, too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.constants import (
    AIR_DENSITY_KG_M3,
    AIR_VISCOSITY_PA_S,
    GRAVITY_M_S2,
    WATER_DENSITY_KG_M3,
)

End = Literal["trough", "inside", "out"]
TROUGH: Final = 0
INSIDE: Final = 1
OUT: Final = 2
ENDS: Final[tuple[End, End, End]] = ("trough", "inside", "out")
RUNS_MAX: Final = 400
"""A film that is on its way for longer than this many runs goes round, and counts as inside."""
TOUCH_MM: Final = 1e-7
PARALLEL: Final = 1e-12


def drift_mm(height_mm: float, lean_deg: float) -> float:
    """Return how far a film drifts inwards on a rib that leans back, over a height in mm.

    Examples
    --------
    At 3 degrees over 145 mm, 145 tan 3:

    >>> round(drift_mm(145.0, 3.0), 1)
    7.6
    """
    return height_mm * math.tan(math.radians(lean_deg))


def air_drift(speed_m_s: float, length_mm: float, film_mm: float) -> float:
    """Return how far air drags a film inwards for each length it runs down, a ratio; a bound.

    The air's shear is that of a laminar boundary layer on a plate of the rib's depth, cf = 1.328 /
    sqrt(Re) (Blasius; textbook). It moves the mean of a film by tau d / 2 mu, against rho g d^2 /
    3 mu of its weight: 1.5 tau / (rho g d).

    Parameters
    ----------
    speed_m_s
        air between the slats, m/s
    length_mm
        depth of the rib, mm
    film_mm
        thickness of the film, mm; thin films are dragged farthest

    Examples
    --------
    4 m/s along 24 mm: Re 6,400 or so, cf 0.0166, 0.16 Pa against the 0.98 Pa of the film's weight:

    >>> round(air_drift(4.0, 24.0, 0.1), 2)
    0.25
    >>> air_drift(0.0, 24.0, 0.1)
    0.0
    """
    if speed_m_s <= 0.0 or length_mm <= 0.0:
        return 0.0
    re = AIR_DENSITY_KG_M3 * speed_m_s * length_mm * 1e-3 / AIR_VISCOSITY_PA_S
    shear = 0.5 * AIR_DENSITY_KG_M3 * speed_m_s**2 * 1.328 / math.sqrt(re)
    return 1.5 * shear / (WATER_DENSITY_KG_M3 * GRAVITY_M_S2 * film_mm * 1e-3)


@dataclass(frozen=True, eq=False)
class RibFace:
    """A rib's face in one mounting.

    ``walls`` (n, 4) are the boundary's other edges, mm, and ``ends`` what becomes of a film that
    comes onto each. ``rings`` are the outlines of the slats, anticlockwise from z to y, each
    (n, 2) in mm. ``down`` is the unit vector (z, y) that films follow; ``rib_end_z_mm`` is
    where the rib ends inside, ``behind`` the end of a film that gets there.
    """

    walls: FloatArray
    ends: tuple[int, ...]
    rings: tuple[FloatArray, ...]
    down: tuple[float, float]
    rib_end_z_mm: float
    front_z_mm: float
    behind: int

    @cached_property
    def _slat_edges(self) -> tuple[FloatArray, IntArray, IntArray]:
        """Edges of all slats (n, 4), the slat of each, and its place in that slat's outline."""
        if not self.rings:
            none = np.empty(0, dtype=np.int64)
            return np.empty((0, 4)), none, none
        edges = np.concatenate([_edges(ring) for ring in self.rings])
        owner = np.concatenate([np.full(len(r), k) for k, r in enumerate(self.rings)])
        return edges, owner, np.concatenate([np.arange(len(r)) for r in self.rings])

    def followed(self, z_mm: FloatArray, y_mm: FloatArray) -> tuple[IntArray, FloatArray]:
        """Return the ends of films that begin at some places, and the z (mm) at which they end.

        ``z_mm`` and ``y_mm`` are the places.
        """
        known: dict[tuple[float, float], tuple[int, float]] = {}
        found = [self._follow(float(z), float(y), known) for z, y in zip(z_mm, y_mm, strict=True)]
        code = np.array([f[0] for f in found], dtype=np.int64)
        return code, np.array([f[1] for f in found], dtype=float)

    def path(self, z_mm: float, y_mm: float) -> list[tuple[float, float]]:
        """Return the corners of one film's way, from its beginning on, in mm."""
        way = [(z_mm, y_mm)]
        for _ in range(RUNS_MAX):
            step = self._run(*way[-1])
            way += step.way
            if step.end is not None or way[-1] in way[:-1]:
                break
        return way

    def _follow(
        self, z: float, y: float, known: dict[tuple[float, float], tuple[int, float]]
    ) -> tuple[int, float]:
        """Follow one film; ``known`` keeps how films end that leave a slat at some place."""
        passed: list[tuple[float, float]] = []
        # Water that goes round and round can only be lost inside.
        result = (INSIDE, self.rib_end_z_mm)
        for _ in range(RUNS_MAX):
            step = self._run(z, y)
            z, y = step.way[-1]
            if step.end is not None:
                result = (step.end, z)
                break
            key = (round(z, 6), round(y, 6))
            if key in known:
                result = known[key]
                break
            if key in passed:
                break
            passed.append(key)
        known.update(dict.fromkeys(passed, result))
        return result

    def _run(self, z: float, y: float) -> _Run:
        """Return a film's way until it next falls free, or ends."""
        dz, dy = self.down
        limit, over = math.inf, self.behind
        if dz < 0.0:
            limit = (self.rib_end_z_mm - z) / dz
        elif dz > 0.0:
            limit, over = (self.front_z_mm - z) / dz, OUT
        t, wall = _first(self.walls, (z, y), self.down)
        edges, owner, place = self._slat_edges
        s, k = _first(edges, (z, y), self.down)
        nearest = min(limit, t, s)
        if not math.isfinite(nearest):
            # Straight down past everything: over the outer edge of the floor.
            return _Run([(z, y)], OUT)
        at_ = (z + dz * max(nearest, 0.0), y + dy * max(nearest, 0.0))
        if limit <= min(t, s):
            return _Run([at_], over)
        if t <= s:
            return _Run([at_], self.ends[wall])
        return self._slide(self.rings[owner[k]], int(place[k]), at_)

    def _slide(self, ring: FloatArray, edge: int, at: tuple[float, float]) -> _Run:
        """Return a film's way down along a slat, to where it leaves it or comes onto a wall."""
        way = [at]
        for corner in _downhill(ring, edge, self.down):
            z, y = float(ring[corner, 0]), float(ring[corner, 1])
            step = (z - way[-1][0], y - way[-1][1])
            length = math.hypot(*step)
            if length > 0.0:
                t, wall = _first(self.walls, way[-1], (step[0] / length, step[1] / length))
                if t < length:
                    share = t / length
                    met = (way[-1][0] + share * step[0], way[-1][1] + share * step[1])
                    return _Run([*way, met], self.ends[wall])
            way.append((z, y))
        return _Run(way, None)


@dataclass(frozen=True, slots=True)
class _Run:
    """A stretch of a film's way, and its end if it ends there."""

    way: list[tuple[float, float]]
    end: int | None


def _edges(ring: FloatArray) -> FloatArray:
    """Return the edges (n, 4) of a closed outline."""
    return np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1)


def _first(
    edges: FloatArray, at: tuple[float, float], way: tuple[float, float]
) -> tuple[float, int]:
    """Return the distance (mm) to the first edge met from a place on a straight way, and which."""
    (z, y), (dz, dy) = at, way
    ez, ey = edges[:, 2] - edges[:, 0], edges[:, 3] - edges[:, 1]
    det = dz * ey - dy * ez
    with np.errstate(divide="ignore", invalid="ignore"):
        t = ((edges[:, 0] - z) * ey - (edges[:, 1] - y) * ez) / det
        s = ((edges[:, 0] - z) * dy - (edges[:, 1] - y) * dz) / det
    met = (np.abs(det) > PARALLEL) & (t > TOUCH_MM) & (s >= -TOUCH_MM) & (s <= 1.0 + TOUCH_MM)
    if not met.any():
        return math.inf, -1
    k = int(np.argmin(np.where(met, t, math.inf)))
    return float(t[k]), k


def _downhill(ring: FloatArray, edge: int, down: tuple[float, float]) -> list[int]:
    """Return the corners that a film passes on an outline from an edge on, to where it leaves.

    A film stays on edges that look up. It runs to their lower end; in a hollow it rises until it
    runs over the lower of the two rims.
    """
    n = len(ring)
    depth = ring @ np.array(down)
    step = np.roll(ring, -1, axis=0) - ring
    # The outward normal of an anticlockwise outline is (dy, -dz).
    bears = step[:, 1] * down[0] - step[:, 0] * down[1] < -PARALLEL
    first, last = edge, edge
    while bears[(first - 1) % n] and (first - 1) % n != last:
        first = (first - 1) % n
    while bears[(last + 1) % n] and (last + 1) % n != first:
        last = (last + 1) % n
    # Corners of the bearing stretch in turn, and the place of the edge between two of them.
    count = (last - first) % n + 2
    chain = [(first + i) % n for i in range(count)]
    here = (edge - first) % n
    fall = depth[chain]
    ahead = fall[here + 1] - fall[here]
    forwards = ahead > 0.0 if abs(ahead) > TOUCH_MM else ring[chain[-1], 0] < ring[chain[0], 0]
    low = here + 1 if forwards else here
    step_ = 1 if forwards else -1
    passed = [chain[low]]
    for _ in range(2 * count):
        if not 0 < low < count - 1:
            break
        if fall[low + step_] >= fall[low] - TOUCH_MM:
            low += step_
            passed.append(chain[low])
            continue
        # A hollow: over whichever rim is lower.
        left = int(np.argmin(fall[: low + 1]))
        right = low + int(np.argmin(fall[low:]))
        step_ = 1 if fall[right] > fall[left] else -1
        rim = right if step_ > 0 else left
        passed += [chain[i] for i in range(low + step_, rim + step_, step_)]
        low = rim
    return passed

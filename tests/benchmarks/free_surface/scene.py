"""What a run is made of: solids, sinks, a jet, water at rest. Lengths in mm, angles in degrees."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from tests.benchmarks.free_surface.kernels import SLOW_LABEL

GRAVITY_M_S2 = 9.81
SLOW_M_S = 2.0
"""Water below this speed counts as spent where a sink takes slow water only."""
REACH = 3.0
"""Reach of the kernel in particle spacings."""


@dataclass(frozen=True)
class Jet:
    """A plane jet whose axis passes a point; ``elevation_deg`` is positive if it comes from above.

    It moves towards -x; its mouth lies ``run_mm`` before the point.
    """

    x_mm: float
    y_mm: float
    elevation_deg: float = 0.0
    thickness_mm: float = 6.0
    speed_m_s: float = 11.8
    run_mm: float = 16.0

    @property
    def heading(self) -> tuple[float, float]:
        a = math.radians(self.elevation_deg)
        return -math.cos(a), -math.sin(a)

    @property
    def mouth_mm(self) -> tuple[float, float]:
        u, v = self.heading
        return self.x_mm - self.run_mm * u, self.y_mm - self.run_mm * v


@dataclass(frozen=True)
class Sink:
    """A region in which water ends under a name.

    ``leaving`` takes only what moves towards +x, ``slow`` only what is slower than ``SLOW_M_S``.
    """

    name: str
    region: BaseGeometry
    leaving: bool = False
    slow: bool = False


@dataclass(frozen=True)
class Scene:
    """Solids and sinks inside a domain (x0, y0, x1, y1); what leaves ends in the nearest sink."""

    domain: tuple[float, float, float, float]
    solid: BaseGeometry
    sinks: tuple[Sink, ...]
    jet: Jet | None = None
    at_rest: BaseGeometry | None = None
    gravity_m_s2: float = GRAVITY_M_S2

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(s.name for s in self.sinks))


def wall_points(solid: BaseGeometry, dx: float) -> np.ndarray:
    """Return points inside the solids, down to the kernel's reach, row by row along their faces.

    Rows follow the outlines, so that slanted faces are as smooth as upright ones; what thin solids
    leave between the rows is filled where there is room.
    """
    kept: list[np.ndarray] = []
    for part in _polygons(solid):
        kept.append(_fill(part, dx))
    return np.concatenate(kept) if kept else np.empty((0, 2))


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    if shape.is_empty:
        return []
    if isinstance(shape, Polygon):
        return [shape]
    return [p for g in getattr(shape, "geoms", []) for p in _polygons(g)]


def _fill(part: Polygon, dx: float) -> np.ndarray:
    points = np.empty((0, 2))
    for row in range(math.ceil(REACH)):
        inner = part.buffer(-(row + 0.5) * dx, join_style="mitre", mitre_limit=5.0)
        for ring in (r for p in _polygons(inner) for r in (p.exterior, *p.interiors)):
            count = max(round(ring.length / dx), 1)
            line = [ring.interpolate((i + 0.5) / count, normalized=True) for i in range(count)]
            points = _accept(points, np.array([(q.x, q.y) for q in line]), 0.7 * dx)
    shell = part.buffer(-0.5 * dx).difference(part.buffer(-REACH * dx))
    if shell.is_empty:
        return points
    x0, y0, x1, y1 = shell.bounds
    gx, gy = np.meshgrid(np.arange(x0, x1, dx / 4), np.arange(y0, y1, dx / 4), indexing="ij")
    lattice = np.stack([gx.ravel(), gy.ravel()], axis=1)
    lattice = lattice[shapely.contains_xy(shell, lattice[:, 0], lattice[:, 1])]
    if len(points) and len(lattice):
        lattice = lattice[cKDTree(points).query(lattice)[0] >= 0.9 * dx]
    return _accept(points, lattice, 0.9 * dx)


def _accept(points: np.ndarray, more: np.ndarray, apart: float) -> np.ndarray:
    """Add those of more points that keep apart from all taken before."""
    if not len(more):
        return points
    if len(points):
        more = more[cKDTree(points).query(more)[0] >= apart]
        if not len(more):
            return points
    close = cKDTree(more).query_ball_point(more, apart * 0.999)
    free = np.ones(len(more), bool)
    for i, near in enumerate(close):
        if free[i]:
            free[[j for j in near if j > i]] = False
    return np.concatenate([points, more[free]])


def distances(scene: Scene, step: float) -> np.ndarray:
    """Return the distance to the nearest wall on a grid, mm, negative inside solids."""
    x, y = _grid(scene, step)
    if scene.solid.is_empty:
        return np.full(x.shape, 1e3)
    shapely.prepare(scene.solid)
    points = shapely.points(x, y)
    away = shapely.distance(scene.solid, points)
    inside = away == 0.0
    away[inside] = -shapely.distance(scene.solid.boundary, points[inside])
    return away


def labels(scene: Scene, step: float) -> np.ndarray:
    """Return the label of the sink in each cell of a grid, as ``kernels.march`` reads it."""
    x, y = _grid(scene, step)
    x, y = x + 0.5 * step, y + 0.5 * step
    found = np.zeros(x.shape, np.int8)
    for sink in reversed(scene.sinks):  # the first named has the last word
        number = scene.names.index(sink.name) + 1
        if sink.slow:
            number += SLOW_LABEL
        found[shapely.contains_xy(sink.region, x, y)] = -number if sink.leaving else number
    return found


def _grid(scene: Scene, step: float) -> tuple[np.ndarray, np.ndarray]:
    x0, y0, x1, y1 = scene.domain
    xs = x0 + step * np.arange(math.ceil((x1 - x0) / step) + 2)
    ys = y0 + step * np.arange(math.ceil((y1 - y0) / step) + 2)
    return np.meshgrid(xs, ys, indexing="ij")  # type: ignore[return-value]


def still_water(scene: Scene, dx: float) -> np.ndarray:
    """Return points that fill the water at rest, on a square lattice from its lower corner."""
    if scene.at_rest is None:
        return np.empty((0, 2))
    x0, y0, x1, y1 = scene.at_rest.bounds
    gx, gy = np.meshgrid(
        np.arange(x0 + dx / 2, x1, dx), np.arange(y0 + dx / 2, y1, dx), indexing="ij"
    )
    gx, gy = gx.ravel(), gy.ravel()
    inside = shapely.contains_xy(scene.at_rest, gx, gy)
    return np.stack([gx[inside], gy[inside]], axis=1)


def frame(domain: tuple[float, float, float, float], width: float) -> MultiPolygon | Polygon:
    """Return the rim of a domain, this wide (mm), as a sink for whatever reaches it."""
    x0, y0, x1, y1 = domain
    inner = box(x0 + width, y0 + width, x1 - width, y1 - width)
    return box(*domain).buffer(width).difference(inner)

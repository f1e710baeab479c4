"""Flight of drops through the section: compiled integration of gravity and drag.

Each step solves the drop's velocity exactly for the drag time and the air of the step's middle
(exponential midpoint rule, second order), so that the finest mist and the heaviest drop take the
same step lengths. Drops from outside are points: their own radius, which would only stop them
sooner, is left out on purpose. Drops that drip from a slat have their radius, because one that
touches the wet slat below is taken up by it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.compiled import compiled
from vent_family.base.constants import AIR_DENSITY_KG_M3, GRAVITY_M_S2, WATER_DENSITY_KG_M3
from vent_family.evidence.water.airfield import AirField
from vent_family.evidence.water.boundary import Boundary
from vent_family.evidence.water.drag import (
    drag_table,
    flattening_factor,
    kernel_constants,
    terminal_velocity,
)

STEP_MM: Final = 0.25
"""Longest step of the finest drops; heavier ones, which turn less, take longer ones."""
STEP_DIAMETERS: Final = 4.0
STEP_MAX_MM: Final = 1.0
STEP_S: Final = 2e-3
MAX_STEPS: Final = 40_000
FOLLOWS_WALL_M: Final = 2e-4
"""Drops smaller than this feel the air turn at a wall."""

PASSED: Final = -1
"""Fate: through the inner plane."""
RETURNED: Final = -2
"""Fate: back out in front."""
AFLOAT: Final = -3
"""Fate: still in the air when the step limit was reached; counted as passed."""


@dataclass(frozen=True, eq=False)
class Landing:
    """Where drops ended: arrays of one entry per drop.

    ``edge`` is the edge hit, or one of ``PASSED``, ``RETURNED``, ``AFLOAT``; positions in mm and
    velocities in m/s at that moment; ``time_s`` the flight time.
    """

    edge: IntArray
    z_mm: FloatArray
    y_mm: FloatArray
    w_m_s: FloatArray
    v_m_s: FloatArray
    time_s: FloatArray


def gravity(tilt_deg: float) -> tuple[float, float]:
    """Return gravity (z, y) in m/s2 in part coordinates.

    ``tilt_deg`` is positive where the vent leans back so that its face looks upwards.
    """
    a = np.radians(tilt_deg)
    gz, gy = -GRAVITY_M_S2 * float(np.sin(a)), -GRAVITY_M_S2 * float(np.cos(a))
    return (gz, gy)


def fly(
    boundary: Boundary,
    air: AirField,
    gravity_m_s2: tuple[float, float],
    z_mm: FloatArray,
    y_mm: FloatArray,
    w_m_s: FloatArray,
    v_m_s: FloatArray,
    diameter_mm: FloatArray,
    *,
    radius_mm: FloatArray | None = None,
    drag: bool = True,
    step_mm: float | None = None,
) -> Landing:
    """Fly drops until each hits something or leaves; all arrays have one entry per drop.

    ``radius_mm`` is the reach within which a drop touches a wall; ``None`` for points. ``drag``
    switches the air off, ``step_mm`` is the longest step; ``None`` chooses it by diameter.
    """
    d = np.ascontiguousarray(diameter_mm, dtype=float)
    out = _fly(
        *_geometry(boundary),
        *_air(air),
        _reduced(gravity_m_s2),
        np.ascontiguousarray(z_mm, dtype=float),
        np.ascontiguousarray(y_mm, dtype=float),
        np.ascontiguousarray(w_m_s, dtype=float),
        np.ascontiguousarray(v_m_s, dtype=float),
        d,
        np.zeros(d.size) if radius_mm is None else np.ascontiguousarray(radius_mm, dtype=float),
        flattening_factor(d),
        terminal_velocity(d),
        drag_table(),
        kernel_constants(),
        drag,
        _steps_mm(d) if step_mm is None else np.full(d.size, step_mm),
    )
    return Landing(*out)


def _steps_mm(diameter_mm: FloatArray) -> FloatArray:
    """Return the longest step of each drop."""
    return np.clip(STEP_DIAMETERS * diameter_mm, STEP_MM, STEP_MAX_MM)


def track(
    boundary: Boundary,
    air: AirField,
    gravity_m_s2: tuple[float, float],
    start: tuple[float, float, float, float],
    diameter_mm: float,
    *,
    drag: bool = True,
    step_mm: float = STEP_MM,
) -> tuple[FloatArray, int]:
    """Return the path of one drop, shape (n, 2) in mm, and its fate as in :class:`Landing`.

    ``start`` is z and y in mm, w and v in m/s.
    """
    d = np.array([diameter_mm])
    path = np.empty((MAX_STEPS + 2, 2))
    state = np.array(start, dtype=float)
    count, edge, _ = _one(
        *_geometry(boundary),
        *_air(air),
        _reduced(gravity_m_s2),
        state,
        d[0] * 1e-3,
        0.0,
        float(flattening_factor(d)[0]),
        float(terminal_velocity(d)[0]),
        drag_table(),
        kernel_constants(),
        drag,
        step_mm,
        path,
        np.empty(boundary.items.size, dtype=np.int64),
    )
    return path[:count].copy(), int(edge)


def _geometry(
    b: Boundary,
) -> tuple[FloatArray, IntArray, IntArray, FloatArray, IntArray, FloatArray]:
    return (b.edges, b.start, b.items, b.grid, np.array(b.shape, dtype=np.int64), b.limits)


def _air(a: AirField) -> tuple[FloatArray, FloatArray, FloatArray]:
    grid = np.array([a.z0_mm, a.y0_mm, a.dz_mm, a.dy_mm])
    return grid, np.ascontiguousarray(a.w_m_s), np.ascontiguousarray(a.v_m_s)


def _reduced(g: tuple[float, float]) -> FloatArray:
    """Return gravity less buoyancy."""
    return np.array(g) * (1.0 - AIR_DENSITY_KG_M3 / WATER_DENSITY_KG_M3)


@compiled(error_model="numpy")
def _relaxation_s(
    speed_m_s: float, d_m: float, flat: float, v_flat: float, table: FloatArray, k: FloatArray
) -> float:
    """Return the time in which drag would stop a drop at its present rate of deceleration.

    ``speed_m_s`` is the velocity relative to the air, ``flat`` the flattening factor at the
    terminal velocity ``v_flat``; ``table`` and ``k`` come from the drag module.
    """
    stokes: float = k[0] * d_m * d_m
    re = k[1] * speed_m_s * d_m
    if re < 1e-4:
        return stokes
    x = (np.log10(re) - k[2]) / k[3]
    i = int(x)
    if i >= table.size - 1:
        factor = table[table.size - 1]
    else:
        part = x - i
        factor = table[i] * (1.0 - part) + table[i + 1] * part
    if flat > 1.0:
        share = speed_m_s / v_flat
        factor *= 1.0 + (flat - 1.0) * min(1.0, share * share)
    value: float = stokes / factor
    return value


@compiled(error_model="numpy")
def _air_at(
    grid: FloatArray, wa: FloatArray, va: FloatArray, z: float, y: float
) -> tuple[float, float]:
    nz, ny = wa.shape
    x = min(max((z - grid[0]) / grid[2], 0.0), nz - 1.0)
    t = min(max((y - grid[1]) / grid[3], 0.0), ny - 1.0)
    i, j = int(x), int(t)
    i1, j1 = min(i + 1, nz - 1), min(j + 1, ny - 1)
    a, b = x - i, t - j
    c00, c10, c01, c11 = (1 - a) * (1 - b), a * (1 - b), (1 - a) * b, a * b
    w = wa[i, j] * c00 + wa[i1, j] * c10 + wa[i, j1] * c01 + wa[i1, j1] * c11
    v = va[i, j] * c00 + va[i1, j] * c10 + va[i, j1] * c01 + va[i1, j1] * c11
    return w, v


@compiled(error_model="numpy")
def _along_wall(
    edges: FloatArray,
    start: IntArray,
    items: IntArray,
    grid: FloatArray,
    shape: IntArray,
    reach: float,
    z: float,
    y: float,
    ua: float,
    ub: float,
    seen: IntArray,
) -> tuple[float, float]:
    """Return the air velocity with its part towards a wall nearer than ``reach`` taken back.

    Air at a wall flows along it. A field on a grid knows the wall only to within a cell, so
    without this its stair steps would catch mist that really follows the air round the slat.
    ``seen`` is room for every item.
    """
    size = grid[2]
    i0 = max(int((z - reach - grid[0]) / size), 0)
    j0 = max(int((y - reach - grid[1]) / size), 0)
    i1 = min(int((z + reach - grid[0]) / size), shape[0] - 1)
    j1 = min(int((y + reach - grid[1]) / size), shape[1] - 1)
    near = 0
    for i in range(i0, i1 + 1):
        for j in range(j0, j1 + 1):
            near += start[i * shape[1] + j + 1] - start[i * shape[1] + j]
    if near == 0:
        return ua, ub
    # A wall that stands in several cells is one wall, and takes the air back once.
    known = 0
    for i in range(i0, i1 + 1):
        for j in range(j0, j1 + 1):
            cell = i * shape[1] + j
            for k in range(start[cell], start[cell + 1]):
                e = items[k]
                again = False
                for m in range(known):
                    again = again or seen[m] == e
                if again:
                    continue
                seen[known] = e
                known += 1
                az, ay = edges[e, 0], edges[e, 1]
                ez, ey = edges[e, 2] - az, edges[e, 3] - ay
                s = ((z - az) * ez + (y - ay) * ey) / (ez * ez + ey * ey)
                s = min(max(s, 0.0), 1.0)
                nz, ny = z - (az + s * ez), y - (ay + s * ey)
                away = np.sqrt(nz * nz + ny * ny)
                if away >= reach or away == 0.0:
                    continue
                nz, ny = nz / away, ny / away
                towards = ua * nz + ub * ny
                if towards < 0.0:
                    # Close to a wall the normal velocity falls in proportion to the distance.
                    excess = towards * (1.0 - away / reach)
                    ua -= excess * nz
                    ub -= excess * ny
    return ua, ub


@compiled(error_model="numpy")
def _touch(
    edges: FloatArray,
    start: IntArray,
    items: IntArray,
    grid: FloatArray,
    shape: IntArray,
    radius: float,
    z: float,
    y: float,
) -> int:
    """Return the nearest edge within a radius, -1 if none."""
    best, nearest = -1, radius * radius
    size = grid[2]
    i0, i1 = int((z - radius - grid[0]) / size), int((z + radius - grid[0]) / size)
    j0, j1 = int((y - radius - grid[1]) / size), int((y + radius - grid[1]) / size)
    for i in range(max(i0, 0), min(i1, shape[0] - 1) + 1):
        for j in range(max(j0, 0), min(j1, shape[1] - 1) + 1):
            cell = i * shape[1] + j
            for k in range(start[cell], start[cell + 1]):
                e = items[k]
                az, ay = edges[e, 0], edges[e, 1]
                ez, ey = edges[e, 2] - az, edges[e, 3] - ay
                s = ((z - az) * ez + (y - ay) * ey) / (ez * ez + ey * ey)
                s = min(max(s, 0.0), 1.0)
                away = (z - az - s * ez) ** 2 + (y - ay - s * ey) ** 2
                if away < nearest:
                    best, nearest = e, away
    return best


@compiled(error_model="numpy")
def _first_hit(
    edges: FloatArray,
    start: IntArray,
    items: IntArray,
    grid: FloatArray,
    shape: IntArray,
    z0: float,
    y0: float,
    z1: float,
    y1: float,
) -> tuple[int, float]:
    """Return the first edge met between two points, and where (0 to 1); -1 if none."""
    best, at = -1, 2.0
    size = grid[2]
    i0 = int((min(z0, z1) - grid[0]) / size)
    i1 = int((max(z0, z1) - grid[0]) / size)
    j0 = int((min(y0, y1) - grid[1]) / size)
    j1 = int((max(y0, y1) - grid[1]) / size)
    dz, dy = z1 - z0, y1 - y0
    for i in range(max(i0, 0), min(i1, shape[0] - 1) + 1):
        for j in range(max(j0, 0), min(j1, shape[1] - 1) + 1):
            cell = i * shape[1] + j
            for k in range(start[cell], start[cell + 1]):
                e = items[k]
                ez, ey = edges[e, 2] - edges[e, 0], edges[e, 3] - edges[e, 1]
                det = dz * ey - dy * ez
                if det == 0.0:
                    continue
                rz, ry = edges[e, 0] - z0, edges[e, 1] - y0
                t = (rz * ey - ry * ez) / det
                if t < 0.0 or t > 1.0 or t >= at:
                    continue
                s = (rz * dy - ry * dz) / det
                if -1e-9 <= s <= 1.0 + 1e-9:
                    best, at = e, t
    return best, at


@compiled(error_model="numpy")
def _one(
    edges: FloatArray,
    start: IntArray,
    items: IntArray,
    grid: FloatArray,
    shape: IntArray,
    limits: FloatArray,
    air_grid: FloatArray,
    wa: FloatArray,
    va: FloatArray,
    g: FloatArray,
    state: FloatArray,
    d_m: float,
    radius: float,
    flat: float,
    v_flat: float,
    table: FloatArray,
    constants: FloatArray,
    drag: bool,
    step_mm: float,
    path: FloatArray,
    seen: IntArray,
) -> tuple[int, int, float]:
    """Fly one drop; ``state`` (z, y, w, v) is updated, ``path`` filled if it has room."""
    z, y, w, v = state[0], state[1], state[2], state[3]
    keep = path.shape[0] > 0
    count = 0
    time = 0.0
    edge = AFLOAT
    # Heavy drops do not feel the air near a wall.
    moving = wa.size > 1 and d_m < FOLLOWS_WALL_M
    reach = air_grid[2]
    if keep:
        path[0, 0], path[0, 1] = z, y
        count = 1
    for _ in range(MAX_STEPS):
        ua, ub = _air_at(air_grid, wa, va, z, y)
        if moving:
            ua, ub = _along_wall(edges, start, items, grid, shape, reach, z, y, ua, ub, seen)
        speed = np.sqrt(w * w + v * v)
        wind = np.sqrt(ua * ua + ub * ub)
        dt = min(STEP_S, step_mm * 1e-3 / (max(speed, wind) + 1e-9))
        if drag:
            rel = np.sqrt((w - ua) ** 2 + (v - ub) ** 2)
            tau = _relaxation_s(rel, d_m, flat, v_flat, table, constants)
            h = 0.5 * dt
            e = np.exp(-h / tau)
            tw, tv = ua + g[0] * tau, ub + g[1] * tau
            wm, vm = tw + (w - tw) * e, tv + (v - tv) * e
            zm = z + 1e3 * (tw * h + (w - tw) * tau * (1.0 - e))
            ym = y + 1e3 * (tv * h + (v - tv) * tau * (1.0 - e))
            ua, ub = _air_at(air_grid, wa, va, zm, ym)
            if moving:
                ua, ub = _along_wall(edges, start, items, grid, shape, reach, zm, ym, ua, ub, seen)
            rel = np.sqrt((wm - ua) ** 2 + (vm - ub) ** 2)
            tau = _relaxation_s(rel, d_m, flat, v_flat, table, constants)
            e = np.exp(-dt / tau)
            tw, tv = ua + g[0] * tau, ub + g[1] * tau
            z1 = z + 1e3 * (tw * dt + (w - tw) * tau * (1.0 - e))
            y1 = y + 1e3 * (tv * dt + (v - tv) * tau * (1.0 - e))
            w1, v1 = tw + (w - tw) * e, tv + (v - tv) * e
        else:
            w1, v1 = w + g[0] * dt, v + g[1] * dt
            z1 = z + 1e3 * 0.5 * (w + w1) * dt
            y1 = y + 1e3 * 0.5 * (v + v1) * dt
        hit, at = _first_hit(edges, start, items, grid, shape, z, y, z1, y1)
        if hit >= 0:
            z, y = z + (z1 - z) * at, y + (y1 - y) * at
            w, v = w + (w1 - w) * at, v + (v1 - v) * at
            time += dt * at
            edge = hit
        else:
            z, y, w, v = z1, y1, w1, v1
            time += dt
            if radius > 0.0:
                touched = _touch(edges, start, items, grid, shape, radius, z, y)
                if touched >= 0:
                    edge = touched
            if edge != AFLOAT:
                pass
            elif z <= limits[0]:
                edge = PASSED
            elif z >= limits[1] or y <= limits[2] or y >= limits[3]:
                edge = RETURNED
        if keep:
            path[count, 0], path[count, 1] = z, y
            count += 1
        if edge != AFLOAT:
            break
    state[0], state[1], state[2], state[3] = z, y, w, v
    return count, edge, time


@compiled(error_model="numpy")
def _fly(
    edges: FloatArray,
    start: IntArray,
    items: IntArray,
    grid: FloatArray,
    shape: IntArray,
    limits: FloatArray,
    air_grid: FloatArray,
    wa: FloatArray,
    va: FloatArray,
    g: FloatArray,
    z: FloatArray,
    y: FloatArray,
    w: FloatArray,
    v: FloatArray,
    d_mm: FloatArray,
    radius_mm: FloatArray,
    flat: FloatArray,
    v_flat: FloatArray,
    table: FloatArray,
    constants: FloatArray,
    drag: bool,
    step_mm: FloatArray,
) -> tuple[IntArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    n = z.size
    hit = np.empty(n, dtype=np.int64)
    out = np.empty((4, n))
    time = np.empty(n)
    no_path = np.empty((0, 2))
    seen = np.empty(items.size, dtype=np.int64)
    state = np.empty(4)
    for k in range(n):
        state[0], state[1], state[2], state[3] = z[k], y[k], w[k], v[k]
        _, hit[k], time[k] = _one(
            edges,
            start,
            items,
            grid,
            shape,
            limits,
            air_grid,
            wa,
            va,
            g,
            state,
            d_mm[k] * 1e-3,
            radius_mm[k],
            flat[k],
            v_flat[k],
            table,
            constants,
            drag,
            step_mm[k],
            no_path,
            seen,
        )
        out[0, k], out[1, k], out[2, k], out[3, k] = state[0], state[1], state[2], state[3]
    return hit, out[0], out[1], out[2], out[3], time

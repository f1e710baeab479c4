"""Compiled core: weakly compressible particles with a kernel of short reach (numba).

Lengths in m, times in s, pressures in Pa, per metre of depth into the plane. Density follows from
the continuity equation with a diffusive term (Molteni & Colagrossi 2009, CPC 180:861) less the part
that stands for a head of water (Fourtakas et al. 2019). Walls are fixed particles that take the
pressure of the water before them and let it slide (Adami, Hu & Adams 2012, JCP 231:7057). Water
does not pull: pressure below that of the air around is cut off. There is no air, no surface
tension, no viscosity but the small artificial one between approaching particles.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

# Columns of a particle's state.
X, Y, U, V, RHO = 0, 1, 2, 3, 4
# Entries of the settings handed to ``march``.
DX, H, C0, RHO0, ALPHA, DELTA, GX, GY, DT, BIN, SLOW = range(11)
# Entries of the jet: middle of the mouth, direction, speed, thickness, rows still to come.
JX, JY, JU, JV, SPEED, THICK = range(6)
SLOW_LABEL = 32
ROWS = 4
"""Rows of jet particles that move with the given velocity behind the mouth."""


@njit(cache=True)
def _bins(pos, n, x0, y0, cell, nx, ny, start, order):
    """Sort particles into cells; ``order[start[c]:start[c + 1]]`` are those of cell c."""
    start[:] = 0
    for i in range(n):
        start[_cell(pos[i, 0], pos[i, 1], x0, y0, cell, nx, ny) + 1] += 1
    for c in range(nx * ny):
        start[c + 1] += start[c]
    at = start[:-1].copy()
    for i in range(n):
        c = _cell(pos[i, 0], pos[i, 1], x0, y0, cell, nx, ny)
        order[at[c]] = i
        at[c] += 1


@njit(cache=True)
def _cell(x, y, x0, y0, cell, nx, ny):
    cx = min(max(int((x - x0) / cell), 0), nx - 1)
    cy = min(max(int((y - y0) / cell), 0), ny - 1)
    return cx * ny + cy


@njit(cache=True)
def _sample(grid, x, y, x0, y0, step):
    """Return a gridded field at a point, bilinear, and its gradient."""
    fx = min(max((x - x0) / step, 0.0), grid.shape[0] - 1.001)
    fy = min(max((y - y0) / step, 0.0), grid.shape[1] - 1.001)
    i, j = int(fx), int(fy)
    a, b = fx - i, fy - j
    g00, g10, g01, g11 = grid[i, j], grid[i + 1, j], grid[i, j + 1], grid[i + 1, j + 1]
    value = (1 - a) * ((1 - b) * g00 + b * g01) + a * ((1 - b) * g10 + b * g11)
    gx = ((1 - b) * (g10 - g00) + b * (g11 - g01)) / step
    gy = ((1 - a) * (g01 - g00) + a * (g11 - g10)) / step
    return value, gx, gy


@njit(cache=True)
def _pairs(s, n, wall, start, order, wstart, worder, box, cell, nx, ny, h, pi, pd, wi, wd, full):
    """List neighbours: pairs of water and of water with wall. Returns both counts.

    ``pd`` and ``wd`` hold the separation (x, y), the kernel's slope over the distance and, for
    walls, the kernel itself. ``full`` becomes each particle's share of a full neighbourhood.
    """
    reach2 = 4.0 * h * h
    norm = 7.0 / (4.0 * math.pi * h * h)
    k = 0
    m = 0
    for i in range(n):
        full[i] = norm
    for i in range(n):
        xi, yi = s[i, X], s[i, Y]
        cx = min(max(int((xi - box[0]) / cell), 0), nx - 1)
        cy = min(max(int((yi - box[1]) / cell), 0), ny - 1)
        for ax in range(max(cx - 1, 0), min(cx + 2, nx)):
            for ay in range(max(cy - 1, 0), min(cy + 2, ny)):
                c = ax * ny + ay
                for at in range(start[c], start[c + 1]):
                    j = order[at]
                    if j <= i:
                        continue
                    dx, dy = xi - s[j, X], yi - s[j, Y]
                    r2 = dx * dx + dy * dy
                    if r2 < reach2:
                        q = math.sqrt(r2) / h
                        t = 1.0 - 0.5 * q
                        t3 = t * t * t
                        w = norm * t3 * t * (1.0 + 2.0 * q)
                        pi[k, 0], pi[k, 1] = i, j
                        pd[k, 0], pd[k, 1], pd[k, 2] = dx, dy, -5.0 * norm * t3 / (h * h)
                        full[i] += w
                        full[j] += w
                        k += 1
                for at in range(wstart[c], wstart[c + 1]):
                    j = worder[at]
                    dx, dy = xi - wall[j, 0], yi - wall[j, 1]
                    r2 = dx * dx + dy * dy
                    if r2 < reach2:
                        q = math.sqrt(r2) / h
                        t = 1.0 - 0.5 * q
                        t3 = t * t * t
                        w = norm * t3 * t * (1.0 + 2.0 * q)
                        wi[m, 0], wi[m, 1] = i, j
                        wd[m, 0], wd[m, 1] = dx, dy
                        wd[m, 2], wd[m, 3] = -5.0 * norm * t3 / (h * h), w
                        full[i] += w
                        m += 1
                if k > len(pi) - 400 or m > len(wi) - 400:
                    return -1, -1
    return k, m


@njit(cache=True)
def _wall_pressure(s, wi, wd, m, p, cfg, pw, weight):
    """Give each wall particle the mean pressure of the water it meets, with the head between."""
    pw[:] = 0.0
    weight[:] = 0.0
    for a in range(m):
        i, j, w = wi[a, 0], wi[a, 1], wd[a, 3]
        head = -s[i, RHO] * (cfg[GX] * wd[a, 0] + cfg[GY] * wd[a, 1])
        pw[j] += (p[i] + head) * w
        weight[j] += w
    for j in range(len(pw)):
        if weight[j] > 0.0:
            pw[j] = max(pw[j] / weight[j], 0.0)


@njit(cache=True)
def _accelerate(s, pi, pd, k, wi, wd, m, p, pw, cfg, mass, acc):
    """Accelerations by pressure, artificial viscosity and gravity. Returns the force on walls."""
    h, c0, rho0 = cfg[H], cfg[C0], cfg[RHO0]
    for i in range(len(acc)):
        acc[i, 0], acc[i, 1] = cfg[GX], cfg[GY]
    soft = 0.01 * h * h
    for a in range(k):
        i, j = pi[a, 0], pi[a, 1]
        dx, dy = pd[a, 0], pd[a, 1]
        f = -(p[i] + p[j]) / (s[i, RHO] * s[j, RHO])
        near = (s[i, U] - s[j, U]) * dx + (s[i, V] - s[j, V]) * dy
        if near < 0.0:
            f += cfg[ALPHA] * c0 * h * near / ((dx * dx + dy * dy + soft) * rho0)
        f *= mass * pd[a, 2]
        acc[i, 0] += f * dx
        acc[i, 1] += f * dy
        acc[j, 0] -= f * dx
        acc[j, 1] -= f * dy
    fx, fy = 0.0, 0.0
    for a in range(m):
        i, j = wi[a, 0], wi[a, 1]
        rho_w = rho0 + pw[j] / (c0 * c0)
        f = -mass * (p[i] + pw[j]) / (s[i, RHO] * rho_w) * wd[a, 2]
        acc[i, 0] += f * wd[a, 0]
        acc[i, 1] += f * wd[a, 1]
        fx -= mass * f * wd[a, 0]
        fy -= mass * f * wd[a, 1]
    return fx, fy


@njit(cache=True)
def _compress(s, pi, pd, k, wi, wd, m, cfg, mass, rate):
    """Rate of change of density: continuity, and diffusion of density between neighbours."""
    rate[:] = 0.0
    diffuse = 2.0 * cfg[DELTA] * cfg[H] * cfg[C0]
    heavy = cfg[RHO0] / (cfg[C0] * cfg[C0])  # density that a head of water adds stays
    for a in range(k):
        i, j = pi[a, 0], pi[a, 1]
        dx, dy, f = pd[a, 0], pd[a, 1], pd[a, 2]
        ri, rj = s[i, RHO], s[j, RHO]
        flow = ((s[i, U] - s[j, U]) * dx + (s[i, V] - s[j, V]) * dy) * f
        head = -heavy * (cfg[GX] * dx + cfg[GY] * dy)
        swap = -diffuse * f * (rj - ri - head)
        rate[i] += mass / rj * (ri * flow + swap)
        rate[j] += mass / ri * (rj * flow - swap)
    for a in range(m):
        i = wi[a, 0]
        flow = (s[i, U] * wd[a, 0] + s[i, V] * wd[a, 1]) * wd[a, 2]
        rate[i] += s[i, RHO] * mass / cfg[RHO0] * flow


@njit(cache=True)
def march(s, fed, n, wall, box, cell, shape, sdf, labels, fine, jet, cfg, phase, t0, steps, books):
    """Advance the water by a number of steps; returns its count (or -1: no room) and the phase.

    Parameters
    ----------
    s, fed, n
        particles: state, 1 while behind the jet's mouth, count
    wall
        positions of wall particles
    box, cell, shape
        lower corner of the domain, size and counts of its cells (a kernel's reach wide)
    sdf, labels, fine
        distance to the nearest wall (positive in the open) and label of the sink (0 for none,
        negative where only water that moves towards +x is taken, ``SLOW_LABEL`` more where only
        slow water is) on a grid of this step
    jet, cfg
        settings, see above
    phase
        how far the jet's last row has moved on
    t0
        time at the start
    books
        per time bin: emitted, force x and y times time, guarded, then per sink count and velocity
    """
    x0, y0 = box[0], box[1]
    nx, ny = shape
    h, dx, dt = cfg[H], cfg[DX], cfg[DT]
    mass = cfg[RHO0] * dx * dx
    room = len(s)
    start = np.zeros(nx * ny + 1, np.int64)
    order = np.zeros(room, np.int64)
    wstart = np.zeros(nx * ny + 1, np.int64)
    worder = np.zeros(len(wall), np.int64)
    _bins(wall, len(wall), x0, y0, cell, nx, ny, wstart, worder)
    pi = np.zeros((room * 24, 2), np.int32)
    pd = np.zeros((room * 24, 3))
    wi = np.zeros((room * 12, 2), np.int32)
    wd = np.zeros((room * 12, 4))
    full = np.zeros(room)
    p = np.zeros(room)
    pw = np.zeros(len(wall))
    weight = np.zeros(len(wall))
    across = round(jet[THICK] / dx)
    for step in range(steps):
        now = t0 + step * dt
        bin_ = min(int(now / cfg[BIN]), len(books) - 1)
        # The jet moves on; a new row enters behind the last one.
        if jet[SPEED] > 0.0:
            phase += jet[SPEED] * dt
            if phase >= dx:
                phase -= dx
                if n + across >= room:
                    return -1, phase
                for a in range(across):
                    off = (a + 0.5) * jet[THICK] / across - 0.5 * jet[THICK]
                    back = phase - ROWS * dx
                    s[n, X] = jet[JX] + back * jet[JU] - off * jet[JV]
                    s[n, Y] = jet[JY] + back * jet[JV] + off * jet[JU]
                    s[n, U], s[n, V] = jet[SPEED] * jet[JU], jet[SPEED] * jet[JV]
                    s[n, RHO] = cfg[RHO0]
                    fed[n] = 1
                    n += 1
                books[bin_, 0] += across
        _bins(s, n, x0, y0, cell, nx, ny, start, order)
        if step % 25 == 0:  # neighbours in space become neighbours in memory
            s[:n] = s[:n][order[:n]]
            fed[:n] = fed[:n][order[:n]]
            order[:n] = np.arange(n)
        k, m = _pairs(
            s, n, wall, start, order, wstart, worder, box, cell, nx, ny, h, pi, pd, wi, wd, full
        )
        if k < 0:
            return -1, phase
        for i in range(n):
            # Spray forgets how far it was drawn apart.
            if full[i] * dx * dx < 0.45 and fed[i] == 0:
                s[i, RHO] = cfg[RHO0]
            p[i] = max(cfg[C0] * cfg[C0] * (s[i, RHO] - cfg[RHO0]), 0.0)
        _wall_pressure(s, wi, wd, m, p, cfg, pw, weight)
        acc = np.empty((n, 2))
        fx, fy = _accelerate(s, pi, pd, k, wi, wd, m, p, pw, cfg, mass, acc)
        books[bin_, 1] += fx * dt
        books[bin_, 2] += fy * dt
        for i in range(n):
            if fed[i] == 0:
                s[i, U] += dt * acc[i, 0]
                s[i, V] += dt * acc[i, 1]
        rate = np.empty(n)
        _compress(s, pi, pd, k, wi, wd, m, cfg, mass, rate)
        i = 0
        while i < n:
            s[i, X] += dt * s[i, U]
            s[i, Y] += dt * s[i, V]
            if fed[i] == 1:
                ahead = (s[i, X] - jet[JX]) * jet[JU] + (s[i, Y] - jet[JY]) * jet[JV]
                if ahead > 0.0:
                    fed[i] = 0
                i += 1
                continue
            s[i, RHO] += dt * rate[i]
            gap, gx, gy = _sample(sdf, s[i, X], s[i, Y], x0, y0, fine)
            if gap < 0.15 * dx:  # nothing passes through a wall
                size = math.sqrt(gx * gx + gy * gy) + 1e-12
                gx, gy = gx / size, gy / size
                s[i, X] += (0.15 * dx - gap) * gx
                s[i, Y] += (0.15 * dx - gap) * gy
                into = s[i, U] * gx + s[i, V] * gy
                if into < 0.0:
                    s[i, U] -= into * gx
                    s[i, V] -= into * gy
                    books[bin_, 1] += mass * into * gx
                    books[bin_, 2] += mass * into * gy
                books[bin_, 3] += 1
            lx = min(max(int((s[i, X] - x0) / fine), 0), labels.shape[0] - 1)
            ly = min(max(int((s[i, Y] - y0) / fine), 0), labels.shape[1] - 1)
            sink = labels[lx, ly]
            taken = sink > 0 or (sink < 0 and s[i, U] > 0.0)
            if sink > SLOW_LABEL:
                sink -= SLOW_LABEL
                taken = s[i, U] ** 2 + s[i, V] ** 2 < cfg[SLOW] ** 2
            if taken:
                at = 4 + 3 * (abs(sink) - 1)
                books[bin_, at] += 1
                books[bin_, at + 1] += s[i, U]
                books[bin_, at + 2] += s[i, V]
                # The last particle takes its place; it is moved in its own turn, which is now.
                n -= 1
                s[i] = s[n]
                fed[i] = fed[n]
                rate[i] = rate[n]
                continue
            i += 1
    return n, phase

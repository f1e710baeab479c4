"""A D2Q9 lattice Boltzmann solver for incompressible flow in a plane, compiled with numba.

Why a lattice Boltzmann method: gaps of a vent carry flow at Reynolds numbers of 50 to 2000, where
the wakes between banks shed vortices, so a steady finite-element solution need not exist and what
counts is the mean of an unsteady flow. The lattice method steps such a flow explicitly, needs
neither mesh nor linear solver, and takes any slat outline through wall distances on its links.

Choices: the equilibrium of He and Luo (1997, J. Stat. Phys. 88:927) in which density stands for
pressure only, so that a steady flow is free of compressibility error; the recursive regularised
collision of Malaspinas (2015, arXiv:1505.06900), which rebuilds the non-equilibrium part from its
stress and drops everything else and so stays stable at low viscosity; walls by linearly
interpolated bounce-back (Bouzidi, Firdaouss & Lallemand 2001, Phys. Fluids 13:3452), second order
for slanted slats too; inlet and outlet by non-equilibrium extrapolation (Guo, Zheng & Shi 2002,
Phys. Fluids 14:2007). The formulas were written down from memory of these papers; the solver is
held to Poiseuille flow, the cavity of Ghia et al. and the step of Armaly et al. instead.

Lattice units throughout: node distance 1, time step 1, reference density 1, sound speed
squared 1/3. Arrays are indexed (direction, y, x); the flow runs towards growing x.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.base.compiled import compiled

CX: Final = np.array([0, 1, 0, -1, 0, 1, -1, -1, 1])
CY: Final = np.array([0, 0, 1, 0, -1, 1, 1, -1, -1])
WEIGHT: Final = np.array([4 / 9] + [1 / 9] * 4 + [1 / 36] * 4)
OPPOSITE: Final = np.array([0, 3, 4, 1, 2, 7, 8, 5, 6])
CS2: Final = 1.0 / 3.0


@dataclass(frozen=True)
class Links:
    """Links from a fluid node to a wall.

    For each link: direction ``k`` towards the wall, fluid node ``(y, x)``, the node ``(ys, xs)``
    behind the wall whose slot feeds the fluid node, the node ``(yf, xf)`` further from the wall,
    and weights ``a``, ``b``, ``c`` (1) of the populations k at the node, k at the further node, and
    opposite k at the node. ``add`` is the gain from a moving wall, lattice units.
    """

    k: IntArray
    y: IntArray
    x: IntArray
    ys: IntArray
    xs: IntArray
    yf: IntArray
    xf: IntArray
    a: FloatArray
    b: FloatArray
    c: FloatArray
    add: FloatArray


def bounce_links(
    solid: BoolArray,
    distance: FloatArray | None = None,
    wall_velocity: tuple[FloatArray, FloatArray] | None = None,
    *,
    crossed: BoolArray | None = None,
    periodic_x: bool = False,
) -> Links:
    """Return the wall links of a mask.

    Parameters
    ----------
    solid:
        (ny, nx); True inside walls. Rows wrap around; columns too if ``periodic_x``.
    distance:
        (9, ny, nx); share of the link from a fluid node to the wall, in 0..1; 0.5 if omitted
    wall_velocity:
        velocity (x, y) of the wall at the node behind it, two (ny, nx) arrays, lattice units
    crossed:
        (9, ny, nx); True where a link runs from fluid through a thin wall to fluid; none if omitted
    """
    ny, nx = solid.shape
    columns: list[list[NDArray[np.generic]]] = [[] for _ in range(11)]
    # The outermost columns are filled from their neighbours, so no link starts there.
    inner = np.zeros_like(solid)
    inner[:, 1:-1] = True
    for k in range(1, 9):
        behind = np.roll(solid, (-CY[k], -CX[k]), (0, 1))
        if crossed is not None:
            behind = behind | crossed[k]
        ys0, xs0 = np.nonzero(~solid & behind & inner)
        if not len(ys0):
            continue
        ys, xs = (ys0 + CY[k]) % ny, (xs0 + CX[k]) % nx
        yf, xf = (ys0 - CY[k]) % ny, (xs0 - CX[k]) % nx
        if periodic_x:
            xf = (xf - 1) % (nx - 2) + 1
        q = np.full(len(ys0), 0.5) if distance is None else distance[k, ys0, xs0]
        q = np.clip(q, 1e-3, 1.0)
        near = q < 0.5
        # In a slit one node wide there is no further node: plain bounce-back there.
        plain = near & solid[yf, xf]
        if crossed is not None:
            plain |= near & crossed[OPPOSITE[k], ys0, xs0]
        q = np.where(plain, 0.5, q)
        near &= ~plain
        a = np.where(near, 2 * q, 1 / (2 * q))
        b = np.where(near, 1 - 2 * q, 0.0)
        c = np.where(near, 0.0, (2 * q - 1) / (2 * q))
        add = np.zeros(len(ys0))
        if wall_velocity is not None:
            u, v = wall_velocity[0][ys, xs], wall_velocity[1][ys, xs]
            push = -(CX[k] * u + CY[k] * v) * WEIGHT[k] / CS2
            add = np.where(near, 2 * push, push / q)
        parts = (np.full(len(ys0), k), ys0, xs0, ys, xs, yf, xf, a, b, c, add)
        for column, part in zip(columns, parts, strict=True):
            column.append(part)
    whole = [np.concatenate(c) if c else np.zeros(0) for c in columns]
    k_, y_, x_, ys_, xs_, yf_, xf_ = (w.astype(np.int64) for w in whole[:7])
    a_, b_, c_, add_ = (w.astype(np.float64) for w in whole[7:])
    return Links(k_, y_, x_, ys_, xs_, yf_, xf_, a_, b_, c_, add_)


@compiled(inline="always")
def _equilibrium(k, rho, u, v):  # type: ignore[no-untyped-def]
    """Return the deviation of the equilibrium from rest for one direction."""
    cu = CX[k] * u + CY[k] * v
    hx, hy = CX[k] * CX[k] - 1 / 3, CY[k] * CY[k] - 1 / 3
    a2 = 4.5 * (hx * u * u + 2 * CX[k] * CY[k] * u * v + hy * v * v)
    a3 = 13.5 * (hx * CY[k] * u * u * v + CX[k] * hy * u * v * v)
    a4 = 20.25 * hx * hy * u * u * v * v
    return WEIGHT[k] * (rho + 3 * cu + a2 + a3 + a4)


@compiled(fastmath=True, error_model="numpy")
def _collide(A, B, fluid, omega, force):  # type: ignore[no-untyped-def]
    """Pull populations from A to every inner node, collide, and write them to B.

    Populations are kept as deviations from those of resting air, ``rho`` likewise from 1.
    """
    _, ny, nx = A.shape
    for j in range(ny):
        jm = j - 1 if j > 0 else ny - 1
        jp = j + 1 if j < ny - 1 else 0
        a0, a1, a3 = A[0, j], A[1, j], A[3, j]
        a2, a5, a6 = A[2, jm], A[5, jm], A[6, jm]
        a4, a7, a8 = A[4, jp], A[7, jp], A[8, jp]
        b0, b1, b2, b3, b4 = B[0, j], B[1, j], B[2, j], B[3, j], B[4, j]
        b5, b6, b7, b8 = B[5, j], B[6, j], B[7, j], B[8, j]
        keep_row = fluid[j]
        for i in range(1, nx - 1):
            f0, f1, f2, f3, f4 = a0[i], a1[i - 1], a2[i], a3[i + 1], a4[i]
            f5, f6, f7, f8 = a5[i - 1], a6[i + 1], a7[i + 1], a8[i - 1]
            px = f1 + f5 + f8
            mx = f3 + f6 + f7
            py = f2 + f5 + f6
            my = f4 + f7 + f8
            rho = f0 + f2 + f4 + px + mx
            ju = px - mx
            u = ju + 0.5 * force
            v = py - my
            third = rho / 3
            # Second moments less equilibrium; the force enters as in Guo's scheme.
            nxx = px + mx - third - u * u + force * u
            nyy = py + my - third - v * v
            nxy = (f5 + f7) - (f6 + f8) - u * v + 0.5 * force * v
            left = 1.0 - omega[i]
            # The isotropic part is relaxed at once: it only carries sound.
            half = 0.5 * (nxx - nyy) * left
            sxy = nxy * left
            u1 = u + 0.5 * force
            xx = u * u + half + force * u
            yy = v * v - half
            xy = u * v + sxy + 0.5 * force * v
            xxy = u * u * v + 2 * u * sxy + v * half
            xyy = u * v * v + 2 * v * sxy - u * half
            xxyy = u * u * v * v + 4 * u * v * sxy - u * u * half + v * v * half
            # Hermite sums, grouped by symmetric pairs of directions.
            keep = keep_row[i]
            e = rho - 1.5 * (xx + yy) + 2.25 * xxyy
            b0[i] = keep * (4 / 9) * e
            even_x = rho + 3 * xx - 1.5 * yy - 4.5 * xxyy
            odd_x = 3 * u1 - 4.5 * xyy
            b1[i] = keep * (1 / 9) * (even_x + odd_x)
            b3[i] = keep * (1 / 9) * (even_x - odd_x)
            even_y = rho + 3 * yy - 1.5 * xx - 4.5 * xxyy
            odd_y = 3 * v - 4.5 * xxy
            b2[i] = keep * (1 / 9) * (even_y + odd_y)
            b4[i] = keep * (1 / 9) * (even_y - odd_y)
            even_d = rho + 3 * (xx + yy) + 9 * xxyy
            cross = 9 * xy
            dx = 3 * u1 + 9 * xyy
            dy = 3 * v + 9 * xxy
            b5[i] = keep * (1 / 36) * (even_d + cross + dx + dy)
            b7[i] = keep * (1 / 36) * (even_d + cross - dx - dy)
            b6[i] = keep * (1 / 36) * (even_d - cross - dx + dy)
            b8[i] = keep * (1 / 36) * (even_d - cross + dx - dy)


@compiled()
def _walls(A, k, y, x, ys, xs, yf, xf, a, b, c, add, back):  # type: ignore[no-untyped-def]
    """Write what walls send back into the slots the next pull reads.

    All of it is worked out first: on either side of a thin wall that lies between two nodes, one
    link's slot is what the other reads. ``back`` is room for it.

    Populations are deviations from rest, which is the same in both directions of a link; the
    weights of a link sum to one, so the deviation is interpolated as the population is.
    """
    for n in range(len(k)):
        d = k[n]
        o = OPPOSITE[d]
        gone = A[d, y[n], x[n]]
        back[n] = a[n] * gone + b[n] * A[d, yf[n], xf[n]] + c[n] * A[o, y[n], x[n]] + add[n]
        # Interpolation does not quite send back what came; the node keeps the difference, or
        # walls under a pressure gradient would leak.
        A[0, y[n], x[n]] += gone - back[n]
    for n in range(len(k)):
        A[OPPOSITE[k[n]], ys[n], xs[n]] = back[n]


@compiled()
def _wrap(A):  # type: ignore[no-untyped-def]
    """Make the outermost columns copies of the opposite inner ones."""
    nx = A.shape[2]
    for k in range(9):
        for j in range(A.shape[1]):
            A[k, j, 0] = A[k, j, nx - 2]
            A[k, j, nx - 1] = A[k, j, 1]


@compiled()
def _ends(A, fluid, inlet):  # type: ignore[no-untyped-def]
    """Set inlet velocity and a sound-absorbing outlet by non-equilibrium extrapolation."""
    _, ny, nx = A.shape
    # Mean surplus of the outflow over the inflow: in an incompressible flow it can only be sound.
    # Answering it with its own pressure, rho c u', lets the sound out instead of reflecting it;
    # else the column of air between the ends rings and locks to the vortices.
    surplus = 0.0
    for j in range(ny):
        for k in range(1, 9):
            surplus += CX[k] * A[k, j, nx - 2] * fluid[j, nx - 2]
        surplus -= inlet[j] * fluid[j, 1]
    sound = surplus / ny * 3.0**0.5
    for j in range(ny):
        for end in range(2):
            i, n = (0, 1) if end == 0 else (nx - 1, nx - 2)
            if fluid[j, n] == 0.0:
                for k in range(9):
                    A[k, j, i] = 0.0
                continue
            rho = u = v = 0.0
            for k in range(9):
                rho += A[k, j, n]
                u += CX[k] * A[k, j, n]
                v += CY[k] * A[k, j, n]
            for k in range(9):
                off = A[k, j, n] - _equilibrium(k, rho, u, v)
                if end == 0:
                    A[k, j, i] = _equilibrium(k, rho, inlet[j], 0.0) + off
                else:
                    A[k, j, i] = _equilibrium(k, sound, u, v) + off


@compiled()
def _sample(A, total, force):  # type: ignore[no-untyped-def]
    """Add density, velocity and axial momentum flux of post-collision populations to sums."""
    _, ny, nx = A.shape
    for j in range(ny):
        for i in range(nx):
            rho = u = v = 0.0
            for k in range(9):
                rho += A[k, j, i]
                u += CX[k] * A[k, j, i]
                v += CY[k] * A[k, j, i]
            u -= 0.5 * force
            total[0, j, i] += rho
            total[1, j, i] += u
            total[2, j, i] += v
            total[3, j, i] += u * u


@compiled(nogil=True)
def _run(A, B, fluid, omega, force, inlet, wrap, links, steps, ramp0, ramp, every, total):  # type: ignore[no-untyped-def]
    """Advance an even number of steps; return the number of samples taken."""
    k, y, x, ys, xs, yf, xf, a, b, c, add = links
    samples = 0
    now = np.empty_like(inlet)
    back = np.empty(len(k))
    for step in range(steps):
        part = min(1.0, (ramp0 + step + 1) / ramp) if ramp > 0 else 1.0
        now[:] = inlet * part
        if wrap:
            _wrap(A)
        else:
            _ends(A, fluid, now)
        _walls(A, k, y, x, ys, xs, yf, xf, a, b, c, add, back)
        _collide(A, B, fluid, omega, force)
        A, B = B, A
        if every > 0 and (step + 1) % every == 0:
            _sample(A, total, force)
            samples += 1
    return samples


@dataclass(frozen=True)
class Means:
    """Time means over one run, each (ny, nx), in lattice units.

    ``pressure`` is p / rho, ``u``, ``v`` and ``uu`` are velocities and u squared, lattice units.
    """

    pressure: FloatArray
    u: FloatArray
    v: FloatArray
    uu: FloatArray


class Lattice:
    """One flow: populations, walls, viscosity, and how it is driven.

    Parameters
    ----------
    solid:
        (ny, nx) wall mask; rows wrap around
    links:
        wall links from :func:`bounce_links`
    viscosity:
        kinematic viscosity in lattice units, one number or one per column
    inlet:
        (ny,) inlet velocity at column 0, lattice units; the last column then holds zero mean
        pressure. ``None`` wraps the columns around (column 0 and the last are copies)
    force:
        body force along x, lattice units
    ramp:
        steps over which the inlet is brought up
    """

    def __init__(
        self,
        solid: BoolArray,
        links: Links,
        viscosity: float | FloatArray,
        *,
        inlet: FloatArray | None = None,
        force: float = 0.0,
        ramp: int = 0,
    ) -> None:
        ny, nx = solid.shape
        self.shape = (ny, nx)
        self.fluid = np.where(solid, 0.0, 1.0)
        self.links = links
        self.omega = 1.0 / (3.0 * np.broadcast_to(np.asarray(viscosity, float), (nx,)) + 0.5)
        self.wrap = inlet is None
        self.inlet = np.zeros(ny) if inlet is None else np.asarray(inlet, float)
        self.force = force
        self.ramp = ramp
        self.steps = 0
        self._a = np.zeros((9, ny, nx))
        self._b = np.zeros((9, ny, nx))

    def run(self, steps: int, every: int = 0) -> Means | None:
        """Advance ``steps`` (made even); return means of every ``every``-th step, if asked.

        Raises
        ------
        FloatingPointError
            when the flow has become unstable
        """
        steps += steps % 2
        total = np.zeros((4, *self.shape))
        link = self.links
        parts = (link.k, link.y, link.x, link.ys, link.xs, link.yf, link.xf)
        weights = (link.a, link.b, link.c, link.add)
        n = _run(
            self._a,
            self._b,
            self.fluid,
            self.omega,
            self.force,
            self.inlet,
            self.wrap,
            parts + weights,
            steps,
            self.steps,
            self.ramp,
            every,
            total,
        )
        self.steps += steps
        if not np.isfinite(self._a[0, :, 1:-1].sum()):
            raise FloatingPointError("the flow became unstable: refine the grid")
        if not every:
            return None
        mean = total / max(n, 1) * self.fluid
        return Means(mean[0] * CS2, mean[1], mean[2], mean[3])

    def now(self) -> Means:
        """Return the present pressure and velocities."""
        total = np.zeros((4, *self.shape))
        _sample(self._a, total, self.force)
        mean = total * self.fluid
        return Means(mean[0] * CS2, mean[1], mean[2], mean[3])

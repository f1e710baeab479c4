"""A finite-element model of slats between ribs: banks of boxes, bent to planks, folds or plates.

In coordinates (x, z, w) with w = y - f(z), f rising or falling by 45 degrees from bank to bank, a
plank whose ends stand square to z, a leaf of a fold and an upright plate are boxes alike. So one
grid of bricks holds slats, ribs and wall of every form; bricks in the air are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from skfem import Basis, ElementHex2, ElementVector, MeshHex, MeshHex2, asm, condense, solve
from skfem.assembly import Functional, LinearForm
from skfem.models.elasticity import lame_parameters, linear_elasticity

from vent_family.base.arrays import FloatArray


@dataclass(frozen=True)
class Plate:
    """A slat in the grid's coordinates: z and w of its sides, mm; ``bank`` counts from outside."""

    bank: int
    z: tuple[float, float]
    w: tuple[float, float]


@dataclass(frozen=True)
class FeBank:
    """What the pushed slat does: moments (N mm) about w in its middle and the way it gives (mm).

    ``moment_nmm`` is that of the axial stress about the slat's own middle plane.
    """

    moment_nmm: float
    deflection_mm: float
    unknowns: int


def fe_bank(
    slats: Sequence[Plate],
    pushed: int,
    slopes: Sequence[tuple[float, float, float]],
    z_ends: tuple[float, float],
    w_ends: tuple[float, float],
    bay_mm: float,
    rib_mm: float,
    load_n: float,
    spread_mm: float,
    modulus_mpa: float,
    poisson: float,
    far: int = 1,
) -> FeBank:
    """Solve half of a vent that is symmetrical about the middle of the pushed slat's bay.

    Parameters
    ----------
    slats, pushed
        the slats, and which of them bears the load
    slopes
        (z0, z1, slope) of each stretch of f, from inside out
    z_ends, w_ends
        ends of the ribs, mm
    bay_mm, rib_mm
        clear width of a bay and thickness of a rib, mm
    load_n, spread_mm
        push along -z, N, and the stretch of the slat it is spread over, mm
    modulus_mpa, poisson
        Young's modulus and Poisson's ratio (1)
    far
        further bays beyond the first rib; the last one ends in a fixed wall
    """
    zs = _refined({*z_ends, *(z for s in slats for z in s.z)}, 1.9)
    ws = _refined({*w_ends, *(w for s in slats for w in s.w)}, 3.2)
    half, half_spread = bay_mm / 2, min(spread_mm, bay_mm) / 2
    xs = [np.linspace(0.0, half_spread, 3)]
    if half > half_spread:
        xs.append(np.linspace(half_spread, half, 4)[1:])
    ribs, at = [], half
    for _ in range(far):
        ribs.append((at, at + rib_mm))
        xs += [np.array([at + rib_mm]), np.linspace(at + rib_mm, at + rib_mm + bay_mm, 5)[1:]]
        at += rib_mm + bay_mm
    if far == 0:
        # The bay ends in a wall as thick as a rib, held by nothing.
        ribs.append((at, at + rib_mm))
        xs.append(np.array([at + rib_mm]))
        at += rib_mm
    mesh = MeshHex.init_tensor(np.concatenate(xs), zs, ws)
    mid = mesh.p[:, mesh.t].mean(axis=1)
    kept = np.zeros(mid.shape[1], dtype=bool)
    for a, b in ribs:
        kept |= (mid[0] > a) & (mid[0] < b)
    for s in slats:
        kept |= _within(mid, s)
    mesh = mesh.restrict(np.nonzero(kept)[0])
    f = np.zeros(mesh.p.shape[1])
    for z0, z1, slope in slopes:
        f += slope * (np.clip(mesh.p[1], z0, z1) - z0)
    p = np.array([mesh.p[0], mesh.p[1], mesh.p[2] + f])
    flat = mesh.p.copy()
    mesh2 = MeshHex2.from_mesh(MeshHex(p, mesh.t))
    basis = Basis(mesh2, ElementVector(ElementHex2()), intorder=4)
    lame = lame_parameters(modulus_mpa, poisson)
    stiffness = asm(linear_elasticity(*lame), basis)
    box = slats[pushed]
    centre = flat[:, mesh.t].mean(axis=1)
    mine = np.nonzero(_within(centre, box) & (centre[0] < half_spread))[0]
    here = Basis(mesh2, ElementVector(ElementHex2()), intorder=4, elements=mine)
    volume = Functional(lambda w: 1.0 + 0.0 * w.x[0]).assemble(here)
    push = LinearForm(lambda v, w: -v[1] * (load_n / 2) / volume).assemble(here)
    fixed = []
    if far > 0:
        fixed.append(basis.get_dofs(lambda q: q[0] > at - 1e-6).all())
    floor = basis.get_dofs(lambda q: _along(q, slopes) < w_ends[0] + 1e-6).all()
    top = basis.get_dofs(lambda q: _along(q, slopes) > w_ends[1] - 1e-6).all()
    middle = basis.get_dofs(lambda q: q[0] < 1e-6)
    held = np.unique(np.concatenate([*fixed, floor, top, middle.all("u^1")]))
    moved = solve(*condense(stiffness, push, D=held))
    # The moment is that of the axial stress on the middle plane about the slat's middle plane:
    # all of the load's moment less the end's, by equilibrium; read off as a mean over the first
    # bricks, where it changes by no more than the spread load's part.
    first = np.nonzero(_within(centre, box) & (centre[0] < half_spread / 2))[0]
    thin = Basis(mesh2, ElementVector(ElementHex2()), intorder=4, elements=first)
    inner = thin.interpolate(moved)
    slope = next(s for z0, z1, s in slopes if z0 <= box.z[0] + 1e-9 and box.z[1] <= z1 + 1e-9)
    across = (
        np.array([1.0, -slope]) / np.hypot(1.0, slope)
        if slope == 0
        else (np.array([-slope, 1.0]) / np.hypot(1.0, slope))
    )
    corner = _centre(box, slopes)

    def bend(w: object) -> FloatArray:
        g = w["moved"].grad  # type: ignore[index]
        s = lame[0] * (g[0, 0] + g[1, 1] + g[2, 2]) + 2.0 * lame[1] * g[0, 0]
        x = w.x  # type: ignore[attr-defined]
        d = (x[1] - corner[0]) * across[0] + (x[2] - corner[1]) * across[1]
        return np.asarray(s * d)

    moment = Functional(bend).assemble(thin, moved=inner) / (half_spread / 2)
    at_middle = basis.get_dofs(
        lambda q: (
            (q[0] < 1e-6)
            & (np.abs(q[1] - np.clip(q[1], *box.z)) < 1e-6)
            & (np.abs(_along(q, slopes) - np.clip(_along(q, slopes), *box.w)) < 1e-6)
        )
    )
    return FeBank(float(abs(moment)), float(-moved[at_middle.all("u^2")].mean()), basis.N)


def _along(q: FloatArray, slopes: Sequence[tuple[float, float, float]]) -> FloatArray:
    f = sum(slope * (np.clip(q[1], z0, z1) - z0) for z0, z1, slope in slopes)
    return np.asarray(q[2] - f)


def _centre(box: Plate, slopes: Sequence[tuple[float, float, float]]) -> tuple[float, float]:
    z = sum(box.z) / 2
    f = sum(slope * (np.clip(z, z0, z1) - z0) for z0, z1, slope in slopes)
    return z, float(sum(box.w) / 2 + f)


def _within(mid: FloatArray, box: Plate) -> FloatArray:
    return np.asarray(
        (mid[1] > box.z[0]) & (mid[1] < box.z[1]) & (mid[2] > box.w[0]) & (mid[2] < box.w[1])
    )


def _refined(places: set[float], longest: float) -> FloatArray:
    ends = np.unique(np.round(sorted(places), 6))
    out = [ends[:1]]
    for a, b in pairwise(ends.tolist()):
        n = max(1, int(np.ceil((b - a) / longest - 1e-9)))
        out.append(np.linspace(a, b, n + 1)[1:])
    return np.concatenate(out)

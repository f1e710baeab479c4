"""Steady flow through an endless slat stack by finite elements: Taylor-Hood, Newton (scikit-fem).

Nothing is shared with the program's lattice solver, nor are its outlines: slats are described by
the numbers of a row alone. Every slat of a bank rises or falls by 45 degrees, or not at all, and
ends on planes s = const. So a plane (s, eta), with eta = y less the rise of the bank's slats up
to s, turns all slats of all banks into rectangles of one regular mesh, which repeats after a pitch.

Lengths in mm, velocities in multiples of the face velocity, pressure in twice its heads.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import block_diag, bmat, csr_matrix
from scipy.sparse.linalg import splu
from skfem import (
    Basis,
    BilinearForm,
    ElementQuad1,
    ElementQuad2,
    FacetBasis,
    Functional,
    MeshQuad,
    asm,
)
from skfem.helpers import dot, grad

NEAR = 1e-7
START_RE = 10.0
STRIDE = 3.0
MOST_STEPS = 15
CONVERGED = 1e-8
ROUGHLY = 1e-2
GROWTH = 1.5

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Leaf:
    """Slats of one stretch along the flow: from ``s0`` to ``s1``, rising by ``rise`` (1, 0 or -1).

    ``low`` is the height of one slat's lower face at ``s0`` and ``high`` its height above, mm.
    """

    s0: float
    s1: float
    rise: int
    low: float
    high: float


def plank_leaves(
    thickness: float,
    pitch: float,
    height: float,
    gaps: Sequence[float],
    shift: float,
    rises: Sequence[int],
) -> list[Leaf]:
    """Return banks of planks; ``rises`` holds 1 per bank that rises along the flow, else -1."""
    upright = thickness * math.sqrt(2.0)
    depth, s, leaves = height - upright, 0.0, []
    for i, rise in enumerate(rises):
        low = (i * shift % 1.0) * pitch + (0.0 if rise > 0 else depth)
        leaves.append(Leaf(s, s + depth, rise, low, upright))
        s += depth + (gaps[i] if i < len(gaps) else 0.0)
    return leaves


def folded_leaves(
    thickness: float, pitch: float, height: float, gaps: Sequence[float], shift: float
) -> list[Leaf]:
    """Return banks of folded slats, ridge up."""
    upright = thickness * math.sqrt(2.0)
    rise, s, leaves = height - upright, 0.0, []
    for i in range(len(gaps) + 1):
        low = (i * shift % 1.0) * pitch
        leaves.append(Leaf(s, s + rise, 1, low, upright))
        leaves.append(Leaf(s + rise, s + 2 * rise, -1, low + rise, upright))
        s += 2 * rise + (gaps[i] if i < len(gaps) else 0.0)
    return leaves


def flat_leaves(
    thickness: float, pitch: float, height: float, gaps: Sequence[float], shift: float
) -> list[Leaf]:
    """Return banks of flat slats."""
    leaves, s = [], 0.0
    for i in range(len(gaps) + 1):
        leaves.append(Leaf(s, s + thickness, 0, (i * shift % 1.0) * pitch, height))
        s += thickness + (gaps[i] if i < len(gaps) else 0.0)
    return leaves


def channel_leaves(
    thickness: float, lip: float, pitch: float, height: float, gaps: Sequence[float], shift: float
) -> list[Leaf]:
    """Return banks of channel slats: two lips against the flow, the web behind them."""
    leaves, s = [], 0.0
    for i in range(len(gaps) + 1):
        low = (i * shift % 1.0) * pitch
        leaves.append(Leaf(s, s + lip, 0, low, thickness))
        leaves.append(Leaf(s, s + lip, 0, low + height - thickness, thickness))
        leaves.append(Leaf(s + lip, s + lip + thickness, 0, low, height))
        s += lip + thickness + (gaps[i] if i < len(gaps) else 0.0)
    return leaves


def _lines(breaks: Sequence[float], finest: float, coarsest: float, *, ends: bool) -> Floats:
    """Return mesh lines through all breaks: ``finest`` apart beside them, growing away from them.

    With ``ends`` the first and the last break are such, too; else lines are coarse there.
    """
    lines: list[float] = [breaks[0]]
    for i, (a, b) in enumerate(itertools.pairwise(breaks)):
        fine = [ends or i > 0, ends or i + 2 < len(breaks)]
        width = (b - a) / max(sum(fine), 1)
        step, steps = finest, [0.0]
        while sum(steps) < width:
            steps.append(step)
            step = min(step * GROWTH, coarsest)
        away = np.array(steps[1:])
        whole = np.concatenate([away if fine[0] else [], away[::-1] if fine[1] else []])
        lines.extend(a + np.cumsum(whole) * (b - a) / whole.sum())
    return np.array(lines)


class _Risen:
    """The rise of the mesh along the flow, and the mesh of the air."""

    def __init__(self, leaves: Sequence[Leaf], pitch: float, finest: float, coarsest: float):
        self.pitch = pitch
        ends = sorted({round(s, 9) for leaf in leaves for s in (leaf.s0, leaf.s1)})
        first, last = ends[0] - pitch, ends[-1] + 3.0 * pitch
        knots = [first, *ends, last]
        slopes = []
        for a, b in itertools.pairwise(knots):
            here = [leaf.rise for leaf in leaves if leaf.s0 < (a + b) / 2 < leaf.s1]
            slopes.append(here[0] if here else 0)
        rises = np.concatenate([[0.0], np.cumsum(np.diff(knots) * slopes)])
        self.ends = (first, last)

        def risen(s: Floats) -> Floats:
            return np.interp(s, knots, rises)

        boxes = []
        for leaf in leaves:
            low = (leaf.low - float(risen(np.array(leaf.s0)))) % pitch
            boxes.append((leaf.s0, leaf.s1, low, low + leaf.high))
        cuts = sorted({round(eta % pitch, 6) for box in boxes for eta in box[2:]})
        # The seam lies between two faces, so that air on it always meets air.
        seams = [
            (b - a, (a + b) / 2) for a, b in zip(cuts, [*cuts[1:], cuts[0] + pitch], strict=True)
        ]
        seam = max(seams)[1] % pitch
        etas = sorted({seam, seam + pitch, *(seam + (cut - seam) % pitch for cut in cuts)})
        across = _lines(etas, finest, coarsest, ends=True)
        along = _lines(knots, finest, 2.0 * coarsest, ends=False)
        mesh = MeshQuad.init_tensor(along, across)
        s, eta = mesh.p[:, mesh.t].mean(axis=1)
        solid = np.zeros(len(s), dtype=bool)
        for s0, s1, low, high in boxes:
            for lift in (-pitch, 0.0, pitch):
                solid |= (s > s0) & (s < s1) & (eta > low + lift) & (eta < high + lift)
        mesh = mesh.remove_elements(np.nonzero(solid)[0])
        self.seam = seam
        self.flat = mesh
        self.mesh = MeshQuad(np.vstack([mesh.p[0], mesh.p[1] + risen(mesh.p[0])]), mesh.t)
        self.risen = risen

    def folds(self, at: Floats) -> csr_matrix:
        """Return the matrix that gives every unknown at places ``at`` (s, y) from the free ones.

        Unknowns at the upper seam are those at the lower one, in the order given.
        """
        s, y = at
        eta = y - self.risen(s)
        count = len(s)
        low = np.nonzero(np.abs(eta - self.seam) < NEAR)[0]
        top = np.nonzero(np.abs(eta - self.seam - self.pitch) < NEAR)[0]
        master = np.arange(count)
        low, top = low[np.argsort(s[low], kind="stable")], top[np.argsort(s[top], kind="stable")]
        np.testing.assert_allclose(s[low], s[top], atol=NEAR)
        master[top] = low
        free, column = np.unique(master, return_inverse=True)
        shape = (count, len(free))
        return csr_matrix((np.ones(count), (np.arange(count), column)), shape=shape)


@BilinearForm
def _stiffness(u, v, _):  # type: ignore[no-untyped-def]
    return dot(grad(u), grad(v))


@BilinearForm
def _divergence(u, q, w):  # type: ignore[no-untyped-def]
    return -grad(u)[int(w.axis)] * q


@BilinearForm
def _carried(f, test, w):  # type: ignore[no-untyped-def]
    return (w.u * grad(f)[0] + w.v * grad(f)[1]) * test


@BilinearForm
def _shear(f, test, w):  # type: ignore[no-untyped-def]
    return grad(w.w)[int(w.axis)] * f * test


@Functional
def _thrust(w):  # type: ignore[no-untyped-def]
    return w.p + w.u**2


@dataclass(frozen=True)
class SteadyFlow:
    """``k`` (face velocity heads), and what is left over of Newton's equations."""

    k: float
    residual: float
    unknowns: int


@lru_cache
def loss(
    leaves: tuple[Leaf, ...],
    pitch: float,
    re: float,
    finest: float = 0.1,
    coarsest: float = 0.6,
) -> SteadyFlow:
    """Return the loss of a stack at a Reynolds number of its passages: pitch x face / viscosity.

    ``finest`` and ``coarsest`` are the mesh's steps beside the slats' faces and away from them, mm.
    """
    risen = _Risen(leaves, pitch, finest, coarsest)
    mesh = risen.mesh
    ub = Basis(mesh, ElementQuad2(), intorder=5)
    pb = ub.with_element(ElementQuad1())
    a = asm(_stiffness, ub)
    bs, by = asm(_divergence, ub, pb, axis=0), asm(_divergence, ub, pb, axis=1)

    facets = mesh.boundary_facets()
    s_mid, y_mid = mesh.p[:, mesh.facets[:, facets]].mean(axis=1)
    eta = y_mid - risen.risen(s_mid)
    inlet, outlet = (np.abs(s_mid - end) < NEAR for end in risen.ends)
    seam = np.abs(np.abs(eta - risen.seam - risen.pitch / 2) - risen.pitch / 2) < NEAR
    n = ub.N
    z = np.zeros(2 * n + pb.N)
    entering = ub.get_dofs(facets[inlet]).all()
    z[entering] = 1.0
    held = np.zeros(len(z))
    for dofs in (entering, ub.get_dofs(facets[~(inlet | outlet | seam)]).all()):
        held[dofs] = held[n + dofs] = 1.0
    once = risen.folds(ub.doflocs)
    fold = block_diag([once, once, risen.folds(pb.doflocs)], format="csr")
    free = fold[:, np.nonzero(fold.T @ held == 0.0)[0]]

    residual = math.inf
    number = min(START_RE, re)
    while True:
        nu = pitch / number
        for _ in range(MOST_STEPS):
            u, v = ub.interpolate(z[:n]), ub.interpolate(z[n : 2 * n])
            c = asm(_carried, ub, u=u, v=v) + nu * a
            rest = np.concatenate(
                [
                    c @ z[:n] + bs.T @ z[2 * n :],
                    c @ z[n : 2 * n] + by.T @ z[2 * n :],
                    bs @ z[:n] + by @ z[n : 2 * n],
                ]
            )
            rest = free.T @ rest
            residual = float(np.abs(rest).max())
            if residual < (CONVERGED if number == re else ROUGHLY):
                break
            g = [[asm(_shear, ub, w=w, axis=axis) for axis in (0, 1)] for w in (u, v)]
            jacobian = bmat(
                [[c + g[0][0], g[0][1], bs.T], [g[1][0], c + g[1][1], by.T], [bs, by, None]],
                format="csr",
            )
            z -= free @ splu((free.T @ jacobian @ free).tocsc()).solve(rest)
        if number == re:
            break
        number = min(STRIDE * number, re)

    means = []
    for end in (inlet, outlet):
        fb = FacetBasis(mesh, ElementQuad2(), facets=facets[end], intorder=5)
        p = fb.with_element(ElementQuad1()).interpolate(z[2 * n :])
        means.append(asm(_thrust, fb, u=fb.interpolate(z[:n]), p=p) / pitch)
    return SteadyFlow(2.0 * float(means[0] - means[1]), residual, free.shape[1])

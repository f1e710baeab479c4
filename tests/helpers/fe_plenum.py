"""Steady flow out of a shallow plenum into a round bore: Taylor-Hood, Newton (scikit-fem).

Round about the bore's axis: air comes evenly out of a disc in front of a flat back plate, whose
hole is a short cylinder, a bevel of 45 degrees and the bore. At the bore's end it leaves freely.
Lengths in bore radii, velocities in multiples of the bore's mean, pressure in twice its heads; x
along the flow from the disc, r from the axis. The Reynolds number is the bore's, by its diameter.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import bmat
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
GROWTH = 1.35
MOST_STEPS = 20
CONVERGED = 1e-9
RISE = (20.0, 100.0, 300.0, 700.0, 1200.0, 2000.0, 3000.0)
"""Reynolds numbers on the way up: each flow starts from the one before it."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Plenum:
    """A plenum before a bore, in bore radii.

    ``radius`` and ``depth`` are its own; its wall meets the plate in a corner of 45 degrees,
    ``corner`` deep. The hole in the plate has a radius ``mouth`` for a length ``lead``, then
    narrows by 45 degrees; the bore goes on for a length ``bore``.
    """

    radius: float
    depth: float
    corner: float
    mouth: float
    lead: float
    bore: float

    @property
    def way(self) -> float:
        """Area of the way over the hole's edge, over the bore's."""
        return 2.0 * self.mouth * self.depth

    @property
    def bevel_ends(self) -> tuple[float, float]:
        """Where the bevel begins and ends, x."""
        start = self.depth + self.lead
        return start, start + self.mouth - 1.0


@dataclass(frozen=True)
class Entry:
    """What the air loses up to the bore's end, in heads of the bore's mean velocity.

    ``drop`` is that from the disc's total pressure to the pressure of the room behind; ``form``
    that to air which fills the bore evenly, without the friction on the bore's wall; ``residual``
    is what is left over of Newton's equations.
    """

    drop: float
    form: float
    residual: float


def _steps(start: float, end: float, finest: float, coarsest: float, *, both: bool) -> Floats:
    """Return lines between two places, fine at both or at the first."""
    length, steps, step = (end - start) / (2.0 if both else 1.0), [0.0], finest
    while steps[-1] < length:
        steps.append(steps[-1] + step)
        step = min(step * GROWTH, coarsest)
    half = np.array(steps) * length / steps[-1]
    return start + (np.concatenate([half, 2.0 * length - half[-2::-1]]) if both else half)


def _mesh(at: Plenum, finest: float, coarsest: float) -> MeshQuad:
    plate, (bevel, bore) = at.depth, at.bevel_ends
    ends = [0.0, plate, bevel, bore]
    along = [_steps(a, b, finest, coarsest, both=True) for a, b in pairwise(ends) if b - a > NEAR]
    along.append(_steps(bore, bore + at.bore, finest, 2.0 * coarsest, both=False))
    within = at.mouth - _steps(0.0, at.mouth, finest, coarsest, both=False)[::-1]
    beside = _steps(at.mouth, at.radius, finest, coarsest, both=True)
    flat = MeshQuad.init_tensor(
        np.unique(np.round(np.concatenate(along), 9)),
        np.unique(np.round(np.concatenate([within, beside]), 9)),
    )
    x, r = flat.p[:, flat.t].mean(axis=1)
    flat = flat.remove_elements(np.nonzero((x > plate) & (r > at.mouth))[0])
    x, r = flat.p
    narrowed = np.interp(x, [bevel, bore], [at.mouth, 1.0])
    wall = np.interp(x, [plate - at.corner, plate], [at.radius, at.radius - at.corner])
    spread = at.mouth + (r - at.mouth) * (wall - at.mouth) / (at.radius - at.mouth)
    r = np.where(
        r > at.mouth + NEAR, spread, np.where(x > plate + NEAR, r * narrowed / at.mouth, r)
    )
    return MeshQuad(np.vstack([x, r]), flat.t)


@BilinearForm
def _stiffness(u, v, w):  # type: ignore[no-untyped-def]
    return w.x[1] * dot(grad(u), grad(v))


@BilinearForm
def _hoop(u, v, w):  # type: ignore[no-untyped-def]
    return u * v / w.x[1]


@BilinearForm
def _divergence(u, q, w):  # type: ignore[no-untyped-def]
    return -(w.x[1] * grad(u)[int(w.axis)] + (u if w.axis else 0.0)) * q


@BilinearForm
def _carried(f, test, w):  # type: ignore[no-untyped-def]
    return w.x[1] * (w.u * grad(f)[0] + w.v * grad(f)[1]) * test


@BilinearForm
def _shear(f, test, w):  # type: ignore[no-untyped-def]
    return w.x[1] * grad(w.w)[int(w.axis)] * f * test


@Functional
def _total(w):  # type: ignore[no-untyped-def]
    return w.x[1] * w.along * (w.p + 0.5 * (w.along**2 + w.outwards**2))


@Functional
def _thrust(w):  # type: ignore[no-untyped-def]
    return w.x[1] * (w.p + w.along**2)


@Functional
def _pressure(w):  # type: ignore[no-untyped-def]
    return w.x[1] * w.p


@lru_cache
def entry(at: Plenum, re: float, finest: float = 0.03, coarsest: float = 0.15) -> Entry:
    """Return the loss of a plenum and a bore's entry at a Reynolds number of the bore.

    ``finest`` and ``coarsest`` are the mesh's steps beside edges and away from them, bore radii.
    """
    mesh = _mesh(at, finest, coarsest)
    ub = Basis(mesh, ElementQuad2(), intorder=5)
    pb = ub.with_element(ElementQuad1())
    a, hoop = asm(_stiffness, ub), asm(_hoop, ub)
    bx, br = asm(_divergence, ub, pb, axis=0), asm(_divergence, ub, pb, axis=1)

    facets = mesh.boundary_facets()
    x_mid, r_mid = mesh.p[:, mesh.facets[:, facets]].mean(axis=1)
    end = at.bevel_ends[1] + at.bore
    inlet, outlet, axis = x_mid < NEAR, x_mid > end - NEAR, r_mid < NEAR
    n = ub.N
    z = np.zeros(2 * n + pb.N)
    held = np.zeros(len(z), dtype=bool)
    walls = ub.get_dofs(facets[~(inlet | outlet | axis)]).all()
    entering = ub.get_dofs(facets[inlet]).all()
    held[walls] = held[entering] = held[n + walls] = held[n + entering] = True
    held[n + ub.get_dofs(facets[axis]).all()] = True
    z[entering] = at.radius**-2
    free = np.nonzero(~held)[0]

    for number in [*(step for step in RISE if step < re), re]:
        nu, residual = 2.0 / number, np.inf
        for _ in range(MOST_STEPS):
            u, v = ub.interpolate(z[:n]), ub.interpolate(z[n : 2 * n])
            c = asm(_carried, ub, u=u, v=v) + nu * a
            along = c @ z[:n] + bx.T @ z[2 * n :]
            rest = np.concatenate(
                [
                    along,
                    c @ z[n : 2 * n] + nu * (hoop @ z[n : 2 * n]) + br.T @ z[2 * n :],
                    bx @ z[:n] + br @ z[n : 2 * n],
                ]
            )
            residual = float(np.abs(rest[free]).max())
            if residual < CONVERGED:
                break
            g = [[asm(_shear, ub, w=w, axis=k) for k in (0, 1)] for w in (u, v)]
            jacobian = bmat(
                [
                    [c + g[0][0], g[0][1], bx.T],
                    [g[1][0], c + nu * hoop + g[1][1], br.T],
                    [bx, br, None],
                ],
                format="csr",
            )
            z[free] -= splu(jacobian[free][:, free].tocsc()).solve(rest[free])

    def over(side: NDArray[np.bool_], form: Functional) -> float:
        """Return an integral over an end, over the bore's area."""
        fb = FacetBasis(mesh, ElementQuad2(), facets=facets[side], intorder=5)
        values = {
            "along": fb.interpolate(z[:n]),
            "outwards": fb.interpolate(z[n : 2 * n]),
            "p": fb.with_element(ElementQuad1()).interpolate(z[2 * n :]),
        }
        return 2.0 * float(asm(form, fb, **values))

    # Air stands still on walls, so what momentum lacks there is what the wall takes.
    bore = walls[ub.doflocs[0, walls] > at.bevel_ends[1] + NEAR]
    rubbed = -2.0 * float(along[bore].sum())
    total = over(inlet, _total)
    mixed = over(outlet, _thrust) + rubbed - 1.0
    return Entry(
        drop=2.0 * (total - over(outlet, _pressure)),
        form=2.0 * (total - mixed) - 1.0,
        residual=residual,
    )

"""A small finite-element model of one slat: quadratic bricks, both ends held (scikit-fem)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from skfem import Basis, ElementHex2, ElementVector, MeshHex, MeshHex2, asm, condense, solve
from skfem.models.elasticity import lame_parameters, linear_elasticity

from vent_family.base.arrays import FloatArray

Profile = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True)
class FeBeam:
    """Deflection (mm) of the middle section along the load, and its axial stress range (MPa)."""

    deflection_mm: float
    middle_stress_mpa: float
    unknowns: int


def fe_beam(
    profile: Profile,
    span_mm: float,
    load_n: float,
    direction: tuple[float, float],
    modulus_mpa: float,
    poisson: float,
    spread_mm: float,
    cells: tuple[int, int, int] = (20, 4, 2),
) -> FeBeam:
    """Solve a beam whose section is ``profile(s, t)``, s along it and t through it, both 0 to 1.

    The load acts as a body force over the middle ``spread_mm``, so that it twists nothing.
    """
    mesh = MeshHex.init_tensor(*(np.linspace(0.0, 1.0, n + 1) for n in cells))
    x, s, t = mesh.p
    u, v = profile(s, t)
    mesh = MeshHex2.from_mesh(MeshHex(np.array([x * span_mm, u, v]), mesh.t))
    basis = Basis(mesh, ElementVector(ElementHex2()), intorder=4)
    stiffness = asm(linear_elasticity(*lame_parameters(modulus_mpa, poisson)), basis)
    d = np.asarray(direction) / np.linalg.norm(direction)

    def pressed(w: object) -> FloatArray:
        return np.asarray(np.abs(w.x[0] - span_mm / 2) <= spread_mm / 2)  # type: ignore[attr-defined]

    from skfem import Functional, LinearForm

    volume = Functional(lambda w: pressed(w) * 1.0).assemble(basis)
    push = LinearForm(
        lambda test, w: pressed(w) * (d[0] * test[1] + d[1] * test[2]) * load_n / volume
    ).assemble(basis)
    held = basis.get_dofs(lambda p: (p[0] < 1e-9) | (p[0] > span_mm - 1e-9))
    moved = solve(*condense(stiffness, push, D=held))
    middle = basis.get_dofs(lambda p: np.abs(p[0] - span_mm / 2) < 1e-6)
    way = moved[middle.all("u^2")] * d[0] + moved[middle.all("u^3")] * d[1]
    interpolated = basis.interpolate(moved)
    lame, shear = lame_parameters(modulus_mpa, poisson)
    grad = interpolated.grad
    axial = lame * (grad[0, 0] + grad[1, 1] + grad[2, 2]) + 2.0 * shear * grad[0, 0]
    here = np.abs(np.asarray(basis.global_coordinates())[0] - span_mm / 2) < span_mm / cells[0]
    return FeBeam(float(way.mean()), float(np.abs(axial[here]).max()), basis.N)

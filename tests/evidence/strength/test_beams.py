"""Beam formulas against handbook cases, and against a small finite-element model.

Handbook cases: Roark's Formulas for Stress and Strain, beams fixed at both ends; Timoshenko,
Strength of Materials (both from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.helpers.fe_beam import Profile, fe_beam
from vent_family.base.arrays import FloatArray
from vent_family.evidence.strength.beams import (
    cross_section,
    end_moment_nmm,
    middle_deflection_mm,
    pushed_beam,
)


def test_point_load_in_the_middle() -> None:
    """M = W L / 8, d = W L^3 / (192 E I)."""
    assert end_moment_nmm(20.0, 24.0) == pytest.approx(20.0 * 24.0 / 8.0)
    assert middle_deflection_mm(20.0, 24.0, 5e4) == pytest.approx(20.0 * 24.0**3 / (192.0 * 5e4))


def test_load_spread_over_the_whole_span() -> None:
    """M = W L / 12 at the ends, d = W L^3 / (384 E I)."""
    assert end_moment_nmm(20.0, 24.0, 24.0) == pytest.approx(20.0 * 24.0 / 12.0)
    assert middle_deflection_mm(20.0, 24.0, 5e4, 24.0) == pytest.approx(
        20.0 * 24.0**3 / (384.0 * 5e4)
    )
    assert end_moment_nmm(20.0, 10.0, 15.0) == end_moment_nmm(20.0, 10.0, 10.0)


@given(st.floats(5.0, 60.0), st.floats(0.05, 1.0))
def test_partly_spread_load_against_numbers(span: float, share: float) -> None:
    """Double integration of the moment, the end moment chosen so that the ends stay level."""
    c, x = share * span, np.linspace(0.0, span, 4001)
    load = np.clip(x - (span - c) / 2, 0.0, c) / c
    dx = x[1] - x[0]

    def integral(f: FloatArray) -> FloatArray:
        return np.concatenate([[0.0], np.cumsum((f[1:] + f[:-1]) * dx / 2)])

    free = integral(0.5 - load)
    end = integral(free)[-1] / span
    bend = integral(integral(free - end))
    assert end_moment_nmm(1.0, span, c) == pytest.approx(end, rel=1e-3)
    assert middle_deflection_mm(1.0, span, 1.0, c) == pytest.approx(-bend[2000], rel=2e-3)


def test_sections() -> None:
    b, h = 8.0, 1.5
    s = cross_section([(5, 2), (5 + b, 2), (5 + b, 2 + h), (5, 2 + h)])
    assert s.area_mm2 == pytest.approx(b * h)
    assert s.inertia_mm4 == pytest.approx(np.diag([h * b**3 / 12, b * h**3 / 12]))
    clockwise = cross_section([(5, 2), (5, 2 + h), (5 + b, 2 + h), (5 + b, 2)])
    assert clockwise.inertia_mm4 == pytest.approx(s.inertia_mm4)
    # Triangle: b h^3 / 36 about its centroid; product b^2 h^2 / 72, negative for this one.
    t = cross_section([(0, 0), (6, 0), (0, 3)])
    assert t.inertia_mm4[1, 1] == pytest.approx(6 * 27 / 36)
    assert t.inertia_mm4[0, 1] == pytest.approx(-36 * 9 / 72)


def test_turned_bar_bends_across_its_thin_side() -> None:
    """A thin bar at 45 degrees, pushed level: half the push bends it, the other half hardly."""
    t, w, c = 1.5, 8.0, math.sqrt(0.5)
    turned = [
        (c * (x - y), c * (x + y))
        for x, y in ((-w / 2, -t / 2), (w / 2, -t / 2), (w / 2, t / 2), (-w / 2, t / 2))
    ]
    result = pushed_beam(cross_section(turned), 24.0, 10.0, (-1.0, 0.0), 2000.0)
    thin, thick = w * t**3 / 12, t * w**3 / 12
    moment = 10.0 * 24.0 / 8.0 * c
    assert result.stress_mpa == pytest.approx(moment * (t / 2 / thin + w / 2 / thick))
    part = 10.0 * c * 24.0**3 / (192.0 * 2000.0)
    shear = 10.0 * 24.0 / (4.0 * 5.0 / 6.0 * 1000.0 * w * t)
    assert result.deflection_mm == pytest.approx(c * (part / thin + part / thick) + shear)
    assert result.sideways_mm == pytest.approx(c * (part / thin - part / thick))


def flat(width: float, thick: float) -> Profile:
    return lambda s, t: (t * thick, s * width)


def inclined(width: float, thick: float) -> Profile:
    c = math.sqrt(0.5)
    return lambda s, t: (c * (s * width + t * thick), c * (-s * width + t * thick))


def folded(half: float, thick: float) -> Profile:
    return lambda s, t: (2 * half * s, half * (1 - np.abs(2 * s - 1)) + thick * math.sqrt(2) * t)


def outline(profile: Profile) -> list[tuple[float, float]]:
    s = np.array([0.0, 0.5, 1.0, 1.0, 0.5, 0.0])
    t = np.array([0.0, 0.0, 0.0, 1.0, 1.0, 1.0])
    return list(zip(*(a.tolist() for a in profile(s, t)), strict=True))


@pytest.mark.parametrize(
    ("profile", "span"),
    [
        (flat(9.0, 1.5), 23.7),
        (flat(9.0, 0.8), 12.6),
        (inclined(7.4, 1.5), 24.1),
        (inclined(7.4, 2.0), 16.9),
    ],
    ids=["flat", "thin flat", "inclined", "thick inclined"],
)
def test_finite_elements_confirm_the_formula(profile: Profile, span: float) -> None:
    """With no sideways strain (Poisson's ratio 0) the solid is a Timoshenko beam."""
    spread, push = 15.0, (-1.0, 0.0)
    beam = pushed_beam(cross_section(outline(profile)), span, 20.0, push, 1900.0, spread)
    model = fe_beam(profile, span, 20.0, push, 1900.0, 0.0, min(spread, span))
    assert model.unknowns > 2000
    assert beam.deflection_mm == pytest.approx(model.deflection_mm, rel=0.03)


def test_folded_slat_is_stiffer_than_one_leaf_and_softer_than_a_beam() -> None:
    """Why a folded slat is judged leaf by leaf: as a beam it would look far too stiff."""
    whole, span, thick = folded(5.0, 1.5), 21.8, 1.5 * math.sqrt(2.0)
    leaf = [(0.0, 0.0), (5.0, 5.0), (5.0, 5.0 + thick), (0.0, thick)]
    model = fe_beam(whole, span, 20.0, (-1, 0), 1900.0, 0.36, 15.0)
    beam = pushed_beam(cross_section(outline(whole)), span, 20.0, (-1, 0), 1900.0, 15.0, 0.36)
    alone = pushed_beam(cross_section(leaf), span, 20.0, (-1, 0), 1900.0, 15.0, 0.36)
    assert beam.deflection_mm < model.deflection_mm < alone.deflection_mm


def test_poissons_ratio_stiffens_a_wide_slat_by_its_square_at_most() -> None:
    """Plate stiffness is beam stiffness over 1 - nu^2 (Timoshenko, plates; from memory)."""
    nu = 0.36
    free = fe_beam(flat(9.0, 1.5), 23.7, 20.0, (-1, 0), 1900.0, 0.0, 15.0)
    real = fe_beam(flat(9.0, 1.5), 23.7, 20.0, (-1, 0), 1900.0, nu, 15.0)
    ratio = real.deflection_mm / free.deflection_mm
    assert 1.0 - nu**2 - 0.01 < ratio < 1.02


def test_stress_in_the_middle_against_finite_elements() -> None:
    """Middle moment W L / 4 - W c / 8 - M_end, stress M / (b t^2 / 6)."""
    span, c, load = 23.7, 15.0, 20.0
    model = fe_beam(flat(9.0, 1.5), span, load, (-1, 0), 1900.0, 0.0, c, (24, 4, 2))
    moment = load * span / 4 - load * c / 8 - end_moment_nmm(load, span, c)
    assert model.middle_stress_mpa == pytest.approx(moment / (9.0 * 1.5**2 / 6), rel=0.15)

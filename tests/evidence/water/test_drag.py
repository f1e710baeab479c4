from __future__ import annotations

import math

import numpy as np
import pytest
from fluids import drag_sphere

from tests.evidence.water.scenes import open_space
from tests.helpers.air_fields import uniform_field
from vent_family.evidence.water.drag import GUNN_KINZER, flattening_factor, terminal_velocity
from vent_family.evidence.water.flight import RETURNED, fly, gravity

# Gunn and Kinzer 1949, J. Meteorol. 6:243, terminal velocity in still air, mm and m/s.
TABLE = dict(GUNN_KINZER)


def fall_speed(diameter_mm: float) -> float:
    """Return the speed of a drop at the bottom of a 24 m fall through still air."""
    one = np.ones(1)
    end = fly(
        open_space(-24_000.0, 10.0),
        uniform_field(0.0),
        gravity(0.0),
        -1.0 * one,
        0.0 * one,
        0.0 * one,
        0.0 * one,
        diameter_mm * one,
        step_mm=2.0,
    )
    assert end.edge[0] == RETURNED
    return float(-end.v_m_s[0])


@pytest.mark.parametrize("diameter_mm", [0.4, 0.5, 0.8, 1.0, 1.6, 2.0, 2.4])
def test_spheres_fall_as_gunn_and_kinzer_measured(diameter_mm: float) -> None:
    assert fall_speed(diameter_mm) == pytest.approx(TABLE[diameter_mm], rel=0.065)


@pytest.mark.parametrize("diameter_mm", [2.5, 3.1, 3.7, 4.3, 4.9, 5.5])
def test_flattened_drops_fall_as_fitted_by_others(diameter_mm: float) -> None:
    # The drag of large drops was fixed with the table above; this is a fit made by others to the
    # same measurements: v = 9.65 - 10.3 exp(-0.6 D), Atlas, Srivastava and Sekhon 1973, Rev.
    # Geophys. 11:1, from memory.
    fitted = 9.65 - 10.3 * math.exp(-0.6 * diameter_mm)
    assert fall_speed(diameter_mm) == pytest.approx(fitted, rel=0.025)


def test_a_sphere_would_fall_too_fast_when_large() -> None:
    # Flattening more than doubles the drag of the largest drops, or 30 % in speed would be left.
    assert flattening_factor(np.array([1.0, 2.0]))[0] == 1.0
    assert 1.6 < flattening_factor(np.array([5.0]))[0] < 2.2


def test_small_drops_follow_stokes() -> None:
    # v = rho g d^2 / (18 mu), Stokes 1851; 5 micrometres.
    stokes = (998.2 - 1.2041) * 9.80665 * 5e-6**2 / (18 * 1.8134e-5)
    assert terminal_velocity(np.array([0.005]))[0] == pytest.approx(stokes, rel=0.01)


def test_terminal_velocity_has_no_step_at_the_joint() -> None:
    d = np.geomspace(0.001, 5.8, 400)
    v = terminal_velocity(d)
    assert np.all(np.diff(v) > 0.0)
    assert np.max(v[1:] / v[:-1]) < 1.12


def test_fast_drops_slow_down_as_spheres_do() -> None:
    """A drop of 2 mm at 150 m/s (Re 2e4) on a metre of still air, against a plain integration.

    dv/dx = -3/4 Cd (rho_a / rho_w) v / d with the sphere's Cd of fluids' ``drag_sphere``, and
    gravity left out: it adds a hundredth of a m/s in 7 ms.
    """
    one = np.ones(1)
    end = fly(
        open_space(-1_000.0, 10.0),
        uniform_field(0.0),
        gravity(0.0),
        0.0 * one,
        0.0 * one,
        -150.0 * one,
        0.0 * one,
        2.0 * one,
        step_mm=1.0,
    )
    speed, step = 150.0, 1e-3
    for _ in range(1000):
        re = 1.2041 * speed * 2e-3 / 1.8134e-5
        speed -= 0.75 * drag_sphere(re) * 1.2041 / 998.2 * speed / 2e-3 * step
    assert speed < 130.0
    assert -float(end.w_m_s[0]) == pytest.approx(speed, rel=0.005)

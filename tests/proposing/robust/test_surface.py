"""Response surfaces: what is a polynomial is met, what is noise is not taken for one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vent_family.base.arrays import FloatArray
from vent_family.proposing.robust.surface import surface_through

SMOOTH = (False,) * 20


def places(count: int, inputs: int = 20, seed: int = 5) -> FloatArray:
    return np.random.default_rng(seed).random((count, inputs))


def test_a_polynomial_of_few_inputs_is_met_everywhere() -> None:
    def true(u: FloatArray) -> FloatArray:
        return 4.0 - 2.0 * u[:, 3] + u[:, 3] ** 2 + 3.0 * u[:, 7] * u[:, 11] + 0.5 * u[:, 0] ** 3

    u = places(160)
    surface = surface_through(u, true(u), 40, SMOOTH)
    others = places(500, seed=6)
    assert surface.at(others) == pytest.approx(true(others), abs=1e-9)
    assert surface.explained == pytest.approx(1.0, abs=1e-12)


def test_an_input_of_two_values_is_a_step() -> None:
    u = places(120, 3)
    y = np.where(u[:, 1] < 0.5, 1.0, 5.0) + u[:, 2]
    surface = surface_through(u, y, 30, (False, True, False))
    low, high = surface.at(np.array([[0.2, 0.49, 0.5], [0.9, 0.51, 0.5]]))
    assert (low, high) == (pytest.approx(1.5), pytest.approx(5.5))


def test_noise_alone_explains_nothing() -> None:
    u = places(200)
    surface = surface_through(u, np.random.default_rng(9).normal(size=200), 60, SMOOTH)
    assert surface.explained < 0.15
    assert surface.error == pytest.approx(1.0, abs=0.25)


def test_the_error_told_is_that_of_draws_it_has_not_seen() -> None:
    u, noise = places(240), np.random.default_rng(2).normal(size=240)
    y = 5.0 * u[:, 0] + 0.3 * noise
    surface = surface_through(u, y, 80, SMOOTH)
    off = surface.at(u[160:]) - y[160:]
    assert surface.error == pytest.approx(math.sqrt(float(np.mean(off**2))))
    assert 0.25 < surface.error < 0.4
    # What the held draws came to changes the error, never the surface.
    other = y.copy()
    other[160:] += 10.0
    again = surface_through(u, other, 80, SMOOTH)
    assert again.weights.tolist() == surface.weights.tolist()
    assert again.error > 9.0

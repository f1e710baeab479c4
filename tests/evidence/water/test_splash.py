from __future__ import annotations

import math

import numpy as np
import pytest

from vent_family.evidence.water.splash import (
    BRACKET,
    K_SPLASH,
    MILD,
    SEVERE,
    secondary_drops,
    splash_k,
    splashes,
)

FLOOR = np.array([[0.0, 0.0, 10.0, 0.0]])


@pytest.mark.parametrize(("d_mm", "v_m_s"), [(0.5, 3.43), (1.0, 2.26), (2.0, 1.49), (3.0, 1.17)])
def test_threshold_speeds(d_mm: float, v_m_s: float) -> None:
    # Mundo, Sommerfeld and Tropea 1995, IJMF 21:151 (from memory): K = Oh Re^1.25 = 57.7, water at
    # 20 degC; speeds computed apart from this code.
    # K = Oh Re^1.25 grows with the speed to the power 1.25.
    at_1 = float(splash_k(np.array([d_mm]), np.array([1.0]))[0])
    assert (K_SPLASH / at_1) ** 0.8 == pytest.approx(v_m_s, abs=0.01)
    assert splash_k(np.array([d_mm]), np.array([v_m_s]))[0] == pytest.approx(K_SPLASH, rel=0.01)


def test_only_the_normal_velocity_counts_when_mild() -> None:
    grazing = (FLOOR, np.array([-6.0]), np.array([-0.2]), np.array([2.0]))
    assert not splashes(MILD, *grazing)[0]
    assert splashes(SEVERE, *grazing)[0]
    square = (FLOOR, np.array([0.0]), np.array([-6.0]), np.array([2.0]))
    assert splashes(MILD, *square)[0]


@pytest.mark.parametrize("model", BRACKET)
def test_secondary_drops_leave_the_wall_and_keep_the_books(model) -> None:  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(2)
    n = 200
    angle = rng.uniform(0, 2 * math.pi, n)
    edges = np.stack([np.zeros(n), np.zeros(n), np.cos(angle), np.sin(angle)], axis=1)
    w, v = rng.normal(0, 5, n), rng.normal(0, 5, n)
    child = secondary_drops(model, edges, np.zeros(n), np.zeros(n), w, v, np.full(n, 2.0))
    shares = np.bincount(child.parent, child.share, minlength=n)
    assert shares == pytest.approx(np.full(n, model.thrown))
    # They fly off on the side the parent came from, and none is faster than it was.
    normal = np.stack([-edges[:, 3], edges[:, 2]], axis=1)
    came = -(normal[:, 0] * w + normal[:, 1] * v)
    went = normal[child.parent, 0] * child.w_m_s + normal[child.parent, 1] * child.v_m_s
    assert np.all(came[child.parent] * went > 0.0)
    speed = np.hypot(child.w_m_s, child.v_m_s)
    assert np.all(speed <= np.hypot(w, v)[child.parent] * (1 + 1e-12))
    # Half, once and one and a half times the middle diameter, of a drop of 2 mm.
    wanted = {model.size, 2.0 * model.size, 3.0 * model.size}
    assert set(np.round(child.diameter_mm, 6)) == {round(d, 6) for d in wanted}


def test_secondary_drops_carry_less_energy_than_their_parent() -> None:
    child = secondary_drops(
        SEVERE, FLOOR, np.zeros(1), np.zeros(1), np.array([-5.0]), np.array([-5.0]), np.array([2.0])
    )
    energy = (child.share * (child.w_m_s**2 + child.v_m_s**2)).sum()
    assert energy < 0.8 * 50.0

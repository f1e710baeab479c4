from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.drag import drag_sphere
from scipy.integrate import solve_ivp

from tests.evidence.water.plain_flight import plain_flight, room_of
from tests.evidence.water.scenes import bounds, open_space, stack
from tests.helpers.air_fields import plug_flow, uniform_field
from vent_family.evidence.water.airfield import (
    AirField,
    potential_flow,
)
from vent_family.evidence.water.boundary import boundary_of
from vent_family.evidence.water.flight import AFLOAT, PASSED, RETURNED, fly, gravity, track
from vent_family.spec.layout import lay_out

G = 9.80665 * (1.0 - 1.2041 / 998.2)


def one(value: float) -> np.ndarray:
    return np.array([value])


def test_projectile_without_drag() -> None:
    # Closed form: y = v t - g t^2 / 2 when it has gone 80 mm to the wall.
    wall = (-80.0, -500.0, -80.0, 500.0)
    end = fly(
        open_space(-100.0, 600.0, wall), uniform_field(0.0), gravity(0.0),
        one(0.0), one(0.0), one(-3.0), one(0.5), one(2.0), drag=False,
    )  # fmt: skip
    t = 0.080 / 3.0
    assert end.edge[0] == 0
    assert end.z_mm[0] == pytest.approx(-80.0, abs=1e-9)
    assert end.time_s[0] == pytest.approx(t, rel=1e-9)
    assert end.y_mm[0] == pytest.approx(1000.0 * (0.5 * t - G * t * t / 2), rel=1e-4)
    assert end.v_m_s[0] == pytest.approx(0.5 - G * t, rel=1e-4)


def test_projectile_on_a_leaning_vent() -> None:
    # Leaning back by 30 degrees turns gravity inwards: half of it along -z.
    gz, gy = gravity(30.0)
    assert gz == pytest.approx(-9.80665 / 2)
    assert gy == pytest.approx(-9.80665 * math.sqrt(3) / 2)
    # Face up, in a roof, a drop falls straight in.
    assert gravity(90.0) == pytest.approx((-9.80665, 0.0))


def test_heavy_drops_approach_the_projectile() -> None:
    # Drag can take only a small part of the way of a 6 mm drop over 30 mm.
    wall = (-30.0, -500.0, -30.0, 500.0)
    args = (one(0.0), one(0.0), one(-6.7), one(0.0), one(6.0))
    domain = open_space(-100.0, 600.0, wall)
    with_air = fly(domain, uniform_field(0.0), gravity(0.0), *args)
    without = fly(domain, uniform_field(0.0), gravity(0.0), *args, drag=False)
    assert with_air.y_mm[0] == pytest.approx(without.y_mm[0], rel=0.02)


def test_stokes_limit() -> None:
    # x = v0 tau (1 - exp(-t / tau)), tau = rho d^2 / (18 mu): stops after v0 tau.
    d = 0.004
    tau = 998.2 * (d * 1e-3) ** 2 / (18 * 1.8134e-5)
    path, fate = track(
        open_space(-50.0, 50.0), uniform_field(0.0), (0.0, 0.0), (0.0, 0.0, -0.02, 0.0), d,
        step_mm=0.001,
    )  # fmt: skip
    assert fate == AFLOAT
    assert -path[-1, 0] == pytest.approx(1000.0 * 0.02 * tau, rel=0.01)
    end = fly(
        open_space(-1.0, 1.0), uniform_field(0.0), gravity(0.0),
        one(0.0), one(0.0), one(0.0), one(0.0), one(d), step_mm=0.01,
    )  # fmt: skip
    assert end.v_m_s[0] == pytest.approx(-G * tau, rel=0.01)


@pytest.mark.parametrize(
    ("stokes", "hits"), [(0.15, False), (0.22, False), (0.4, True), (1.0, True)]
)
def test_impaction_on_a_stagnation_point(stokes: float, hits: bool) -> None:
    # Air u = -a x against a wall: x'' + x'/tau + a x/tau = 0 reaches the wall only if it swings,
    # a tau > 1/4 (closed form; G. I. Taylor 1940, from memory).
    d = 0.05
    tau = 998.2 * (d * 1e-3) ** 2 / (18 * 1.8134e-5)
    # In m/s per mm: so slow that Stokes' law holds (Reynolds number about 0.1).
    a = stokes / tau * 1e-3
    h = 0.002
    z = np.arange(0.0, 2.0 + h, h)
    field = AirField(
        0.0, -50.0, h, 100.0, np.repeat(-a * z[:, None], 2, axis=1),
        np.repeat([[-50.0 * a, 50.0 * a]], z.size, axis=0),
    )  # fmt: skip
    start = 1.0
    end = fly(
        open_space(-90.0, 90.0, (0.0, -80.0, 0.0, 80.0)), field, (0.0, 0.0),
        one(start), one(0.0), one(-a * start), one(0.0), one(d), step_mm=0.01,
    )  # fmt: skip
    assert bool(end.edge[0] == 0) is hits


@pytest.mark.parametrize("diameter_mm", [0.02, 0.1, 0.6, 2.0])
def test_same_path_as_scipy(diameter_mm: float) -> None:
    # The equations solved again by a general integrator with fluids' correlation called directly.
    field = AirField(
        -60.0, -60.0, 60.0, 60.0,
        np.array([[-2.0, -1.0, -1.5], [-3.0, -2.0, -1.0], [-2.5, -2.0, -2.0]]),
        np.array([[0.5, 0.0, -0.5], [0.2, 0.1, -0.2], [0.0, 0.3, 0.0]]),
    )  # fmt: skip
    wall = (-40.0, -300.0, -40.0, 300.0)
    state = (20.0, 5.0, -1.0, 0.8)
    d = diameter_mm * 1e-3

    def slope(_: float, s: np.ndarray) -> list[float]:
        ua, va = field.velocity(s[0], s[1])
        rw, rv = ua - s[2], va - s[3]
        rel = max(math.hypot(rw, rv), 1e-12)
        re = 1.2041 * rel * d / 1.8134e-5
        k = 0.75 * drag_sphere(re) * 1.2041 * rel / (998.2 * d)
        return [1e3 * s[2], 1e3 * s[3], k * rw, k * rv - G]

    def reached(_: float, s: np.ndarray) -> float:
        return float(s[0] + 40.0)

    reached.terminal = True  # type: ignore[attr-defined]
    exact = solve_ivp(
        slope, (0.0, 5.0), state, events=reached, rtol=1e-8, atol=1e-8, method="LSODA"
    )
    # Reach of the wall correction is the grid step; a still layer there is not part of this check.
    path, fate = track(
        open_space(-300.0, 300.0, (-200.0, -1.0, -200.0, -0.9)), field, gravity(0.0), state,
        diameter_mm, step_mm=0.1,
    )  # fmt: skip
    assert fate in (RETURNED, PASSED)
    order = np.argsort(path[:, 0])
    y = np.interp(-40.0, path[order, 0], path[order, 1])
    assert wall[0] == -40.0
    assert y == pytest.approx(exact.y[1, -1], abs=0.01)


@pytest.mark.parametrize("form", ["flat", "inclined", "folded"])
def test_same_landing_as_scipy_in_a_real_section(form: str) -> None:
    section = lay_out(stack(form), bounds(stack(form)))
    b, air = boundary_of(section), potential_flow(section, 1.5)
    room = room_of(section, b)
    rng = np.random.default_rng(8)
    n = 12
    z = np.full(n, section.front_z_mm + 0.5)
    y = rng.uniform(section.window_bottom_mm + 1.0, section.ceiling_mm - 1.0, n)
    angle = np.radians(rng.uniform(-30.0, 60.0, n))
    w, v = -5.0 * np.cos(angle), -5.0 * np.sin(angle)
    d = rng.choice([0.3, 0.8, 2.0, 4.0], n)
    end = fly(b, air, gravity(0.0), z, y, w, v, d)
    for i in range(n):
        start = np.array([z[i], y[i], w[i], v[i]])
        there = plain_flight(room, air, start, float(d[i]), 0.03)
        assert math.dist(there, (end.z_mm[i], end.y_mm[i])) < 0.01


def test_halving_the_step_changes_little() -> None:
    section = lay_out(stack(), bounds(stack()))
    b, air = boundary_of(section), potential_flow(section, 1.5)
    y = np.linspace(-25.0, 25.0, 80)
    args = (np.full(80, 3.5), y, np.full(80, -4.0), np.full(80, -2.0), np.full(80, 0.4))
    coarse = fly(b, air, gravity(0.0), *args)
    fine = fly(b, air, gravity(0.0), *args, step_mm=0.05)
    assert np.mean(coarse.edge == fine.edge) > 0.97
    same = coarse.edge == fine.edge
    assert np.max(np.abs(coarse.y_mm[same] - fine.y_mm[same])) < 0.05


def test_potential_flow_conserves_air_and_follows_slats() -> None:
    section = lay_out(stack(), bounds(stack()))
    field = potential_flow(section, 2.0)
    flow = field.w_m_s.sum(axis=1) * field.dy_mm
    expected = -2.0 * section.front_height_mm
    # Within the part the flow through every plane is the same (continuity).
    inside = slice(4, round((section.front_z_mm - field.z0_mm) / field.dz_mm) - 4)
    assert flow[inside] == pytest.approx(expected, rel=1e-6)
    # Mist so fine that it has no weight follows the air round every slat.
    n = 60
    y = np.linspace(section.window_bottom_mm + 1.0, section.ceiling_mm - 1.0, n)
    end = fly(
        boundary_of(section), field, gravity(0.0), np.full(n, section.front_z_mm - 0.2), y,
        np.full(n, -2.0), np.zeros(n), np.full(n, 0.0005),
    )  # fmt: skip
    assert np.mean(end.edge == PASSED) > 0.95


def test_plug_flow_is_the_continuity_of_each_depth() -> None:
    section = lay_out(stack("flat"), bounds(stack("flat")))
    field = plug_flow(section, 1.0)
    z = field.z0_mm + field.dz_mm * np.arange(field.w_m_s.shape[0])
    k = int(np.argmin(np.abs(z - 0.5 * sum(section.stack_z_mm))))
    free = section.free_height_mm(float(z[k]))
    assert -field.w_m_s[k, 0] == pytest.approx(section.front_height_mm / free, rel=1e-6)


def test_nothing_starts_or_ends_inside_a_slat() -> None:
    from shapely import contains_xy
    from shapely.geometry import Polygon

    section = lay_out(stack("folded"), bounds(stack("folded")))
    b, air = boundary_of(section), potential_flow(section, 1.0)
    rng = np.random.default_rng(5)
    solid = [Polygon(s.outline).buffer(-1e-6) for s in section.slats]
    for _ in range(60):
        angle = math.radians(float(rng.uniform(-70, 70)))
        start = (3.5, float(rng.uniform(-28, 25)), -7 * math.cos(angle), -7 * math.sin(angle))
        path, _ = track(b, air, gravity(0.0), start, float(rng.choice([0.05, 0.5, 3.0])))
        assert not any(contains_xy(p, path[:, 0], path[:, 1]).any() for p in solid)

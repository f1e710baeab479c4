"""The free-surface solver, coarse and short: split, force and books of a jet on a slanted plate."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import quad

from tests.benchmarks.free_surface.sections import SECTIONS
from tests.benchmarks.free_surface.sideways import film_share, within_bay
from tests.benchmarks.free_surface.solver import BIN_S, Books, simulate
from tests.benchmarks.free_surface.validate import deflection_deg, plate, pool

ANGLE_DEG, SPACING_MM, SECONDS, STEADY_S = 60.0, 0.75, 12e-3, 7e-3


@pytest.fixture(scope="module")
def books() -> Books:
    return simulate(plate(90.0 - ANGLE_DEG, half_mm=20.0), SECONDS, SPACING_MM, room=2_000)


def test_a_jet_splits_as_momentum_says(books: Books) -> None:
    """Along a smooth plate nothing pushes: shares (1 -+ cos a)/2, force rho u2 h sin a."""
    a = math.radians(ANGLE_DEG)
    assert books.share("up", STEADY_S, SECONDS) == pytest.approx((1 - math.cos(a)) / 2, abs=0.02)
    assert books.share("down", STEADY_S, SECONDS) == pytest.approx((1 + math.cos(a)) / 2, abs=0.02)
    late = slice(round(STEADY_S / BIN_S), None)
    push = 1000.0 * 11.8**2 * 6e-3
    mass = 1000.0 * (SPACING_MM * 1e-3) ** 2
    sheets = sum(float(books.leaving[k][late, 0].sum()) for k in ("up", "down"))
    thrown = mass * sheets / (SECONDS - STEADY_S)  # what leaves has not turned quite square
    assert thrown < 0.02 * push
    assert -books.force[late, 0].mean() == pytest.approx(push * math.sin(a) + thrown, rel=0.01)
    assert abs(books.force[late, 1].mean()) < 0.01 * push


def test_no_water_is_lost(books: Books) -> None:
    """As many particles come in as the mouth lets through; all are in the books or in the scene."""
    assert books.imbalance == 0
    assert books.ended["off"].sum() == 0
    area = books.emitted.sum() * SPACING_MM**2 * 1e-6
    assert area == pytest.approx(6e-3 * 11.8 * SECONDS, rel=0.01)
    assert books.left * SPACING_MM**2 < 6.0 * (25.0 + 2 * 20.0)


def test_still_water_carries_its_own_weight() -> None:
    gradient, level, speed = pool(1.0, depth_mm=12.0)
    assert gradient.found == pytest.approx(gradient.exact, rel=0.03)
    assert level.found == pytest.approx(level.exact, abs=0.5)
    assert speed.found < 0.05


def test_narrow_plates_reach_the_known_limits() -> None:
    """Kirchhoff's drag coefficient 2 pi/(pi + 4) in a wide jet; a wide plate turns all square."""
    turned = math.radians(deflection_deg(0.02))
    drag = 2.0 / 0.02 * (1.0 - math.cos(turned))
    assert drag == pytest.approx(2 * math.pi / (math.pi + 4), abs=2e-3)
    assert deflection_deg(4.0) > 88.0


@pytest.mark.parametrize("name", SECTIONS)
def test_sections_let_no_straight_line_through(name: str) -> None:
    """Outlines stand where they belong: a level line at any height meets a slat or a wall."""
    from shapely.geometry import LineString

    outlines = SECTIONS[name]()
    for y in np.linspace(outlines.low_mm, outlines.high_mm, 101):
        line = LineString([(outlines.front_mm + 1.0, y), (outlines.inner_mm - 1.0, y)])
        assert outlines.solid.intersects(line), y


def test_film_of_a_round_jet_keeps_mass_and_momentum() -> None:
    for angle in (30.0, 60.0, 90.0):

        def along(phi: float, angle: float = angle) -> float:
            return math.cos(phi) * film_share(phi, angle)

        share: Callable[[float, float], float] = film_share
        assert quad(share, -math.pi, math.pi, args=(angle,))[0] == pytest.approx(1.0)
        assert quad(along, -math.pi, math.pi)[0] == pytest.approx(math.cos(math.radians(angle)))


def test_share_within_a_bay_by_rays() -> None:
    """By counting rays of a jet square to the plate, over places along the bay."""
    bay, slat = 20.0, 9.0

    def runs_over(x: float, phi: float) -> float:
        side = (0.5 * bay - x if math.cos(phi) > 0.0 else 0.5 * bay + x) / abs(math.cos(phi))
        return float(0.5 * slat / abs(math.sin(phi)) < side) if math.sin(phi) else 0.0

    phis = (np.arange(20_000) + 0.5) / 20_000 * 2 * math.pi
    for x in (0.0, 5.0):
        counted = np.mean([runs_over(x, float(phi)) for phi in phis])
        assert within_bay(bay, slat, 90.0, x_mm=x) == pytest.approx(counted, abs=1e-3)
    assert within_bay(bay, slat, 90.0) == pytest.approx(2 / math.pi * math.atan(bay / slat))

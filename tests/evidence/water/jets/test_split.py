"""The closed forms against solutions made another way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from vent_family.evidence.water.jets.split import (
    STEPS,
    WIDEST,
    breakup_length_mm,
    deflections,
    face_for,
    split_shares,
)


def hodograph_face(deflection_deg: float) -> float:
    """Return l/h from the flow in the hodograph plane, a half disc, by sources and their images.

    The jet comes in at 1 (flux h), the two halves leave at exp(-ib) and exp(ib); the plate is the
    diameter, where the velocity is i v: |dz| = |dw/dv| / v dv, twice from 0 to 1.
    """
    turn = math.cos(2.0 * math.radians(deflection_deg))

    def density(v: float) -> float:
        out = (v * v + turn) / (v**4 + 2.0 * v * v * turn + 1.0)
        return 4.0 / math.pi * (1.0 / (1.0 + v * v) - out)

    return float(quad(density, 0.0, 1.0, limit=200)[0])


@pytest.mark.parametrize("angle", [5.0, 20.0, 38.0, 54.0, 75.0, 86.0])
def test_a_face_turns_a_jet_as_the_hodograph_says(angle: float) -> None:
    assert face_for(angle) == pytest.approx(hodograph_face(angle), rel=1e-6)


def test_drag_of_a_short_face_is_kirchhoffs() -> None:
    # Kirchhoff's plate in an endless stream: C = 2 pi / (4 + pi), Lamb, Hydrodynamics, art. 76.
    drag = [2.0 * (1.0 - math.cos(math.radians(b))) / face_for(b) for b in (2.0, 25.0)]
    assert drag[0] == pytest.approx(2.0 * math.pi / (4.0 + math.pi), abs=2e-4)
    assert drag[1] == pytest.approx(0.872, abs=1e-3)


def test_table_of_deflections_runs_evenly_up_to_a_right_angle() -> None:
    table = np.degrees(deflections())
    assert table.size == STEPS + 1
    assert table[0] == 0.0
    assert np.all(np.diff(table) > 0.0)
    assert table[-1] == pytest.approx(89.0, abs=0.5)
    for length, angle in ((0.5, 38.0), (1.0, 54.0), (2.0, 75.0), (3.0, 86.0)):
        got = np.interp(length, np.linspace(0.0, WIDEST, STEPS + 1), table)
        assert got == pytest.approx(angle, abs=0.6)


@pytest.mark.parametrize("angle", [10.0, 45.0, 90.0, 120.0])
def test_split_keeps_water_and_momentum_along_the_wall(angle: float) -> None:
    forwards, backwards = split_shares(angle)
    assert forwards + backwards == pytest.approx(1.0)
    assert forwards - backwards == pytest.approx(math.cos(math.radians(angle)))


def test_sheet_of_a_hose_breaks_up_after_23_mm() -> None:
    # Villermaux and Clanet 2002, J. Fluid Mech. 462:341 (abstract): rho_air/rho 1.2/998, sigma 72.8
    # mN/m, We = 998 x 11.8^2 x 0.006 / 0.0728 = 11450; 6 mm x 88.4 / 22.54.
    assert breakup_length_mm(6.0, 11.8) == pytest.approx(23.5, abs=0.3)
    assert breakup_length_mm(6.0, 8 * 11.8) == pytest.approx(23.5 / 4.0, abs=0.1)

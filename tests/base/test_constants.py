"""Constants of nature: against other tables, and written down in one place only."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
import scipy.constants
from fluids.atmosphere import ATMOSPHERE_1976

from vent_family.base import constants, limits

PACKAGE = Path(constants.__file__).parents[1]
ROOM_K = 293.15


def test_gravity_and_units_are_those_of_codata() -> None:
    """CODATA through scipy."""
    assert scipy.constants.g == constants.GRAVITY_M_S2
    assert scipy.constants.zero_Celsius == constants.ZERO_C_K
    foot = scipy.constants.foot
    assert pytest.approx(foot**3 / scipy.constants.minute) == constants.CFM_M3_S
    inch = 1000.0 * scipy.constants.g * scipy.constants.inch
    assert pytest.approx(inch, rel=1e-8) == constants.PASCAL_PER_INH2O
    assert pytest.approx(1000.0 * scipy.constants.g * 1e-3) == constants.PASCAL_PER_MMH2O


def test_density_of_water_is_that_of_tanaka() -> None:
    """Tanaka et al. 2001, Metrologia 38:301, air-free water at one atmosphere (from memory)."""
    t = 20.0
    lost = (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881))
    density = 999.974950 * (1.0 - lost)
    assert pytest.approx(density, abs=0.05) == constants.WATER_DENSITY_KG_M3


def test_air_is_that_of_the_standard_atmosphere() -> None:
    """Ideal gas with the molar mass of the US Standard Atmosphere 1976, 28.9644 g/mol."""
    gas = scipy.constants.R / 28.9644e-3
    assert pytest.approx(gas, rel=1e-4) == constants.R_AIR_J_KGK
    density = scipy.constants.atm / (gas * ROOM_K)
    assert pytest.approx(density, rel=1e-4) == constants.AIR_DENSITY_KG_M3
    sutherland = ATMOSPHERE_1976.viscosity(ROOM_K)
    assert sutherland == pytest.approx(constants.AIR_VISCOSITY_PA_S, rel=1e-6)


def test_narrowest_gap_is_the_capillary_length() -> None:
    """de Gennes, Brochard-Wyart and Quere 2004: 2.7 mm for water (from memory)."""
    by_hand = 1e3 * (0.0728 / (998.2 * 9.80665)) ** 0.5
    assert by_hand == pytest.approx(2.727, abs=0.001)
    assert pytest.approx(by_hand) == constants.CAPILLARY_LENGTH_MM
    assert limits.GAP_MIN.value == 2.7


VALUES = {9.80665, 9.81, 273.15, 998.2, 998.0, 1.002e-3, 0.0728, 1.2041, 1.8134e-5, 287.05287,
          287.0, 1006.0, 1005.0, 101325.0, 249.08891}  # fmt: skip


def literals(code: str) -> set[float]:
    return {
        float(node.value)
        for node in ast.walk(ast.parse(code))
        if isinstance(node, ast.Constant) and type(node.value) in (int, float)
    }


def test_constants_are_written_down_once() -> None:
    assert literals("g = 2 * 9.81") & VALUES == {9.81}
    found = {
        path.relative_to(PACKAGE).as_posix(): hits
        for path in sorted(PACKAGE.rglob("*.py"))
        if (hits := literals(path.read_text(encoding="utf-8")) & VALUES)
    }
    assert set(found) == {"base/constants.py"}, found

"""Air at a site against the 1976 standard atmosphere."""

from __future__ import annotations

import pytest

from vent_family.base.problems import InputError
from vent_family.evidence.air.state import air_at


@pytest.mark.parametrize(
    ("altitude", "temperature", "density"),
    [(0, 15.0, 1.2250), (1000, 8.5, 1.1117), (2000, 2.0, 1.0066), (3000, -4.5, 0.9093)],
)
def test_isa_densities(altitude: float, temperature: float, density: float) -> None:
    """ISA: 15 degC at sea level, 6.5 K less per 1000 m; densities of ISO 2533 (fluids' table)."""
    assert air_at(temperature, altitude).density_kg_m3 == pytest.approx(density, abs=1e-4 * 4)


def test_viscosity_of_air() -> None:
    """1.789e-5 Pa s at 15 degC: US Standard Atmosphere 1976."""
    assert air_at(15.0).viscosity_pa_s == pytest.approx(1.789e-5, rel=1e-3)


def test_hot_air_is_thinner_at_the_same_pressure() -> None:
    air = air_at(20.0, 500.0)
    warm = air.at(60.0)
    assert warm.pressure_pa == air.pressure_pa
    assert warm.density_kg_m3 / air.density_kg_m3 == pytest.approx(293.15 / 333.15)


@pytest.mark.parametrize(("temperature", "altitude"), [(200, 0), (20, 9000), (float("nan"), 0)])
def test_impossible_sites_are_refused(temperature: float, altitude: float) -> None:
    with pytest.raises(InputError, match="out of range"):
        air_at(temperature, altitude)

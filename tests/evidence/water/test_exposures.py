from __future__ import annotations

import math

import numpy as np
import pytest

from vent_family.base.constants import CAPILLARY_LENGTH_MM
from vent_family.evidence.water.exposures import (
    EXPOSURES,
    beams,
    marshall_palmer_flux,
    nozzle_spectrum,
    time_on_vent_s,
)
from vent_family.evidence.water.frontage import Frontage
from vent_family.evidence.water.properties import head_mm, pendant_drop_mm


@pytest.mark.parametrize(
    ("name", "speed"),
    # Flow over bore, computed by hand; flows and bores of IEC 60529 as in public summaries.
    [("jets", 6.68), ("strong_jets", 13.58), ("splashing", 9.28)],
)
def test_exit_speeds(name: str, speed: float) -> None:
    assert EXPOSURES[name].exit_speed_m_s == pytest.approx(speed, abs=0.02)


def test_the_table_names_sources_tests_and_claims_no_rating() -> None:
    for e in EXPOSURES.values():
        assert e.source
        assert e.test
        assert "IP" not in e.name.upper().replace("DRIPPING", "")
        assert "IPX" not in e.title


@pytest.mark.parametrize("rate", [1.0, 10.0, 75.0])
def test_rain_adds_up_and_has_the_known_median(rate: float) -> None:
    d, flux = marshall_palmer_flux(rate, classes=60)
    assert flux.sum() == pytest.approx(rate)
    # Half of the water in the air lies below 3.67 / slope (exponential spectra, textbook); water
    # through a plane is somewhat coarser, because large drops fall faster.
    slope = 4.1 * rate**-0.21
    median = float(np.interp(0.5, np.cumsum(flux) / rate, d))
    assert 3.67 / slope < median < 1.35 * 3.67 / slope


@pytest.mark.parametrize("rate", [0.0, -1.0, float("nan")])
def test_no_rain_is_refused(rate: float) -> None:
    with pytest.raises(ValueError, match="rain intensity must be positive"):
        marshall_palmer_flux(rate)


def test_nozzle_spectrum_keeps_its_mass_and_size() -> None:
    d, share = nozzle_spectrum(0.76, classes=200)
    assert share.sum() == pytest.approx(1.0)
    # Rosin-Rammler by definition: 63.2 % of the mass below the typical diameter.
    assert share[d <= 0.76].sum() == pytest.approx(0.632, abs=0.01)


def test_driving_rain_brings_its_prescribed_flux() -> None:
    # EN 13030:2001, 75 L/h on one square metre, from memory.
    (beam,) = beams(EXPOSURES["driving_rain"], 2.0)
    assert beam.flux_l_min_m2.sum() * 60.0 == pytest.approx(75.0)


def test_rain_without_wind_comes_in_only_with_the_air() -> None:
    from dataclasses import replace

    calm = replace(EXPOSURES["rain"], wind_m_s=0.0)
    assert beams(calm, 0.0)[0].flux_l_min_m2.sum() == 0.0
    assert beams(calm, 1.0)[0].flux_l_min_m2.sum() > 0.0


def test_air_let_out_holds_rain_off_and_at_most_altogether() -> None:
    def flux(velocity_m_s: float) -> float:
        (beam,) = beams(EXPOSURES["rain"], velocity_m_s)
        return float(beam.flux_l_min_m2.sum())

    # 5 m/s of wind, 2 m/s let out: three fifths of what the wind brings.
    assert flux(-2.0) == pytest.approx(0.6 * flux(0.0))
    assert flux(-5.0) == flux(-9.0) == 0.0


def test_drips_come_in_with_the_air_or_at_their_angle() -> None:
    straight, tilted = EXPOSURES["dripping"], EXPOSURES["dripping_tilted"]
    assert beams(straight, 0.0)[0].flux_l_min_m2[0] < 1e-9
    # 1 mm/min falling at 2 m/s (0.2 m drop) past an opening that draws 1 m/s: half of it per area.
    assert beams(straight, 1.0)[0].flux_l_min_m2[0] == pytest.approx(1.0 / 1.98, rel=0.01)
    # 3 mm/min at 15 degrees: tan 15 of it per upright area.
    assert beams(tilted, 0.0)[0].flux_l_min_m2[0] == pytest.approx(3.0 * 0.268, rel=0.01)


def test_nozzle_flux_is_the_flow_over_the_spot() -> None:
    for e in (EXPOSURES["jets"], EXPOSURES["splashing"]):
        level = next(b for b in beams(e, 0.0) if b.elevation_deg == 0.0)
        spot_m2 = np.pi * (e.footprint_mm * 1e-3) ** 2 / 4
        assert level.flux_l_min_m2.sum() * spot_m2 == pytest.approx(e.flow_l_min)


def test_time_on_the_vent() -> None:
    """A nozzle wets the cabinet evenly, 1 min/m2 or the test's least time (IEC 60529, memory)."""
    small = Frontage(face_m2=0.0025, floor_width_mm=50.0, bays=1, bay_mm=50.0, height_mm=50.0)
    assert time_on_vent_s(EXPOSURES["rain"], small, 1.0) == 3600.0
    # The middle of a spot 300 mm across meets a vent of 50 x 50 mm anywhere in a square with
    # rounded corners: 50 x 50, four strips of 50 x 150 and a disc of 300, in mm.
    grown_m2 = (2500.0 + 4 * 50.0 * 150.0 + math.pi * 150.0**2) * 1e-6
    assert time_on_vent_s(EXPOSURES["splashing"], small, 1.0) == pytest.approx(300.0 * grown_m2)
    # A cabinet of 10 m2 takes 10 min; one as small as the spot is under water all the time.
    assert time_on_vent_s(EXPOSURES["splashing"], small, 10.0) == 10.0 > 60.0 * grown_m2
    assert time_on_vent_s(EXPOSURES["splashing"], small, 2.0) == pytest.approx(150.0 * grown_m2)
    assert time_on_vent_s(EXPOSURES["splashing"], small, 0.05) == 300.0
    # A jet that meets the vent for a moment only is held on it for ten seconds.
    assert time_on_vent_s(EXPOSURES["jets"], small, 5.0) == 10.0


def test_capillary_numbers() -> None:
    # Capillary length of water 2.7 mm (de Gennes, Brochard-Wyart and Quere 2004, from memory); a
    # drop from a 2 mm tip about 4.5 mm by Tate's law.
    assert pytest.approx(2.73, abs=0.01) == CAPILLARY_LENGTH_MM
    assert pendant_drop_mm(2.0) == pytest.approx(4.47, abs=0.02)
    # 100 Pa are 10.2 mm of water.
    assert head_mm(100.0) == pytest.approx(10.2, abs=0.02)


@pytest.mark.parametrize(
    ("name", "drop_mm"),
    [
        # A jet breaks up into drops of 1.89 times its bore (Rayleigh 1878, from memory).
        ("splashing", 1.89 * 0.4),
        ("spraying", 1.89 * 0.4),
        # Thick jets would make drops larger than fall whole: 6 mm (textbook, from memory).
        ("jets", 6.0),
        ("strong_jets", 6.0),
    ],
)
def test_drops_of_nozzles(name: str, drop_mm: float) -> None:
    assert EXPOSURES[name].drop_mm == pytest.approx(drop_mm, rel=0.01)


def test_drops_that_hang_from_a_fine_hole() -> None:
    """Tate's law: weight = pi d sigma, so D = (6 d sigma / (rho g))^(1/3): 2.6 mm from 0.4 mm."""
    by_hand = (6.0 * 0.4e-3 * 0.0728 / (998.2 * 9.80665)) ** (1.0 / 3.0) * 1e3
    assert 2.0 < EXPOSURES["dripping"].drop_mm <= 1.01 * by_hand

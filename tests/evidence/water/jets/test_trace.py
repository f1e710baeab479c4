"""Sheets on plates that can be worked out by hand, and what must hold on every section."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.evidence.water.jets.hand import NO_GRAVITY, Shot, plate, section_of
from tests.helpers.rows import spec
from vent_family.evidence.water.flight import gravity
from vent_family.evidence.water.jets.rules import ASSUMPTIONS, CLEAN, LOSSY, Assumption
from vent_family.evidence.water.jets.split import face_for, split_shares
from vent_family.evidence.water.jets.trace import friction

BIG = [(0, plate(1.0, 3.0, -50.0, 50.0))]


def test_jet_square_on_a_big_plate_halves() -> None:
    shot = Shot(section_of(BIG), 0.0)
    ends = shot.ends()
    assert shot.returned == pytest.approx(1.0)
    assert len(ends) >= 2
    assert sum(w for *_, w, a in ends if a == pytest.approx(90.0, abs=0.2)) == pytest.approx(0.5)
    assert sum(w for *_, w, a in ends if a == pytest.approx(-90.0, abs=0.2)) == pytest.approx(0.5)


@pytest.mark.parametrize("elevation", [30.0, -45.0])
def test_slanting_jet_splits_by_the_closed_form(elevation: float) -> None:
    # Measured from the plate the jet comes at 90 degrees less its elevation.
    forwards, backwards = split_shares(90.0 - abs(elevation))
    ends = Shot(section_of(BIG), 0.0, elevation_deg=elevation).ends()
    # A jet from above goes on downwards.
    down = sum(w for _, y, w, _ in ends if y < 0.0)
    assert down == pytest.approx(forwards if elevation > 0.0 else backwards, abs=1e-9)


@pytest.mark.parametrize(("length", "deflection"), [(1.0, 54.3), (2.0, 75.2), (3.0, 85.6)])
def test_narrow_face_lets_the_sheets_lean(length: float, deflection: float) -> None:
    half = 0.5 * length * 6.0
    # A hair shorter jet, so that all of it strikes.
    shot = Shot(
        section_of([(0, plate(1.0, 3.0, -half, half))], inner_z_mm=-3.0), 0.0, bore_mm=5.999
    )
    up = [(w, a) for *_, w, a in shot.ends() if a > 0.0]
    assert sum(w for w, _ in up) == pytest.approx(0.5)
    assert up[0][1] == pytest.approx(deflection, abs=0.7)


def test_face_narrower_than_the_jet_takes_the_momentum_of_the_free_streamlines() -> None:
    # A plate half as wide as the jet. By the closed form all of the jet leans by 38.3 degrees; here
    # its middle half leans by 54, the rest passes: the push on the plate is the same to 5 %.
    shot = Shot(section_of([(0, plate(1.0, 3.0, -1.5, 1.5))]), 0.0)
    kept = sum(w * math.cos(math.radians(a)) for *_, w, a in shot.ends())
    assert face_for(38.3) == pytest.approx(0.5, abs=0.01)
    assert 1.0 - kept == pytest.approx(1.0 - math.cos(math.radians(38.3)), rel=0.05)


def test_slat_half_in_the_jet_by_hand() -> None:
    # Its upper edge stands in the middle of the jet: half passes above it, straight on. The other
    # half splits in two; face 20 mm, sheet 3 mm: both run along the plate and leave in front.
    shot = Shot(section_of([(0, plate(1.0, 3.0, -20.0, 0.0))]), 0.0)
    assert shot.inside == pytest.approx(0.5, abs=0.011)
    straight = [w for z, y, w, _ in shot.ends() if z < -30.0 and abs(y - 1.5) < 0.1]
    assert sum(straight) == pytest.approx(shot.inside)
    assert shot.returned == pytest.approx(0.5, abs=0.011)


def test_channel_throws_the_jet_back() -> None:
    # An upright web with lips outwards: a jet into the pocket turns twice by 90 degrees.
    web = ((1.0, -8.0), (6.0, -8.0), (6.0, -7.0), (2.0, -7.0), (2.0, 7.0), (6.0, 7.0), (6.0, 8.0))
    shot = Shot(section_of([(0, (*web, (1.0, 8.0)))]), 0.0)
    assert shot.returned == pytest.approx(1.0)
    assert [abs(a) for *_, a in shot.ends()] == pytest.approx([180.0] * len(shot.leaves))


def test_narrow_passage_lets_a_sheet_through_no_thicker_than_itself() -> None:
    # A sheet of 3 mm runs up a plate; in front of its end a wall leaves 1 mm. Above, it strikes a
    # roof that stands back from the wall by 1 mm: all of it, in the middle of that millimetre.
    low, wall = (0, plate(0.0, 2.0, -20.0, 20.0)), (0, plate(3.0, 5.0, 15.0, 40.0))
    roof = (0, plate(-10.0, 2.999, 30.0, 32.0))
    shot = Shot(section_of([low, wall, roof]), 0.0)
    struck = shot.nodes[np.abs(shot.nodes[:, 1] - 30.0) < 1e-6]
    assert struck[0, 0] == pytest.approx(2.5, abs=0.05)


def test_slow_water_stays_as_a_film() -> None:
    shot = Shot(section_of(BIG), 0.0, speed_m_s=0.65)
    assert float(shot.out[0]) == pytest.approx(1.0)
    # rho u2 h / sigma of a quarter of a millimetre at 1.5 m/s: 7.7, below 8; of 0.5 mm, 15.
    assert float(Shot(section_of(BIG), 0.0, bore_mm=0.5, speed_m_s=1.5).out[0]) == 1.0
    near = [(0, plate(1.0, 3.0, -3.0, 3.0))]
    assert Shot(section_of(near), 0.0, bore_mm=1.0, speed_m_s=1.5).out[0] == 0.0


def test_loss_and_spray_at_a_square_impact() -> None:
    lossy = Assumption("", 0.35, 1.0, 0.2)
    shot = Shot(section_of([(0, plate(1.0, 3.0, -8.0, 8.0))]), 0.0, assumption=lossy)
    # Spray goes straight back out; the corner of the plate is reached with 65 % of the speed, less
    # friction over 8 mm of a sheet of 3 mm.
    back = sum(w for z, y, w, _ in shot.ends() if z > 3.0 and abs(y) < 0.1)
    assert back == pytest.approx(0.2)
    corner = shot.nodes[np.abs(np.abs(shot.nodes[:, 1]) - 8.0) < 1e-9][:, 3]
    re = 0.65 * 11.8 * 3e-3 / (1.002e-3 / 998.2)
    assert corner == pytest.approx(0.65 * 11.8 * math.exp(-0.028 * re**-0.25 * 8.0 / 3.0), rel=0.01)


def test_friction_of_a_laminar_film_and_of_a_turbulent_sheet() -> None:
    # Re 50: 3/50; Re 50,000: 0.028 / 14.95 = 0.00187; over ten thicknesses.
    assert friction(0.5, 0.1, 1.0, 1e-6) == pytest.approx(0.5 * math.exp(-0.6))
    assert friction(10.0, 5.0, 50.0, 1e-6) == pytest.approx(10.0 * math.exp(-0.018725), rel=1e-5)


def test_falling_sheet_follows_the_parabola() -> None:
    # A slow jet past everything: from 3.1 m/s over 45 mm it falls g t2 / 2.
    shot = Shot(
        section_of([(0, plate(1.0, 2.0, 90.0, 95.0))]),
        0.0,
        speed_m_s=3.0,
        gravity_m_s2=gravity(0.0),
    )
    z, y, weight, _ = shot.ends()[0]
    time = (95.0 - 0.0 + 2.0 - 95.0 + 2.0 - z) * 1e-3 / 3.0
    assert weight == pytest.approx(1.0)
    assert y == pytest.approx(-500.0 * 9.80665 * time**2, abs=0.02)


@pytest.mark.parametrize("form", ["flat", "folded", "inclined"])
@pytest.mark.parametrize("assumption", ASSUMPTIONS, ids=lambda a: a.name)
def test_water_is_kept_and_speed_never_gained(form: str, assumption: Assumption) -> None:
    section = spec(slat_form=form).section
    for height in (-20.0, -3.0, 2.2, 11.0):
        for elevation in (-50.0, 0.0, 40.0):
            shot = Shot(
                section,
                height,
                elevation_deg=elevation,
                assumption=assumption,
                gravity_m_s2=gravity(0.0),
                pool_mm=0.0 if assumption.dry else 4.0,
            )
            assert float(shot.out.sum()) == pytest.approx(1.0, abs=1e-12)
            assert float(shot.leaves[:, 2].sum()) == pytest.approx(1.0, abs=1e-12)
            nodes = shot.nodes
            child = np.flatnonzero(nodes[:, 2] >= 0)
            parent = nodes[child, 2].astype(int)
            energy = nodes[:, 3] ** 2 + 2e-3 * 9.80665 * nodes[:, 1]
            # Points of a path are means over neighbours: a tenth of a percent is theirs.
            assert np.all(energy[child] <= energy[parent] + 0.001 * energy[parent].clip(1.0))


def test_lossier_sheets_bring_less_inside() -> None:
    section = spec(slat_form="inclined").section
    lossy, clean = (
        sum(Shot(section, h, assumption=a, gravity_m_s2=NO_GRAVITY).inside for h in range(-9, 9))
        for a in (LOSSY, CLEAN)
    )
    assert lossy < 0.5 * clean

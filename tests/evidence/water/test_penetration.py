from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from tests.evidence.water.scenes import bounds, stack
from vent_family.evidence.water import transport
from vent_family.evidence.water.exposures import EXPOSURES, Beam, beams
from vent_family.evidence.water.penetration import (
    cut_size,
    mist_penetration,
    scene_of,
)
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.splash import BRACKET, MILD, SEVERE, SplashModel
from vent_family.evidence.water.spray import Spray, spray, stream
from vent_family.evidence.water.transport import Drops, DropScene, Fates, drip_matrix, shoot
from vent_family.spec.forms import OUT
from vent_family.spec.layout import lay_out
from vent_family.spec.section import Section


def section(form: str = "inclined", height: float = 60.0, **changes: object) -> Section:
    made = stack(form, **changes)
    return lay_out(made, bounds(made, height))


def calvert_d50(velocity_m_s: float, spacing_mm: float) -> float:
    """Return the cut size of a zigzag baffle up to a constant factor.

    Calvert's efficiency, 1 - exp(-u_t n w theta / (57.3 u_g b tan theta)), with the centrifugal
    drift u_t = d^2 rho a / (18 mu) and a proportional to u_g^2 / w (from memory), gives
    d50 proportional to sqrt(b / u_g) for given plates.
    """
    return float(np.sqrt(spacing_mm / velocity_m_s))


def test_cut_size_falls_with_velocity_as_impaction_says() -> None:
    made = section()
    d = {v: cut_size(made, v).d50_mm for v in (0.5, 1.0, 2.0, 4.0)}
    assert all(value is not None for value in d.values())
    sizes = [d[v] for v in (0.5, 1.0, 2.0, 4.0)]
    assert sizes == sorted(sizes, reverse=True)  # type: ignore[type-var]
    slope = np.polyfit(np.log([0.5, 1.0, 2.0, 4.0]), np.log(np.array(sizes, dtype=float)), 1)[0]
    expected = np.log(calvert_d50(4.0, 1.0) / calvert_d50(0.5, 1.0)) / np.log(8.0)
    assert expected == pytest.approx(-0.5)
    # Beyond Stokes' law the drag rises, and with it the cut size: the fall is a little slower.
    assert slope == pytest.approx(expected, abs=0.12)


def test_cut_size_grows_with_spacing() -> None:
    def cut(made: Section, velocity: float) -> float:
        size = cut_size(made, velocity).d50_mm
        assert size is not None
        return size

    # Calvert's trend: plates further apart catch less at the same velocity between them.
    narrow, wide = (section(pitch_mm=p, slat_height_mm=6.2) for p in (6.5, 7.0))
    assert calvert_d50(1.0, 7.0) > calvert_d50(1.0, 6.5)
    between = 1.5
    assert cut(wide, between * wide.stack.free_fraction) > cut(
        narrow, between * narrow.stack.free_fraction
    )
    # Everything 1.6 times as large: the cut grows with the root of the size.
    large = section(
        height=96.0, thickness_mm=2.4, pitch_mm=10.4, slat_height_mm=10.0, gaps_mm=(4.8, 4.8)
    )
    ratio = cut(large, 1.0) / cut(section(), 1.0)
    assert ratio == pytest.approx(calvert_d50(1.0, 1.6) / calvert_d50(1.0, 1.0), rel=0.12)


def test_cut_size_has_the_order_of_an_impactor() -> None:
    # Stokes number of half capture with the half width of a slot jet as length: 0.59 (Marple,
    # Hinds; from memory). Each turn of the zigzag is something like such an impactor, so the cut
    # lies within a factor of three in diameter.
    made = section()
    d50 = cut_size(made, 1.5).d50_mm
    assert d50 is not None
    velocity = 1.5 / made.stack.free_fraction
    half = made.stack.passage_mm / 2 * 1e-3
    single = np.sqrt(0.59 * 18 * 1.8134e-5 * half / (998.2 * velocity)) * 1e3
    assert single / 3 < d50 < 3 * single


def test_mist_passes_and_rain_does_not() -> None:
    d, passing = mist_penetration(section(), 1.5, diameters_mm=np.array([0.001, 0.05, 0.5]))
    assert d.size == 3
    assert passing[0] > 0.9
    assert passing[1] == 0.0
    assert passing[2] == 0.0


def sent(
    scene: DropScene,
    came: list[Beam],
    tilt_deg: float,
    model: SplashModel,
    rng: np.random.Generator | None = None,
) -> Spray:
    """Send 60 drops of every class of every beam."""
    flow = stream(came, Posture(tilt_deg))
    heights = np.full(flow.flux_l_min_m2.shape, 60)
    return spray(scene, flow, model, drip_matrix(scene, model), heights, rng=rng)


def test_an_open_stack_lets_drops_straight_through() -> None:
    made = section(pitch_mm=16.0, slat_height_mm=5.0, slopes=(OUT, OUT, OUT), shift=0.0)
    assert made.sight.is_open
    scene = scene_of(made, 1.0, 0.0)
    result = sent(scene, beams(EXPOSURES["jets"], 1.0), 0.0, MILD)
    direct = result.passed_direct.mean(axis=(0, 2, 3))
    assert direct.max() > 0.2
    # The level jet finds the level gap; a steep one does not.
    elevations = [b.elevation_deg for b in beams(EXPOSURES["jets"], 1.0)]
    assert direct[elevations.index(0.0)] > direct[elevations.index(75.0)]


def test_a_leaning_vent_meets_level_water_from_below() -> None:
    # Fast drops fly straight, so leaning back by 45 degrees is the same as aiming 45 degrees
    # lower; leaning forwards, higher. Slats that all fall outwards let water from below through.
    made = section(pitch_mm=7.0, slopes=(OUT, OUT, OUT))
    jets = {b.elevation_deg: b for b in beams(EXPOSURES["strong_jets"], 0.0)}
    scenes = {tilt: scene_of(made, 0.0, tilt) for tilt in (-45.0, 0.0, 30.0, 45.0)}

    def through(elevation: float, tilt: float) -> float:
        share = sent(scenes[tilt], [jets[elevation]], tilt, MILD).passed_direct
        return float(share.mean())

    below, above = through(-45.0, 0.0), through(45.0, 0.0)
    assert below > above + 0.05
    assert through(0.0, 45.0) == pytest.approx(below, abs=0.02)
    assert through(0.0, -45.0) == pytest.approx(above, abs=0.02)
    assert through(-60.0, -45.0) == pytest.approx(through(-15.0, 0.0), abs=0.02)
    assert through(-15.0, 30.0) == pytest.approx(below, abs=0.02)


@pytest.mark.parametrize("form", ["flat", "inclined", "folded"])
@pytest.mark.parametrize("model", BRACKET, ids=lambda m: m.name)
def test_no_water_is_lost_or_made(form: str, model) -> None:  # type: ignore[no-untyped-def]
    made = section(form)
    scene = scene_of(made, 2.0, 4.0)
    drip = drip_matrix(scene, model)
    assert drip.passes + drip.trough + drip.returns == pytest.approx(np.ones(drip.passes.size))
    for name in ("rain", "dripping_tilted", "splashing"):
        came = beams(EXPOSURES[name], 2.0)
        arrives = stream(came, Posture(4.0)).flux_l_min_m2 > 0.0
        for rng in (None, np.random.default_rng(4)):
            s = sent(scene, came, 4.0, model, rng)
            total = (s.passed + s.trough + s.returned)[:, arrives]
            assert np.abs(total - 1.0).max() < 1e-12


def test_severe_splash_passes_more_than_mild() -> None:
    made = section()
    scene = scene_of(made, 1.5, 0.0)
    came = beams(EXPOSURES["splashing"], 1.5)
    mild, severe = (sent(scene, came, 0.0, m).passed.mean() for m in (MILD, SEVERE))
    assert 0.0 < mild < severe < 0.05


def test_dripping_runs_down_to_the_trough() -> None:
    made = section()
    scene = scene_of(made, 0.0, 0.0)
    drip = drip_matrix(scene, SEVERE)
    # In still air what one bank caught goes down this bank and off to the drain.
    assert drip.trough.min() > 0.97
    # Water put on the top slat runs over the slats below it.
    top = int(np.argmax([max(y for _, y in s.outline) for s in made.slats]))
    assert drip.load[top].sum() > 3.0


def test_without_splash_every_contact_catches() -> None:
    made = section()
    scene = scene_of(made, 1.0, 0.0)
    n = 50
    y = np.linspace(-20.0, 20.0, n)
    drops = Drops(
        np.full(n, 3.5), y, np.full(n, -9.0), np.zeros(n), np.full(n, 3.0), np.full(n, 1.0 / n),
        np.zeros(n, dtype=np.int64),
    )  # fmt: skip
    fates = shoot(scene, drops, None, 1)
    assert fates.passed[0] == 0.0
    assert fates.total[0] == pytest.approx(1.0)


@pytest.mark.parametrize("form", ["flat", "inclined", "folded"])
def test_hanging_drops_are_off_their_slat_when_they_let_go(
    form: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each starts its radius and a hair below the slat it hangs from."""
    made = section(form)
    started: list[Drops] = []

    def caught(scene: object, drops: Drops, *rest: object) -> Fates:
        started.append(drops)
        return shoot(scene, drops, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(transport, "shoot", caught)
    drip_matrix(scene_of(made, 0.0, 0.0), MILD)
    (drops,) = started
    assert drops.radius_mm is not None
    slats = [Polygon(s.outline) for s in made.slats]
    own = 0
    for z, y, radius, label in zip(
        drops.z_mm, drops.y_mm, drops.radius_mm, drops.label, strict=True
    ):
        point = Point(z, y)
        assert 0.5 < radius < 4.0
        if label < len(slats):
            own += 1
            assert radius + 0.005 < slats[label].distance(point) < radius + 0.1
            assert y < min(c[1] for c in made.slats[label].outline)
    assert own >= len(slats)

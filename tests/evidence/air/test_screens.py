"""An insect screen's loss: against a table that shares no code, and by hand in a whole vent."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.filters import round_edge_screen

from tests.helpers.rows import spec
from vent_family.base.limits import SCREEN_ERROR
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.clogged import clogged_words
from vent_family.evidence.air.point import pool_depression_pa
from vent_family.evidence.air.question import Question, extras_of
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.screens import ScreenLoss, screen_k
from vent_family.evidence.air.state import air_at
from vent_family.spec.areas import open_areas
from vent_family.spec.screen import WIRES_MM, Mesh

AIR = air_at()


def test_usual_meshes_agree_with_blevins_within_the_stated_error() -> None:
    """Blevins 1984, round-edged screens, through fluids; its Re is taken on the wire.

    fluids names the space between rods, with which low Re would come out far below every other
    formula. Its table spans Re 20 to 400.
    """
    for opening, wire in WIRES_MM:
        share = Mesh(opening, wire).open_share
        for re in np.geomspace(20.0, 400.0, 9):
            told = float(screen_k(share, np.array([re]))[0])
            ratio = told / round_edge_screen(share, re)
            assert 1.0 / (1.0 + SCREEN_ERROR.value) < ratio < 1.0 + SCREEN_ERROR.value


def test_fast_air_loses_what_idelchik_says() -> None:
    """1.3 (1 - f) + (1 / f - 1)^2 at f = 0.5 and 0.64: 1.65 and 0.784."""
    fast = np.array([5000.0])
    assert float(screen_k(0.5, fast)[0]) == pytest.approx(1.65)
    assert float(screen_k(0.64, fast)[0]) == pytest.approx(0.468 + 0.5625**2)


def test_slow_air_loses_what_brundrett_says() -> None:
    """At f = 0.5, on Re before the screen of 10 and of 0.001: by hand.

    (0.7125 + 0.88 / log10(11.25) + 0.055) x 3, then (7125 + 0.88 / log10(1.251) - 0.165) x 3.
    """
    slow, creeping = screen_k(0.5, np.array([20.0, 0.002]))
    assert slow == pytest.approx(4.814, abs=0.001)
    assert creeping == pytest.approx(21_401.6, abs=0.1)


def test_slower_air_loses_more_heads_and_creeping_air_in_proportion_to_speed() -> None:
    re = np.geomspace(1e-3, 1e4, 300)
    k = screen_k(0.6, re)
    # The published table ends at 1.44 at Re 50, and the two laws cross without a jump.
    assert (np.diff(k) <= 1e-9).all()
    assert np.abs(np.diff(np.log(k))).max() < 0.1
    creeping = ScreenLoss(Mesh(1.0, 0.28), 1000.0)
    one, two = creeping.drop_pa(np.array([1e-7, 2e-7]), AIR)
    assert two / one == pytest.approx(2.0, rel=0.02)


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_a_screen_adds_its_own_heads_at_the_speed_through_its_windows(family: str) -> None:
    bare, screened = vent_air(spec(family)), vent_air(spec(family, screen_mm=1.0))
    held = spec(family, screen_mm=1.0)
    assert held.body.screen is not None
    window = held.body.screen.window_mm2(held.section, held.bays)
    flow = 0.002
    found = screened.loss(flow, AIR)
    speed = flow / (window * 1e-6)
    share = (1.0 / 1.28) ** 2
    re = speed / share * 0.28e-3 / AIR.kinematic_m2_s
    k = float(screen_k(share, np.array([re]))[0])
    assert found.terms_pa["screen"][0] == pytest.approx(0.5 * AIR.density_kg_m3 * speed**2 * k)
    # Nothing between outside and the pool changes, so the pool is sucked up as before.
    assert pool_depression_pa(screened, flow, AIR) == pytest.approx(
        pool_depression_pa(bare, flow, AIR)
    )
    rest = sum(t[0] for name, t in found.terms_pa.items() if name != "screen")
    narrower = "neck" if family == "round" else "sill"
    more = found.terms_pa[narrower][0] - bare.loss(flow, AIR).terms_pa[narrower][0]
    assert rest - bare.loss(flow, AIR).drop_pa[0] == pytest.approx(more)
    (told,) = (a.area_mm2 for a in open_areas(held) if a.name == "screen")
    assert told == pytest.approx(window * share)


def test_a_frame_narrower_than_the_cavity_is_the_mouth() -> None:
    """The last head is lost in the windows: 1 head and the contraction's, on their area."""
    bare, screened = vent_air(spec(size="40x40")), vent_air(spec(size="40x40", screen_mm=1.0))
    (sill,), (window,) = bare.leave["in"], screened.leave["in"]
    assert window.area_mm2 < 0.95 * sill.area_mm2
    assert screened.screen is not None
    assert window.area_mm2 == screened.screen.window_mm2
    assert screened.sill_mm2 == bare.sill_mm2


def test_half_clogged_the_open_half_works_twice_as_fast() -> None:
    vent = vent_air(spec("round", screen_mm=1.0))
    half = vent.blocked(0.5)
    assert vent.screen is not None
    assert half.screen is not None
    assert half.screen.drop_pa(np.array([1e-3]), AIR) == pytest.approx(
        vent.screen.drop_pa(np.array([2e-3]), AIR)
    )
    cabinet = Cabinet(heat_w=10.0, ambient_c=20.0, limit_c=45.0, wall_w_k=5.0)
    assert clogged_words(Question(vent, cabinet)) == "slats and screen"
    # What a guard outside keeps off reaches neither slats nor screen.
    guarded = vent.with_extras(*extras_of(0.8, 0.0))
    assert guarded.blocked(0.5).screen == vent.screen


def test_the_band_holds_the_screens_error_too() -> None:
    vent = vent_air(spec("round", screen_mm=0.5))
    flow = 0.002
    own = vent.loss(flow, AIR).terms_pa["screen"][0]
    for factor, ratio in ((1.2, 1.3), (0.8, 1.0 / 1.3), (1.0, 1.0)):
        ended = vent.at_end(factor).loss(flow, AIR)
        assert ended.terms_pa["screen"][0] == pytest.approx(ratio * own)
    worst, best = vent.ends(25.0, AIR)
    bare = vent_air(spec("round"))
    bare_worst, bare_best = bare.ends(25.0, AIR)
    width = math.log(worst.k[0] / best.k[0])
    assert width > math.log(bare_worst.k[0] / bare_best.k[0])

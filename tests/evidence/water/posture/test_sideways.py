"""Drops of a turned vent: what ribs take, that no water is lost, and what lying vents do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.helpers.conditions import stated_conditions
from tests.helpers.rows import spec
from tests.helpers.water import judged
from vent_family.evidence.water.airfield import potential_flow
from vent_family.evidence.water.flight import Landing
from vent_family.evidence.water.jets.walls import walls_of
from vent_family.evidence.water.penetration import scene_of
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.ribs import OUT, TROUGH, RibFace
from vent_family.evidence.water.posture.scene import mounted_scene
from vent_family.evidence.water.posture.sideways import Sideways, strikes
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.splash import BRACKET
from vent_family.evidence.water.transport import Drops, drip_matrix, shoot


def empty_face(down: tuple[float, float]) -> RibFace:
    """Return a rib's face from z 0 to 30 with a floor at y 0 and nothing else on it."""
    floor = np.array([[-50.0, 0.0, 80.0, 0.0]])
    return RibFace(floor, (TROUGH,), (), down, 0.0, 30.0, 1)


def landing(n: int, time_s: float) -> Landing:
    """Return level flights over 20 mm in z, 40 mm over the floor."""
    one = np.ones(n)
    edge = np.zeros(n, dtype=np.int64)
    return Landing(edge, 5.0 * one, 40.0 * one, -4.0 * one, 0.0 * one, time_s * one)


def test_ribs_take_the_share_that_walls_of_a_bay_take_from_even_drops() -> None:
    side = Sideways(-9.0, 20.0, empty_face((0.0, -1.0)), (0.0, 0.0), (30.0, 60.0))
    n, time_s, u = 4000, 5e-3, 1.5
    begin = np.stack([np.full(n, 25.0), np.full(n, 40.0)])
    found = strikes(
        side, None, begin, landing(n, time_s), np.full(n, u), np.full(n, 1.0), np.full(n, 1.0)
    )
    # The same flights in a bay with walls: places drawn evenly, moved along step by step.
    rng = np.random.default_rng(2)
    x = 20.0 * rng.random(n)
    v = np.full(n, u)
    gone = np.zeros(n, dtype=bool)
    for _ in range(500):
        v -= 9.0 * time_s / 500
        x += 1e3 * v * time_s / 500
        gone |= (x < 0.0) | (x > 20.0)
    assert float(found.stays.mean()) == pytest.approx(float(gone.mean()), abs=0.03)
    assert found.left + found.stays == pytest.approx(np.ones(n))
    assert (found.end == TROUGH).all()
    assert found.share.size == 0


def test_the_way_sideways_by_hand() -> None:
    side = Sideways(-9.8, 20.0, empty_face((0.0, -1.0)), (0.0, 0.0), (30.0, 60.0))
    # 1 m/s for 0.02 s, against 9.8 m/s2: 20 mm less 1.96 mm; from rest 1.96 mm the other way.
    way = side.way_mm(np.array([1.0, 0.0]), np.array([0.02, 0.02]))
    assert way == pytest.approx([18.04, 1.96])


def test_films_of_struck_drops_follow_the_rib() -> None:
    # On a rib that leans forwards by 45 degrees a film leaves over the outer plane.
    down = (0.5**0.5, -(0.5**0.5))
    side = Sideways(0.0, 20.0, empty_face(down), (0.0, 0.0), (30.0, 60.0))
    begin = np.stack([np.full(50, 25.0), np.full(50, 40.0)])
    found = strikes(
        side, None, begin, landing(50, 0.1), np.full(50, 1.0), np.full(50, 1.0), np.full(50, 1.0)
    )
    assert (found.end == OUT).all()


def test_what_splashes_off_a_rib_is_thrown_away_from_it() -> None:
    side = Sideways(0.0, 20.0, empty_face((0.0, -1.0)), (0.0, 0.0), (30.0, 60.0))
    begin = np.stack([np.full(60, 25.0), np.full(60, 40.0)])
    severe = BRACKET[-1]
    u = np.full(60, 5.0)
    found = strikes(side, severe, begin, landing(60, 5e-3), u, np.full(60, 2.0), np.full(60, 1.0))
    assert found.share.size == 120
    assert (found.u_m_s < 0.0).all()
    per_parent = np.bincount(found.parent, found.share, 60)
    struck = 1.0 - found.left
    assert per_parent == pytest.approx(severe.thrown * struck)
    assert found.stays + per_parent == pytest.approx(struck)


@pytest.mark.parametrize("posture", [(0.0, 30.0), (0.0, 90.0), (-20.0, 150.0), (0.0, 180.0)])
def test_no_water_is_lost_in_a_turned_vent(posture: tuple[float, float]) -> None:
    vent = spec("rectangular")
    scene = mounted_scene(vent, 1.0, Posture(*posture))
    n = 40
    heights = np.linspace(vent.section.drain_mm[0] + 1.0, vent.section.ceiling_mm - 1.0, n)
    w, v, u = Posture(*posture).turned(np.full(n, -6.0), np.full(n, -5.0))
    start = np.full(n, vent.section.front_z_mm + 0.5)
    drops = Drops(
        start, heights, w, v, np.full(n, 2.0), np.full(n, 1.0 / n),
        np.zeros(n, dtype=np.int64), u_m_s=u,
    )  # fmt: skip
    fates = shoot(scene, drops, BRACKET[-1], 1)
    assert float(fates.total[0]) == pytest.approx(1.0, rel=1e-9)
    drip = drip_matrix(scene, BRACKET[-1])
    assert drip.passes + drip.trough + drip.returns == pytest.approx(np.ones(drip.passes.size))


def test_upright_the_scene_is_the_sections_own() -> None:
    vent = spec("round")
    mounted = mounted_scene(vent, 1.0, Posture())
    plain = scene_of(vent.section, 1.0, 0.0, potential_flow)
    assert mounted.sideways is None
    assert mounted.gravity_m_s2 == pytest.approx(plain.gravity_m_s2)
    assert (mounted.boundary.owner == plain.boundary.owner).all()


@pytest.mark.parametrize(
    ("posture", "above", "below"),
    [
        ((0.0, 0.0), "passed", "trough"),
        ((10.0, 0.0), "passed", "trough"),
        ((0.0, 180.0), "trough", "passed"),
        # A plate that looks down lets it drip.
        ((-60.0, 0.0), "trough", "trough"),
    ],
)
def test_what_comes_onto_a_back_plate_above_its_bore_gets_there(
    posture: tuple[float, float], above: str, below: str
) -> None:
    vent = spec("round")
    neck = vent.body.neck
    assert neck is not None
    scene = mounted_scene(vent, 0.0, Posture(*posture))
    places = neck.bore_radius_mm + np.array([3.0, 6.0, 9.0])
    for side, end in ((1.0, above), (-1.0, below)):
        n = places.size
        drops = Drops(
            np.full(n, neck.bore_end_z_mm + 1.0),
            side * places,
            np.full(n, -8.0),
            np.zeros(n),
            np.full(n, 1.0),
            np.ones(n),
            np.zeros(n, dtype=np.int64),
        )
        fates = shoot(scene, drops, None, 1)
        assert float(getattr(fates, end)[0]) == pytest.approx(n)


def test_a_jet_on_the_plate_above_a_bore_is_inside_and_below_it_in_the_trough() -> None:
    vent = spec("round")
    neck = vent.body.neck
    assert neck is not None
    walls = walls_of(vent.section)
    z0, y0, z1, y1 = walls.arrays.edges.T
    plate = (np.abs(z0 - neck.bore_end_z_mm) < 1e-3) & (np.abs(z1 - neck.bore_end_z_mm) < 1e-3)
    middle, slot = 0.5 * (y0 + y1)[plate], walls.arrays.slot[plate]
    assert (np.sign(middle) == (1.0, -1.0)).all() or (np.sign(middle) == (-1.0, 1.0)).all()
    assert slot[middle > 0.0] == walls.inside
    assert slot[middle < 0.0] == walls.trough


def at(family: str, exposure: str, tilt: float, roll: float, **cells: object) -> ExposureReport:
    conditions = stated_conditions(exposure, 0.5, 5.0, tilt)
    return judged(spec(family, **cells), replace(conditions, roll_deg=roll))


def test_left_and_right_are_the_same() -> None:
    left, right = (
        at("rectangular", "driving_rain", 0.0, -25.0),
        at("rectangular", "driving_rain", 0.0, 25.0),
    )
    assert left.drainage.margin_mm == pytest.approx(right.drainage.margin_mm, abs=0.05)
    assert left.verdict.outcome == right.verdict.outcome
    assert left.passed_share.high == pytest.approx(right.passed_share.high, rel=0.3, abs=1e-3)


def test_a_face_in_a_roof_is_a_funnel_and_one_in_a_floor_meets_no_rain() -> None:
    roof = at("rectangular", "rain", 90.0, 0.0)
    assert roof.verdict.outcome == "fails"
    # But for what is thrown back out and what a pool at the sill would hold, all of it runs in.
    b = roof.balance
    assert roof.arriving_l > 0.0
    assert b.passed_l > 0.9 * (b.in_l - b.returned_l)
    floor = at("rectangular", "rain", -90.0, 0.0)
    assert floor.arriving_l == 0.0
    assert floor.verdict.outcome == "holds"


def test_upside_down_a_block_fails() -> None:
    for family in ("rectangular", "flanged"):
        assert at(family, "driving_rain", 0.0, 180.0).verdict.outcome == "fails"

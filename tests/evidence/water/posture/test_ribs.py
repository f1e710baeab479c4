"""Film on ribs: drift by hand, and its ways against a walker that knows only solid and free."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Point
from shapely.prepared import prep

from tests.helpers.rows import spec
from vent_family.evidence.water.posture.film import rib_share, rib_ways, starts, wall_steepness
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.mounted import film_direction, rib_end_mm, rib_face
from vent_family.evidence.water.posture.ribs import (
    INSIDE,
    OUT,
    TROUGH,
    RibFace,
    air_drift,
    drift_mm,
)
from vent_family.spec.vent import VentSpec


def face_of(vent: VentSpec, posture: Posture, drift: float = 0.0) -> RibFace:
    return rib_face(vent.section, posture, rib_end_mm(vent), drift=drift)


def test_three_degrees_over_a_tall_rib_by_hand() -> None:
    # 145 mm x tan 3 deg = 145 x 0.052408 = 7.599 mm.
    assert drift_mm(145.0, 3.0) == pytest.approx(7.599, abs=5e-4)
    z, y = film_direction(Posture(3.0, 0.0))
    assert 145.0 * z / y == pytest.approx(7.599, abs=5e-4)
    # Rolled besides, a film still runs down the face that shows it the same lean.
    z, y = film_direction(Posture(3.0, 60.0))
    assert z / y == pytest.approx(math.tan(math.radians(3.0)) / math.cos(math.radians(60.0)))


def test_air_drags_by_hand() -> None:
    # Re = 1.2 x 5 x 0.03 / 1.81e-5, cf = 1.328 / sqrt(Re), 1.5 tau / (998.2 x 9.80665 x 1e-4 m).
    re = 1.2041 * 5.0 * 0.03 / 1.81e-5
    tau = 0.5 * 1.2041 * 25.0 * 1.328 / math.sqrt(re)
    by_hand = 1.5 * tau / (998.2 * 9.80665 * 1e-4)
    assert air_drift(5.0, 30.0, 0.1) == pytest.approx(by_hand, rel=0.01)


def _walked(vent: VentSpec, down: tuple[float, float], z: float, y: float) -> tuple[int, float]:
    """Return how a walker ends who takes small steps, down where free, else along what stops it."""
    section = vent.section
    solid, apron = prep(section.slats_solid), prep(section.apron_solid)
    room = prep(section.room)
    end = rib_end_mm(vent)
    step = 0.05
    heading = math.atan2(down[1], down[0])
    side = 0.0
    for _ in range(6000):
        for turn in np.radians(np.arange(0.0, 90.0, 2.0)):
            sides = (side,) if side and turn > 0.0 else (1.0, -1.0)
            for s in sides:
                a = heading + s * turn
                p = Point(z + step * math.cos(a), y + step * math.sin(a))
                if p.x < end:
                    # Before a back plate, only what comes below its hole stays in front.
                    below = vent.body.neck is not None and p.y < section.sill_face[0][1]
                    return (TROUGH if below else INSIDE), p.x
                if p.x > section.front_z_mm:
                    return OUT, p.x
                if apron.contains(p):
                    return TROUGH, p.x
                if not room.contains(p):
                    return (TROUGH if p.x >= section.foot[0] else INSIDE), p.x
                if not solid.contains(p):
                    side = s if turn > 0.0 else 0.0
                    z, y = p.x, p.y
                    break
            else:
                continue
            break
        else:
            raise AssertionError(f"stopped at {z:.2f}, {y:.2f}")
    raise AssertionError("the walker did not get anywhere")


@pytest.mark.parametrize(
    ("family", "form"),
    [
        ("rectangular", "inclined"),
        ("rectangular", "folded"),
        ("rectangular", "flat"),
        ("round", "inclined"),
    ],
)
@pytest.mark.parametrize("tilt", [3.0, 8.0, 30.0, -6.0])
def test_films_end_where_a_walker_ends(family: str, form: str, tilt: float) -> None:
    vent = spec(family, slat_form=form)
    face = face_of(vent, Posture(tilt, 0.0))
    rng = np.random.default_rng(3)
    banks = (starts(vent.section, b) for b in range(vent.section.stack.bank_count))
    z, y = (np.concatenate(c) for c in zip(*banks, strict=True))
    pick = rng.choice(z.size, 14, replace=False)
    code, at = face.followed(z[pick], y[pick])
    same = 0
    for k, n in enumerate(pick):
        end, place = _walked(vent, face.down, float(z[n]), float(y[n]))
        same += end == code[k] and abs(place - at[k]) < 1.2
    # A film that leaves a corner within a step's length may go either way.
    assert same >= 13


def test_films_begin_in_every_bank_though_slats_stand_where_they_are_looked_for() -> None:
    hidden = spec("flanged", size="139.32x105.44", slat_form="flat", sill_height_mm=14.74)
    for bank in range(hidden.section.stack.bank_count):
        z, _ = starts(hidden.section, bank)
        assert z.size > 0


def test_upright_every_film_of_the_stack_ends_in_the_trough() -> None:
    for family in ("rectangular", "round", "flanged"):
        vent = spec(family)
        face = face_of(vent, Posture())
        for bank in range(vent.section.stack.bank_count):
            code, at = face.followed(*starts(vent.section, bank))
            assert (code == TROUGH).all()
            assert at.min() >= vent.section.foot[0]


def test_a_leaning_block_lets_films_behind_the_sill_and_a_round_head_has_floor_there() -> None:
    """Films that run off the stack of a round head have its plenum's depth left to the plate.

    The lean that brings a film from the top of the innermost bank to the plate above the bore's
    lower edge is the arc tangent of the way to the plate over that fall, on a round wall less.
    """
    share = (0.5, 0.2, 0.1, 0.05)
    block, head = spec("rectangular", slat_form="flat"), spec("round", slat_form="flat")
    neck = head.body.neck
    assert neck is not None
    a, b = (rib_ways(v, Posture(5.0, 0.0), 0.0) for v in (block, head))
    assert a.inside_low[-1] > 0.1
    assert a.end_mm[-1] < 0.0
    assert (b.inside_low == 0.0).all()
    assert b.film(share).sentence().endswith("in front of the sill")
    last = head.section.stack.bank_count - 1
    z, y = (f(c) for f, c in zip((min, max), starts(head.section, last), strict=True))
    fall = (y + neck.bore_radius_mm) * wall_steepness(head)
    enough = math.degrees(math.atan2(z - neck.bore_end_z_mm, fall))
    for lean, inside in ((enough - 3.0, False), (enough + 12.0, True)):
        ways = rib_ways(head, Posture(lean, 0.0), 0.0)
        assert bool(ways.inside_low.any()) == inside
    assert ways.film(share).sentence() == "the film on a rib gets to the back plate above the bore"


def test_films_add_up() -> None:
    vent = spec("rectangular", slat_form="flat")
    ways = rib_ways(vent, Posture(8.0, 0.0), 2.0)
    film = ways.film((0.5, 0.2, 0.1, 0.05))
    by_hand = sum(
        s * r * i
        for s, r, i in zip((0.5, 0.2, 0.1, 0.05), ways.on_ribs, ways.inside_low, strict=True)
    )
    assert film.inside_low_share == pytest.approx(by_hand)
    assert film.inside_high_share >= film.inside_low_share
    assert film.sentence() == "the film on a rib ends 1.6 mm behind the sill"
    # Air drags inwards.
    assert (ways.inside_high >= ways.inside_low).all()
    still = rib_ways(vent, Posture(), 0.0)
    assert still.film((0.5, 0.2, 0.1, 0.05)).inside_high_share == 0.0


def test_ribs_share_by_hand() -> None:
    vent = spec("rectangular", slat_form="flat", slat_thickness_mm=1.5)
    section = vent.section
    mine = [np.array(s.outline) for s in section.slats if s.bank == 1]
    slats = sum(2.0 * (np.ptp(o[:, 0]) + np.ptp(o[:, 1])) for o in mine)
    width = sum(b - a for a, b in vent.bays)
    ribs = 2.0 * len(vent.bays) * 1.5 * (section.ceiling_mm - section.drain_mm[0])
    assert rib_share(vent, 1) == pytest.approx(ribs / (ribs + slats * width))


def test_a_round_wall_is_a_longer_way_down() -> None:
    assert wall_steepness(spec("rectangular")) == 1.0
    head = spec("round")
    r = head.body.head.inner_radius_mm  # type: ignore[attr-defined]
    low, high = head.section.drain_mm[0], head.section.ceiling_mm
    # Upright sides up to y0; beyond, r^2 / (r^2 - y^2): (r / 2) ln((r + y) / (r - y)) between both
    # ends; all of it over the height.
    y0 = math.sqrt(r**2 - head.body.half_width_mm**2)
    ends = ((1, high), (-1, y0), (1, -y0), (-1, low))
    whole = 2.0 * y0 + 0.5 * r * sum(s * math.log((r + y) / (r - y)) for s, y in ends)
    assert wall_steepness(head) == pytest.approx(whole / (high - low), rel=0.02)

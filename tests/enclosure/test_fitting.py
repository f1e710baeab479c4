"""Vents fitted to walls: cut through what is there, clear all round, or refused and told why."""

from __future__ import annotations

import itertools
import math
from typing import Any

import cadquery as cq
import pytest

from vent_family.base.limits import FIT_CLEARANCE
from vent_family.base.problems import InputError
from vent_family.enclosure.fitting import FittedVent, cut_for, fitted
from vent_family.enclosure.mates import TAGS
from vent_family.enclosure.room import Neighbour
from vent_family.front.parts import Parts

TEXT = (
    "part_number,family,size,status,panel_thickness_mm,fixing,step_thread,exposure\n"
    "V-40,rectangular,40x40,released,2,,,dripping\n"
    "V-N20,round,M20x1.5,released,2,,plain,dripping\n"
    "V-S40,rectangular,40x40,released,2,snap,,dripping\n"
)
OPENINGS = {"V-40": 40.0 * 40.0 + 2 * math.pi * 4.5**2 / 4.0, "V-N20": math.pi * 20.6**2 / 4.0}
"""By hand: the square with two holes for M4, the round hole with 0.3 mm all round."""


@pytest.fixture(scope="module")
def parts() -> Parts:
    return Parts.from_text(TEXT)


def hollow(wall_mm: float) -> cq.Shape:
    return cq.Workplane().box(300, 200, 300).faces("<Z").shell(-wall_mm).val()


def on_front(parts: Parts, number: str, body: cq.Shape, x: float = 0.0, **more: Any) -> FittedVent:
    return fitted(parts, number, body, (x, -100.0, 20.0), **more)


@pytest.mark.parametrize("wall_mm", [1.0, 2.0, 3.0, 5.0, 6.0])
def test_the_opening_goes_through_whatever_wall_there_is(parts: Parts, wall_mm: float) -> None:
    body = hollow(wall_mm)
    held = on_front(parts, "V-40", body)
    cut = cut_for(body, [held])
    assert held.wall_mm == pytest.approx(wall_mm)
    assert body.Volume() - cut.Volume() == pytest.approx(OPENINGS["V-40"] * wall_mm, rel=1e-6)
    # No pocket: a needle through the middle of every hole meets nothing.
    for x, z in ((0.0, 0.0), (25.5, 0.0), (-25.5, 0.0)):
        needle = cq.Solid.makeCylinder(
            0.5, wall_mm + 4.0, cq.Vector(x, -102, 20 + z), cq.Vector(0, 1, 0)
        )
        assert cut.intersect(needle).Volume() == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("number", "wall_mm", "said"),
    [
        ("V-N20", 3.0, "0.5 to 2 mm"),
        ("V-S40", 3.0, "1.8 to 2.2 mm"),
        ("V-S40", 1.5, "1.8 to 2.2 mm"),
    ],
)
def test_a_wall_that_does_not_suit_is_refused_with_the_range(
    parts: Parts, number: str, wall_mm: float, said: str
) -> None:
    with pytest.raises(InputError, match=said):
        on_front(parts, number, hollow(wall_mm))
    held = on_front(parts, number, hollow(wall_mm), allow=("thickness",))
    assert held.overridden[0].startswith("thickness: ")
    assert held.assembly.metadata["attributes"]["overridden"] == "; ".join(held.overridden)


@pytest.mark.parametrize("number", ["V-40", "V-N20"])
@pytest.mark.parametrize("wall_mm", [1.0, 2.0])
def test_nothing_meets_and_the_vent_is_clear_all_round(
    parts: Parts, number: str, wall_mm: float
) -> None:
    body = hollow(wall_mm)
    held = on_front(parts, number, body, 30.0)
    cut = cut_for(body, [held])
    placed = {c.name: c.shapes[0].moved(held.assembly.loc * c.loc) for c in held.assembly.children}
    screws = {
        f"{n}_{i}" for n in ("screw", "nut", "washer_outside", "washer_inside") for i in (1, 2)
    }
    own = {"V-40": {"vent", *screws}, "V-N20": {"vent", "gasket", "locknut"}}
    assert set(placed) == own[number]
    for (_, a), (_, b) in itertools.combinations([*placed.items(), ("wall", cut)], 2):
        assert a.intersect(b).Volume() < 0.02
    # Moved by less than the clearance it meets nothing within the wall, by more it does. A neck's
    # thread is finer than its nominal diameter, and its relief finer still.
    slab = cq.Solid.makeBox(300, wall_mm - 0.2, 300, cq.Vector(-150, -100 + 0.1, -150))
    inside = placed["vent"].intersect(slab)
    edge = cut.intersect(slab)
    clear = inside.distance(edge)
    if number == "V-40":
        assert clear == pytest.approx(FIT_CLEARANCE.value, abs=1e-3)
    assert clear > FIT_CLEARANCE.value - 1e-3
    for dx, dz in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        for share, meets in ((0.9, False), (1.2, True)):
            moved = inside.moved(cq.Location(cq.Vector(dx * share * clear, 0, dz * share * clear)))
            assert (moved.intersect(edge).Volume() > 1e-3) is meets, (dx, dz, share)


def test_the_locknut_sits_on_the_inner_face_of_any_wall(parts: Parts) -> None:
    for wall_mm in (1.0, 1.7):
        held = on_front(parts, "V-N20", hollow(wall_mm))
        nut = next(c for c in held.assembly.children if c.name == "locknut")
        box = nut.shapes[0].moved(held.assembly.loc * nut.loc).BoundingBox()
        assert box.ymin == pytest.approx(-100.0 + wall_mm, abs=1e-6)


def test_edges_neighbours_and_openings_are_told(parts: Parts) -> None:
    body = hollow(2.0)
    with pytest.raises(InputError, match=r"cover reaches 6\.0 mm over an edge"):
        on_front(parts, "V-40", body, 125.0)
    held = on_front(parts, "V-40", body)
    with pytest.raises(InputError, match="taken by V-40"):
        on_front(parts, "V-40", body, 50.0, neighbours=held.neighbours)
    cut = cut_for(body, [held])
    with pytest.raises(InputError, match="another opening lies under its cover"):
        on_front(parts, "V-40", cut, 50.0)
    # Its own opening, cut before, is no fault.
    assert on_front(parts, "V-40", cut).wall_mm == pytest.approx(2.0)
    supply = cq.Solid.makeBox(30, 60, 60, cq.Vector(-15, -90, 0))
    with pytest.raises(InputError, match="room for its body is taken by the power supply"):
        on_front(parts, "V-40", body, neighbours=[Neighbour("the power supply", supply)])
    ok = on_front(
        parts, "V-40", body, neighbours=[Neighbour("the power supply", supply)], allow=("room",)
    )
    assert "power supply" in ok.overridden[0]


def test_what_holds_all_of_the_room_is_told_too(parts: Parts) -> None:
    """No face of it comes near: a cabinet that is full, or drawn solid."""
    filled = cq.Solid.makeBox(290, 150, 290, cq.Vector(-145, -97.9, -145))
    with pytest.raises(InputError, match="room for its body is taken by the resin"):
        on_front(parts, "V-40", hollow(2.0), neighbours=[Neighbour("the resin", filled)])
    solid = cq.Solid.makeBox(300, 200, 300, cq.Vector(-150, -100, -150))
    with pytest.raises(InputError, match="room for its body is taken by the cabinet's own wall"):
        on_front(parts, "V-40", solid, panel_mm=2.0)


def test_room_for_the_spanner_is_a_rule_of_its_own(parts: Parts) -> None:
    body = hollow(2.0)
    beside = Neighbour("a cable duct", cq.Solid.makeBox(20, 60, 40, cq.Vector(18, -98, 0)))
    with pytest.raises(InputError, match="spanner on the locknut is taken by a cable duct") as told:
        on_front(parts, "V-N20", body, neighbours=[beside])
    assert len(told.value.problems) == 1
    assert on_front(parts, "V-N20", body, neighbours=[beside], allow=("spanner",)).overridden


def test_a_posture_in_which_it_does_not_hold_is_refused_with_both_angles(parts: Parts) -> None:
    body = hollow(2.0)
    with pytest.raises(InputError, match=r"lean 0\.0 deg, roll 90\.0 deg.*leaning back up to"):
        on_front(parts, "V-40", body, top=(1, 0, 0))
    held = on_front(parts, "V-40", body, top=(1, 0, 0), allow=("roll",))
    assert held.overridden == ("roll: lean 0.0 deg, roll 90.0 deg",)
    assert held.assembly.metadata["attributes"]["roll_deg"] == pytest.approx(90.0)
    # As little as the verdict counts in needs no question.
    tip = math.radians(2.0)
    assert not on_front(parts, "V-40", body, up=(0, -math.sin(tip), math.cos(tip))).overridden


def test_names_of_rules_and_parts_are_checked(parts: Parts) -> None:
    with pytest.raises(InputError, match="no such rule to override"):
        on_front(parts, "V-40", hollow(2.0), allow=("everything",))
    with pytest.raises(InputError, match="no row has this part number"):
        on_front(parts, "V-41", hollow(2.0))


def test_mates_constrain_the_vent_to_a_wall(parts: Parts) -> None:
    wall = cq.Workplane("XZ").box(300, 300, 2)  # its outer face looks along -y
    whole = cq.Assembly(name="whole").add(wall, name="wall", loc=cq.Location(cq.Vector(5, 7, 9)))
    whole.add(parts.assembly("V-N20", name="V"))
    whole.constrain("wall", "Fixed")
    whole.constrain("V/vent?panel_face", "wall@faces@<Y", "Plane")
    whole.constrain("V/vent?top", "FixedAxis", (0, 0, 1))
    whole.solve()
    vent = whole.objects["V/vent"]
    place = whole.children[1].loc * vent.loc if vent.loc != whole.children[1].loc else vent.loc
    box = vent.shapes[0].moved(place).BoundingBox()
    assert box.ymin < 7.0 - 1.0 - 20.0
    assert box.ymax == pytest.approx(7.0 - 1.0 + 11.0, abs=1e-2)
    assert {t for t in TAGS if t in vent.obj.ctx.tags} == set(TAGS)

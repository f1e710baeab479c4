"""Screws, nuts and washers against published tables, by hand, and against the kernel."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

import vent_family
from vent_family.base.problems import InputError
from vent_family.enclosure.cutter import piece_of_wall
from vent_family.enclosure.fasteners import fan_of, fasteners_of, screw_set
from vent_family.enclosure.hardware import HARDWARE, nut, screw, washer
from vent_family.enclosure.members import FittedBody

ISO_4032 = {
    "M3": (5.5, 6.01, 2.4),
    "M4": (7, 7.66, 3.2),
    "M5": (8, 8.79, 4.7),
    "M6": (10, 11.05, 5.2),
}
"""Flats, corners (least), height: a supplier's table of the standard, read."""
ISO_7089 = {"M3": (3.2, 7, 0.5), "M4": (4.3, 9, 0.8), "M5": (5.3, 10, 1), "M6": (6.4, 12, 1.6)}
"""Hole, outside, height: a supplier's table of the standard, read."""
ISO_7045 = {"M3": (5.6, 2.4), "M4": (8, 3.1), "M5": (9.5, 3.7), "M6": (12, 4.6)}
"""Head's diameter and height: a supplier's table of the standard, read."""
ISO_724 = {"M3": 2.675, "M4": 3.545, "M5": 4.480, "M6": 5.350}
"""Pitch diameters of coarse threads, from memory."""
HEAD = "part_number,family,size,status,panel_thickness_mm,screw,fan_mount,lip_thickness_mm\n"


@pytest.fixture(scope="module")
def parts() -> vent_family.Parts:
    return vent_family.Parts.from_text(
        HEAD
        + "V-40,rectangular,40x40,released,1.5,M4,,2\n"
        + "V-F,flanged,44x44,released,2,M3,40,\n"
        + "V-N20,round,M20x1.5,released,2,,,\n"
    )


def box(shape: cq.Shape) -> tuple[float, float, float, float]:
    found = shape.BoundingBox()
    return found.xlen, found.ylen, found.zmin, found.zmax


@pytest.mark.parametrize("thread", ["M3", "M4", "M5", "M6"])
def test_solids_have_the_sizes_of_the_standards(thread: str) -> None:
    flats, corners, high = ISO_4032[thread]
    pitch = ISO_724[thread]
    plain = nut(thread, locking=False)
    across, over_corners, low, top = box(plain)
    assert (across, low, top) == pytest.approx((flats, -high, 0.0), abs=1e-6)
    # The standard allows flats a little narrower, hence corners down to the least it states.
    assert corners <= over_corners <= flats * 2.0 / math.sqrt(3.0) + 1e-6
    hexagon = math.sqrt(3.0) / 2.0 * flats**2
    assert plain.Volume() == pytest.approx((hexagon - math.pi / 4 * pitch**2) * high, rel=1e-3)

    hole, outside, thick = ISO_7089[thread]
    assert box(washer(thread)) == pytest.approx((outside, outside, 0.0, thick), abs=1e-6)
    ring = math.pi / 4.0 * (outside**2 - hole**2) * thick
    assert washer(thread).Volume() == pytest.approx(ring, rel=1e-9)

    across, head = ISO_7045[thread]
    made = screw(thread, 20)
    assert box(made) == pytest.approx((across, across, -20.0, head), abs=1e-6)
    volume = math.pi / 4.0 * (across**2 * head + pitch**2 * 20.0)
    assert made.Volume() == pytest.approx(volume, rel=1e-3)


@pytest.mark.parametrize(
    ("wall", "locking", "length"),
    [
        # Cover 2.0, washers 2 x 0.8, nut 6.0 or 3.2, two pitches 1.4, all by hand.
        (1.5, True, 14),  # 12.5
        (1.5, False, 10),  # 9.7
        (3.0, True, 14),  # 14.0
        (3.1, True, 16),  # 14.1
        (6.0, True, 20),  # 17.0
        (12.0, True, 25),  # 23.0
    ],
)
def test_the_screw_is_the_shortest_one_sold_that_reaches(
    parts: vent_family.Parts, wall: float, locking: bool, length: int
) -> None:
    room = parts.installation("V-40")
    assert room.head_mm == 2.0
    chosen = screw_set("V-40", room, wall, locking=locking)
    assert chosen is not None
    standard = "ISO 7040" if locking else "ISO 4032"
    assert chosen.screw == f"ISO 7045 - M4 x {length} - A2-70"
    assert chosen.nut == f"{standard} - M4 - A2-70"


def test_every_wall_that_a_vent_takes_finds_its_screw(parts: vent_family.Parts) -> None:
    room = parts.installation("V-40")
    for thread in HARDWARE:
        screws = [s.model_copy(update={"screw": thread}) for s in room.screws]
        asked = room.model_copy(update={"screws": screws, "head_mm": 4.0})
        assert screw_set("V", asked, room.panel_most_mm) is not None


def test_a_wall_too_thick_for_any_screw_is_refused_with_what_would_do(
    parts: vent_family.Parts,
) -> None:
    room = parts.installation("V-40")
    # 40 less 2.0, 1.6, 6.0 and 1.4.
    with pytest.raises(InputError, match=r"value '30'.*29\.0 mm or less with M4"):
        screw_set("V-40", room, 30.0)
    assert screw_set("V-40", room, 29.0) is not None


def touching(bodies: tuple[FittedBody, ...], others: list[tuple[str, cq.Shape]]) -> list[str]:
    """Return which bodies share room with one another or with others."""
    found = []
    placed = [(b.name, b.shape.moved(b.location)) for b in bodies]
    for i, (name, shape) in enumerate(placed):
        for other, beside in [*others, *placed[:i]]:
            if shape.BoundingBox().isInside(beside.BoundingBox()) or near(shape, beside):
                volume = shape.intersect(beside).Volume()
                if volume > 1e-6:
                    found.append(f"{name} in {other}: {volume:.3g} mm3")
    return found


def near(one: cq.Shape, other: cq.Shape) -> bool:
    a, b = one.BoundingBox(), other.BoundingBox()
    return all(
        getattr(a, f"{axis}min") <= getattr(b, f"{axis}max")
        and getattr(b, f"{axis}min") <= getattr(a, f"{axis}max")
        for axis in "xyz"
    )


def test_nothing_shares_room_with_vent_wall_or_gasket(parts: vent_family.Parts) -> None:
    """A flanged vent with a gasket and a fan, in the wall it was laid out for."""
    room = parts.installation("V-F")
    assert room.gasket is not None
    assert room.fan is not None
    wall = parts.panel_mm("V-F")
    bodies = (*fasteners_of("V-F", room, wall), *fan_of("V-F", room))
    assert len(bodies) == 4 * len(room.screws) + 5
    others = [(m.name, m.shape.moved(m.location)) for m in parts.members("V-F")]
    others.append(("wall", piece_of_wall(room, wall)))
    assert touching(bodies, others) == []
    # The same a tenth of a millimetre too deep is noticed.
    sunk = tuple(
        FittedBody(
            b.name, b.shape, cq.Location(cq.Vector(0, 0, -0.1)) * b.location, b.colour, b.data
        )
        for b in bodies[:1]
    )
    assert touching(sunk, others) != []


def test_washers_lie_with_all_of_their_face_on_cover_and_wall(parts: vent_family.Parts) -> None:
    room = parts.installation("V-F")
    wall = 2.0
    vent = parts.vent("V-F")
    behind = piece_of_wall(room, wall)
    for body in fasteners_of("V-F", room, wall):
        if not body.name.startswith("washer"):
            continue
        inwards = -0.1 if "outside" in body.name else 0.1
        shifted = body.shape.moved(body.location).moved(cq.Location(cq.Vector(0, 0, inwards)))
        held = shifted.intersect(vent if "outside" in body.name else behind)
        hole, outside, _ = ISO_7089["M3"]
        # Coarser than the washer's own is the hole of the screw, 3.4 mm (ISO 273, medium).
        face = math.pi / 4.0 * (outside**2 - max(hole, room.screws[0].hole_mm) ** 2)
        assert held.Volume() == pytest.approx(0.1 * face, rel=1e-3)


def test_bodies_of_one_designation_are_one_solid_and_say_what_they_are(
    parts: vent_family.Parts,
) -> None:
    bodies = fasteners_of("V-40", parts.installation("V-40"), 1.5)
    by_number: dict[str, list[FittedBody]] = {}
    for body in bodies:
        by_number.setdefault(body.data.part_number, []).append(body)
    assert {number: len(found) for number, found in by_number.items()} == {
        "ISO 7045 - M4 x 14 - A2-70": 2,
        "ISO 7089 - 4 - 200 HV - A2": 4,
        "ISO 7040 - M4 - A2-70": 2,
    }
    for found in by_number.values():
        assert len({id(b.shape) for b in found}) == 1
    told = by_number["ISO 7045 - M4 x 14 - A2-70"][0].data.metadata()
    assert told["attributes"] == {
        "standard": "ISO 7045",
        "belongs_to": "V-40",
        "tightened_to_n_m": 0.8,
    }
    assert (told["material"], told["density_g_cm3"]) == ("A2", 7.9)


def test_screws_of_a_fan_end_above_the_ground_of_their_bores(parts: vent_family.Parts) -> None:
    room = parts.installation("V-F")
    fan, *screws = fan_of("V-F", room, name="hall-40")
    assert fan.data.part_number == "hall-40"
    assert "density_g_cm3" not in fan.data.metadata()
    assert room.fan is not None
    for body in screws:
        reach = body.shape.moved(body.location).BoundingBox().zmax - room.fan.plane_z_mm
        # Bores of twice the diameter, 6 mm.
        assert 3.0 <= reach <= 5.5 + 1e-6
    places = {(round(b.location.toTuple()[0][0], 3)) for b in screws}
    assert places == {-16.0, 16.0}


def test_a_nut_that_runs_into_the_fans_frame_is_refused(parts: vent_family.Parts) -> None:
    room = parts.installation("V-F")
    assert room.fan is not None
    # The outermost screws stand right beside a frame that is as wide as their distance.
    wide = 2.0 * max(abs(s.x_mm) for s in room.screws)
    for frame_mm, plane_mm, fits in ((wide, -4.0, False), (wide, -30.0, True), (20.0, -4.0, True)):
        fan = room.fan.model_copy(update={"frame_mm": frame_mm, "plane_z_mm": plane_mm})
        asked = room.model_copy(update={"fan": fan})
        if fits:
            assert fasteners_of("V-F", asked, 2.0)
        else:
            with pytest.raises(InputError, match="no room beside the fan's frame"):
                fasteners_of("V-F", asked, 2.0)


def test_a_vent_held_by_a_locknut_has_none(parts: vent_family.Parts) -> None:
    room = parts.installation("V-N20")
    assert fasteners_of("V-N20", room, 2.0) == ()
    assert fan_of("V-N20", room) == ()

"""A cabinet's cooling by its placed vents: sides, heights, fans, warnings; live and restored."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import cadquery as cq
import pytest

import vent_family
from tests.helpers.air_vents import parabola
from vent_family.base.problems import InputError
from vent_family.enclosure.cabinet import Enclosure, EnclosureCooling, enclosure_of
from vent_family.enclosure.siting import PlacedVent, siting_warnings
from vent_family.evidence.air.airway import AirPath
from vent_family.evidence.air.answer import answer
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.question import question_of
from vent_family.evidence.air.stated import PathRecord, path_record, stated_air

CABINET = Cabinet(heat_w=12.0, ambient_c=25.0, limit_c=50.0)
FRONT, BACK = (0.0, -1.0, 0.0), (0.0, 1.0, 0.0)
HEAD = "part_number,family,size,status,fan_mount\n"


class Restored(vent_family.Parts):
    """Parts whose air comes from the text of a record."""

    def airway(self, part_number: str) -> AirPath:  # type: ignore[override]
        live = super().airway(part_number)
        text = path_record(live).model_dump_json()
        return stated_air(part_number, live.opening_mm2, PathRecord.model_validate_json(text))


@pytest.fixture(scope="module")
def parts() -> vent_family.Parts:
    return vent_family.Parts.from_text(
        HEAD
        + "V-80,rectangular,80x60,released,\n"
        + "V-60,rectangular,60x60,released,\n"
        + "V-F,flanged,92x92,released,92\n"
        + "V-G,flanged,120x120,released,120\n"
    )


def at(part: str, z_mm: float, air: Any, **further: Any) -> PlacedVent:
    told = {"origin_mm": (0.0, -150.0, z_mm), "outward": FRONT, **further}
    return PlacedVent(part, air=air, **told)


def behind(part: str, z_mm: float, air: Any, **further: Any) -> PlacedVent:
    told = {"origin_mm": (0.0, 150.0, z_mm), "outward": BACK, **further}
    return at(part, z_mm, air, **told)


def cooled(parts: vent_family.Parts, *placed: PlacedVent, **asked: Any) -> EnclosureCooling:
    further = {name: asked.pop(name) for name in ("up", "sun") if name in asked}
    cabinet = asked.pop("cabinet", CABINET)
    return Enclosure(parts, placed, **further).cooling(cabinet, **asked)


def test_a_draught_by_true_heights_is_that_of_the_plain_question(parts: vent_family.Parts) -> None:
    found = cooled(parts, at("V-80", 120.0, "in"), behind("V-60", 1020.0, "out"))
    asked = question_of(
        parts.spec("V-80"), CABINET, outlet=parts.spec("V-60"), draught_height_m=0.9
    )
    plain = answer(asked)
    assert found.question.draught_height_m == pytest.approx(0.9)
    assert found.predicted.outcome == plain.predicted.outcome
    assert found.predicted.cooling is not None
    assert plain.predicted.cooling is not None
    wanted = plain.predicted.cooling
    assert found.predicted.cooling.inside_c == pytest.approx(wanted.inside_c, abs=0.01)
    assert [one.air for one in found.passed] == ["in", "out"]
    assert found.passed[0].flow_m3_h == pytest.approx(3600.0 * wanted.flow_m3_s, rel=1e-3)
    # Warm air takes more room.
    warm = (273.15 + wanted.inside_c) / (273.15 + 25.0)
    assert found.passed[1].flow_m3_h == pytest.approx(warm * found.passed[0].flow_m3_h, rel=1e-4)
    assert plain.clogged is not None
    assert found.half_clogged is not None
    clogged = plain.clogged.predicted.cooling
    assert clogged is not None
    assert found.half_clogged.cooling is not None
    assert found.half_clogged.cooling.inside_c == pytest.approx(clogged.inside_c, abs=0.01)
    assert found.warnings == ()


def test_up_is_gravity(parts: vent_family.Parts) -> None:
    """The same cabinet lying on its back: heights are those along up."""
    low = PlacedVent("V-80", (0.0, 100.0, -20.0), (0.0, 0.0, -1.0), "in")
    high = PlacedVent("V-60", (0.0, 900.0, 20.0), (0.0, 0.0, 1.0), "out")
    found = cooled(parts, low, high, up=(0.0, 2.0, 0.0))
    assert found.question.draught_height_m == pytest.approx(0.8)
    assert cooled(parts, low, high).question.draught_height_m == pytest.approx(0.04)


def test_live_and_restored_agree(parts: vent_family.Parts) -> None:
    restored = Restored(parts._file)
    placed = (
        at("V-80", 100.0, "in"),
        at("V-60", 300.0, "in", origin_mm=(200.0, -150.0, 300.0)),
        behind("V-60", 900.0, "out"),
        behind("V-80", 1200.0, "out"),
    )
    for fan, heat in ((None, 20.0), (parabola(20.0, 0.01), 60.0)):
        cabinet = replace(CABINET, heat_w=heat, wall_w_k=1.0, altitude_m=700.0)
        one, two = (cooled(v, *placed, cabinet=cabinet, fan=fan) for v in (parts, restored))
        assert one.predicted.cooling is not None
        assert two.predicted.cooling is not None
        assert two.predicted.cooling.flow_m3_s == pytest.approx(
            one.predicted.cooling.flow_m3_s, rel=1e-3
        )
        assert two.predicted.outcome == one.predicted.outcome
        assert one.predicted.inside_c is not None
        assert two.predicted.inside_c is not None
        assert two.predicted.inside_c.high == pytest.approx(one.predicted.inside_c.high, abs=0.05)
        for mine, other in zip(one.passed, two.passed, strict=True):
            assert other.flow_m3_h == pytest.approx(mine.flow_m3_h, rel=2e-3)


def test_a_fan_stands_behind_the_vent_that_holds_one(parts: vent_family.Parts) -> None:
    """A plain inlet beside it is blown through the other way, and told."""
    fan = parabola(50.0, 0.03)
    placed = (
        at("V-F", 100.0, "in", name="fan"),
        at("V-80", 100.0, "in", name="stray", origin_mm=(300.0, -150.0, 100.0)),
        behind("V-80", 900.0, "out", name="exit"),
    )
    found = cooled(parts, *placed, fan=fan)
    assert {one.name: one.air for one in found.passed} == {
        "fan": "in",
        "stray": "out",
        "exit": "out",
    }
    flows = {one.name: one.flow_m3_h for one in found.passed}
    assert flows["stray"] == pytest.approx(flows["exit"])
    assert any(w.startswith("stray has no fan") for w in found.warnings)
    # As two equal outlets behind one inlet.
    asked = question_of(parts.spec("V-F"), CABINET, outlet=parts.spec("V-80"), outlets=2, fan=fan)
    wanted = answer(asked).predicted.cooling
    assert wanted is not None
    assert found.predicted.cooling is not None
    assert found.predicted.cooling.flow_m3_s == pytest.approx(wanted.flow_m3_s, rel=1e-3)


def test_two_vents_with_fans_move_twice_the_air_through_two_of_them(
    parts: vent_family.Parts,
) -> None:
    fan = parabola(50.0, 0.03)
    one = cooled(parts, at("V-F", 0.0, "in"), behind("V-80", 900.0, "out"), fan=fan)
    both = cooled(
        parts,
        *(at("V-F", 0.0, "in", origin_mm=(x, -150.0, 0.0)) for x in (0.0, 300.0)),
        *(behind("V-80", 900.0, "out", origin_mm=(x, 150.0, 900.0)) for x in (0.0, 300.0)),
        fan=fan,
        cabinet=replace(CABINET, heat_w=24.0),
    )
    assert one.predicted.cooling is not None
    assert both.predicted.cooling is not None
    assert both.predicted.cooling.flow_m3_s == pytest.approx(
        2.0 * one.predicted.cooling.flow_m3_s, rel=1e-3
    )
    assert [p.name for p in both.passed] == ["V-F", "V-F (2)", "V-80", "V-80 (2)"]


def test_fans_of_several_kinds_and_fans_that_do_not_fit_are_refused(
    parts: vent_family.Parts,
) -> None:
    out = behind("V-80", 900.0, "out")
    with pytest.raises(InputError, match="several kinds hold a fan"):
        cooled(parts, at("V-F", 0.0, "in"), at("V-G", 0.0, "in"), out, fan=parabola())
    large = replace(parabola(), frame_mm=120.0)
    with pytest.raises(InputError, match="holds a fan of 92 mm"):
        cooled(parts, at("V-F", 0.0, "in"), out, fan=large)
    with pytest.raises(InputError, match="place is unknown"):
        cooled(parts, at("V-F", 0.0, "in"), out, fan=parabola(), place="roof")


def test_inlets_above_outlets_breathe_the_other_way(parts: vent_family.Parts) -> None:
    upright = cooled(parts, at("V-80", 100.0, "in"), behind("V-60", 900.0, "out"))
    turned = cooled(parts, at("V-80", 100.0, "out"), behind("V-60", 900.0, "in"))
    assert upright.predicted.cooling is not None
    assert turned.predicted.cooling is not None
    assert turned.predicted.cooling.rise_k == pytest.approx(upright.predicted.cooling.rise_k)
    assert [one.air for one in turned.passed] == ["in", "out"]
    assert any("sits 0.80 m above outlet V-80" in w for w in turned.warnings)
    assert any("count as outlets" in w for w in turned.warnings)


def test_an_inlet_too_high_is_told_to_let_air_out(parts: vent_family.Parts) -> None:
    found = cooled(
        parts,
        at("V-80", 0.0, "in", name="low"),
        at("V-80", 1900.0, "in", name="high", origin_mm=(300.0, 0.0, 1900.0)),
        behind("V-60", 1000.0, "out", name="exit"),
    )
    assert {one.name: one.air for one in found.passed}["high"] == "out"
    assert any(w.startswith("through high the draught goes the other way") for w in found.warnings)


def test_one_side_alone_moves_no_air(parts: vent_family.Parts) -> None:
    for fan in (None, parabola()):
        found = cooled(parts, at("V-80", 0.0, "in"), at("V-60", 900.0, "in"), fan=fan)
        assert found.predicted.outcome == "fails"
        assert found.passed == ()
        assert "all vents are to draw air in: nothing lets it out" in found.warnings
    level = cooled(parts, at("V-80", 500.0, "in"), behind("V-60", 500.0, "out"))
    assert level.predicted.failure == "inlets and outlets are at one height, so no draught rises"
    # What walls pass is counted all the same: 12 W by 2 W/K.
    walled = cooled(parts, at("V-80", 0.0, "in"), cabinet=replace(CABINET, wall_w_k=2.0))
    assert walled.predicted.cooling is not None
    assert walled.predicted.cooling.rise_k == pytest.approx(6.0)


def words(*placed: PlacedVent, sun: Any = None) -> list[str]:
    return siting_warnings(placed, (0.0, 0.0, 1.0), sun)


def test_what_works_against_the_cooling_is_told() -> None:
    low = at("V-80", 100.0, "in", name="low")
    assert words(low, behind("V-60", 900.0, "out")) == []
    (beside,) = words(low, at("V-60", 350.0, "out", name="top"))
    assert beside.startswith("inlet low and outlet top are on one face, 0.25 m from middle")
    # The same way, but on another plane: a step in the cabinet's front.
    assert words(low, at("V-60", 350.0, "out", origin_mm=(0.0, -100.0, 350.0))) == []
    (above,) = words(at("V-80", 900.0, "in", name="a"), behind("V-60", 100.0, "out", name="b"))
    assert above.startswith("inlet a sits 0.80 m above outlet b")
    # Across a gap between two cabinets.
    opposite = at("V-60", 120.0, "out", name="other", origin_mm=(0.0, -450.0, 120.0), outward=BACK)
    (facing,) = words(low, opposite)
    assert facing.startswith("low and other face each other, 0.30 m apart")
    # Behind each other's back they do not.
    assert words(low, behind("V-60", 120.0, "out")) == []
    (sunny,) = words(low, behind("V-60", 900.0, "out"), sun=(0.0, -1.0, 1.0))
    assert sunny.startswith("inlet low faces the sun")
    assert words(low, behind("V-60", 900.0, "out"), sun=(0.0, 1.0, 1.0)) == []
    (nothing,) = words(behind("V-60", 900.0, "out"))
    assert nothing == "all vents are to let air out: nothing draws it in"


def test_vents_are_found_where_they_stand_in_an_assembly(parts: vent_family.Parts) -> None:
    """In a sub-assembly that is turned and moved: places add up, from the inside out."""
    door = cq.Assembly(name="door", loc=cq.Location(cq.Vector(0, 0, 1000)))
    outwards = cq.Location(cq.Plane(origin=(10, -5, 30), xDir=(1, 0, 0), normal=(0, -1, 0)))
    for name, place in (("high", outwards), ("low", cq.Location(cq.Vector(0, 0, -900)) * outwards)):
        vent = cq.Assembly(name=name, loc=place)
        vent.add(cq.Solid.makeBox(1, 1, 1), name="vent", metadata={"part_number": "V-80"})
        door.add(vent)
    whole = cq.Assembly(name="cabinet").add(door)
    air: dict[str, Any] = {"door/low": "in", "door/high": "out"}
    found = enclosure_of(whole, parts, air)
    assert [v.part_number for v in found.placed] == ["V-80", "V-80"]
    assert found.placed[1].origin_mm == pytest.approx((10.0, -5.0, 1030.0))
    assert found.placed[1].outward == pytest.approx(FRONT)
    cooling = found.cooling(CABINET)
    assert cooling.question.draught_height_m == pytest.approx(0.9)
    assert cooling.warnings[0].startswith("inlet door/low and outlet door/high are on one face")
    assert found.bill()["quantity"].tolist() == [2]
    whole.metadata["up"] = (0.0, 0.0, -1.0)
    assert any(
        "through" in w or "above" in w
        for w in enclosure_of(whole, parts, air).cooling(CABINET).warnings
    )
    with pytest.raises(InputError, match=r"value 'lid'.*Allowed: door/high, door/low"):
        enclosure_of(whole, parts, {"lid": "in"})


def test_up_is_what_the_vents_were_fitted_by(parts: vent_family.Parts) -> None:
    """A door drawn lying, y up, and hung into a cabinet with z up: heights are along z."""
    vent_family.register(parts, up=(0, 1, 0))
    try:
        leaf = cq.Workplane().box(300, 600, 2.0, centered=(True, False, False))
        door = cq.Assembly(name="door").add(leaf, name="leaf")
        door.fitVent("V-60", "leaf", (0, 100, 2), name="low", detail="envelope")
        door.fitVent("V-60", "leaf", (0, 500, 2), name="high", detail="envelope")
        assert door.objects["low"].metadata["up"] == (0.0, 1.0, 0.0)
        alone = enclosure_of(door, parts, {"low": "in", "high": "out"}).cooling(CABINET)
        hung = cq.Location(cq.Vector(5, 6, 7), cq.Vector(1, 0, 0), 90.0)
        whole = cq.Assembly(name="cabinet").add(door, loc=hung)
        found = enclosure_of(whole, parts, {"door/low": "in", "door/high": "out"})
        assert found.up == pytest.approx((0.0, 0.0, 1.0))
        for cooling in (alone, found.cooling(CABINET)):
            assert cooling.question.draught_height_m == pytest.approx(0.4)
            assert not any("above" in sentence for sentence in cooling.warnings)
        door.objects["low"].metadata["up"] = (1.0, 0.0, 0.0)
        with pytest.raises(InputError, match="different directions up"):
            enclosure_of(door, parts, {"low": "in", "high": "out"})
    finally:
        vent_family.register(parts)


def test_answers_as_plain_data_and_the_bill(parts: vent_family.Parts) -> None:
    placed = (at("V-80", 100.0, "in"), behind("V-60", 900.0, "out"))
    held = cq.Assembly(name="cabinet").add(cq.Solid.makeBox(1, 1, 1), name="block")
    enclosure = Enclosure(parts, placed, held)
    data = enclosure.cooling(CABINET).as_dict()
    assert data["driven_by"] == "draught"
    assert [one["air"] for one in data["vents"]] == ["in", "out"]
    assert data["caution"].startswith("Predicted values.")
    assert enclosure.bill()["name"].tolist() == ["block"]
    with pytest.raises(ValueError, match="no assembly"):
        Enclosure(parts, placed).bill()

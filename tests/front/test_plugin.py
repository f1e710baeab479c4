"""The CadQuery front end: placed vents, cut openings, fitted vents, assemblies."""

from __future__ import annotations

import math
import subprocess
import sys

import cadquery as cq
import pytest

import vent_family
from vent_family.base.problems import InputError
from vent_family.front.parts import Parts


@pytest.fixture(scope="module")
def parts() -> Parts:
    found = vent_family.register("catalog.csv")
    assert isinstance(found, Parts)
    return found


def front() -> cq.Workplane:
    """Return a workplane on a standing wall, 2 mm thick, which looks along -y."""
    return cq.Workplane("XZ").box(300, 200, 2.0).faces("<Y").workplane(centerOption="CenterOfMass")


def cabinet() -> cq.Workplane:
    return cq.Workplane().box(400, 250, 500).faces("<Z").shell(-2.0)


def test_nothing_is_patched_on_import() -> None:
    code = (
        "import cadquery, vent_family, vent_family.front.plugin;"
        "assert not hasattr(cadquery.Workplane, 'placeVent');"
        "assert not hasattr(cadquery.Assembly, 'fitVent')"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_import_alone_does_not_load_the_kernel() -> None:
    code = "import sys, vent_family; assert 'cadquery' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)


def test_registering_twice_changes_nothing(parts: Parts) -> None:
    first = cq.Workplane.placeVent
    again = vent_family.register("catalog.csv")
    assert cq.Workplane.placeVent is first
    assert again.part_numbers == parts.part_numbers
    vent_family.register(parts)


def test_a_bad_up_registers_nothing(parts: Parts) -> None:
    with pytest.raises(InputError, match="gives no direction"):
        vent_family.register(parts, up=(0, 0, 0))
    top_mm = 40.0 / 2.0 + 4.0  # half the opening, and the lip
    assert front().placeVent("HV-R040").val().BoundingBox().zmax == pytest.approx(top_mm)


def test_vent_sits_on_the_selected_face_top_up(parts: Parts) -> None:
    placed = front().placeVent("HV-R040").val().BoundingBox()
    drawn = parts.vent("HV-R040").BoundingBox()
    assert placed.ymin == pytest.approx(-1.0 - drawn.zmax)
    assert (placed.zmin, placed.zmax) == pytest.approx((drawn.ymin, drawn.ymax))


def test_the_workplane_may_be_turned_and_top_stays_up(parts: Parts) -> None:
    upright = front().placeVent("HV-R080").val()
    turned = front().transformed(rotate=(0, 0, 90)).placeVent("HV-R080").val()
    assert turned.intersect(upright).Volume() == pytest.approx(upright.Volume(), rel=1e-6)


def test_a_y_up_cabinet_has_top_along_y(parts: Parts) -> None:
    drawn = parts.vent("HV-R080").BoundingBox()
    for selector in ("<X", ">X", "<Z", ">Z"):
        side = cq.Workplane().box(300, 300, 300).faces(selector).workplane()
        box = side.placeVent("HV-R080", up=(0, 1, 0)).val().BoundingBox()
        assert (box.ymin, box.ymax) == pytest.approx((drawn.ymin, drawn.ymax)), selector


def test_many_points_give_many_parts(parts: Parts) -> None:
    placed = front().pushPoints([(-80, 0), (0, 0), (80, 0)]).placeVent("HV-R040")
    middles = sorted(round(v.Center().x, 3) for v in placed.solids().vals())
    assert middles[2] - middles[1] == pytest.approx(80.0)
    assert len(middles) == 3


def test_cut_opening_has_the_stated_area(parts: Parts) -> None:
    for number in ("HV-R040", "HV-R080", "HV-N32", "HV-F092"):
        opening = parts.spec(number).opening
        area = opening.area_mm2
        if opening.notch_mm:
            area += opening.notch_mm[0] * opening.notch_mm[1]
        area += sum(math.pi * h.diameter_mm**2 / 4 for h in opening.holes)
        cut = front().cutVentOpening(number)
        lost = 300 * 200 * 2.0 - cut.val().Volume()
        assert lost == pytest.approx(2.0 * area, rel=1e-6)
        assert cut.solids().size() == 1


def test_a_wall_too_thick_is_refused_and_never_half_cut(parts: Parts) -> None:
    thick = cq.Workplane("XZ").box(300, 200, 5.0).faces("<Y").workplane()
    with pytest.raises(InputError, match=r"wall of this thickness \(value '5'\)"):
        thick.cutVentOpening("HV-N32")
    # So deep and no deeper, when somebody says so.
    pocket = thick.cutVentOpening("HV-N32", 1.0).val()
    area = parts.spec("HV-N32").opening.area_mm2
    assert 300 * 200 * 5.0 - pocket.Volume() == pytest.approx(area, rel=1e-6)
    for depth in (0.0, -1.0, math.nan):
        with pytest.raises(ValueError, match="a depth above zero is needed"):
            thick.cutVentOpening("HV-N32", depth)


def test_a_panel_drawn_lying_wants_to_be_told_which_way_is_up(parts: Parts) -> None:
    lying = cq.Workplane().box(300, 200, 2.0).faces(">Z").workplane()
    with pytest.raises(InputError, match="it is a roof"):
        lying.cutVentOpening("HV-R080")
    panel = lying.cutVentOpening("HV-R080", up=(0, 1, 0)).val()
    vent = lying.placeVent("HV-R080", up=(0, 1, 0)).val()
    assert panel.intersect(vent).Volume() == pytest.approx(0.0, abs=1e-6)


def test_upside_down_the_key_does_not_fit(parts: Parts) -> None:
    panel = front().cutVentOpening("HV-R080").val()
    assert panel.intersect(front().placeVent("HV-R080").val()).Volume() < 1e-6
    upside_down = front().placeVent("HV-R080", top=(0, 0, -1)).val()
    assert panel.intersect(upside_down).Volume() > 5.0


def test_one_call_cuts_places_seals_and_fastens(parts: Parts) -> None:
    held = cabinet().faces("<Y").workplane(centerOption="CenterOfMass").fitVent("HV-N20")
    assert [c.name for c in held.children] == ["wall", "HV_N20"]
    body = (
        held.children[0].obj.val()
        if isinstance(held.children[0].obj, cq.Workplane)
        else (held.children[0].obj)
    )
    hole = parts.spec("HV-N20").opening.area_mm2
    assert cabinet().val().Volume() - body.Volume() == pytest.approx(2.0 * hole, rel=1e-6)
    vent = held.children[1]
    assert vent.metadata["attributes"]["lean_deg"] == 0.0
    assert vent.children[0].metadata["material"] == parts.spec("HV-N20").material.name


def test_into_an_assembly_node_by_node(parts: Parts) -> None:
    whole = cq.Assembly(name="pump_cabinet", metadata={"up": (0, 1, 0)})
    # Drawn lying, y up in use, and moved within the assembly.
    body = cq.Workplane().box(400, 500, 250).faces("<Y").shell(-2.0)
    whole.add(body, name="body", loc=cq.Location(cq.Vector(10, 20, 30)))
    before = body.val().Volume()
    whole.fitVent("HV-N20", "body", (10, 20, 30 + 125)).fitVent(
        "HV-N20", "body", (110, 20, 30 + 125)
    )
    assert [c.name for c in whole.children] == ["body", "HV_N20", "HV_N20_2"]
    hole = parts.spec("HV-N20").opening.area_mm2
    left = whole.objects["body"].shapes[0].Volume()
    assert before - left == pytest.approx(4.0 * hole, rel=1e-6)
    solids = [shape.moved(node.loc) for node in (whole.objects["body"],) for shape in node.shapes]
    vents = [c.shapes[0].moved(sub.loc * c.loc) for sub in whole.children[1:] for c in sub.children]
    for one in vents:
        assert solids[0].intersect(one).Volume() < 1e-3
    drawn = parts.vent("HV-N20").BoundingBox()
    assert vents[0].BoundingBox().ymax == pytest.approx(20.0 + drawn.ymax)
    with pytest.raises(InputError, match="no body of this name"):
        whole.fitVent("HV-N20", "door", (0, 0, 0))
    with pytest.raises(InputError, match="taken by HV_N20/vent"):
        whole.fitVent("HV-N20", "body", (40, 20, 30 + 125))
    assert len(whole.children) == 3


def test_assembly_holds_vent_gasket_and_locknut(parts: Parts) -> None:
    made = vent_family.assembly("HV-N25")
    assert [c.name for c in made.children] == ["vent", "gasket", "locknut"]
    assert made.name == "HV_N25"
    told = [c.metadata["part_number"] for c in made.children]
    assert told == ["HV-N25", "HV-N25-gasket", "HV-N25-locknut"]
    with_panel = vent_family.assembly("HV-N25", panel=True, panel_mm=1.2)
    assert "panel" in [c.name for c in with_panel.children]
    nut = with_panel.objects["locknut"]
    box = nut.shapes[0].moved(nut.loc).BoundingBox()
    assert box.zmax == pytest.approx(-1.2)
    with pytest.raises(InputError, match=r"0\.5 to 2\.5 mm"):
        vent_family.assembly("HV-N25", panel_mm=4.0)


def test_unknown_and_bad_parts_raise_with_the_reason(parts: Parts) -> None:
    with pytest.raises(InputError, match="no row has this part number"):
        parts.vent("HV-XX")
    with pytest.raises(ValueError, match="a depth above zero is needed"):
        parts.opening("HV-R040", -1.0)
    with pytest.raises(ValueError, match="detail is 'rough'"):
        parts.vent("HV-R040", detail="rough")  # type: ignore[arg-type]

"""The CadQuery front end: placed vents, cut openings, assemblies."""

from __future__ import annotations

import subprocess
import sys

import cadquery as cq
import pytest

import vent_family
from vent_family.base.problems import InputError
from vent_family.front.parts import Parts


@pytest.fixture(scope="module")
def parts() -> Parts:
    return vent_family.register("catalog.csv")


def wall() -> cq.Workplane:
    return cq.Workplane("XY").box(300, 200, 2.0, centered=(True, True, False))


def test_nothing_is_patched_on_import() -> None:
    code = (
        "import cadquery, vent_family, vent_family.front.plugin;"
        "assert not hasattr(cadquery.Workplane, 'placeVent')"
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


def test_vent_sits_on_the_selected_face_top_up(parts: Parts) -> None:
    placed = wall().faces(">Z").workplane().placeVent("HV-R040")
    box = placed.val().BoundingBox()
    expected = parts.vent("HV-R040").BoundingBox()
    assert box.zmax == pytest.approx(2.0 + expected.zmax)
    assert box.ymax == pytest.approx(expected.ymax)


def test_on_a_side_wall_outwards_is_the_face_normal(parts: Parts) -> None:
    box = cq.Workplane("XY").box(200, 100, 300)
    placed = box.faces("<Y").workplane().placeVent("HV-R040").val()
    expected = parts.vent("HV-R040").BoundingBox()
    assert placed.BoundingBox().ymin == pytest.approx(-50.0 - expected.zmax)
    # The workplane's y on a side wall is the world's up, so TOP is up.
    assert placed.BoundingBox().zmax == pytest.approx(expected.ymax)


def test_many_points_give_many_parts(parts: Parts) -> None:
    plane = wall().faces(">Z").workplane().pushPoints([(-80, 0), (0, 0), (80, 0)])
    assert len(plane.placeVent("HV-R040").solids().vals()) == 3


def test_cut_opening_has_the_stated_area(parts: Parts) -> None:
    for number in ("HV-R040", "HV-R080", "HV-N32", "HV-F092"):
        opening = parts.spec(number).opening
        area = opening.area_mm2
        if opening.notch_mm:
            area += opening.notch_mm[0] * opening.notch_mm[1]
        area += sum(3.141592653589793 * h.diameter_mm**2 / 4 for h in opening.holes)
        cut = wall().faces(">Z").workplane().cutVentOpening(number)
        lost = 300 * 200 * 2.0 - cut.val().Volume()
        assert lost == pytest.approx(2.0 * area, rel=1e-6)
        assert cut.solids().size() == 1


def test_placed_vent_fits_the_opening_it_cut(parts: Parts) -> None:
    for number in ("HV-R080", "HV-F092", "HV-N25"):
        panel = wall().faces(">Z").workplane().cutVentOpening(number).val()
        vent = wall().faces(">Z").workplane().placeVent(number).val()
        assert panel.intersect(vent).Volume() == pytest.approx(0.0, abs=1e-6)


def test_upside_down_the_key_does_not_fit(parts: Parts) -> None:
    panel = wall().faces(">Z").workplane().cutVentOpening("HV-R080").val()
    plane = wall().faces(">Z").workplane().transformed(rotate=(0, 0, 180))
    assert panel.intersect(plane.placeVent("HV-R080").val()).Volume() > 5.0


def test_assembly_holds_vent_gasket_and_locknut(parts: Parts) -> None:
    made = vent_family.assembly("HV-N25")
    assert [c.name for c in made.children] == ["vent", "gasket", "locknut"]
    assert made.name == "HV_N25"
    told = [c.metadata["part_number"] for c in made.children]
    assert told == ["HV-N25", "HV-N25-gasket", "HV-N25-locknut"]
    with_panel = vent_family.assembly("HV-N25", panel=True)
    assert "panel" in [c.name for c in with_panel.children]
    nut = made.objects["locknut"]
    box = nut.shapes[0].moved(nut.loc).BoundingBox()
    assert box.zmax == pytest.approx(-parts.spec("HV-N25").panel_thickness_mm)


def test_unknown_and_bad_parts_raise_with_the_reason(parts: Parts) -> None:
    with pytest.raises(InputError, match="no row has this part number"):
        parts.vent("HV-XX")
    with pytest.raises(ValueError, match="a depth above zero is needed"):
        parts.opening("HV-R040", -1.0)

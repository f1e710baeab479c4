"""A part as it is shown, stage by stage."""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.meshes import section_at_x, trimesh_of
from tests.helpers.rows import spec
from vent_family.front.view.shown import ShownPart, Wanted
from vent_family.front.view.stages import stages
from vent_family.geometry.projection import cut_x_mm
from vent_family.spec.vent import VentSpec

SMALL = {"size": "30x30", "slat_form": "folded", "exposure": "dry"}


@pytest.fixture(scope="module")
def vent() -> VentSpec:
    return spec(part_number="A-30", **SMALL)


@pytest.fixture(scope="module")
def everything(vent: VentSpec) -> list[ShownPart]:
    return list(stages(vent, Wanted(section=True, assembly=True, evidence=True)))


def test_the_section_comes_first_and_evidence_last(everything: list[ShownPart]) -> None:
    assert [shown.stage for shown in everything] == ["section", "solid", "evidence"]
    assert everything[0].legend
    assert set(everything[0].legend) < set(everything[2].legend)
    assert all("Predicted" in shown.notes[0] for shown in everything)


def test_nothing_lies_before_the_cut(vent: VentSpec, everything: list[ShownPart]) -> None:
    x = cut_x_mm(vent.bays)
    for shown in everything:
        for body in shown.bodies:
            assert body.shape.BoundingBox().xmax <= x + 1e-6, body.name
        points = np.concatenate([line for curves in shown.curves for line in curves.lines])
        assert points[:, 0].max() <= x + 0.1


def test_faces_of_the_cut_stand_apart_and_have_the_solids_area(
    vent: VentSpec, everything: list[ShownPart]
) -> None:
    foretold, exact = (
        next(b.shape.Area() for b in shown.bodies if b.name == "A-30, cut")
        for shown in everything[:2]
    )
    assert foretold == pytest.approx(exact, rel=0.01)
    shown = {body.name: body for body in everything[1].bodies}
    assert {"A-30", "A-30, cut", "panel", "panel, cut"} <= set(shown)
    (solid,) = list(stages(vent, Wanted()))[1].bodies
    cut = section_at_x(trimesh_of(solid.shape), cut_x_mm(vent.bays))
    assert exact == pytest.approx(sum(area.area for area in cut), rel=1e-3)


def test_a_round_vent_is_shown_with_what_holds_it() -> None:
    row = spec("round", size="M20x1.5", slat_form="folded", exposure="dry", screen_mm=1.0)
    shown = list(stages(row, Wanted(assembly=True)))[-1]
    names = {body.name for body in shown.bodies}
    assert names == {"T1", "panel", "gasket", "locknut", "mesh", "screen-frame"}
    boxes = {body.name: body.shape.BoundingBox() for body in shown.bodies}
    assert boxes["locknut"].zmax == pytest.approx(-row.panel_thickness_mm, abs=1e-3)
    assert boxes["panel"].zmax == pytest.approx(0.0, abs=1e-6)
    assert all(body.opacity == 1.0 for body in shown.bodies)


def test_a_vent_with_a_fan_is_shown_with_fan_and_screws() -> None:
    row = spec("flanged", size="92x92", fan_mount="60", exposure="dry")
    shown = {body.name: body for body in list(stages(row, Wanted(assembly=True)))[-1].bodies}
    holes = len(row.opening.holes)
    assert {f"screw_{i}" for i in range(1, holes + 1)} < set(shown)
    assert {"fan", "fan_screw_1", "fan_screw_4", "gasket"} < set(shown)
    assert row.fan_duct is not None
    assert shown["fan"].shape.BoundingBox().zmax == pytest.approx(row.fan_duct.end_z_mm, abs=1e-6)
    assert shown["fan"].colour != shown["T1"].colour


def test_curves_in_a_whole_part_are_seen_through_it(vent: VentSpec) -> None:
    first, solid, *_ = stages(vent, Wanted(evidence=True))
    assert first.curves
    assert all(body.opacity < 0.5 for body in solid.bodies)

"""What the print check says of bodies whose places, widths and masses are known."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import trimesh

from tests.helpers.print_shapes import box, fused, mesh
from tests.helpers.rows import spec
from tests.helpers.shops import shop_with
from vent_family.base.materials import MATERIALS
from vent_family.base.shop import demo_shop
from vent_family.evidence.printing.carried import strand_check, support_checks
from vent_family.evidence.printing.report import (
    printing_report,
    sliced,
    wall_checks,
)
from vent_family.evidence.printing.settings import (
    PrintSettings,
    beside_settings,
    support_rules,
    vent_settings,
)
from vent_family.evidence.printing.walls import WallFacts, Width, measure_walls
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.vent import VentSpec

SHOP = demo_shop()
ASA = MATERIALS["ASA"]
SETTINGS = PrintSettings(SHOP.printing, SHOP.temperature.of("ASA"), 0.2)


@cache
def vent(family: str, size: str, form: str) -> tuple[VentSpec, trimesh.Trimesh]:
    part = spec(family, size=size, slat_form=form)
    vertices, triangles = mesh_of(build_solids(part).vent, 0.05, 0.3)
    return part, trimesh.Trimesh(vertices, triangles, process=False)


def test_the_largest_place_is_named_where_it_is() -> None:
    """Two shelves on a pillar: 12 x 8 mm hanging out to the right at 10, 2 x 2 mm at 15 mm."""
    body = fused(
        box((0.0, 10.0), (0.0, 8.0), (0.0, 20.0)),
        box((10.0, 22.0), (0.0, 8.0), (10.0, 12.0)),
        box((-2.0, 0.0), (3.0, 5.0), (15.0, 17.0)),
    )
    printed = sliced(*mesh(body), ASA, SETTINGS, SHOP)
    check = {c.name: c for c in support_checks("print", printed)}["print: no supports"]
    assert check.verdict == "fail"
    assert check.value == 2.0
    assert "2 places need supports" in check.message
    # The whole shelf hangs, all but what a step of 0.2 mm at 45 degrees carries.
    largest = re.search(r"the largest, ([\d.]+) mm2", check.message)
    assert largest
    assert float(largest.group(1)) == pytest.approx((12.0 - 0.2) * 8.0, abs=0.2)
    assert "hangs 12.0 mm out 10.0 mm above the bed at x 16.1, y 4.0 mm" in check.message


def test_mass_of_the_layers() -> None:
    """20 x 10 x 5 mm of ASA at 1.07 g/cm3: 1.07 g, less three quarters of the core.

    Walls of 1.35 mm, four layers below and five above of 0.2 mm: the core is 17.3 x 7.3 x 3.2 mm.
    """
    body = mesh(box((0.0, 20.0), (0.0, 10.0), (0.0, 5.0)))
    printed = sliced(*body, ASA, SETTINGS, SHOP)
    assert printed.mass_g == pytest.approx(1.07 * (1000.0 - 0.75 * 17.3 * 7.3 * 3.2) / 1000.0)
    full = shop_with(printing={"infill_share": 1.0}).printing
    solid = sliced(*body, ASA, replace(SETTINGS, printing=full), SHOP)
    assert solid.mass_g == pytest.approx(1.07)
    assert printed.size_mm == pytest.approx((20.0, 10.0, 5.0))


def test_the_locknut_stands_on_the_bed() -> None:
    part = spec("round", size="M20x1.5", slat_form="folded")
    body = mesh_of(build_solids(part).vent, 0.05, 0.3)
    vertices, triangles = mesh(box((0.0, 12.0), (0.0, 12.0), (0.0, 6.0)))
    hanging = vertices - np.array([0.0, 0.0, 6.0])
    report = printing_report(part, body, {"locknut": (hanging, triangles)}, SHOP)
    nut = report.beside["locknut"]
    assert nut.vertices[:, 2].min() == pytest.approx(0.0)
    assert nut.layers.volume_mm3 == pytest.approx(864.0)
    # Fine layers of 0.12 mm all through.
    assert len(nut.layers.regions) == 50


def test_fine_layers_reach_over_the_whole_neck() -> None:
    part = spec("round", size="M20x1.5", neck_length_mm=15.0)
    assert vent_settings(part, 50.0, SHOP).fine_mm == ((35.0, 50.0, 0.12),)
    assert beside_settings(ASA, SHOP, threaded=True).layer_mm == 0.12
    assert vent_settings(spec("rectangular"), 30.0, SHOP).fine_mm == ()


def test_half_a_bead_and_the_overhang_of_the_material_carry() -> None:
    rules = support_rules(ASA, SETTINGS)
    assert rules.overhang_deg == 45.0
    assert rules.line_width_mm == 0.45


def test_a_slat_thinner_than_the_nozzle_lays_fails_even_if_designed_so() -> None:
    """A slat of 0.3 mm, as designed; a nozzle of 0.4 mm lays none thinner than its bead."""
    part = spec("rectangular", size="40x40", slat_form="flat", slat_thickness_mm=0.5)
    section = part.section
    thin = replace(part, section=replace(section, stack=replace(section.stack, thickness_mm=0.3)))
    place = Width(0.3, 0.0, 0.0, 0.0)
    facts = WallFacts(
        replace(place, width_mm=2.0), place, replace(place, width_mm=3.0), place, 9, 1
    )
    found = {c.name: c for c in wall_checks(thin, facts, SHOP.printing)}
    assert found["print: thinnest slat"].verdict == "fail"
    assert found["print: thinnest slat"].of_table
    assert found["print: thinnest wall"].verdict == "pass"
    # And one a tenth too thin for its design fails, though it prints.
    slim = WallFacts(facts.wall, replace(place, width_mm=1.35), facts.gap, facts.stroke, 9, 1)
    found = {c.name: c for c in wall_checks(spec("rectangular"), slim, SHOP.printing)}
    assert found["print: thinnest slat"].verdict == "fail"
    assert not found["print: thinnest slat"].of_table
    good = replace(slim, slat=replace(place, width_mm=1.49))
    assert wall_checks(spec("rectangular"), good, SHOP.printing)[1].verdict == "pass"


@pytest.mark.parametrize(
    ("family", "size", "form"),
    [
        ("rectangular", "50x40", "folded"),
        ("flanged", "60x50", "flat"),
        ("rectangular", "40x60", "inclined"),
    ],
)
def test_widths_are_told_where_they_are(family: str, size: str, form: str) -> None:
    """The middle of a wall or slat lies in the solid, the middle of a gap beside it.

    Half the width from there the surface is met.
    """
    part, body = vent(family, size, form)
    found = measure_walls(part, np.asarray(body.vertices), np.asarray(body.faces))
    assert found.wall is not None
    assert found.slat is not None
    assert found.gap is not None
    places = np.array([[w.x_mm, w.y_mm, w.z_mm] for w in (found.wall, found.slat, found.gap)])
    assert body.contains(places).tolist() == [True, True, False]
    distance = np.abs(trimesh.proximity.signed_distance(body, places))
    widths = np.array([found.wall.width_mm, found.slat.width_mm, found.gap.width_mm])
    assert distance[:2] == pytest.approx(widths[:2] / 2.0, abs=0.03)
    # Beside the section's plane something else may come nearer to the middle of a gap.
    assert 0.3 * widths[2] < distance[2] < 0.5 * widths[2] + 0.03


@pytest.mark.parametrize("share", [0.3, 0.52, 0.7])
def test_thin_places_are_met_at_three_heights(share: float) -> None:
    """A plate 60 x 50 mm, 20 mm thick, a pocket from the front leaving 1.1 mm, 2 mm high."""
    part = vent("rectangular", "50x40", "folded")[0]
    y = -25.0 + share * 50.0
    plate = box((-30.0, 30.0), (-25.0, 25.0), (-17.0, 3.0))
    pocketed = plate.cut(box((27.0, 28.5), (y - 1.0, y + 1.0), (-15.9, 4.0)))
    found = measure_walls(part, *mesh(pocketed))
    assert found.wall is not None
    assert found.wall.width_mm == pytest.approx(1.1, abs=0.01)
    assert found.wall.y_mm == pytest.approx(y, abs=1.0)
    whole = measure_walls(part, *mesh(plate))
    assert whole.wall is None or whole.wall.width_mm > 2.0


@pytest.mark.parametrize(("depth", "verdict"), [(0.3, "fail"), (0.88, "fail"), (0.9, "pass")])
def test_a_bridge_starts_with_two_beads(depth: float, verdict: str) -> None:
    """Two strands between two walls, one 3 mm wide and one narrower, and a lid held all round."""
    body = fused(
        box((0.0, 3.0), (0.0, 10.0), (0.0, 12.0)),
        box((15.0, 18.0), (0.0, 10.0), (0.0, 12.0)),
        box((0.0, 18.0), (2.0, 5.0), (8.0, 9.0)),
        box((0.0, 18.0), (6.0, 6.0 + depth), (10.0, 11.0)),
        box((18.0, 26.0), (0.0, 10.0), (0.0, 12.0)).cut(box((19, 25), (1, 9), (-1, 9))),
    )
    printed = sliced(*mesh(body), ASA, SETTINGS, SHOP)
    assert len(printed.of_kind("bridge")) == 3
    assert printed.strand_mm == pytest.approx(depth, abs=0.002)
    assert printed.thin_strands == (verdict == "fail")
    check = strand_check("print", printed)
    assert check.verdict == verdict
    assert check.value == printed.strand_mm
    assert check.limit == pytest.approx(0.9)
    if verdict == "fail":
        place = f"{depth:.2f} mm wide and 12.0 mm long, 10.0 mm above the bed at x 9.0, y 6."
        assert place in check.message
        assert check.message.startswith("will not print: 1 bridge starts")


def test_two_beads_are_those_of_the_line_width_it_is_printed_with() -> None:
    cases = ((0.45, 1.0, "pass"), (0.6, 1.0, "fail"), (0.3, 0.7, "pass"))
    for width, depth, verdict in cases:
        body = fused(
            box((0.0, 3.0), (0.0, 10.0), (0.0, 12.0)),
            box((15.0, 18.0), (0.0, 10.0), (0.0, 12.0)),
            box((0.0, 18.0), (2.0, 2.0 + depth), (8.0, 9.0)),
        )
        own = shop_with(printing={"line_width_mm": width}).printing
        printed = sliced(*mesh(body), ASA, replace(SETTINGS, printing=own), SHOP)
        assert strand_check("print", printed).verdict == verdict
        assert printed.thin_strands == (verdict == "fail")


def test_what_is_held_along_a_side_has_no_strand() -> None:
    lid = box((0.0, 8.0), (0.0, 10.0), (0.0, 12.0)).cut(box((1, 7), (1, 9), (-1, 9)))
    printed = sliced(*mesh(fused(lid)), ASA, SETTINGS, SHOP)
    assert printed.strand_mm is None
    assert strand_check("print", printed).message == "no bridge hangs free between its sides"
    part = spec("rectangular", size="40x40", slat_form="folded")
    report = printing_report(part, mesh(build_solids(part).vent, 0.1), {}, SHOP)
    (row,) = [r for r in replace(report, vent=printed).findings_summary() if r["kind"] == "bridge"]
    assert (row["strand_mm"], row["thin_strands"]) == (None, 0)

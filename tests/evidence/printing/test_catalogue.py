"""Every part of the demo catalogue prints without supports in its stated orientation."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.rows import spec
from vent_family.base.limits import STL_ANGLE, STL_CHORD
from vent_family.base.materials import MATERIALS
from vent_family.base.shop import demo_shop
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import read_catalog
from vent_family.evidence.printing.orientation import turned
from vent_family.evidence.printing.report import (
    print_report,
    sliced,
    support_checks,
    wall_checks,
)
from vent_family.evidence.printing.settings import PrintSettings, locknut_settings, vent_settings
from vent_family.evidence.printing.walls import measure_walls
from vent_family.evidence.strength.members import members
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.resolve import resolve

ROWS = [s.row for s in read_catalog(Path(__file__).parents[3] / "catalog.csv").rows]
SHOP = demo_shop()


@pytest.mark.parametrize("row", ROWS, ids=[r.part_number for r in ROWS])
def test_prints_holds_and_bridges_what_was_designed(row: CatalogRow) -> None:
    part = resolve(row)
    solids = build_solids(part)
    vertices, triangles = mesh_of(solids.vent, STL_CHORD.value, STL_ANGLE.value)
    standing = turned(vertices, part.print_orientation)
    settings = vent_settings(part, float(standing[:, 2].max()))
    vent = sliced(standing, triangles, part.material, settings, SHOP)
    verdicts = [*support_checks("vent", vent)]
    verdicts += wall_checks(part, measure_walls(part, vertices, triangles))
    verdicts += [m.check(part.material.print_profile.safety_min) for m in members(part)]
    if solids.locknut is not None:
        nut, faces = mesh_of(solids.locknut, STL_CHORD.value, STL_ANGLE.value)
        nut[:, 2] -= nut[:, 2].min()
        verdicts += support_checks(
            "nut", sliced(nut, faces, part.material, locknut_settings(), SHOP)
        )
    assert [c for c in verdicts if c.verdict != "pass"] == []
    # The longest bridge found on the solid is the widest bay of the design, or a little less where
    # a round wall trims it.
    assert vent.worst_mm("bridge") <= part.longest_bridge_mm + 0.02
    assert vent.worst_mm("bridge") >= 0.97 * part.longest_bridge_mm


def test_thread_needs_its_fine_layers() -> None:
    """Flanks 60 degrees from the vertical: 0.2 mm layers step out by 0.35 mm, 0.12 mm by 0.21."""
    part = spec("round", size="M20x1.5", slat_form="folded")
    vertices, triangles = mesh_of(build_solids(part).vent, STL_CHORD.value, STL_ANGLE.value)
    standing = turned(vertices, part.print_orientation)
    fine = vent_settings(part, float(standing[:, 2].max()))
    coarse = PrintSettings(fine.nozzle_mm, fine.line_width_mm, fine.layer_mm)
    good = sliced(standing, triangles, part.material, fine, SHOP)
    poor = sliced(standing, triangles, part.material, coarse, SHOP)
    assert not good.of_kind("overhang")
    assert not good.of_kind("ledge")
    assert poor.of_kind("overhang")


def test_fewer_ribs_give_longer_bridges_and_too_few_are_refused_by_the_check() -> None:
    part = spec("rectangular", size="60x40", rib_count=1, material="PP")
    report = print_report(part, mesh_of(build_solids(part).vent, 0.05, 0.3), None, SHOP)
    found = {c.name: c for c in report.checks()}
    assert found["print: longest bridge"].verdict == "pass"
    assert "longer than prints cleanly" in found["print: longest bridge"].message
    assert found["print: stated orientation"].verdict == "pass"


def test_ribs_follow_the_material() -> None:
    for name in ("ASA", "PP"):
        part = spec("rectangular", size="120x60", material=name)
        assert part.longest_bridge_mm <= MATERIALS[name].print_profile.bridge_good_mm
        fewer = spec("rectangular", size="120x60", material=name, rib_count=part.rib_count - 1)
        assert fewer.longest_bridge_mm > MATERIALS[name].print_profile.bridge_good_mm


def test_a_vent_on_its_back_is_reported_with_place_and_size() -> None:
    part = spec("flanged", size="50x50")
    vertices, triangles = mesh_of(build_solids(part).vent, 0.05, 0.3)
    standing = turned(vertices, "face_up")
    settings = vent_settings(part, float(standing[:, 2].max()))
    wrong = sliced(standing, triangles, part.material, settings, SHOP)
    no_supports = {c.name: c for c in support_checks("print", wrong)}["print: no supports"]
    assert no_supports.verdict == "fail"
    assert "mm above the bed" in no_supports.message

"""Every part of the demo catalogue prints without supports in its stated orientation."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from tests.helpers.rows import spec
from vent_family.base.limits import STL_ANGLE, STL_CHORD, THUMB_RESERVE
from vent_family.base.materials import MATERIALS
from vent_family.base.shop import demo_shop
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import read_catalog
from vent_family.evidence.air.kind import AIR
from vent_family.evidence.context import PartContext
from vent_family.evidence.printing.carried import support_checks
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.printing.orientation import turned
from vent_family.evidence.printing.report import (
    printing_report,
    sliced,
)
from vent_family.evidence.printing.settings import vent_settings
from vent_family.evidence.strength.slats import slat_bounds
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.release.record import attributes_of, index_facts, make_record, record_type
from vent_family.spec.resolve import resolve

ALL = [s.row for s in read_catalog(Path(__file__).parents[3] / "catalog.csv").rows]
"""All of them take minutes: ``python -m tests.benchmarks.all_prints``."""
SHOP = demo_shop()
SCHEMA = record_type().model_json_schema()
TOLD = {
    "HV-R120X": {"strength: plastic under a washer"},
    "HV-N20": {"strength: neck under a knock on the rim"},
}
"""What is told of a part without keeping it back: PP under a washer, necks in PA."""
_KINDS = {(r.family, r.slat_form, r.print_orientation, r.seal): r for r in reversed(ALL)}
ROWS = [r for r in ALL if r in _KINDS.values() or r.part_number in TOLD]
"""Of every family, form of slats, way to print and seal the first, and those of which is told."""


@pytest.mark.parametrize("row", ROWS, ids=[r.part_number for r in ROWS])
def test_prints_holds_and_bridges_what_was_designed_and_its_record_follows_the_schema(
    row: CatalogRow,
) -> None:
    part = resolve(row)
    context = PartContext(part)
    verdicts = context.checks()
    names = {c.name for c in verdicts}
    assert {"print: no supports", "print: thinnest wall", "strength: slat under a thumb"} <= names
    assert ("print, locknut: no supports" in names) == (context.solids.locknut is not None)
    assert [c for c in context.checks(binding=True) if c.verdict != "pass"] == []
    told = {c.name for c in verdicts if c.verdict != "pass"}
    assert told == TOLD.get(row.part_number, set())
    assert "strength: slat under a thumb" not in told
    # The longest bridge found on the solid is the widest bay of the design, or a little less where
    # a round wall trims it.
    vent = context.of(PRINTING).vent
    # The hole in a round head's back plate becomes an octagon first, whose sides are bridged, too.
    neck = part.body.neck
    side = (
        0.0
        if neck is None
        else 2.0 * (neck.bore_radius_mm + neck.bevel_mm) * math.tan(math.pi / 8.0)
    )
    assert vent.worst_mm("bridge") <= max(part.longest_bridge_mm, side) + 0.02
    assert vent.worst_mm("bridge") >= 0.97 * part.longest_bridge_mm
    # Slanted slats lying down end in a face parallel to the bed, t times the root of two wide less
    # what is cut off for their feet; the first layer is cut half its height within the slat.
    assert vent.strand_mm is not None
    assert vent.thin_strands == 0
    stack = part.section.stack
    if part.print_orientation == "face_down" and stack.shape.foot_most_mm(1.0) is not None:
        narrowest = stack.thickness_mm * math.sqrt(2.0) - stack.foot_mm
        higher = 0.1 if stack.foot_mm else 0.001
        if part.body.neck is not None and part.rib_thickness_mm < narrowest:
            # Over the windows of a round head's ribs lie beams as wide as a rib.
            narrowest, higher = part.rib_thickness_mm, 0.001
        assert narrowest - 0.001 <= vent.strand_mm <= narrowest + higher
    record = make_record(context, row_hash="0" * 16, time_stamp="", triangles=1, files=[])
    jsonschema.validate(json.loads(record.model_dump_json()), SCHEMA)
    # Every attribute can be written: its unit is known, its value a number or text.
    assert len(attributes_of(record)) > 60
    # What does not hold stands in the record by name.
    written = record.model_dump()["printing"]
    weak = {f"strength: {m['name']}" for m in written["strength"] if m["verdict"] != "holds"}
    assert told <= weak | ({"strength: heat"} if written["heat_verdict"] != "holds" else set())
    assert index_facts(record)["air_k_on_opening_in"] == round(context.of(AIR).k_in, 2)


def test_thread_needs_its_fine_layers() -> None:
    """Flanks 60 degrees from the vertical: 0.2 mm layers step out by 0.35 mm, 0.12 mm by 0.21."""
    part = spec("round", size="M20x1.5", slat_form="folded")
    vertices, triangles = mesh_of(build_solids(part).vent, STL_CHORD.value, STL_ANGLE.value)
    standing = turned(vertices, part.print_orientation)
    fine = vent_settings(part, float(standing[:, 2].max()), SHOP)
    coarse = replace(fine, fine_mm=())
    good = sliced(standing, triangles, part.material, fine, SHOP)
    poor = sliced(standing, triangles, part.material, coarse, SHOP)
    assert not good.of_kind("overhang")
    # Below the thread lie the steps of the rim, whose corners are ledges of half a millimetre.
    thread_mm = part.section.front_z_mm
    assert all(f.z_mm < thread_mm and f.reach_mm <= 0.5 for f in good.of_kind("ledge"))
    assert poor.of_kind("overhang")


def test_fewer_ribs_give_longer_bridges_and_too_few_are_refused_by_the_check() -> None:
    part = spec("rectangular", size="60x40", rib_count=1, material="PP")
    report = printing_report(part, mesh_of(build_solids(part).vent, 0.05, 0.3), {}, SHOP)
    found = {c.name: c for c in report.checks()}
    assert found["print: longest bridge"].verdict == "pass"
    assert "longer than prints cleanly" in found["print: longest bridge"].message


def test_ribs_follow_the_material() -> None:
    for name in ("ASA", "PP"):
        part = spec("rectangular", size="120x60", material=name)
        assert part.longest_bridge_mm <= MATERIALS[name].print_profile.bridge_good_mm
        fewer = spec("rectangular", size="120x60", material=name, rib_count=part.rib_count - 1)
        # One rib less, and the bay is too wide to bridge well or for a thumb.
        profile = MATERIALS[name].print_profile
        asked = profile.safety_min * THUMB_RESERVE.value
        assert slat_bounds(part).clamped >= asked
        assert fewer.longest_bridge_mm > profile.bridge_good_mm or (
            slat_bounds(fewer).clamped < asked
        )


def test_a_vent_on_its_back_is_reported_with_place_and_size() -> None:
    part = spec("flanged", size="50x50")
    vertices, triangles = mesh_of(build_solids(part).vent, 0.05, 0.3)
    standing = vertices - np.array([0.0, 0.0, vertices[:, 2].min()])
    settings = vent_settings(part, float(standing[:, 2].max()), SHOP)
    wrong = sliced(standing, triangles, part.material, settings, SHOP)
    no_supports = {c.name: c for c in support_checks("print", wrong)}["print: no supports"]
    assert no_supports.verdict == "fail"
    assert "mm above the bed" in no_supports.message

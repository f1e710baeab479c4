"""Rules of printing that a row is refused by: true of the solid, and their advice helps."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import Polygon

from tests.helpers.following import advised_cells, read_row
from tests.helpers.rows import row, spec
from vent_family.base.limits import LAYER_HEIGHT, LAYERS_VOLUME, STL_ANGLE, STL_CHORD
from vent_family.base.problems import InputError, Problem
from vent_family.base.shop import demo_shop
from vent_family.evidence.printing.orientation import turned
from vent_family.evidence.printing.report import wall_checks
from vent_family.evidence.printing.walls import measure_walls
from vent_family.geometry.vent import build_solids
from vent_family.mesh.layers import layer_plan, slice_layers
from vent_family.mesh.triangles import mesh_of, mesh_volume_mm3
from vent_family.spec import printable, resolve
from vent_family.spec.families import block, rectangular
from vent_family.spec.vent import VentSpec

BAR = {"size": "45x45", "wall_mm": 1.2}
SNAP = {"fixing": "snap"}
CASES: list[tuple[str, str, dict[str, Any], str, str]] = [
    ("mark_bar", "rectangular", {**BAR, "lip_width_mm": 2.0}, "lip_width_mm", "mark legible"),
    (
        "mark_bar",
        "rectangular",
        {**BAR, "size": "45x41", "lip_width_mm": 2.3},
        "lip_width_mm",
        "mark legible",
    ),
    (
        "gap_over_snap_arms",
        "rectangular",
        {**SNAP, "panel_thickness_mm": 0.5},
        "panel_thickness_mm",
        "narrowest gap",
    ),
    (
        "gap_over_snap_arms",
        "rectangular",
        {**SNAP, "panel_thickness_mm": 0.69},
        "panel_thickness_mm",
        "narrowest gap",
    ),
]
"""Rule, row, the column refused, and the check that the solid would fail."""
NAMES = [f"{c[0]}-{c[2][c[3]]}" for c in CASES]


def refusal(family: str, cells: dict[str, Any]) -> Problem:
    with pytest.raises(InputError) as caught:
        spec(family, **cells)
    (problem,) = caught.value.problems
    return problem


@contextmanager
def without(rule: str) -> Iterator[None]:
    """Leave a rule out, so that a row it refuses is laid out all the same."""
    with pytest.MonkeyPatch.context() as patch:
        users = [m for m in (resolve, block, rectangular) if hasattr(m, rule)]
        assert users
        for module in users:
            patch.setattr(module, rule, lambda *_: None)
        yield


def failing(vent: VentSpec) -> set[str]:
    vertices, triangles = mesh_of(build_solids(vent).vent, STL_CHORD.value, STL_ANGLE.value)
    checks = wall_checks(vent, measure_walls(vent, vertices, triangles), demo_shop().printing)
    return {c.name.removeprefix("print: ") for c in checks if c.verdict != "pass"}


@pytest.mark.parametrize(("rule", "family", "cells", "column", "check"), CASES, ids=NAMES)
def test_what_is_refused_would_fail_as_a_solid_and_the_advice_mends_it(
    rule: str, family: str, cells: dict[str, Any], column: str, check: str
) -> None:
    problem = refusal(family, cells)
    assert problem.column == column
    assert problem.allowed
    with without(rule):
        refused_anyway = resolve.resolve(row(family, **cells))
    assert failing(refused_anyway) == {check}
    advised = advised_cells(problem.suggestion)
    assert advised
    assert failing(resolve.resolve(read_row(row(family, **cells).model_dump() | advised))) == set()
    # And the least that is allowed is enough as well.
    least = re.search(r"([\d.]+) mm or more", problem.allowed)
    if least:
        better = float(least.group(1))
        assert better > cells[column]
        assert failing(spec(family, **(cells | {column: better}))) == set()


PLATES: dict[str, Any] = {
    "size": "60x60",
    "slat_form": "flat",
    "slat_thickness_mm": 0.5,
    "bank_count": 6,
    "bank_gaps_mm": "6/3.5/3.5/3.5/3.5",
    "wall_mm": 1.2,
    "rib_thickness_mm": 1.2,
    "rib_count": 2,
}
"""Slats of two and a half layers, each bank as far from the next as whole layers are."""


def layers_over_mesh(vent: VentSpec) -> float:
    """Return the volume of the layers against the mesh's."""
    vertices, triangles = mesh_of(build_solids(vent).vent, STL_CHORD.value, STL_ANGLE.value)
    standing = turned(vertices, vent.print_orientation)
    plan = layer_plan(float(standing[:, 2].max()), LAYER_HEIGHT.value)
    layers = slice_layers(standing, triangles, *plan)
    return layers.volume_mm3 / mesh_volume_mm3(standing, triangles)


def test_slats_that_all_round_one_way_are_refused_and_whole_layers_are_not() -> None:
    problem = refusal("rectangular", PLATES)
    assert problem.column == "slat_thickness_mm"
    with without("whole_layers"):
        refused_anyway = resolve.resolve(row("rectangular", **PLATES))
    error = layers_over_mesh(refused_anyway) - 1.0
    assert abs(error) > LAYERS_VOLUME.value
    share = re.search(r"(\d+) % of the part's material", problem.message)
    assert share
    assert float(share.group(1)) == pytest.approx(100.0 * abs(error), abs=0.6)
    assert advised_cells(problem.suggestion) == {"slat_thickness_mm": "0.6"}
    better = spec("rectangular", **(PLATES | {"slat_thickness_mm": 0.6}))
    assert abs(layers_over_mesh(better) - 1.0) < 0.5 * LAYERS_VOLUME.value


def test_rounding_that_evens_out_is_not_refused() -> None:
    """At half a layer's offset from bank to bank slats print 0.4 and 0.6 mm thick in turn."""
    even = spec("rectangular", **(PLATES | {"bank_gaps_mm": "6/3.6/3.6/3.6/3.6"}))
    assert abs(layers_over_mesh(even) - 1.0) < LAYERS_VOLUME.value


def test_a_narrow_lip_will_do_under_a_low_ceiling() -> None:
    """The bar is measured from the window as it was laid out, not from its highest place."""
    for width in (2.0, 2.5):
        assert failing(spec("rectangular", size="45x45", lip_width_mm=width)) == set()


BOUNDED: list[tuple[str, dict[str, Any]]] = [
    *(("rectangular", {"size": "70x60", "slat_form": form}) for form in ("inclined", "channel")),
    ("flanged", {"size": "92x120", "slat_form": "folded"}),
    *(("round", {"size": "M40x1.5", "slat_form": form}) for form in ("inclined", "flat")),
    ("round", {"size": "M25x1.5", "head_diameter_mm": 110.0, "slat_form": "folded"}),
    ("round", {"size": "M32x1.5", "slat_form": "channel"}),
    (
        "round",
        {
            "size": "M63x1.5",
            "slat_form": "channel",
            "banks_outside": 1,
            "drain_height_mm": 8.0,
            "sill_height_mm": 26.0,
        },
    ),
]


@pytest.mark.parametrize(("family", "cells"), BOUNDED)
def test_what_a_body_has_at_least_is_less_than_its_volume(
    family: str, cells: dict[str, Any]
) -> None:
    """The volume itself is compared with the solid's in :mod:`tests.geometry`."""
    vent = spec(family, **cells)
    walls = vent.body.walls_mm3(vent.section, vent.bays)
    slats = printable._slats_mm3(vent.body, vent.section, vent.bays)
    volume = vent.body.volume_mm3(vent.section, vent.bays)
    assert walls + slats < volume
    assert walls + slats > 0.3 * volume
    assert slats > 0.03 * volume


def test_slats_of_a_round_head_end_at_its_wall() -> None:
    """A slat high up is counted no longer than the chord over it, whatever the bays' width."""
    vent = spec("round", size="M40x1.5", slat_form="flat")
    radius = vent.body.clear_half_width_mm(0.0)
    whole = [slat for slat in vent.section.slats if slat.whole]
    highest = max(whole, key=lambda slat: max(abs(y) for _, y in slat.outline))
    far = max(abs(y) for _, y in highest.outline)
    assert far > 0.5 * radius
    alone = replace(vent.section, slats=(highest,))
    # The flat sides are no wider than the round wall in the middle.
    most = Polygon(highest.outline).area * 2.0 * vent.body.clear_half_width_mm(far)
    found = printable._slats_mm3(vent.body, alone, vent.bays)
    assert 0.7 * most < found < most

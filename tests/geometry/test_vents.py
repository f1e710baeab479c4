"""Finished vents of all families and slat forms: valid, closed, the right size and thickness."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import shapely
import trimesh
from shapely.affinity import scale
from shapely.ops import unary_union

from tests.helpers.meshes import free_sight_lines, section_at_x, section_at_z, trimesh_of
from tests.helpers.rows import spec
from vent_family.base.limits import FIT_CLEARANCE, STL_ANGLE, STL_CHORD
from vent_family.evidence.result import passed
from vent_family.evidence.solid.check import check_vent, measure
from vent_family.evidence.solid.volume import estimate_volume_mm3
from vent_family.geometry.vent import build_solids, print_location
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.families.block_body import BlockBody
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.sightlines import closes
from vent_family.spec.vent import VentSpec

PARTS: dict[str, tuple[str, dict[str, Any]]] = {
    "rectangular-inclined": ("rectangular", {}),
    "rectangular-flat": ("rectangular", {"slat_form": "flat"}),
    "rectangular-thin": (
        "rectangular",
        {"slat_form": "flat", "slat_thickness_mm": 0.5, "bank_count": 5},
    ),
    "rectangular-folded-key": ("rectangular", {"slat_form": "folded", "locating_key": "notch"}),
    "rectangular-snap": ("rectangular", {"fixing": "snap"}),
    "rectangular-upright": ("rectangular", {"print_orientation": "upright", "size": "80x50"}),
    "rectangular-small": ("rectangular", {"size": "30x30"}),
    "flanged-inclined": ("flanged", {"locating_key": "notch"}),
    "flanged-folded": ("flanged", {"slat_form": "folded", "size": "120x50", "screw": "M5"}),
    "flanged-flat": ("flanged", {"slat_form": "flat", "size": "60x60"}),
    "round-inclined": ("round", {}),
    "round-flat": ("round", {"slat_form": "flat", "size": "M40x1.5"}),
    "round-folded": ("round", {"slat_form": "folded", "size": "M25x1.5"}),
    "round-smallest": ("round", {"size": "M20x1.5"}),
    "round-wide-head": ("round", {"size": "M20x1.5", "head_diameter_mm": 90.0}),
    "round-largest": ("round", {"size": "M75x1.5", "slat_form": "folded"}),
}
NAMES = list(PARTS)
BLOCKS = [n for n in NAMES if not n.startswith("round")]
ROUNDS = [n for n in NAMES if n.startswith("round")]


@cache
def part(name: str) -> tuple[VentSpec, cq.Solid, trimesh.Trimesh]:
    family, cells = PARTS[name]
    resolved = spec(family, **cells)
    solid = build_solids(resolved).vent
    return resolved, solid, trimesh_of(solid)


@pytest.mark.parametrize("name", NAMES)
def test_one_valid_closed_solid_with_a_watertight_mesh(name: str) -> None:
    resolved, solid, mesh = part(name)
    assert solid.ShapeType() == "Solid"
    assert solid.isValid()
    assert len(solid.Shells()) == 1
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    facts = measure(solid)
    assert mesh.volume == pytest.approx(facts.volume_mm3, rel=0.005)
    checks = check_vent(resolved, solid, facts, *mesh_of(solid, STL_CHORD.value, STL_ANGLE.value))
    assert passed(checks), [c for c in checks if c.verdict != "pass"]


@pytest.mark.parametrize("name", BLOCKS)
def test_block_volume_equals_the_estimate_from_the_section(name: str) -> None:
    resolved, solid, _ = part(name)
    assert solid.Volume(1e-4) == pytest.approx(estimate_volume_mm3(resolved), rel=1e-6)


@pytest.mark.parametrize("name", ROUNDS)
def test_round_volume_agrees_with_the_integrated_estimate(name: str) -> None:
    resolved, solid, _ = part(name)
    # The estimate leaves out the chamfers at the neck's ends.
    assert measure(solid).volume_mm3 == pytest.approx(estimate_volume_mm3(resolved), rel=5e-4)


@pytest.mark.parametrize("name", NAMES)
def test_bounding_box(name: str) -> None:
    resolved, solid, _ = part(name)
    box = solid.BoundingBox()
    body, front = resolved.body, resolved.section.front_z_mm
    top = front + (resolved.mark.depth_mm if resolved.mark.raised else 0.0)
    assert box.zmax == pytest.approx(top, abs=1e-3)
    if isinstance(body, RoundBody):
        assert box.zmin == pytest.approx(-body.neck.length_mm, abs=1e-3)
        assert box.ymax == pytest.approx(body.head.radius_mm, abs=1e-3)
        assert box.xmax == pytest.approx(body.head.radius_mm - 1.0, abs=1e-3)
        # The floor plate, 2 mm square to its slope of 5 degrees, ends in the outer plane.
        low = -resolved.section.brink[1] + 2.0 / math.cos(math.radians(5.0))
        assert -box.ymin == pytest.approx(low, abs=1e-3)
    else:
        assert isinstance(body, BlockBody)
        assert box.zmin == pytest.approx(body.inner_z_mm, abs=1e-3)
        assert box.xmax == pytest.approx(body.cover.reach_mm[1], abs=1e-3)
        assert box.ymax == pytest.approx(body.cover.reach_mm[3], abs=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_left_and_right_are_mirror_images_but_for_the_mark_and_thread(name: str) -> None:
    resolved, _, mesh = part(name)
    depths = np.linspace(0.4, resolved.section.front_z_mm - resolved.mark.depth_mm - 0.5, 5)
    for z in depths:
        polygons = section_at_z(mesh, float(z))
        solid = unary_union(polygons)
        mirrored = scale(solid, -1.0, 1.0, origin=(0.0, 0.0))
        # Both sides are polygons within the chord tolerance of the true outline.
        allowed = 0.02 + 1.2 * STL_CHORD.value * solid.length * isinstance(resolved.body, RoundBody)
        if isinstance(resolved.body, BlockBody):
            # Of blocks the corners alone are curved.
            allowed += 0.1 * STL_CHORD.value * 2.0 * math.pi * resolved.body.cover_plate.corner_mm
        assert solid.symmetric_difference(mirrored).area < allowed


@pytest.mark.parametrize("name", NAMES)
def test_slat_thickness_on_the_finished_solid(name: str) -> None:
    """Slats are islands of the section in the middle of a bay; their width is measured there."""
    resolved, _, mesh = part(name)
    stack = resolved.section.stack
    middle = len(resolved.bays) // 2
    x = sum(resolved.bays[middle]) / 2 + 0.013
    islands = [p for p in section_at_x(mesh, x) if p.area < 60.0]
    whole = [s for s in resolved.section.slats if s.whole]
    measured = []
    for slat in whole:
        zs = [z for z, _ in slat.outline]
        ys = [y for _, y in slat.outline]
        same = [
            p
            for p in islands
            if abs(p.bounds[0] - min(zs)) < 0.02 and abs(p.bounds[3] - max(ys)) < 0.02
        ]
        assert len(same) == 1, f"slat at {min(zs):.1f}, {max(ys):.1f} is missing"
        if stack.form == "folded":
            # Two legs share the ridge: area over the length of the middle line. Each foot cuts off
            # a corner as high as wide.
            length = 2.0 * (stack.bank_depth_mm / 2.0) * math.sqrt(2.0)
            measured.append((same[0].area + stack.foot_mm**2) / length)
        else:
            corners = np.array(same[0].minimum_rotated_rectangle.exterior.coords)
            measured.append(float(np.min(np.linalg.norm(np.diff(corners, axis=0), axis=1))))
    assert measured
    assert measured == pytest.approx([stack.thickness_mm] * len(measured), abs=0.005)


@pytest.mark.parametrize("name", BLOCKS)
def test_block_walls_on_the_finished_solid(name: str) -> None:
    resolved, _, mesh = part(name)
    body = resolved.body
    assert isinstance(body, BlockBody)
    z = resolved.section.stack_z_mm[0] + 0.2
    outer = max(section_at_z(mesh, z), key=lambda p: p.area)
    rings = [type(outer)(r) for r in outer.interiors]
    w, h = resolved.opening.size_mm
    flat = unary_union(
        [shapely.box(-99, 6 - h / 2, 99, h / 2 - 6), shapely.box(6 - w / 2, -99, w / 2 - 6, 99)]
    )
    sides = outer.exterior.intersection(flat)
    assert min(sides.distance(r.exterior) for r in rings) >= body.wall_mm - 0.005
    # Over the cavity's corners a round one of 2.7 mm leaves 2.7 - 0.7 sqrt 2, a bevel of 2.7 mm
    # 2 sqrt 2 - 2.7 / sqrt 2, and more where the floor lies higher.
    gaps = [outer.exterior.distance(r.exterior) for r in rings]
    assert min(gaps) >= (0.91 if resolved.print_orientation == "upright" else 1.7)
    # Ribs: the narrowest material between two bays.
    ribs = [
        a.distance(b)
        for i, a in enumerate(rings)
        for b in rings[i + 1 :]
        if a.bounds[2] < b.bounds[0] or b.bounds[2] < a.bounds[0]
    ]
    assert bool(ribs) == (resolved.rib_count > 0)
    assert ribs == [] or min(ribs) == pytest.approx(resolved.rib_thickness_mm, abs=0.005)


@pytest.mark.parametrize("name", ROUNDS)
def test_round_wall_on_the_finished_solid(name: str) -> None:
    resolved, _, mesh = part(name)
    body = resolved.body
    assert isinstance(body, RoundBody)
    section, head = resolved.section, body.head
    cuts = [section_at_z(mesh, section.front_z_mm - behind) for behind in (3.0, 5.0, 7.0, 9.0)]
    outers = [max(cut, key=lambda p: p.area) for cut in cuts]

    def gap(low: float, high: float) -> float:
        band = shapely.box(-99.0, low, 99.0, high)
        inner = [unary_union(list(o.interiors)).intersection(band) for o in outers]
        outer = [o.exterior.intersection(band) for o in outers]
        return min(a.distance(b) for a, b in zip(inner, outer, strict=True) if not a.is_empty)

    # Beside the slats the wall is what its column says, under the flats at least that.
    low, high = section.brink[1], section.ceiling_mm
    beside = gap(low + 3.0, high - 3.0)
    assert beside == pytest.approx(head.wall_mm, abs=2 * STL_CHORD.value)
    # Floor and ceiling are plates; the floor's is a little thicker towards the rear where its
    # lower side would graze the circle there.
    assert head.plate_mm - 0.02 < gap(-99.0, low + 3.0) < head.plate_mm + 0.05
    assert gap(high - 1.0, 99.0) == pytest.approx(head.plate_mm, abs=0.02)


@pytest.mark.parametrize("name", BLOCKS)
def test_block_passes_its_opening_with_the_stated_clearance(name: str) -> None:
    resolved, _, mesh = part(name)
    w, h = resolved.opening.size_mm
    outline = max(section_at_z(mesh, -0.2), key=lambda p: p.area)
    x0, y0, x1, y1 = outline.bounds
    ridge = getattr(resolved.body, "key", None)
    key = 0.0 if ridge is None else ridge.height_mm
    assert w - (x1 - x0) >= 2 * FIT_CLEARANCE.value - 1e-3 or resolved.body.snap is not None
    # Upright it goes in lifted by its leg and the clearance, and is let down.
    lifted = 1.8 if resolved.print_orientation == "upright" else 0.0
    assert h + key - lifted - (y1 - y0) == pytest.approx(2 * FIT_CLEARANCE.value, abs=1e-3)


def ends(resolved: VentSpec, count: int, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Return starts just outside the front and ends just inside, all over both openings."""
    section, body = resolved.section, resolved.body
    low, high = section.drain_mm[0], section.ceiling_mm
    if isinstance(body, RoundBody):
        half = body.half_width_mm
        angle, r = rng.uniform(0, 2 * np.pi, count), body.neck.bore_radius_mm
        radius = r * np.sqrt(rng.uniform(0, 1, count))
        inner = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    else:
        half = body.half_width_mm
        inner = np.column_stack(
            [rng.uniform(-half, half, count), rng.uniform(section.sill_top_mm, high, count)]
        )
    outer = np.column_stack([rng.uniform(-half, half, count), rng.uniform(low, high, count)])
    starts = np.column_stack([outer, np.full(count, section.front_z_mm + 0.7)])
    stops = np.column_stack([inner, np.full(count, section.inner_z_mm - 0.01)])
    return starts, stops


@pytest.mark.parametrize("name", NAMES)
def test_no_straight_line_passes_the_finished_mesh(name: str) -> None:
    resolved, _, mesh = part(name)
    starts, stops = ends(resolved, 40_000, np.random.default_rng(7))
    assert not free_sight_lines(mesh, starts, stops).any()


@pytest.mark.parametrize("name", ["rectangular-inclined", "rectangular-flat", "round-inclined"])
def test_a_broken_stack_is_caught(name: str) -> None:
    """A bank left out opens the part: the exact test, the checks and the rays all see it."""
    resolved = part(name)[0]
    section = resolved.section
    kept = tuple(s for s in section.slats if s.bank != 1)
    broken = replace(resolved, section=replace(section, slats=kept))
    assert broken.section.sight.is_open
    solid = build_solids(broken).vent
    mesh = trimesh_of(solid)
    checks = check_vent(
        broken, solid, measure(solid), *mesh_of(solid, STL_CHORD.value, STL_ANGLE.value)
    )
    assert [c.name for c in checks if c.verdict == "fail"] == ["no straight path"]
    starts, stops = ends(resolved, 40_000, np.random.default_rng(7))
    assert free_sight_lines(mesh, starts, stops).any()


@pytest.mark.parametrize(("short_mm", "verdict"), [(1e-12, "pass"), (1e-6, "fail")])
def test_a_row_accepted_but_for_rounding_is_built(short_mm: float, verdict: str) -> None:
    resolved = part("rectangular-flat")[0]
    section = replace(resolved.section)
    vars(section)["sight"] = replace(section.sight, margin_mm=0.2 - short_mm)
    assert closes(section.sight.margin_mm) == (verdict == "pass")
    solid = build_solids(resolved).vent
    checks = check_vent(
        replace(resolved, section=section),
        solid,
        measure(solid),
        *mesh_of(solid, STL_CHORD.value, STL_ANGLE.value),
    )
    assert {c.name: c.verdict for c in checks}["no straight path"] == verdict


@pytest.mark.parametrize("name", NAMES)
def test_print_orientation_puts_the_right_side_on_the_bed(name: str) -> None:
    resolved, solid, _ = part(name)
    laid = solid.moved(print_location(resolved.print_orientation, solid))
    assert laid.BoundingBox().zmin == pytest.approx(0.0, abs=1e-6)
    on_bed = [f for f in laid.Faces() if abs(f.Center().z) < 1e-6 and f.geomType() == "PLANE"]
    assert sum(f.Area() for f in on_bed) > 0.15 * resolved.opening.area_mm2
    if resolved.print_orientation == "face_down":
        # The outer face looks down, so the mark must be sunk.
        assert not resolved.mark.raised


def test_drain_is_at_the_bottom_only() -> None:
    """Seen from the front, the lowest opening is the drain slot, and it leads to the floor."""
    for name in ("rectangular-inclined", "rectangular-folded-key", "round-inclined"):
        resolved, _, mesh = part(name)
        outer = max(section_at_z(mesh, resolved.section.front_z_mm - 0.4), key=lambda p: p.area)
        openings = [type(outer)(r).bounds for r in outer.interiors]
        # The middle of the part: screw holes lie farther out.
        lowest = min(b[1] for b in openings if abs(b[0] + b[2]) / 2 < 25.0)
        assert lowest == pytest.approx(resolved.section.drain_mm[0], abs=0.1)


def test_companions_and_assembly_do_not_overlap() -> None:
    from vent_family.geometry.vent import assembled

    for family, cells in (("flanged", {}), ("round", {"size": "M25x1.5", "slat_form": "folded"})):
        resolved = spec(family, **cells)
        solids = build_solids(resolved)
        members = {p.name: p.shape.moved(p.location) for p in assembled(resolved, solids)}
        for a, b in (("panel", "gasket"), ("", "gasket"), ("", "panel")):
            both = members[a].intersect(members[b])
            assert both.Volume() == pytest.approx(0.0, abs=1e-6), (a, b)

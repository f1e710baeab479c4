"""Edges of blocks on the finished solid: corners, chamfers, drip edge, the fitted lower edge."""

from __future__ import annotations

import math
from functools import cache

import cadquery as cq
import numpy as np
import pytest
import trimesh
from shapely.affinity import translate
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from tests.helpers.meshes import free_sight_lines, section_at_x, section_at_z, trimesh_of
from tests.helpers.rows import spec
from vent_family.base.limits import EDGE_MIN, FACE_MIN
from vent_family.geometry.plate import plate_prism
from vent_family.geometry.vent import assembled, build_solids
from vent_family.spec.families.block_body import BlockBody
from vent_family.spec.plate import CornerPlate, bevel_room_mm, corner_room_mm
from vent_family.spec.vent import VentSpec

PLATES = [
    CornerPlate((40.0, 41.0, 30.0, 31.0), 4.0),
    CornerPlate((40.0, 41.0, 30.0, 31.0), 2.7, 1.1),
    CornerPlate((12.0, 12.0, 9.0, 10.0), 1.0, 3.0),
]
ROWS = {
    "face down": ("rectangular", {"size": "60x50", "wall_mm": 1.6, "plate_mm": 1.4}),
    "upright": ("rectangular", {"size": "60x60", "print_orientation": "upright"}),
    "snap": ("rectangular", {"size": "60x60", "fixing": "snap"}),
    "flanged": ("flanged", {"size": "50x50"}),
}
LIFT_MM = 1.8


@cache
def made(name: str) -> tuple[VentSpec, BlockBody, cq.Solid, trimesh.Trimesh]:
    family, cells = ROWS[name]
    vent = spec(family, **cells)
    assert isinstance(vent.body, BlockBody)
    solid = build_solids(vent).vent
    return vent, vent.body, solid, trimesh_of(solid)


def rounded(plate: CornerPlate) -> Polygon:
    """Return a plate drawn by rolling a disc along its outline, its lower corners cut off."""
    left, right, bottom, top = plate.reach_mm
    square = box(-left, -bottom, right, top)
    r = plate.corner_mm
    found = square.buffer(-r).buffer(r, quad_segs=4000)
    if plate.bevel_mm is None:
        return found
    found = unary_union([found, box(-left, -bottom, right, (top - bottom) / 2.0)])
    leg = plate.bevel_mm
    for side in (-left, right):
        inwards = -np.sign(side) * leg
        corner = [(side, -bottom), (side + inwards, -bottom), (side, -bottom + leg)]
        found = found.difference(Polygon(corner))
    return found


@pytest.mark.parametrize("plate", PLATES)
def test_closed_forms_of_a_plate_against_a_drawn_one(plate: CornerPlate) -> None:
    drawn = rounded(plate)
    _, right, bottom, top = plate.reach_mm
    assert plate.area_mm2 == pytest.approx(drawn.area, rel=1e-7)
    assert plate.outline_mm == pytest.approx(drawn.length, rel=1e-7)
    assert plate_prism(plate, (0.0, 2.0)).Volume() == pytest.approx(2.0 * drawn.area, rel=1e-7)
    for depth in (0.4, 2.2, 6.0):
        low, high = box(-99, -99, 99, depth - bottom), box(-99, top - depth, 99, 99)
        side = box(right - depth, -99, 99, 99)
        assert plate.below_mm2(depth) == pytest.approx(drawn.intersection(low).area, rel=1e-6)
        assert plate.above_mm2(depth) == pytest.approx(drawn.intersection(high).area, rel=1e-6)
        assert plate.beside_mm2(depth) == pytest.approx(drawn.intersection(side).area, rel=1e-6)
    steps = (np.arange(40) + 0.5) * 0.5 / 40
    taken = [drawn.area - drawn.buffer(-s, join_style="mitre").area for s in steps]
    assert plate.chamfered_off_mm3(0.5) == pytest.approx(0.5 * float(np.mean(taken)), rel=1e-3)
    # What is left of a bevel's leg at each height of the outline, in thin slices.
    heights = (np.arange(300) + 0.5) * 1.9 / 300
    slices = [drawn.intersection(box(-99, -99, 99, h - bottom)).area for h in heights]
    assert plate.bevelled_off_mm3(1.9) == pytest.approx(float(np.mean(slices)) * 1.9, rel=1e-3)


@pytest.mark.parametrize(("inset", "clear"), [((5.0, 5.0), 3.0), ((2.0, 6.0), 1.0)])
def test_the_largest_corner_leaves_just_what_is_asked(
    inset: tuple[float, float], clear: float
) -> None:
    point = box(inset[0], inset[1], inset[0], inset[1]).centroid
    radius = corner_room_mm(inset, clear)
    quarter = box(0.0, 0.0, 80.0, 80.0).buffer(-radius).buffer(radius, quad_segs=4000)
    assert quarter.exterior.distance(point) == pytest.approx(clear, abs=1e-4)
    leg = bevel_room_mm(inset, clear)
    cut = box(0.0, 0.0, 80.0, 80.0).difference(Polygon([(0, 0), (leg, 0), (0, leg)]))
    assert cut.exterior.distance(point) == pytest.approx(clear, abs=1e-9)


@pytest.mark.parametrize("name", ROWS)
def test_a_punched_opening_lets_the_block_in(name: str) -> None:
    """Its corners may have the radius stated and no more; upright the block goes in lifted."""
    vent, body, _, mesh = made(name)
    w, h = vent.opening.size_mm
    most = vent.opening.corner_max_mm
    assert most is not None
    # Thin walls, and snap arms that stand on the bed, leave less of a corner to take off.
    assert most == {"face down": 2.9, "upright": 3.0, "snap": 1.2, "flanged": 3.0}[name]

    def punched(radius: float) -> Polygon:
        return box(-w / 2, -h / 2, w / 2, h / 2).buffer(-radius).buffer(radius, quad_segs=64)

    lift = 0.0 if body.heel is None else LIFT_MM
    # Hooks spring back: of a block that has them, what lies behind them is looked at.
    nearest = 0.0 if body.snap is None else body.snap.free_end_z_mm - body.snap.foot_mm
    levels = np.arange(body.inner_z_mm + 0.05, nearest - 0.05, 0.8)
    block = unary_union([Polygon(p.exterior) for z in levels for p in section_at_z(mesh, float(z))])
    block = translate(block, 0.0, lift)
    grown = block.buffer(0.3 - 0.03, quad_segs=32)
    assert punched(most).buffer(1e-6).contains(grown)
    assert not punched(most + 1.5).contains(grown)


@pytest.mark.parametrize("name", ["upright", "snap"])
def test_nothing_leads_straight_through_under_a_block(name: str) -> None:
    """Rays through the slit between block and panel, and all about it, meet plastic or panel."""
    vent, body, solid, _ = made(name)
    w, h = vent.opening.size_mm
    panel = next(p for p in assembled(vent, build_solids(vent)) if p.name == "panel").shape
    rng = np.random.default_rng(3)
    count = 20_000
    x, y = rng.uniform(-w / 2 + 4, w / 2 - 4, count), rng.uniform(-h / 2 - 1, -h / 2 + 0.3, count)
    ahead = vent.section.front_z_mm + 1.0
    starts = np.column_stack([x, y + rng.uniform(-0.5, 0.3, count), np.full(count, ahead)])
    stops = np.column_stack([x, y, np.full(count, body.inner_z_mm - 1.0)])

    def free(fitted: cq.Solid) -> int:
        both = trimesh.util.concatenate([trimesh_of(fitted), trimesh_of(panel)])
        return int(free_sight_lines(both, starts, stops).sum())

    assert free(solid) == 0
    # With its leg cut off, and what stands behind the panel, the slit is there.
    flush = cq.Solid.makeBox(300, 50, 300, cq.Vector(-150, -h / 2 + 0.2999 - 50, -150))
    assert free(solid.cut(flush).Solids()[0]) > 50


@pytest.mark.parametrize("name", ROWS)
def test_outer_edges_are_chamfered_and_the_lower_one_is_drawn_back(name: str) -> None:
    vent, body, _, mesh = made(name)
    front = vent.section.front_z_mm
    left, right, bottom, top = body.cover.reach_mm

    def bounds(z: float) -> tuple[float, ...]:
        return max(section_at_z(mesh, z), key=lambda p: p.area).bounds

    assert bounds(front - 0.6) == pytest.approx((-left, -bottom, right, top), abs=1e-3)
    inset = (-left + 0.4, -bottom + 0.4, right - 0.4, top - 0.4)
    assert bounds(front - 0.1) == pytest.approx(inset, abs=2e-3)
    leg = {"face down": 1.9, "flanged": 2.25, "upright": 0.8, "snap": 0.8}[name]
    assert bounds(0.3)[1] == pytest.approx(-bottom + leg - 0.3, abs=1e-3)
    if body.heel is not None:
        # The foot on the bed is chamfered behind as well.
        behind = min(
            y for p in section_at_z(mesh, body.inner_z_mm + 0.1) for _, y in p.exterior.coords
        )
        assert behind == pytest.approx(-bottom + 0.4, abs=1e-3)


@pytest.mark.parametrize("name", ["face down", "flanged"])
def test_floor_and_ceiling_are_plates_behind_the_collar(name: str) -> None:
    vent, body, _, mesh = made(name)
    x = sum(vent.bays[0]) / 2.0 + 0.013
    whole = max(section_at_x(mesh, x), key=lambda p: p.area)
    z = body.inner_z_mm + 2.4
    cut = whole.intersection(box(z - 1e-3, -99, z + 1e-3, 99))
    pieces = sorted(getattr(cut, "geoms", [cut]), key=lambda p: p.bounds[1])
    plate = vent.row.plate_mm or 2.0
    floor, ceiling = pieces[0].bounds, pieces[-1].bounds
    # The floor slants by 5 degrees and its lower side a little more: thinner inwards.
    assert plate - 1e-3 <= floor[3] - floor[1] <= plate + 0.25
    assert ceiling[3] - ceiling[1] == pytest.approx(plate, abs=2e-3)


def slivers(solid: cq.Solid) -> list[float]:
    """Return lengths and areas that are too small to be meant, by the kernel's own measures."""
    short = [e.Length() for e in solid.Edges() if e.Length() < EDGE_MIN.value]
    return short + [f.Area() for f in solid.Faces() if f.Area() < FACE_MIN.value]


@pytest.mark.parametrize("slope_deg", [5.1, 5.2, 5.25, 5.3, 5.4])
def test_the_floors_plate_ends_off_the_blocks_corners_and_no_thinner(slope_deg: float) -> None:
    """By its slope alone the plate would end below, at and above the end of the corners' arcs."""
    vent = spec("rectangular", size="60x60", floor_slope_deg=slope_deg)
    body = vent.body
    assert isinstance(body, BlockBody)
    (foot_z, foot_y), (brink_z, brink_y) = vent.section.foot, vent.section.brink
    slope = (foot_y - brink_y) / (brink_z - foot_z)
    meant = brink_y + slope * (brink_z - body.inner_z_mm) - body.plate_mm
    arc = body.bottom_mm + body.collar.corner_mm
    assert abs(meant - arc) < EDGE_MIN.value
    assert body.lower_side(vent.section)[-1][1] <= meant
    assert slivers(build_solids(vent).vent) == []


@pytest.mark.parametrize("size", ["60x59.7", "60x59.8"])
def test_the_ceilings_plate_steps_down_off_the_blocks_corners(size: str) -> None:
    """Corners of 2.266 mm, and a step that would be 2.2 and 2.3 mm."""
    vent = spec("rectangular", size=size, wall_mm=1.3)
    body = vent.body
    assert isinstance(body, BlockBody)
    meant = body.top_mm - vent.section.ceiling_mm - body.plate_mm
    assert abs(meant - body.collar.corner_mm) < EDGE_MIN.value
    assert 0.0 < body.top_mm - body.upper_side(vent.section)[-1][1] <= meant
    assert slivers(build_solids(vent).vent) == []


def test_a_hook_fills_no_chamfer_beside_the_bevel_it_stands_on() -> None:
    _, _, solid, _ = made("snap")
    assert slivers(solid) == []


def test_a_fans_corner_cuts_a_spaces_corner_by_enough_or_not_at_all() -> None:
    cells = {"size": "128.87x91.506", "material": "PETG", "slat_form": "flat", "fan_mount": "92"}
    vent = spec("flanged", **cells)
    duct = vent.fan_duct
    assert duct is not None
    line = duct.frame.spacing_mm - duct.frame.boss_mm * math.sqrt(2.0)
    assert 0.0 < line - duct.corner_line_mm < 0.2
    assert slivers(build_solids(vent).vent) == []

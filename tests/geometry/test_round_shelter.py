"""Round heads whose drain opens downwards, on their meshes: floors, step, windows, lip, rays."""

from __future__ import annotations

import math
from functools import cache

import cadquery as cq
import numpy as np
import pytest
import trimesh
from shapely.geometry import LineString, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from tests.helpers.meshes import section_at_x, section_at_z, trimesh_of
from tests.helpers.rows import spec
from tests.helpers.washdown import SHARED
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.solid.slivers import check_slivers
from vent_family.geometry.families.round import RoundBuilder
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.resolve import refusals_of
from vent_family.spec.vent import VentSpec

SIZES = ["M32x1.5", "M63x1.5"]
FALL = math.tan(math.radians(5.0))
PLATE_MM = 2.0 / math.cos(math.radians(5.0))


@cache
def solid_of(size: str) -> tuple[VentSpec, cq.Solid]:
    resolved = spec("round", size=size, **SHARED)
    return resolved, RoundBuilder().vent(resolved, true_thread=False)


@cache
def part(size: str) -> tuple[VentSpec, RoundBody, trimesh.Trimesh]:
    resolved, solid = solid_of(size)
    body = resolved.body
    assert isinstance(body, RoundBody)
    return resolved, body, trimesh_of(solid)


def middle_mm(resolved: VentSpec) -> float:
    """Return the middle (x) of the first bay beside or in the middle that no rib stands in."""
    return 0.5 * sum(next(b for b in resolved.bays if b[1] > 1.0))


def at_x(mesh: trimesh.Trimesh, x: float) -> BaseGeometry:
    return unary_union(section_at_x(mesh, x))


def upright(cut: BaseGeometry, z: float, low: float, high: float) -> list[tuple[float, float]]:
    """Return the stretches of solid (y) met on the upright line at z between two heights."""
    met = cut.intersection(LineString([(z, low), (z, high)]))
    lines = [g for g in getattr(met, "geoms", [met]) if g.length > 1e-6]
    return sorted((g.bounds[1], g.bounds[3]) for g in lines)


@pytest.mark.parametrize("size", SIZES)
def test_both_floors_are_plates_with_a_step_between(size: str) -> None:
    """2 mm square to the slope of 5 degrees below the trough, below the lower floor, and between.

    The sill's 26 mm are measured from the bore down to the floor at the back plate.
    """
    resolved, body, mesh = part(size)
    cut = at_x(mesh, middle_mm(resolved))
    foot_y = -body.head.bore_radius_mm - 26.0
    foot_z, brink_z = body.head.plate_z_mm, resolved.section.brink[0]
    for z in (foot_z + 8.0, brink_z - 6.5):
        low, high = upright(cut, z, -500.0, foot_y + 1.0)[0]
        assert high == pytest.approx(foot_y - (z - foot_z) * FALL, abs=0.02)
        assert high - low == pytest.approx(PLATE_MM, abs=0.02)
    front = body.head.front_z_mm
    lower = [upright(cut, z, -500.0, foot_y)[0] for z in (brink_z + 2.0, front - 1.0)]
    for low, high in lower:
        assert high - low == pytest.approx(PLATE_MM, abs=0.02)
    drop = (front - 1.0 - brink_z - 2.0) * FALL
    assert lower[0][1] - lower[1][1] == pytest.approx(drop, abs=0.02)
    level = 0.5 * (lower[0][1] + foot_y - (brink_z - foot_z) * FALL)
    met = cut.intersection(LineString([(foot_z, level), (brink_z + 2.0, level)]))
    assert met.length == pytest.approx(2.0, abs=0.02)


@pytest.mark.parametrize("size", SIZES)
def test_drain_opens_downwards_over_the_whole_slot(size: str) -> None:
    """Between brink and apron, 8 mm, nothing stands from the lower floor up past the apron."""
    resolved, body, mesh = part(size)
    brink_z, brink_y = resolved.section.brink
    front = body.head.front_z_mm
    for x0, x1 in body.floor_spans_mm(resolved.bays):
        cut = at_x(mesh, 0.5 * (x0 + x1))
        slot = box(brink_z + 0.05, brink_y - 6.0, brink_z + 7.95, brink_y + 8.0)
        assert cut.intersection(slot).area < 1e-6
        apron = box(brink_z + 8.05, brink_y - 4.9, brink_z + 9.95, brink_y + 8.9)
        assert cut.intersection(apron).area == pytest.approx(apron.area, rel=1e-6)
        # The lower floor lies another 8 mm down; slats in front end as far above it.
        for z in np.linspace(brink_z + 8.0, front - 0.1, 7):
            floor = (brink_z + 8.0 - z) * FALL + brink_y - 13.0
            assert not upright(cut, float(z), floor + 0.1, floor + 7.6)


@pytest.mark.parametrize("size", SIZES)
def test_floor_counts_as_far_as_the_way_out_is_as_high_as_the_slot(size: str) -> None:
    """Measured under the apron: 8 mm are free there up to the ends that are counted."""
    resolved, body, mesh = part(size)
    brink_z, brink_y = resolved.section.brink
    z = brink_z + 9.0
    solid = unary_union(section_at_z(mesh, z))
    x1 = body.floor_spans_mm(resolved.bays)[-1][1]
    for x in (x1 - 0.2, x1 - 2.0):
        low = upright(solid, x, -500.0, brink_y - 5.0)[-1][1]
        assert brink_y - 5.0 - low == pytest.approx(8.0, abs=0.15)
    widest = max(b - a for a, b in resolved.bays)
    assert all(b - a >= 0.5 * widest for a, b in body.floor_spans_mm(resolved.bays))


def test_banks_outside_that_leave_none_inside_are_refused() -> None:
    cells = {"size": "M32x1.5", "slat_form": "folded", "bank_count": 2, "banks_outside": 2}
    row = CatalogRow(part_number="T1", family="round", status="draft", **cells)
    assert [r.rule for r in refusals_of(row)] == ["shelter.banks.most"]


@pytest.mark.parametrize("size", SIZES)
def test_windows_make_one_channel_of_the_trough(size: str) -> None:
    """At 7 mm over the floor no rib stops a level line between the outer floor stretches."""
    resolved, body, mesh = part(size)
    spans = body.floor_spans_mm(resolved.bays)
    foot_y, plate_z = -body.head.bore_radius_mm - 26.0, body.head.plate_z_mm
    for z in np.linspace(plate_z + 4.3, resolved.section.brink[0] - 1.3, 7):
        solid = unary_union(section_at_z(mesh, float(z)))
        for over in (1.0, 7.0):
            y = foot_y - (z - plate_z) * FALL + over
            line = LineString([(spans[0][0] + 0.3, y), (spans[-1][1] - 0.3, y)])
            assert line.intersection(solid).length < 1e-6, (z, over)


@pytest.mark.parametrize("size", SIZES)
def test_lip_of_the_sill_hangs_on_every_rib(size: str) -> None:
    """3 mm out from the plate, 4 mm over the floor; a rib reaches it from the stack."""
    resolved, body, mesh = part(size)
    low, plate_z = -body.head.bore_radius_mm - 22.0, body.head.plate_z_mm
    lip = box(plate_z + 0.1, low + 0.1, plate_z + 2.7, low + 1.2)
    assert at_x(mesh, middle_mm(resolved)).intersection(lip).area == pytest.approx(lip.area)
    web = box(plate_z + 0.1, low - 3.0, plate_z + 3.9, low + 4.0)
    ribs = [0.5 * (a[1] + b[0]) for a, b in zip(resolved.bays, resolved.bays[1:], strict=False)]
    inner = [x for x in ribs if abs(x) < body.clear_half_width_mm(low) - 6.0]
    assert len(inner) >= 2
    for x in inner:
        assert at_x(mesh, x).intersection(web).area == pytest.approx(web.area, rel=1e-6)


@pytest.mark.parametrize("size", SIZES)
def test_nothing_small_is_left_anywhere(size: str) -> None:
    for found in check_slivers(solid_of(size)[1]):
        assert found.verdict == "pass", found.message


def test_no_ray_comes_from_in_front_to_the_bore() -> None:
    """Straight rays from all over the front, drain included, to all over the bore's inner end."""
    resolved, body, mesh = part("M63x1.5")
    rng = np.random.default_rng(5)
    count = 4000
    turn, share = rng.uniform(0.0, 2.0 * math.pi, count), np.sqrt(rng.uniform(0.0, 1.0, count))
    r = body.head.bore_radius_mm * share
    ends = np.stack([r * np.cos(turn), r * np.sin(turn), np.full(count, -10.0)], axis=1)
    x = rng.uniform(-70.0, 70.0, count)
    y = rng.uniform(resolved.section.drain_mm[0], resolved.section.ceiling_mm, count)
    front = np.stack([x, y, np.full(count, resolved.section.front_z_mm + 2.0)], axis=1)
    inside = np.hypot(x, y) < body.head.inner_radius_mm
    front, ends = front[inside], ends[inside]
    assert len(front) > 2000
    assert mesh.ray.intersects_any(front, ends - front).all()


def test_faces_that_merge_wrongly_keep_their_seams() -> None:
    """Of this row the kernel's merging of faces leaves an open solid by the rear corner."""
    cells = {"material": "PC", "overlap_mm": 3.0, "bank_count": 3, "back_plate_mm": 5.25}
    resolved = spec("round", size="M40x1.5", slat_form="channel", banks_outside=1, **cells)
    solid = RoundBuilder().vent(resolved, true_thread=False)
    assert solid.isValid()
    assert trimesh_of(solid).is_watertight


def test_a_step_behind_the_shoulder_leaves_the_lower_plate_whole() -> None:
    """A thick plate under a long lower floor: the body's reckoning and the kernel's agree."""
    cells = {
        "slat_thickness_mm": 0.9,
        "overlap_mm": 2.417,
        "banks_outside": 2,
        "plate_mm": 8.0,
        "sill_height_mm": 17.0,
        "head_diameter_mm": 114.09,
        "rib_count": 6,
        "rib_thickness_mm": 3.1,
    }
    resolved = spec("round", size="M20x1.5", **cells)
    below, _ = resolved.body.trims(resolved.section)  # type: ignore[attr-defined]
    assert below.is_valid
    solid = RoundBuilder().vent(resolved, true_thread=False)
    told = resolved.body.volume_mm3(resolved.section, resolved.bays)
    assert solid.Volume() == pytest.approx(told, rel=2e-3)

"""Drawings of parts carry the record's numbers, true to the solid, and nothing collides."""

from __future__ import annotations

import re
from functools import cache
from random import Random
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon
from shapely.ops import unary_union

from tests.helpers.rows import spec
from tests.helpers.sheets import collisions, plain_views, told
from vent_family.base.problems import InputError
from vent_family.base.shop import demo_shop
from vent_family.catalog.model import ROUND_THREADS, SLAT_FORMS
from vent_family.evidence.as_made.fits import fits_of
from vent_family.evidence.as_made.made import made_of, nut_of
from vent_family.files.drawing.model import PaperDrawing
from vent_family.geometry.vent import VentSolids, build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.release.sheets.drawing import (
    DRAWING_MM,
    SECTION_MM,
    part_drawing,
    section_drawing,
)
from vent_family.release.sheets.gauged import Gauged, gauged_of
from vent_family.release.sheets.views import PartViews, hatched, part_views
from vent_family.spec.vent import VentSpec

SMALL = {
    "rectangular": spec("rectangular", size="40x40", seal="gasket", print_orientation="face_down"),
    "upright": spec("rectangular", size="40x40", print_orientation="upright"),
    "round": spec("round", size="M20x1.5"),
    "flanged": spec("flanged", size="60x50", locating_key="notch"),
}
FAMILIES = sorted(SMALL)
FORM_NAMES = tuple(SLAT_FORMS)


@cache
def solids_of(name: str) -> VentSolids:
    return build_solids(SMALL[name])


@cache
def views(name: str) -> PartViews:
    return part_views(SMALL[name], solids_of(name))


@cache
def points_of(name: str) -> np.ndarray:
    """Return the corners of a fine mesh of the vent."""
    vertices, _ = mesh_of(solids_of(name).vent, 0.02, 0.15)
    return vertices


def measured(name: str) -> dict[str, Any]:
    """Return what the drawing asks of the record, the box as the mesh has it."""
    record = told(SMALL[name])
    points = points_of(name)
    record["geometry"] |= {
        "box_min_mm": points.min(axis=0).tolist(),
        "box_max_mm": points.max(axis=0).tolist(),
    }
    return record


@cache
def drawn(name: str) -> PaperDrawing:
    return part_drawing(measured(name), SMALL[name], views(name), *DRAWING_MM)


def numbers(drawing: PaperDrawing) -> list[str]:
    return [t.text for t in drawing.marks.letterings]


@pytest.mark.parametrize("name", FAMILIES)
def test_nothing_collides_on_a_real_part(name: str) -> None:
    assert collisions(drawn(name)) == []
    section = section_drawing(measured(name), SMALL[name], views(name), *SECTION_MM)
    assert collisions(section) == []


def any_specs(count: int) -> list[VentSpec]:
    """Return resolved rows of any size, form, seal and screw; what is refused is left out."""
    found: list[VentSpec] = []
    random = Random(21)
    while len(found) < count:
        family = random.choice(("rectangular", "round", "flanged"))
        cells: dict[str, object] = {"slat_form": random.choice(FORM_NAMES)}
        cells["panel_thickness_mm"] = random.choice((0.8, 1.5, 3.0, 6.0))
        if family == "round":
            cells["size"] = f"{random.choice(ROUND_THREADS)}x1.5"
        else:
            wide, tall = (random.uniform(40.0, 390.0) for _ in range(2))
            cells["size"] = f"{wide:.1f}x{tall:.2f}"
            cells["screw"] = random.choice(("M3", "M4", "M5"))
            cells["locating_key"] = random.choice(("none", "notch"))
        if family == "rectangular":
            cells["seal"] = random.choice((None, "gasket"))
        try:
            found.append(spec(family, **cells))
        except (InputError, ValueError):
            continue
    return found


def test_nothing_collides_on_any_row() -> None:
    """Rows of any size, form and screw; their views by outlines alone."""
    for one in any_specs(24):
        drawing = part_drawing(told(one), one, plain_views(one), *DRAWING_MM)
        assert collisions(drawing) == [], one.row
        section = section_drawing(told(one), one, plain_views(one), *SECTION_MM)
        assert collisions(section) == [], one.row


@pytest.mark.parametrize("name", FAMILIES)
def test_dimensions_are_those_of_the_mesh(name: str) -> None:
    """Over all, before and behind the panel, and what goes into the opening, from mesh points."""
    points, texts, one = points_of(name), numbers(drawn(name)), SMALL[name]
    spans = np.ptp(points, axis=0)
    for axis in (0, 1):
        assert f"{spans[axis]:.2f}".rstrip("0").rstrip(".") in texts
    assert f"{-points[:, 2].min():.2f}".rstrip("0").rstrip(".") in texts
    plane = points[:, 2] <= one.section.front_z_mm + 1e-6
    assert f"{points[plane, 2].max():.2f}".rstrip("0").rstrip(".") in texts
    if one.body.neck is None:
        behind = points[points[:, 2] < -0.01]
        beside_key = np.abs(behind[:, 0]) > 5.0
        height = float(np.ptp(behind[beside_key, 1]))
        assert f"{height:.2f}".rstrip("0").rstrip(".") in texts
    else:
        assert one.row.size in texts


@pytest.mark.parametrize("name", FAMILIES)
def test_the_section_is_that_of_the_specification(name: str) -> None:
    """The kernel's cut faces over the whole depth of the slats against the polygons laid out."""
    one, found = SMALL[name], views(name)
    section = one.section
    cut = unary_union(found.areas)
    low, high = section.stack_z_mm
    middle = (section.floor_height_mm(low) + section.ceiling_mm) / 2.0
    span = section.ceiling_mm - middle - 1.0
    window = Polygon(
        [(low, middle - span), (high, middle - span), (high, middle + span), (low, middle + span)]
    )
    slats = section.slats_solid.union(section.apron_solid).intersection(window)
    assert cut.intersection(window).symmetric_difference(slats).area < 0.01 * slats.area
    assert slats.area > 10.0


@pytest.mark.parametrize("name", FAMILIES)
def test_views_reach_as_far_as_the_mesh(name: str) -> None:
    points, found = points_of(name), views(name)
    for lines, axes in ((found.front, (0, 1)), (found.section, (2, 1))):
        seen = np.array([p for line in lines for p in line])
        here = points
        if axes[0] == 2:
            here = points[points[:, 0] >= found.cut_x_mm - 1e-9]
        assert seen.min(axis=0) == pytest.approx(here[:, axes].min(axis=0), abs=0.06)
        assert seen.max(axis=0) == pytest.approx(here[:, axes].max(axis=0), abs=0.06)


def test_hatching_fills_an_area_at_its_distance() -> None:
    area = Polygon(
        [(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)], [[(5, 5), (9, 5), (9, 9), (5, 9)]]
    )
    lines = hatched(area, 1.5)
    total = sum(np.hypot(b[0] - a[0], b[1] - a[1]) for a, b in lines)
    assert total == pytest.approx(area.area / 1.5, rel=0.05)
    for (x0, y0), (x1, y1) in lines:
        assert y1 - y0 == pytest.approx(x1 - x0, abs=0.011)
        assert area.buffer(0.02).covers(Polygon([(x0, y0), (x1, y1), (x1, y1 + 1e-9)]).centroid)


def test_the_scale_is_said_and_kept() -> None:
    """The front view is as wide on paper as its scale says."""
    drawing = drawn("flanged")
    (caption,) = (t for t in numbers(drawing) if t.startswith("Scale"))
    match = re.match(r"Scale ([\d.]+):([\d.]+),", caption)
    assert match
    scale = float(match[1]) / float(match[2])
    xs = [p[0] for s in drawing.marks.strokes if s.width_mm == 0.25 for p in s.points]
    width = float(np.ptp(points_of("flanged")[:, 0]))
    left = min(xs)
    assert any(abs(x - left - scale * width) < 0.02 for x in xs)


def test_words_come_from_the_record_as_text() -> None:
    record = measured("rectangular")
    record["identity"] = {
        "part_number": "P<1>",
        "revision": "B",
        "issue": 3,
        "description": "a & b",
    }
    drawing = part_drawing(record, SMALL["rectangular"], views("rectangular"), *DRAWING_MM)
    assert drawing.title == "P<1> B.3: front view and section A-A"
    assert drawing.description.startswith("a & b. Opening to cut: rectangle 40 x 40 mm")


def items_of(one: VentSpec, plain: dict[str, Any]) -> tuple[Gauged, ...]:
    shop = demo_shop()
    made = made_of(one, shop)
    gasket = one.body.gasket
    plain = plain | {"joint": {"gap_mm": 0.2 if gasket is None else None}}
    return gauged_of(plain, one, fits_of(one, made, nut_of(one, shop), None), made)


@pytest.mark.parametrize("name", FAMILIES)
def test_what_is_gauged_is_as_large_on_the_solid(name: str) -> None:
    """Sizes of body and recess from points of a mesh; sill, drain and slats from the cut faces."""
    one, points, found = SMALL[name], points_of(name), views(name)
    items = {item.what.split(",")[0]: item for item in items_of(one, measured(name))}
    corners = np.array([c for area in found.areas for c in area.exterior.coords])

    def stands(z: float, y: float) -> bool:
        return bool(np.hypot(corners[:, 0] - z, corners[:, 1] - y).min() < 0.02)

    section = one.section
    assert stands(*section.sill)
    assert stands(*section.foot)
    sill = items["sill over the floor at its foot"].drawn_mm
    assert sill == pytest.approx(section.sill[1] - section.foot[1])
    low, high = section.drain_mm
    assert stands(section.front_z_mm, low)
    assert items["height of the drain"].drawn_mm == pytest.approx(high - low)
    recess = items.get("depth of the gasket's recess")
    if recess is not None:
        flat = points[(points[:, 2] > 0.5) & (points[:, 2] < 1.6)]
        assert np.abs(flat[:, 2] - recess.drawn_mm).min() < 1e-3
    if one.body.neck is not None:
        neck = points[points[:, 2] < -1.0]
        across = 2.0 * float(np.hypot(neck[:, 0], neck[:, 1]).max())
        assert items["outside of the thread"].drawn_mm == pytest.approx(across, abs=0.02)
        return
    behind = points[points[:, 2] < -0.01]
    assert items["width of the body"].drawn_mm == pytest.approx(np.ptp(behind[:, 0]), abs=0.01)
    beside_key = np.abs(behind[:, 0]) > 5.0
    tall = float(np.ptp(behind[beside_key, 1]))
    assert items["height of the body"].drawn_mm == pytest.approx(tall, abs=0.01)

"""The contract of every family's builder, a fourth one included: solids against what is told.

Measured on plane sections of the finished solid's mesh.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cadquery as cq
import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from tests.helpers.families import ALL, fourth_family, vent_of
from vent_family.base.limits import ESTIMATE_VOLUME, FIT_CLEARANCE, STL_ANGLE, STL_CHORD
from vent_family.evidence.solid.volume import estimate_volume_mm3
from vent_family.geometry.opening import opening_tool
from vent_family.geometry.vent import build_solids
from vent_family.mesh.regions import regions_of
from vent_family.mesh.slices import Cuts
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.areas import plane_area_mm2
from vent_family.spec.mark import mark_outlines


@pytest.fixture(autouse=True, scope="module")
def _fourth() -> Iterator[None]:
    with fourth_family():
        yield


CASES = [
    *((name, ()) for name in ALL),
    ("rectangular", (("fixing", "snap"),)),
    ("rectangular", (("locating_key", "notch"),)),
    ("rectangular", (("seal", "gasket"),)),
    ("round", (("step_thread", "plain"),)),
    ("round", (("locating_key", "notch"),)),
]


@cache
def built(name: str, cells: tuple[tuple[str, str], ...]):  # type: ignore[no-untyped-def]
    """Return a vent, its solids and the mesh of the vent."""
    vent = vent_of(name, **dict(cells))
    solids = build_solids(vent)
    return vent, solids, mesh_of(solids.vent, STL_CHORD.value, STL_ANGLE.value)


def cut_at(mesh: tuple[np.ndarray, np.ndarray], z: float) -> Polygon | MultiPolygon:
    return regions_of(Cuts(*mesh, np.array([z])))[0]


def filled(region: Polygon | MultiPolygon) -> Polygon | MultiPolygon:
    """Return a region with its holes closed."""
    parts = getattr(region, "geoms", [region])
    return unary_union([Polygon(p.exterior) for p in parts])


@pytest.mark.parametrize(("name", "cells"), CASES)
def test_one_valid_solid_of_the_estimated_volume(
    name: str, cells: tuple[tuple[str, str], ...]
) -> None:
    vent, solids, _ = built(name, cells)
    for solid in (solids.vent, solids.vent_step):
        assert isinstance(solid, cq.Solid)
        assert solid.isValid()
        assert len(solid.Shells()) == 1
    estimate = estimate_volume_mm3(vent)
    assert solids.vent.Volume(tol=1e-4) == pytest.approx(estimate, rel=ESTIMATE_VOLUME.value)


@pytest.mark.parametrize(("name", "cells"), CASES)
def test_the_opening_holds_the_body_with_the_stated_clearance(
    name: str, cells: tuple[tuple[str, str], ...]
) -> None:
    vent, _, mesh = built(name, cells)
    t = vent.panel_thickness_mm
    # A key ridge lies in its notch with clearance at its sides and below.
    tool = mesh_of(opening_tool(vent, 2 * t).Solids()[0], STL_CHORD.value, STL_ANGLE.value)
    hole = cut_at(tool, -0.5 * t)
    # Everything behind the panel's face must pass, except hooks, which spring back.
    deepest = vent.body.snap.free_end_z_mm if vent.body.snap else vent.section.inner_z_mm
    levels = np.arange(deepest + 0.07, -0.05, 0.31)
    body = unary_union([filled(region) for region in regions_of(Cuts(*mesh, levels))])
    assert hole.area == pytest.approx(
        vent.opening.area_mm2 + (np.prod(vent.opening.notch_mm) if vent.opening.notch_mm else 0.0),
        rel=2e-3,
    )
    clear = FIT_CLEARANCE.value
    assert hole.buffer(1e-6).contains(body.buffer(clear - 0.03, join_style="mitre"))
    # No more room than that, the thread's tolerance apart.
    assert not hole.contains(body.buffer(clear + 0.12, join_style="mitre"))


@pytest.mark.parametrize(("name", "cells"), CASES)
def test_cover_and_mark_are_where_they_are_told_to_be(
    name: str, cells: tuple[tuple[str, str], ...]
) -> None:
    vent, solids, mesh = built(name, cells)
    # Behind the chamfer of the outer edge.
    face = filled(cut_at(mesh, vent.section.front_z_mm - 0.7))
    left, right, bottom, top = vent.body.cover.reach_mm
    x0, y0, x1, y1 = face.bounds
    assert (-x0, x1) == pytest.approx((left, right), abs=0.02)
    # A round head's lower side is parallel to its floor: it rises by 0.06 mm behind the front.
    assert -y0 == pytest.approx(bottom, abs=0.07)
    assert y1 == pytest.approx(top, abs=0.03)
    assert face.area <= vent.body.cover.area_mm2 + 1.0
    assert face.area == pytest.approx(vent.body.cover.area_mm2, rel=0.03)
    outer = solids.vent.BoundingBox()
    assert (-outer.ymin, outer.ymax) == pytest.approx((bottom, top), abs=1e-2)
    window = box(-right, vent.section.ceiling_mm, right, top)
    for outline, _ in mark_outlines(vent.mark):
        assert face.intersection(window).buffer(-0.5).contains(Polygon(outline))


@pytest.mark.parametrize(("name", "cells"), CASES)
def test_the_open_area_told_is_the_air_in_the_solid(
    name: str, cells: tuple[tuple[str, str], ...]
) -> None:
    vent, _, mesh = built(name, cells)
    inner, outer = vent.section.stack_z_mm
    for z in (inner - 1.0, inner + 0.13 * (outer - inner), inner + 0.62 * (outer - inner)):
        solid = cut_at(mesh, z)
        half = vent.body.half_width_mm
        around = box(-half, vent.section.drain_mm[0] - 5.0, half, vent.section.ceiling_mm)
        holes = unary_union(
            [
                Polygon(ring)
                for part in getattr(solid, "geoms", [solid])
                for ring in part.interiors
                if Polygon(ring).intersection(around).area > 0.5 * Polygon(ring).area
            ]
        )
        air = holes.difference(solid).area
        assert plane_area_mm2(vent, z) == pytest.approx(air, rel=4e-3)


@pytest.mark.parametrize(("name", "cells"), CASES)
def test_screw_holes_are_open_in_vent_and_panel(
    name: str, cells: tuple[tuple[str, str], ...]
) -> None:
    vent, solids, mesh = built(name, cells)
    cover = cut_at(mesh, 0.6 * vent.section.front_z_mm)
    panel = mesh_of(solids.panel, STL_CHORD.value, STL_ANGLE.value)
    plate = cut_at(panel, -0.5 * vent.panel_thickness_mm)
    for hole in vent.opening.holes:
        disc = Point(hole.x_mm, hole.y_mm).buffer(0.48 * hole.diameter_mm)
        assert not cover.intersects(disc)
        assert not plate.intersects(disc)
        ring = Point(hole.x_mm, hole.y_mm).buffer(0.5 * hole.diameter_mm + 1.9)
        assert filled(cover).contains(ring)


@pytest.mark.parametrize(("name", "cells"), CASES)
def test_what_is_delivered_follows_from_the_body(
    name: str, cells: tuple[tuple[str, str], ...]
) -> None:
    vent, solids, _ = built(name, cells)
    assert (solids.locknut is None) == (vent.body.neck is None)
    assert (solids.gasket is None) == (vent.body.gasket is None)
    if vent.body.gasket is not None:
        thick = solids.gasket.BoundingBox()
        assert thick.zmax - thick.zmin == pytest.approx(vent.body.gasket.thickness_mm)
    simplified = vent.body.neck is not None and not vent.body.neck.true_thread
    assert (solids.vent_step is solids.vent) == (not simplified)

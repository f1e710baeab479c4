from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from trimesh.ray.ray_pyembree import RayMeshIntersector

from tests.evidence.water.scenes import bounds, random_section, stack
from tests.helpers.rows import spec
from vent_family.base.limits import STL_ANGLE, STL_CHORD
from vent_family.evidence.water.sight import (
    margin_by_elevation,
    open_ranges,
    sight_line,
    sight_report,
)
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.forms import OUT
from vent_family.spec.layout import lay_out
from vent_family.spec.section import Section

DECIDED_MM = 0.04
"""Passages narrower than this are finer than the bundle; such stacks are drawn again."""


def test_the_line_that_is_drawn_is_the_nearest_one_made_longer() -> None:
    """On either side it goes on straight, and what stops it lies between the open planes."""
    section = spec(size="40x40", slat_form="folded").section
    line = sight_line(section)
    z, y = np.array([*line.ends_mm, *line.drawn.line]).T
    assert np.ptp(y - np.polyval(np.polyfit(z, y, 1), z)) < 1e-9
    assert np.abs(np.diff(z[:2])) > np.abs(np.diff(z[2:])) + 10.0
    stopped = np.array(line.stopped_mm)
    assert len(stopped)
    assert stopped[..., 0].min() >= section.inner_z_mm - 1e-9
    assert stopped[..., 0].max() <= section.front_z_mm + 1e-9


def bundle(section: Section, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Return offsets and slopes of many lines: spread over all directions, and past corners.

    The second kind grazes two corners each, a hair to one side, where a narrow passage would be.
    """
    z0, z1 = section.inner_z_mm, section.front_z_mm
    low, high = section.lower[-1][1], section.ceiling_mm
    n = 12_000
    left, right = rng.uniform(low, high, n), rng.uniform(low, high, n)
    slope = (right - left) / (z1 - z0)
    corners = np.array(
        [p for ring in section.pieces for p in ring] + [*section.lower, *section.upper]
    )
    i, j = np.triu_indices(len(corners), 1)
    p, q = corners[i], corners[j]
    apart = np.abs(p[:, 0] - q[:, 0]) > 1e-6
    p, q = p[apart], q[apart]
    way = q - p
    normal = np.stack([-way[:, 1], way[:, 0]], axis=1)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    hair = DECIDED_MM / 4
    lines = [(left - slope * z0, slope)]
    for a in (-hair, hair):
        for b in (-hair, hair):
            p1, q1 = p + a * normal, q + b * normal
            m = (q1[:, 1] - p1[:, 1]) / (q1[:, 0] - p1[:, 0])
            lines.append((p1[:, 1] - m * p1[:, 0], m))
    return np.concatenate([o for o, _ in lines]), np.concatenate([s for _, s in lines])


def free_rays(section: Section, offset: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """Return which lines meet no solid: corners of a convex solid all lie on one side."""
    free = np.ones(offset.size, dtype=bool)
    for ring in section.pieces:
        c = np.array(ring)
        side = c[:, 1][None] - slope[:, None] * c[:, 0][None] - offset[:, None]
        free &= (side > 0).all(axis=1) | (side < 0).all(axis=1)
    for wall, sign in ((section.lower, -1.0), (section.upper, 1.0)):
        c = np.array(wall)
        side = c[:, 1][None] - slope[:, None] * c[:, 0][None] - offset[:, None]
        free &= (sign * side > 0).all(axis=1)
    return free


def test_ray_bundle_agrees_on_200_random_stacks() -> None:
    rng = np.random.default_rng(20_240)
    open_count = closed_count = 0
    while open_count + closed_count < 200:
        section = random_section(rng)
        if section is None:
            continue
        margin = section.sight.margin_mm
        if -DECIDED_MM < margin < 0.0:
            continue
        any_free = bool(free_rays(section, *bundle(section, rng)).any())
        assert any_free is (margin < 0.0), margin
        assert bool(open_ranges(section)) is (margin < 0.0)
        open_count += margin < 0.0
        closed_count += margin >= 0.0
    assert open_count >= 30
    assert closed_count >= 30


def test_open_range_of_an_empty_duct() -> None:
    # Closed form: a duct of height h and depth L is open to plus and minus atan(h / L).
    made = lay_out(stack(), bounds(stack()))
    duct = Section(
        stack=made.stack,
        slats=(),
        shelf=((-20.0, -10.0),),
        sill=(-20.0, -10.0),
        foot=(-20.0, -10.0),
        brink=(0.0, -10.0),
        upper=((-20.0, 10.0), (0.0, 10.0)),
        apron=((-1.0, -10.5), (0.0, -10.5), (0.0, -10.4), (-1.0, -10.4)),
        stack_z_mm=(-19.0, -1.0),
        ceiling_mm=10.0,
        drain_mm=(-10.0, -9.0),
    )
    (low, high), *rest = open_ranges(duct)
    assert not rest
    assert high == pytest.approx(math.degrees(math.atan(20.0 / 20.0)))
    assert low == pytest.approx(-high)
    # Margin of the level line: the duct's whole height is open.
    assert margin_by_elevation(duct, np.array([0.0]))[0] == pytest.approx(-20.0)


def test_open_ranges_hold_the_widest_line_and_nothing_closed() -> None:
    section = lay_out(stack(slopes=(OUT,) * 3, pitch_mm=7.0), bounds(stack(pitch_mm=7.0)))
    ranges = open_ranges(section)
    assert ranges
    assert any(a <= -section.sight.elevation_deg <= b for a, b in ranges)
    for a, b in ranges:
        assert margin_by_elevation(section, np.array([(a + b) / 2]))[0] < 0.0
    outside = np.array([a - 0.5 for a, _ in ranges if not any(p < a - 0.5 < q for p, q in ranges)])
    assert np.all(margin_by_elevation(section, outside) >= 0.0)


def test_drain_and_from_below_are_no_nearer_than_the_nearest() -> None:
    for form in ("flat", "inclined", "folded"):
        section = spec(slat_form=form).section
        report = sight_report(section, 24.0, 0.0)
        assert report.open_deg == ()
        assert report.drain_margin_mm is not None
        assert report.from_below_margin_mm is not None
        assert report.drain_margin_mm >= report.margin_mm - 1e-9
        assert report.from_below_margin_mm >= report.margin_mm - 1e-9
        assert report.plan_limit_deg == pytest.approx(
            math.degrees(math.atan(24.0 / (section.stack_z_mm[1] - section.stack_z_mm[0])))
        )


def test_drain_margin_sees_a_raised_drain() -> None:
    # With a drain as high as a window the straight path must show up in the drain's own margin.
    made = stack()
    section = lay_out(made, bounds(made, 60.0, drain_height_mm=14.0, sill_top_mm=-29.0))
    report = sight_report(section, 24.0, 0.0)
    assert report.drain_margin_mm is not None
    assert report.drain_margin_mm < 0.0
    assert report.from_below_margin_mm is not None


@pytest.mark.parametrize("form", ["inclined", "flat"])
def test_no_ray_passes_the_finished_solid(form: str) -> None:
    vent = spec("rectangular", size="50x50", slat_form=form)
    vertices, faces = mesh_of(build_solids(vent).vent, STL_CHORD.value, STL_ANGLE.value)
    mesh = trimesh.Trimesh(vertices, faces)
    rng = np.random.default_rng(3)
    n = 60_000
    section = vent.section
    inner, front = section.inner_z_mm, section.front_z_mm
    x0, x1 = vent.bays[0][0], vent.bays[-1][1]
    low, high = section.drain_mm[0], section.ceiling_mm

    def points(z: float) -> np.ndarray:
        return np.stack([rng.uniform(x0, x1, n), rng.uniform(low, high, n), np.full(n, z)], axis=1)

    start, end = points(front), points(inner)
    way = end - start
    way /= np.linalg.norm(way, axis=1)[:, None]
    hit = RayMeshIntersector(mesh).intersects_any(start - 0.5 * way, way)
    assert hit.all()


@pytest.mark.parametrize("form", ["flat", "inclined", "folded"])
def test_open_ranges_end_where_the_margin_changes_its_sign(form: str) -> None:
    """A bank left out opens the stack; a fine fan of directions finds the same ranges."""
    whole = spec("rectangular", size="60x60", slat_form=form).section
    section = replace(whole, slats=tuple(s for s in whole.slats if s.bank != 1))
    ranges = open_ranges(section)
    assert ranges
    fan = np.arange(-70.0, 70.0, 0.05)
    free = margin_by_elevation(section, fan) < -1e-6
    told = np.zeros(fan.size, dtype=bool)
    for low, high in ranges:
        assert low < high
        told |= (fan > low) & (fan < high)
    assert free.any()
    assert not free.all()
    # Each end of a range may fall between two directions of the fan.
    ends = np.array([e for r in ranges for e in r])
    near = np.abs(fan[:, None] - ends[None]).min(axis=1) < 0.06
    assert (free == told)[~near].all()
    assert near.sum() < 0.2 * fan.size

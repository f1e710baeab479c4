"""The pool of a turned vent against counting points and against a flood of voxels."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely
from scipy import ndimage

from tests.helpers.meshes import section_at_z, trimesh_of
from tests.helpers.rows import spec
from vent_family.evidence.water.posture.basin import basin_of, chords, volume_below_mm3
from vent_family.evidence.water.posture.frame import Posture
from vent_family.geometry.vent import build_solids
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.vent import VentSpec

POSTURES = ((0.0, 0.0), (12.0, 0.0), (-20.0, 35.0), (5.0, 90.0), (0.0, 140.0), (70.0, -60.0))


def _room(vent: VentSpec, bay: tuple[float, float], points: np.ndarray) -> np.ndarray:
    """Return which points (x, y, z) lie in a bay's cavity; slats and apron count as cavity."""
    x, y, z = points.T
    inside = shapely.contains_xy(vent.section.room, z, y)
    if isinstance(vent.body, RoundBody):
        # Between the rear corner's cone, 45 degrees, and the head's cylinder.
        head = vent.body.head
        r = np.minimum(head.inner_radius_mm, head.plate_radius_mm + z - head.plate_z_mm)
        inside &= (np.hypot(x, y) < r) & (z > head.plate_z_mm)
    half = np.array([vent.body.clear_half_width_mm(float(v)) for v in y])
    return inside & (x > bay[0]) & (x < bay[1]) & (np.abs(x) < half)


@pytest.mark.parametrize("family", ["rectangular", "round"])
@pytest.mark.parametrize("posture", POSTURES)
def test_volume_is_what_random_points_count(family: str, posture: tuple[float, float]) -> None:
    vent = spec(family)
    basin = basin_of(vent)
    up = Posture(*posture).up
    # Ribs of a round head stand on no floor: all its bays are one.
    span = (vent.bays[0][0], vent.bays[-1][1]) if family == "round" else vent.bays[-1]
    bay, section = basin.bays[-1], vent.section
    assert len(basin.bays) == (1 if family == "round" else len(vent.bays))
    level = bay.lowest_mm(up) + 9.0
    rng = np.random.default_rng(5)
    back = section.foot[0] if vent.body.neck is None else vent.body.neck.bore_end_z_mm
    low = np.array([span[0], section.brink[1], back])
    high = np.array([span[1], section.ceiling_mm, section.front_z_mm])
    points = low + (high - low) * rng.random((60_000, 3))
    share = float((_room(vent, span, points) & (points @ np.array(up) < level)).mean())
    counted = share * float(np.prod(high - low))
    scatter = float(np.prod(high - low)) * math.sqrt(share * (1.0 - share) / len(points))
    assert share > 0.005
    assert bay.volume_mm3(up, level) == pytest.approx(counted, abs=4.0 * scatter)


def _passes(vent: VentSpec, up: np.ndarray, cell: float) -> tuple[float, float]:
    """Return the levels at which a flood of voxels runs out and in, from the room's low point."""
    section, bay = vent.section, vent.bays[0]
    z = np.arange(section.inner_z_mm + cell / 2, section.front_z_mm, cell)
    y = np.arange(section.brink[1] + cell / 2, section.ceiling_mm, cell)
    x = np.arange(bay[0] + cell / 2, bay[1], cell)
    grid = np.stack(np.meshgrid(x, y, z, indexing="ij"), axis=-1)
    free = _room(vent, bay, grid.reshape(-1, 3)).reshape(grid.shape[:3])
    free &= ~shapely.contains_xy(section.apron_solid, grid[..., 2], grid[..., 1])
    height = grid @ up
    front = free & (z >= section.foot[0])
    start = np.unravel_index(np.argmin(np.where(front, height, np.inf)), free.shape)

    def reaches(level: float, plane: int) -> bool:
        parts, _ = ndimage.label(free & (height < level), np.ones((3, 3, 3)))
        mine = parts[start]
        return bool(mine and (parts[:, :, plane] == mine).any())

    found = []
    for plane in (-1, 0):
        low, high = float(height[start]), float(height[free].max()) + cell
        while high - low > cell / 4:
            middle = 0.5 * (low + high)
            low, high = (low, middle) if reaches(middle, plane) else (middle, high)
        found.append(high)
    return found[0], found[1]


@pytest.mark.parametrize(
    "posture",
    [*POSTURES, (0.0, 180.0), (90.0, 0.0), (-90.0, 0.0), (25.0, 20.0), (-10.0, 170.0)],
)
def test_levels_at_which_it_leaves_are_those_of_a_flood(posture: tuple[float, float]) -> None:
    vent = spec("rectangular", size="40x40")
    up = np.array(Posture(*posture).up)
    bay = basin_of(vent).bays[0]
    cell = 0.5
    outwards, inwards = _passes(vent, up, cell)
    # A voxel's middle lies up to half its diagonal from what it stands for.
    assert bay.outwards_mm(tuple(up)) == pytest.approx(outwards, abs=1.2 * cell)
    assert bay.over_sill_mm(tuple(up)) == pytest.approx(inwards, abs=1.2 * cell)


CELL_MM = 0.6


@cache
def _grid(size: str) -> tuple[VentSpec, tuple[np.ndarray, ...], np.ndarray]:
    """Return a round vent, a grid's x, y and z, and where its solid is open between its ends."""
    vent = spec("round", size=size, step_thread="plain")
    mesh = trimesh_of(build_solids(vent).vent)
    section, head = vent.section, vent.body.head  # type: ignore[attr-defined]
    x = np.arange(-head.radius_mm, head.radius_mm, CELL_MM) + CELL_MM / 2
    # The inner end, then from the panel's plane on.
    z = np.array([section.inner_z_mm + 0.01, *np.arange(0.01, section.front_z_mm, CELL_MM)])
    y, across = np.meshgrid(x, x)[::-1]
    across, y = across.T, y.T
    free = np.empty((x.size, x.size, z.size), dtype=bool)
    (z0, y0), (z1, y1) = section.foot, section.brink
    for k, at in enumerate(z):
        solid = shapely.union_all(section_at_z(mesh, float(at)))
        outside = solid.convex_hull.exterior.buffer(0.05)
        floor = y0 + (y1 - y0) * (at - z0) / (z1 - z0)
        within = shapely.contains_xy(solid.convex_hull.difference(outside), across, y)
        # What is open below the floor's plate and above the ceiling's is not the cavity.
        within &= (y > floor - 0.5) & (y < section.ceiling_mm + 0.5)
        free[:, :, k] = within & ~shapely.contains_xy(solid, across, y)
    return vent, (x, x, z), free


def _flood(up: np.ndarray, axes: tuple[np.ndarray, ...], free: np.ndarray, back: float) -> list:
    """Return the levels at which water from the lowest point runs out in front, and inwards."""
    x, y, z = axes
    height = x[:, None, None] * up[0] + y[None, :, None] * up[1] + z[None, None, :] * up[2]
    room = free & (z >= back)
    start = np.unravel_index(np.argmin(np.where(room, height, np.inf)), free.shape)
    found = []
    for plane in (-1, 0):
        low, high = float(height[start]), float(height[free].max()) + CELL_MM
        while high - low > CELL_MM / 4:
            middle = 0.5 * (low + high)
            parts, _ = ndimage.label(free & (height < middle), np.ones((3, 3, 3)))
            mine = parts[start]
            wet = mine and (parts[:, :, plane] == mine).any()
            low, high = (low, middle) if wet else (middle, high)
        found.append(high)
    return found


@pytest.mark.parametrize(
    "posture", [(0.0, 0.0), (12.0, 0.0), (-20.0, 35.0), (5.0, 90.0), (0.0, 180.0), (70.0, -60.0)]
)
def test_a_round_head_is_flooded_as_its_solid_is(posture: tuple[float, float]) -> None:
    """Voxels of the finished solid, ribs, windows, channel, steps of the rim and all.

    What stands in front of a slat that grows out of the ceiling has left (upside down).
    """
    vent, axes, free = _grid("M20x1.5")
    up = Posture(*posture).up
    (bay,) = basin_of(vent).bays
    neck = vent.body.neck
    assert neck is not None
    outwards, inwards = _flood(np.array(up), axes, free, neck.bore_end_z_mm)
    dam = bay.dam(up)
    leaves = bay.outwards_mm(up) if dam is None else float((dam @ np.array(up)).min())
    assert leaves == pytest.approx(outwards, abs=1.2 * CELL_MM)
    if leaves < bay.over_sill_mm(up):
        # Level with the bore or leaning, the voxel's own size is what a flood is out by.
        assert bay.over_sill_mm(up) == pytest.approx(inwards, abs=1.2 * CELL_MM)


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_left_and_right_are_the_same(family: str) -> None:
    basin = basin_of(spec(family))
    for roll in (20.0, 75.0, 130.0):
        left, right = Posture(7.0, -roll).up, Posture(7.0, roll).up
        for a, b in zip(basin.bays, reversed(basin.bays), strict=True):
            assert a.outwards_mm(left) == pytest.approx(b.outwards_mm(right))
            assert a.over_sill_mm(left) == pytest.approx(b.over_sill_mm(right))
            level = a.lowest_mm(left) + 5.0
            assert a.volume_mm3(left, level) == pytest.approx(b.volume_mm3(right, level))


def test_the_bore_is_a_round_vents_last_edge() -> None:
    vent = spec("round")
    (bay,) = basin_of(vent).bays
    neck = vent.body.neck
    assert neck is not None
    r = neck.bore_radius_mm
    # Upright its lowest point, a radius below the axis; turned a little the same.
    assert bay.over_sill_mm(Posture().up) == pytest.approx(-r)
    assert bay.over_sill_mm(Posture(0.0, 30.0).up) == pytest.approx(-r, rel=1e-3)
    # Leaning back by 10 degrees the outer end of the bore is the higher one, where its bevel
    # begins: the plate's front lies less in front of it than the bevel is wide.
    t = math.radians(10.0)
    leaning = -r * math.cos(t) + vent.section.sill[0] * math.sin(t)
    assert bay.over_sill_mm(Posture(10.0, 0.0).up) == pytest.approx(leaning)
    # Leaning forwards, the inner end of the neck is.
    forwards = -r * math.cos(t) + neck.length_mm * math.sin(t)
    assert bay.over_sill_mm(Posture(-10.0, 0.0).up) == pytest.approx(forwards)
    # Leaning back by 60 degrees, the hole's edge in the plate.
    t = math.radians(60.0)
    hole = -vent.body.head.rim[0][1].bounds[1]  # type: ignore[attr-defined]
    plate = -hole * math.cos(t) + neck.bore_end_z_mm * math.sin(t)
    assert bay.over_sill_mm(Posture(60.0, 0.0).up) == pytest.approx(plate)
    # On its side, the first of the hole's edges is a rib beside it.
    rib = vent.body.head.bore_half_mm  # type: ignore[attr-defined]
    assert bay.over_sill_mm(Posture(0.0, 90.0).up) == pytest.approx(-min(r, rib))


def test_chords_of_a_square_on_its_edge() -> None:
    square = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)])
    half = math.sqrt(0.5)
    low, high, width = chords(square, (half, half, 0.0), 40)
    # The sum of strips is the square's area; the middle strip is the diagonal.
    assert float((high - low).sum()) * width == pytest.approx(16.0, rel=1e-3)
    assert float((high - low).max()) == pytest.approx(4.0 * math.sqrt(2.0), rel=0.03)


def test_nothing_stands_below_the_lowest_point() -> None:
    cube = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    assert volume_below_mm3(cube, (0.0, 1.0, 0.0), -0.5) == 0.0
    assert volume_below_mm3(cube, (0.0, 1.0, 0.0), 2.0) == pytest.approx(1.0)

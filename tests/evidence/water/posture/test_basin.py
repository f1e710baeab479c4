"""The pool of a turned vent against counting points and against a flood of voxels."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from scipy import ndimage

from tests.helpers.rows import spec
from vent_family.evidence.water.posture.basin import basin_of, chords, volume_below_mm3
from vent_family.evidence.water.posture.frame import Posture
from vent_family.spec.vent import VentSpec

POSTURES = ((0.0, 0.0), (12.0, 0.0), (-20.0, 35.0), (5.0, 90.0), (0.0, 140.0), (70.0, -60.0))


def _room(vent: VentSpec, bay: tuple[float, float], points: np.ndarray) -> np.ndarray:
    """Return which points (x, y, z) lie in a bay's cavity; slats and apron count as cavity."""
    x, y, z = points.T
    inside = shapely.contains_xy(vent.section.room, z, y)
    half = np.array([vent.body.clear_half_width_mm(float(v)) for v in y])
    return inside & (x > bay[0]) & (x < bay[1]) & (np.abs(x) < half)


@pytest.mark.parametrize("family", ["rectangular", "round"])
@pytest.mark.parametrize("posture", POSTURES)
def test_volume_is_what_random_points_count(family: str, posture: tuple[float, float]) -> None:
    vent = spec(family)
    basin = basin_of(vent)
    up = Posture(*posture).up
    k = len(vent.bays) - 1
    bay, section = basin.bays[k], vent.section
    level = bay.lowest_mm(up) + 9.0
    rng = np.random.default_rng(5)
    low = np.array([vent.bays[k][0], section.brink[1], section.foot[0]])
    high = np.array([vent.bays[k][1], section.ceiling_mm, section.front_z_mm])
    points = low + (high - low) * rng.random((60_000, 3))
    share = float((_room(vent, vent.bays[k], points) & (points @ np.array(up) < level)).mean())
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
    # Blocks only: behind a round vent's sill lies a plenum that all bays share.
    vent = spec("rectangular", size="40x40")
    up = np.array(Posture(*posture).up)
    bay = basin_of(vent).bays[0]
    cell = 0.5
    outwards, inwards = _passes(vent, up, cell)
    # A voxel's middle lies up to half its diagonal from what it stands for.
    assert bay.outwards_mm(tuple(up)) == pytest.approx(outwards, abs=1.2 * cell)
    assert bay.over_sill_mm(tuple(up)) == pytest.approx(inwards, abs=1.2 * cell)


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
    basin = basin_of(vent)
    neck = vent.body.neck
    assert neck is not None
    r = neck.bore_radius_mm
    # Upright its lowest point, a radius below the axis; rolled the same; leaning back by 10 degrees
    # the outer end of the bore is the higher one.
    assert basin.into_bore_mm(Posture().up) == pytest.approx(-r)
    assert basin.into_bore_mm(Posture(0.0, 77.0).up) == pytest.approx(-r, rel=1e-3)
    t = math.radians(10.0)
    leaning = -r * math.cos(t) + neck.bore_end_z_mm * math.sin(t)
    assert basin.into_bore_mm(Posture(10.0, 0.0).up) == pytest.approx(leaning)
    assert basin_of(spec("rectangular")).into_bore_mm(Posture().up) == -math.inf


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

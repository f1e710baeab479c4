"""What a picture is made of, pixel by pixel: against rays traced in Python and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vent_family.mesh.raster import foremost, lit_share, shine, soft_normals


def traced(points: np.ndarray, triangles: np.ndarray, x: float, y: float) -> tuple[int, float]:
    """Return the nearest triangle at a point by the sides it lies on, and its height there."""
    best = (-1, -math.inf)
    for k, corners in enumerate(points[triangles]):
        sides = []
        for i in range(3):
            (x0, y0), (x1, y1) = corners[i, :2], corners[(i + 1) % 3, :2]
            sides.append((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0))
        if min(sides) >= 0.0 or max(sides) <= 0.0:
            a, b, c = np.linalg.solve(np.column_stack([corners[:, :2], np.ones(3)]), corners[:, 2])
            best = max(best, (k, a * x + b * y + c), key=lambda found: found[1])
    return best


def test_each_pixel_shows_the_nearest_triangle() -> None:
    rng = np.random.default_rng(3)
    points = rng.uniform((-4.0, -4.0, 0.0), (24.0, 19.0, 9.0), (36, 3))
    triangles = np.arange(36).reshape(-1, 3)
    ids, heights = foremost(points, triangles, 15, 20)
    assert len(np.unique(ids)) > 6
    for row in range(15):
        for column in range(20):
            k, height = traced(points, triangles, column + 0.5, row + 0.5)
            assert ids[row, column] == k
            assert heights[row, column] == (height if k < 0 else pytest.approx(height))


def test_the_sky_beside_a_long_wall_is_as_open_as_its_angle() -> None:
    """A wall up to the angle t hides (1 - cos t) / 2 of a dull floor's light (crossed strings)."""
    high, size, map_mm = 10.0, 400, 100.0
    # A wall along z, its face at x = 0, seen as a thin box without ends.
    wall = np.array([(x, y, z) for x in (-1.0, 0.0) for y in (0.0, high) for z in (-900.0, 900.0)])
    faces = np.array([(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (2, 3, 7), (2, 7, 6)])
    away = np.array([2.0, 10.0, 25.0])
    places = np.column_stack([away, np.zeros(3), np.zeros(3)])
    normals = np.tile([0.0, 1.0, 0.0], (3, 1))
    found, whole = np.zeros(3), 0.0
    rng = np.random.default_rng(5)
    for _ in range(600):
        # Directions by the cosine, so that each brings as much.
        turn, square = rng.uniform(0.0, 2.0 * math.pi), rng.uniform()
        light = np.array(
            [
                math.sqrt(square) * math.cos(turn),
                math.sqrt(1.0 - square),
                math.sqrt(square) * math.sin(turn),
            ]
        )
        right = np.cross([1.0, 0.0, 0.0], light)
        right /= np.linalg.norm(right)
        frame = np.stack([right, -np.cross(light, right), light])
        flat = wall @ frame.T
        flat[:, :2] = (flat[:, :2] + 0.5 * map_mm) * size / map_mm
        _, heights = foremost(flat, faces, size, size)
        found += lit_share(places, normals, frame, map_mm, heights, 0.0)
        whole += 1.0
    expected = 0.5 * (1.0 + np.cos(np.arctan2(high, away)))
    # Six hundred draws: two standard errors are 0.04 at most.
    assert found / whole == pytest.approx(expected, abs=0.04)


def test_a_dull_face_and_its_sheen_by_hand() -> None:
    """Light 60 degrees off the face, the viewer where it is mirrored and straight above."""
    s, c = math.sin(math.pi / 3.0), math.cos(math.pi / 3.0)
    normals = np.array([[0.0, 1.0, 0.0]] * 3)
    towards = np.array([[-s, c, 0.0], [0.0, 1.0, 0.0], [0.0, 1.0, 0.0]])
    sums = np.zeros((3, 3))
    shine(np.array([1.0, 0.5, 0.0]), normals, towards, np.array([s, c, 0.0]), 2.0, sums)
    assert sums[:, 0] == pytest.approx([1.0, 0.5, 0.0])
    assert sums[:, 1] == pytest.approx([1.0, 1.0, 1.0])
    # Half way between light and viewer are 0 and 30 degrees: cosine to the 32nd power.
    assert sums[:, 2] == pytest.approx([1.0, 0.5 * math.cos(math.pi / 6.0) ** 32, 0.0])
    behind = np.zeros((3, 3))
    shine(np.ones(3), normals, towards, np.array([0.0, -1.0, 0.0]), 2.0, behind)
    assert not behind.any()


def test_edges_are_rounded_where_faces_meet_and_only_there() -> None:
    normals = np.zeros((5, 12, 3))
    normals[:, :4] = (1.0, 0.0, 0.0)
    normals[:, 4:8] = (0.0, 1.0, 0.0)
    normals[:, 8:] = (0.0, 0.0, 1.0)
    depths = np.zeros((5, 12))
    depths[:, 8:] = 50.0
    found = soft_normals(normals, depths, 2.0, 1.0)
    assert np.linalg.norm(found, axis=2) == pytest.approx(np.ones((5, 12)))
    # The first two faces turn into one another; the third lies far behind the second.
    assert found[2, 3] == pytest.approx([found[2, 4, 1], found[2, 4, 0], 0.0])
    assert 0.7 < found[2, 3, 0] < 0.99
    assert (found[2, [0, 1, 6, 7, 8]] == normals[2, [0, 1, 6, 7, 8]]).all()

"""Product pictures of plain shapes: where things lie, where light and shadow fall, round edges."""

from __future__ import annotations

import io
import math

import cadquery as cq
import numpy as np
import pytest
from matplotlib.image import imread

from tests.helpers.print_shapes import box
from vent_family.mesh.product import camera_of, lights, png, product_pixels, seen_by, spread
from vent_family.mesh.skin import Piece, skin_of

GREY = (0.8, 0.8, 0.8)
RED = (0.9, 0.1, 0.1)
CUBE = box((-10.0, 10.0), (-10.0, 10.0), (-10.0, 10.0))
DIRECTION = (0.5, 0.6, 1.0)


@pytest.fixture(scope="module")
def cube() -> np.ndarray:
    """The picture of a cube that was cut open at x = 10, 60 x 60 px."""
    return product_pixels(
        [Piece(CUBE, GREY, RED)], direction=DIRECTION, size_px=(60, 60), cut_x_mm=10.0
    )


def test_a_viewer_sees_points_in_perspective_and_fills_the_picture() -> None:
    points = np.array([[x, y, z] for x in (-4, 4) for y in (-3, 3) for z in (-2.0, 2.0)])
    camera = camera_of(points, (0.0, 0.0, 5.0), (200, 100))
    flat = camera.seen(points)
    # 6 % are left free above and below; the middle is in the middle.
    assert flat[:, 1].min() == pytest.approx(6.0)
    assert flat[:, 1].max() == pytest.approx(94.0)
    assert flat[:, 0].mean() == pytest.approx(100.0)
    # Similar triangles: as far from the middle as the way to the viewer is short.
    far = float(camera.eye_mm[2])
    front, back = flat[points[:, 2] > 0.0], flat[points[:, 2] < 0.0]
    spans = [float(np.ptp(side[:, 0])) for side in (front, back)]
    assert spans[0] / spans[1] == pytest.approx((far + 2.0) / (far - 2.0))
    # The ray through a pixel's middle comes to what is seen there.
    ray = camera.rays(100, 200)[10, 150]
    place = camera.eye_mm + 7.0 * ray
    assert camera.seen(place[None])[0, :2] == pytest.approx([150.5, 10.5])


def test_places_and_normals_are_those_of_the_surface() -> None:
    """A ball: every place lies on it, its normal points from the middle, and half is seen."""
    ball = cq.Solid.makeSphere(5.0, cq.Vector(1.0, 2.0, 3.0), angleDegrees1=-90.0)
    skin = skin_of([Piece(ball, GREY)], 0.02, 0.08)
    camera = camera_of(skin.points, DIRECTION, (90, 90))
    seen = seen_by(camera, skin, 90, 90)
    from_middle = seen.places - np.array([1.0, 2.0, 3.0])
    assert np.linalg.norm(from_middle, axis=1) == pytest.approx(5.0, abs=0.02)
    assert np.abs(seen.normals - from_middle / 5.0).max() < 0.01
    radius_px = 0.5 * 0.88 * 90.0
    assert seen.mask.sum() == pytest.approx(math.pi * radius_px**2, rel=0.02)
    assert ((seen.normals * seen.towards).sum(axis=1) > -0.01).all()


def test_normals_point_out_of_every_side_and_into_every_hole() -> None:
    drilled = CUBE.cut(cq.Solid.makeCylinder(6.0, 40.0, cq.Vector(0.0, 0.0, -20.0)))
    skin = skin_of([Piece(drilled, GREY)], 0.1, 0.3)
    for direction in (DIRECTION, (-0.5, -0.6, -1.0)):
        seen = seen_by(camera_of(skin.points, direction, (40, 40)), skin, 40, 40)
        assert ((seen.normals * seen.towards).sum(axis=1) > 0.0).all()
        # Three sides and the hole's wall, of whose normals no two are alike.
        assert len(np.unique(seen.normals.round(6), axis=0)) > 20


def test_lights_are_spread_evenly_and_most_come_from_above() -> None:
    axis = np.array([0.6, 0.0, 0.8])
    cone = spread(200, axis, 0.4)
    assert np.linalg.norm(cone, axis=1) == pytest.approx(1.0)
    # As many within half of the cap's height as beyond.
    inner = (cone @ axis > 1.0 - 0.5 * (1.0 - math.cos(0.4))).mean()
    assert inner == pytest.approx(0.5, abs=0.01)
    assert np.linalg.norm(np.cross(cone.mean(axis=0), axis)) < 0.01
    points = np.array([[-1.0, -1.0, -1.0], [1.0, 1.0, 1.0]])
    found = list(lights(camera_of(points, DIRECTION, (9, 9))))
    upper, lower = (
        sum(white * max(sense * light[1], 0.0) for light, white in found) for sense in (1.0, -1.0)
    )
    assert upper > 2.0 * lower > 0.0


def test_faces_differ_the_cut_one_is_tinted_and_the_ground_is_white(cube: np.ndarray) -> None:
    """By similar triangles with the fixture's viewer: the top above, the cut face to the right."""
    top, front, cut = cube[14, 28], cube[36, 20], cube[36, 45]
    assert top.mean() > front.mean() + 15
    assert np.ptp(front.astype(int)) <= 6
    assert cut[0] > 2 * cut[1]
    assert (cube[:4, :4] > 252).all()
    assert (cube[:4, -4:] > 252).all()


def test_the_ground_is_dark_where_it_is_touched_and_away_from_the_lamp(cube: np.ndarray) -> None:
    light = cube.astype(int).sum(axis=2) / 3
    # The lamp is at the viewer's left: beside the foot of the right edge there is shadow.
    rows = slice(40, 52)
    left, right = light[rows, :6].min(), light[rows, -6:].min()
    assert right < left - 5
    assert 80 < right < 245
    # It fades out: no step between neighbours anywhere in the outer columns.
    assert np.abs(np.diff(light[:, -3])).max() < 12


def test_a_png_holds_the_pixels_and_nothing_else(cube: np.ndarray) -> None:
    data = png(cube)
    assert data == png(cube)
    assert b"Software" not in data
    assert (np.rint(imread(io.BytesIO(data))[..., :3] * 255.0) == cube).all()

"""Product pictures of plain shapes: where things lie, where light and shadow fall, clean edges."""

from __future__ import annotations

import io

import cadquery as cq
import numpy as np
import pytest
from matplotlib.image import imread
from numpy.typing import NDArray

from tests.helpers.print_shapes import box
from vent_family.mesh.product import camera_of, png, product_pixels, spread, studio
from vent_family.mesh.skin import Piece, skin_of

GREY = (0.8, 0.8, 0.8)
RED = (0.9, 0.1, 0.1)
BLUE = (0.1, 0.2, 0.9)
CUBE = box((-10.0, 10.0), (-10.0, 10.0), (-10.0, 10.0))
DIRECTION = (0.5, 0.6, 1.0)
SIZE = (200, 200)


def drawn(*pieces: Piece, cut_x_mm: float | None = None) -> NDArray[np.uint8]:
    return product_pixels(pieces, direction=DIRECTION, size_px=SIZE, cut_x_mm=cut_x_mm)


def seen_px(points: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where places (mm) lie in a picture that just holds points (mm): column and row.

    A pinhole's picture by similar triangles, shifted and stretched so that 6 % stay free.
    """
    towards = np.array(DIRECTION) / np.linalg.norm(DIRECTION)
    right = np.cross([0.0, 1.0, 0.0], towards)
    right /= np.linalg.norm(right)
    up = np.cross(towards, right)
    middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
    far = np.linalg.norm(points - middle, axis=1).max() / np.sin(np.radians(7.0))

    def flat(places: NDArray[np.float64]) -> NDArray[np.float64]:
        ways = places - middle
        return np.stack([ways @ right, -(ways @ up)], axis=1) / (far - ways @ towards)[:, None]

    ends = flat(points)
    low, high = ends.min(axis=0), ends.max(axis=0)
    scale = (0.88 * np.array(SIZE) / (high - low)).min()
    return 0.5 * np.array(SIZE) + scale * (flat(at) - 0.5 * (low + high))


CORNERS = np.array([[x, y, z] for x in (-10, 10) for y in (-10, 10) for z in (-10.0, 10.0)])


def at(picture: NDArray[np.uint8], *places: tuple[float, float, float]) -> NDArray[np.int64]:
    """Return the colours seen at places (mm) on the cube."""
    columns, rows = seen_px(CORNERS, np.array(places, dtype=np.float64)).T
    return picture[rows.astype(int), columns.astype(int)].astype(np.int64)


@pytest.fixture(scope="module")
def cube() -> NDArray[np.uint8]:
    """The picture of a cube that was cut open at x = 10."""
    return drawn(Piece(CUBE, GREY, RED), cut_x_mm=10.0)


def test_a_part_fills_the_picture() -> None:
    """6 % are left free on two sides, as much on both, and nothing is seen beyond its corners."""
    picture = drawn(Piece(CUBE, BLUE)).astype(int)
    blue = picture[..., 2] > picture[..., 0] + 40
    rows, columns = np.flatnonzero(blue.any(axis=1)), np.flatnonzero(blue.any(axis=0))
    ends = seen_px(CORNERS, CORNERS)
    low, high = ends.min(axis=0), ends.max(axis=0)
    assert [columns[0], rows[0]] == pytest.approx(low.tolist(), abs=1.5)
    assert [columns[-1] + 1, rows[-1] + 1] == pytest.approx(high.tolist(), abs=1.5)
    assert rows[0] == pytest.approx(0.06 * SIZE[1], abs=1.5)
    # Its upper outline runs aslant: most pixels there are mixed of it and of the white behind.
    tint = (picture[..., 2] - picture[..., 0]) / np.ptp(picture, axis=2).max()
    ahead = [np.flatnonzero(tint[:, column] > 0.05)[0] for column in columns[5:-5]]
    first = tint[ahead, columns[5:-5]]
    assert (first < 0.6 * np.median(tint[blue])).mean() > 0.4


def test_light_thrown_back_is_in_proportion_to_the_colour(cube: NDArray[np.uint8]) -> None:
    """By the definition of sRGB (IEC 61966-2-1) 0.3 throws back 0.12 times what 0.8 does."""
    dark = drawn(Piece(CUBE, (0.3, 0.3, 0.3)))
    place = (0.0, 0.0, 10.0)
    share = (at(dark, place).mean() / at(cube, place).mean()) ** 2.2
    # What is reflected at the surface comes on top and is white for both.
    assert 0.12 < share < 0.2


def test_faces_differ_the_cut_one_is_tinted_and_the_ground_is_white(
    cube: NDArray[np.uint8],
) -> None:
    top, front, cut = at(cube, (0.0, 10.0, 0.0), (0.0, 0.0, 10.0), (10.0, 0.0, 0.0))
    assert top.mean() > front.mean() + 15
    assert np.ptp(front) <= 6
    assert cut[0] > 2 * cut[1]
    for corner in (cube[:4, :4], cube[:4, -4:]):
        assert (corner > 252).all()


def test_the_ground_is_dark_where_it_is_touched_and_away_from_the_lamp(
    cube: NDArray[np.uint8],
) -> None:
    """The lamp is at the viewer's left: at the foot of the right side there is shadow."""
    right, left = at(cube, (11.0, -10.0, 0.0), (-6.0, -10.0, 11.0))
    assert right.mean() < left.mean() - 8
    assert 80 < right.mean() < 245
    # It fades out: no step between neighbours anywhere in the outer columns.
    light = cube.astype(int).mean(axis=2)
    assert np.abs(np.diff(light[:, -3])).max() < 12


def test_what_lies_deep_is_darker_and_a_mark_is_read() -> None:
    """A slot, and strokes sunk by 0.6 mm into the front of a plate, as marks are."""
    plate = box((-10.0, 10.0), (-10.0, 10.0), (-4.0, 4.0))
    slot = box((-8.0, 8.0), (-6.0, -3.0), (-2.0, 9.0))
    strokes = [box((x, x + 0.8), (2.0, 6.0), (3.4, 9.0)) for x in (-4.0, -2.0, 0.0, 2.0)]
    picture = product_pixels(
        [Piece(cq.Compound.makeCompound([plate.cut(slot, *strokes)]), GREY)],
        direction=(0.0, 0.2, 1.0),
        size_px=SIZE,
    )
    light = picture.astype(int).mean(axis=2)
    # Seen nearly square, the plate fills the picture but for 6 %.
    px_per_mm = 0.88 * SIZE[0] / 20.0

    def region(x: tuple[float, float], y: tuple[float, float]) -> NDArray[np.float64]:
        columns = [round(0.5 * SIZE[0] + side * px_per_mm) for side in x]
        rows = [round(0.5 * SIZE[1] - side * px_per_mm) for side in reversed(y)]
        return np.asarray(light[rows[0] : rows[1], columns[0] : columns[1]])

    plain = region((5.0, 8.0), (2.0, 6.0)).mean()
    assert region((-6.0, 6.0), (-5.5, -4.5)).min() < plain - 40
    # Across the strokes brightness goes up and down four times.
    across = region((-5.0, 4.0), (3.5, 4.5)).mean(axis=0)
    dark = across < plain - 8
    assert (np.diff(dark.astype(int)) == 1).sum() == 4


def test_edges_are_even_all_along(cube: NDArray[np.uint8]) -> None:
    """The edge between top and front: no dashes, no steps of single pixels."""
    along = [(x, 10.0, 10.0) for x in np.linspace(-8.0, 8.0, 60)]
    light = at(cube, *along).mean(axis=1)
    top, front = at(cube, (0.0, 10.0, 5.0), (0.0, 5.0, 10.0)).mean(axis=1)
    assert light.min() > front - 12
    assert light.max() < top + 12
    # Pixels on an edge that runs aslant are mixed of both sides, never of black or white.
    columns, rows = seen_px(CORNERS, np.array(along)).T.astype(int)
    for column, row in zip(columns, rows, strict=True):
        steps = np.diff(cube[row - 3 : row + 4, column].astype(int).mean(axis=1))
        assert steps.max() < 12


def test_curved_faces_are_smooth_and_normals_point_out_of_every_side() -> None:
    """A ball: every normal points from its middle, and its brightness has no steps."""
    ball = cq.Solid.makeSphere(5.0, cq.Vector(1.0, 2.0, 3.0), angleDegrees1=-90.0)
    skin = skin_of(Piece(ball, GREY), 0.02, 0.08)
    from_middle = skin.points - np.array([1.0, 2.0, 3.0])
    assert np.linalg.norm(from_middle, axis=1) == pytest.approx(5.0, abs=0.02)
    assert np.abs(skin.normals - from_middle / 5.0).max() < 0.01
    picture = drawn(Piece(ball, GREY)).astype(int).mean(axis=2)
    column = picture[30:150, SIZE[0] // 2]
    assert np.abs(np.diff(column)).max() < 8
    assert column[0] > column[-1] + 20
    # A hole's wall looks to the hole's axis.
    drilled = CUBE.cut(cq.Solid.makeCylinder(6.0, 40.0, cq.Vector(0.0, 0.0, -20.0)))
    bored = skin_of(Piece(drilled, GREY), 0.1, 0.3)
    wall = np.abs(np.hypot(*bored.points[:, :2].T) - 6.0) < 1e-6
    inwards = wall & (np.abs(bored.normals[:, 2]) < 0.5)
    assert inwards.sum() > 20
    assert (np.einsum("ij,ij->i", bored.normals, bored.points)[inwards] < 0.0).all()


def test_the_studios_lamp_stands_above_the_viewers_left_shoulder() -> None:
    camera = camera_of(CORNERS, DIRECTION, SIZE)
    light = studio(camera)[..., 0]
    rows, columns = light.shape
    row, column = np.unravel_index(int(light.argmax()), light.shape)
    rise = ((row + 0.5) / rows - 0.5) * np.pi
    turn = ((column + 0.5) / columns - 0.5) * 2.0 * np.pi
    way = np.array([np.cos(rise) * np.cos(turn), np.sin(rise), np.cos(rise) * np.sin(turn)])
    assert way @ camera.up > 0.3
    assert way @ camera.right < -0.3
    assert way @ camera.towards > 0.2
    # More comes from above than from below.
    assert light[rows // 2 :].mean() > 1.3 * light[: rows // 2].mean()


def test_lights_are_spread_evenly() -> None:
    axis = np.array([0.6, 0.0, 0.8])
    cone = spread(200, axis, 0.4)
    assert np.linalg.norm(cone, axis=1) == pytest.approx(1.0)
    # As many within half of the cap's height as beyond.
    inner = (cone @ axis > 1.0 - 0.5 * (1.0 - np.cos(0.4))).mean()
    assert inner == pytest.approx(0.5, abs=0.01)
    assert np.linalg.norm(np.cross(cone.mean(axis=0), axis)) < 0.01


def test_the_same_is_drawn_in_the_same_pixels(cube: NDArray[np.uint8]) -> None:
    assert (drawn(Piece(CUBE, GREY, RED), cut_x_mm=10.0) == cube).all()


def test_a_png_holds_the_pixels_or_fewer_colours(cube: NDArray[np.uint8]) -> None:
    data = png(cube, 1_000_000)
    assert data == png(cube, 1_000_000)
    assert (np.rint(imread(io.BytesIO(data))[..., :3] * 255.0) == cube).all()
    small = png(cube, len(data) // 2)
    assert len(small) <= len(data) // 2
    shown = np.rint(imread(io.BytesIO(small))[..., :3] * 255.0)
    assert np.abs(shown - cube).mean() < 3.0
    for written in (data, small):
        assert b"Software" not in written
        assert b"tIME" not in written

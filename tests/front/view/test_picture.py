"""Pictures of plain bodies and curves: what lies where, in which colour."""

from __future__ import annotations

import io
from dataclasses import replace

import cadquery as cq
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from vent_family.evidence.curves.curve import Curves
from vent_family.evidence.palette import BLUE, GREEN, PINK
from vent_family.front.view.picture import SIZE_PX, picture, view_pixels
from vent_family.front.view.shown import ShownBody, ShownPart

BLOCK = ShownBody("block", cq.Solid.makeBox(40.0, 40.0, 2.0, cq.Vector(-20, -20, -2)), (0.8,) * 3)


def line(colour: str, z_mm: float, y_mm: float, *, thick: bool) -> Curves:
    ends = np.array([[-15.0, y_mm, z_mm], [15.0, y_mm, z_mm]])
    return Curves("a line", f"{y_mm:g} mm up", colour, (ends,), thick)


SHOWN = ShownPart(
    "A-1",
    "A-1, a block",
    "solid",
    (BLOCK,),
    (
        line(PINK, 0.5, 10.0, thick=True),
        line(BLUE, -5.0, -5.0, thick=True),
        line(GREEN, -5.0, -12.0, thick=False),
    ),
    (0.0, 0.0, 1.0),
    ("a note",),
)


@pytest.fixture(scope="module")
def pixels() -> NDArray[np.uint8]:
    return view_pixels(SHOWN)


def rows_near(pixels: NDArray[np.uint8], colour: str, within: int) -> NDArray[np.int64]:
    """Return the rows in which pixels are near to a colour, as often as they are."""
    wanted = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return np.nonzero(np.abs(pixels.astype(int) - wanted).max(axis=2) <= within)[0]


def test_a_line_before_a_body_lies_where_it_should(pixels: NDArray[np.uint8]) -> None:
    """The block fills the picture's height but for a margin; its middle is the picture's."""
    assert pixels.shape == (SIZE_PX[1], SIZE_PX[0], 3)
    grey = np.nonzero((pixels[:, SIZE_PX[0] // 2] < 250).all(axis=1))[0]
    scale = (grey[-1] - grey[0]) / 40.0
    found = rows_near(pixels, PINK, 6)
    assert found.mean() == pytest.approx(SIZE_PX[1] / 2 - 10.0 * scale, abs=0.15 * scale)
    assert len(found) == pytest.approx(30.0 * scale * 3.2, rel=0.35)


def test_what_a_body_hides_shows_faintly_if_thick_and_else_not(pixels: NDArray[np.uint8]) -> None:
    assert not len(rows_near(pixels, BLUE, 6))
    plain = view_pixels(replace(SHOWN, curves=SHOWN.curves[:1])).astype(int)
    changed = np.abs(pixels.astype(int) - plain).max(axis=2) > 20
    rows = np.nonzero(changed)[0]
    grey = np.nonzero((plain[:, SIZE_PX[0] // 2] < 250).all(axis=1))[0]
    scale = (grey[-1] - grey[0]) / 40.0
    assert rows.mean() == pytest.approx(SIZE_PX[1] / 2 + 5.0 * scale, abs=0.5 * scale)
    assert np.ptp(rows) < 2.0 * scale


def test_a_clear_body_lets_curves_show(pixels: NDArray[np.uint8]) -> None:
    clear = view_pixels(replace(SHOWN, bodies=(replace(BLOCK, opacity=0.2),)))

    def greens(of: NDArray[np.uint8]) -> int:
        red, green, _ = np.moveaxis(of.astype(int), 2, 0)
        return int((green - red > 60).sum())

    assert greens(clear) > 100
    assert greens(pixels) == 0


def test_the_legend_has_every_colour_and_room_below_the_view() -> None:
    image = Image.open(io.BytesIO(picture(SHOWN))).convert("RGB")
    assert image.width == SIZE_PX[0]
    below = np.asarray(image)[-5 * 24 :]
    for curves in SHOWN.curves:
        assert len(rows_near(below, curves.colour, 0)) > 60
    bare = Image.open(io.BytesIO(picture(replace(SHOWN, curves=(), notes=()))))
    assert image.height > bare.height + 3 * 20

"""What the picture of a printed part shows, and that numbers point at the places they tell of."""

from __future__ import annotations

import io
from itertools import pairwise

import numpy as np
import pytest
from matplotlib.image import imread

from tests.helpers.print_shapes import box, fused, mesh
from vent_family.base.materials import MATERIALS
from vent_family.base.shop import demo_shop
from vent_family.evidence.printing.picture import PrintPicture
from vent_family.evidence.printing.report import Printed, sliced
from vent_family.evidence.printing.scene import rendered_view, views_of
from vent_family.evidence.printing.settings import PrintSettings
from vent_family.evidence.printing.shades import (
    bridge_table,
    callouts,
    other_kinds,
    shade_of,
    span_bounds,
)

SHOP = demo_shop()


def racks(*slabs: tuple[float, float, float]) -> Printed:
    """Walls 12 and 40 mm apart, with slabs between them: length to the far wall, width, height."""
    walls = [box((x, x + 3.0), (0.0, 40.0), (0.0, 30.0)) for x in (-3.0, 12.0, 52.0)]
    parts = []
    for i, (span, width, z) in enumerate(slabs):
        x = (-1.0, 13.0) if span < 20.0 else (14.0, 53.0)
        parts.append(box(x, (2.0 + 8.0 * i, 2.0 + 8.0 * i + width), (z, z + 2.0)))
    base = box((-3.0, 55.0), (0.0, 40.0), (0.0, 1.0))
    material = MATERIALS["ASA"]
    settings = PrintSettings(SHOP.printing, SHOP.temperature.of("ASA"), 0.2)
    return sliced(*mesh(fused(base, *walls, *parts)), material, settings, SHOP)


@pytest.fixture(scope="module")
def rack() -> Printed:
    return racks((12.0, 3.0, 8.0), (12.0, 0.5, 12.0), (37.0, 2.0, 16.0))


def test_bridges_are_shaded_by_span_and_strand(rack: Printed) -> None:
    """Cleanly 25 mm and at all 50 mm: the bounds are 10, 20, 25 and 50 mm."""
    assert span_bounds(rack) == pytest.approx((10.0, 20.0, 25.0, 50.0))
    places = {round(f.strand_mm, 1): shade_of(f, rack).place for f in rack.of_kind("bridge")}
    assert places == {3.0: (0, 1), 0.5: (2, 1), 2.0: (0, 3)}
    told = bridge_table(rack)
    assert [[count for _, count in row] for row in told] == [
        [0, 1, 0, 1, 0],
        [0, 0, 0, 0, 0],
        [0, 1, 0, 0, 0],
    ]
    colours = [colour for row in told for colour, _ in row]
    assert len(set(colours)) == 15
    brightness = [[_grey(colour) for colour, _ in row] for row in told]
    assert all(a > b + 0.07 for row in brightness for a, b in pairwise(row))


def _grey(colour: str) -> float:
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_the_longest_bridge_and_the_narrowest_strand_are_called_out(rack: Printed) -> None:
    long, thin = callouts(rack)
    assert (long.number, thin.number) == (1, 2)
    assert long.words == ("longest bridge, 37.0 mm, on a strand of 2.00 mm, 16.0 mm above the bed")
    assert long.point_mm == pytest.approx((33.5, 19.0, 16.0), abs=0.3)
    assert thin.words == "narrowest strand, 0.50 mm, spans 12.0 mm, 12.0 mm above the bed"
    assert thin.point_mm == pytest.approx((6.0, 10.25, 12.0), abs=0.3)
    assert other_kinds(rack) == []


def test_one_number_does_for_a_bridge_that_is_both(rack: Printed) -> None:
    (only,) = callouts(racks((12.0, 3.0, 8.0)))
    assert only.words == (
        "longest bridge, 12.0 mm, on the narrowest strand, 3.00 mm, 8.0 mm above the bed"
    )


def test_what_needs_supports_is_told_and_pointed_at() -> None:
    shelf = fused(box((0, 3), (0, 8), (0, 12)), box((3, 7), (0, 8), (10, 12)))
    settings = PrintSettings(SHOP.printing, SHOP.temperature.of("ASA"), 0.2)
    printed = sliced(*mesh(shelf), MATERIALS["ASA"], settings, SHOP)
    ((_, words),) = other_kinds(printed)
    assert words == "1 overhangs that NEED SUPPORTS, up to 4.00 mm out"
    (callout,) = callouts(printed)
    assert callout.words == "longest overhang, 4.00 mm out, 10.0 mm above the bed"


def test_a_number_points_at_the_pixels_of_its_place(rack: Printed) -> None:
    """Where the view says a bridge lies, the rendered picture has the bridge's colour."""
    (_, _), (view, _) = views_of(rack)
    scale = 5.0
    taken = rendered_view(rack, view, scale)
    width, height = view.size_mm
    assert taken.pixels.shape == (round(height * scale), round(width * scale), 3)
    for callout, warm in zip(callouts(rack), (False, True), strict=True):
        x, y = view.flat_mm(np.array([callout.point_mm]))[0] * scale
        red, _, blue = taken.pixels[round(height * scale - y) - 1, round(x)]
        assert (red > blue + 0.1) if warm else (blue > red + 0.1)
    corner = taken.pixels[2, 2]
    assert corner == pytest.approx(1.0)


def test_the_picture_is_filled(rack: Printed) -> None:
    """No third of it, upper, lower, left or right, is blank."""
    image = imread(io.BytesIO(PrintPicture(rack, "rack", "12 g: slats 12 g.").png()))[..., :3]
    inked = (image < 0.97).any(axis=2)
    rows, columns = np.flatnonzero(inked.any(axis=1)), np.flatnonzero(inked.any(axis=0))
    for found, size in ((rows, inked.shape[0]), (columns, inked.shape[1])):
        gaps = np.diff(np.r_[0, found, size])
        assert gaps.max() < size / 8.0

"""The duct and the bosses that hold a fan: where they lie."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest
import shapely

from tests.helpers.rows import spec
from vent_family.spec.fan_mount import FRAMES, FanDuct
from vent_family.spec.summary import summary

SPACINGS = {"40": 32.0, "60": 50.0, "80": 71.5, "92": 82.5, "120": 105.0}
"""Hole spacings of axial fans: common trade sizes, no source."""
FITTING = {"40": "40x40", "60": "60x60", "80": "80x80", "92": "92x92", "120": "120x120"}
"""Openings as large as the frame."""
ROWS: list[tuple[str, dict[str, Any]]] = [
    ("flanged", {"size": size, "fan_mount": name}) for name, size in FITTING.items()
] + [
    ("flanged", {"size": "120x120", "fan_mount": "92"}),
    ("rectangular", {"size": "100x60", "fan_mount": "60", "floor_slope_deg": 12.0}),
    ("rectangular", {"size": "70x105", "fan_mount": "60", "wall_mm": 4.0}),
    (
        "rectangular",
        {"size": "64x64", "fan_mount": "60", "wall_mm": 1.2, "panel_thickness_mm": 12.0},
    ),
]
NAMES = [f"{cells['fan_mount']} behind {cells['size']}" for _, cells in ROWS]


def duct_of(family: str, cells: dict[str, Any]) -> FanDuct:
    found = spec(family, **cells).fan_duct
    assert found is not None
    return found


def test_frames_are_those_of_the_trade() -> None:
    assert {name: frame.spacing_mm for name, frame in FRAMES.items()} == SPACINGS
    assert {name: frame.screw for name, frame in FRAMES.items()} == dict.fromkeys(
        SPACINGS, "M4"
    ) | {"40": "M3"}
    for frame in FRAMES.values():
        # The bore lies within the frame, and the screws beside it.
        assert frame.hub_mm < frame.bore_mm < frame.side_mm
        assert frame.spacing_mm / math.sqrt(2.0) > frame.bore_mm / 2.0 + frame.boss_mm


@pytest.mark.parametrize(("family", "cells"), ROWS, ids=NAMES)
def test_duct_holds_its_fan(family: str, cells: dict[str, Any]) -> None:
    """Holes, distances, slopes and outline, each by the words in which it is asked for."""
    vent = spec(family, **cells)
    duct, frame = duct_of(family, cells), FRAMES[cells["fan_mount"]]
    width, height = (float(side) for side in cells["size"].split("x"))
    xs, ys = sorted({x for x, _ in duct.bosses_mm}), sorted({y for _, y in duct.bosses_mm})
    assert xs[1] - xs[0] == pytest.approx(SPACINGS[frame.name])
    assert ys[1] - ys[0] == pytest.approx(SPACINGS[frame.name])
    # The innermost slat's corner is what the distance counts from.
    innermost = min(z for slat in vent.section.slats for z, _ in slat.outline)
    assert duct.guard_mm == pytest.approx(innermost - duct.end_z_mm)
    assert duct.guard_mm >= 10.0 - 1e-9
    # It passes the opening, also one punched with corners of 3 mm.
    for x, y in duct.outline:
        assert abs(x) < width / 2.0
        assert abs(y) < height / 2.0
    centre = (width / 2.0 - 3.0, height / 2.0 - 3.0)
    corners = [(abs(x), abs(y)) for x, y in duct.outline]
    for x, y in corners:
        assert not (x > centre[0] and y > centre[1]) or math.dist((x, y), centre) <= 3.0
    # No air but from the duct: its end covers the fan's bore.
    radius = frame.bore_mm / 2.0
    assert duct.sides_mm[2] + duct.wall_mm >= radius - 1e-9
    assert duct.tops_mm[2] + duct.wall_mm >= duct.centre_mm + radius - 1e-9
    assert duct.below_mm[2] <= duct.centre_mm - radius + 1e-9
    # Round each axis stands 1.2 mm of plastic or more; towards the fan, a whole boss of twice the
    # screw's diameter.
    cut = duct.plastic(duct.end_z_mm + 0.1)
    p, bore = SPACINGS[frame.name] / 2.0, 0.4 * frame.screw_mm
    inner = shapely.box(-p, duct.centre_mm - p, p, duct.centre_mm + p)
    for axis in (shapely.Point(at) for at in duct.bosses_mm):
        around = axis.buffer(bore + 1.19).union(axis.buffer(frame.screw_mm).intersection(inner))
        assert around.difference(axis.buffer(bore)).within(cut.buffer(0.02))
        assert not cut.contains(axis)
    # What gets over the sill runs back over it.
    depths = [duct.z_mm[0] - z for z in duct.z_mm]
    floor = list(zip(depths, duct.floor_mm, strict=True))
    assert floor[0][1] == vent.section.sill_top_mm
    for (d0, y0), (d1, y1) in pairwise(floor):
        assert (y1 - y0) / (d1 - d0) >= math.tan(math.radians(1.0))
    # Printed face down, no wall leans by more than 45 degrees.
    for line in (duct.sides_mm, duct.tops_mm, duct.floor_mm, duct.bottoms_mm):
        for (d0, y0), (d1, y1) in pairwise(zip(depths, line, strict=True)):
            assert abs(y1 - y0) <= d1 - d0
    # A frame wider than the opening stands behind the panel.
    assert duct.end_z_mm < -vent.panel_thickness_mm
    assert summary(vent)["depth behind panel mm"] == pytest.approx(-duct.end_z_mm)


def test_fan_stands_as_high_as_the_inner_side() -> None:
    duct = duct_of("flanged", {"size": "120x120", "fan_mount": "80"})
    middle = (duct.floor_mm[0] + duct.tops_mm[0]) / 2.0
    assert duct.centre_mm == pytest.approx(middle)
    # A fan as large as the block has its bore within the block instead.
    large = duct_of("flanged", {"size": "120x120", "fan_mount": "120"})
    assert 0.0 < large.centre_mm <= 59.7 - 57.5 + 1e-9


def test_no_fan_no_duct() -> None:
    assert spec("flanged").fan_duct is None
    assert spec("round").fan_duct is None
    assert "fan frame mm" not in summary(spec("flanged"))

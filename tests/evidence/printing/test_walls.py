"""Walls, slats and gaps of shapes with known thickness, and of finished vents."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Polygon
from shapely.geometry import box as rectangle

from tests.helpers.print_shapes import box, mesh
from tests.helpers.rows import spec
from vent_family.base.limits import NECK_WALL_MIN
from vent_family.evidence.printing.walls import measure_walls, shell_count, thinnest
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of


def test_ring_wall_and_hole() -> None:
    ring = rectangle(0, 0, 20, 12).difference(rectangle(1.3, 2, 18, 10))
    width, x, y = thinnest(ring, inwards=True)  # type: ignore[misc]
    assert width == pytest.approx(1.3)
    assert x == pytest.approx(0.65)
    assert 2 < y < 10
    assert thinnest(ring, inwards=False)[0] == pytest.approx(8.0)  # type: ignore[index]


def test_gap_between_two_bodies() -> None:
    two = rectangle(0, 0, 5, 5).union(rectangle(5.4, 0, 9, 5))
    assert thinnest(two, inwards=False)[0] == pytest.approx(0.4)  # type: ignore[index]


def test_wedge_tips_and_corners_are_no_walls() -> None:
    wedge = Polygon([(0, 0), (10, 0), (10, 10)])
    assert thinnest(wedge, inwards=True) is None


def test_turned_bar() -> None:
    c, s = math.cos(0.7), math.sin(0.7)
    bar = Polygon([(c * x - s * y, s * x + c * y) for x, y in ((0, 0), (9, 0), (9, 0.8), (0, 0.8))])
    assert thinnest(bar, inwards=True)[0] == pytest.approx(0.8)  # type: ignore[index]


def test_shells() -> None:
    block = box((0, 10), (0, 10), (0, 10))
    assert shell_count(mesh(block)[1]) == 1
    trapped = block.cut(box((3, 7), (3, 7), (3, 7)))
    assert shell_count(mesh(trapped)[1]) == 2
    # By hand: one triangle; a fan round an edge; two triangles that share no corner.
    assert shell_count(np.array([[0, 1, 2]])) == 1
    assert shell_count(np.array([[0, 1, 2], [0, 1, 3], [0, 1, 4]])) == 1
    assert shell_count(np.array([[0, 1, 2], [3, 4, 5]])) == 2


@pytest.mark.parametrize(
    ("family", "cells", "slat", "wall"),
    [
        # A sharp plank cut short above the drain channel is only 1.4 mm deep, less than the ribs'
        # 1.6; one on feet is deeper.
        ("rectangular", {"size": "40x40", "slat_thickness_mm": 1.7, "slat_foot_mm": 0}, 1.7, 1.4),
        ("rectangular", {"size": "40x40", "slat_thickness_mm": 1.7}, 1.7, 1.6),
        ("rectangular", {"size": "40x40", "slat_form": "flat", "slat_thickness_mm": 0.6}, 0.6, 0.6),
        ("rectangular", {"size": "50x50", "slat_form": "folded"}, 1.5, 1.5),
        ("rectangular", {"size": "40x40", "rib_thickness_mm": 1.2}, 1.5, 1.2),
        # Ribs of round heads are 1.2 mm thick.
        ("round", {"size": "M20x1.5", "slat_form": "folded"}, 1.5, 1.2),
    ],
)
def test_vents(family: str, cells: dict[str, object], slat: float, wall: float) -> None:
    part = spec(family, **cells)
    found = measure_walls(part, *mesh_of(build_solids(part).vent, 0.02, 0.2))
    assert found.slat is not None
    assert found.wall is not None
    assert found.gap is not None
    assert found.stroke is not None
    assert found.slat.width_mm == pytest.approx(slat, abs=0.01)
    assert found.wall.width_mm == pytest.approx(wall, abs=0.03)
    # Below the ribs of a round head runs a channel, 0.25 mm lower than the drain slot of 3 mm is
    # where the floor has risen by 5 degrees over the apron's depth.
    assert found.gap.width_mm >= (2.57 if family == "round" else 2.69)
    assert found.stroke.width_mm == pytest.approx(0.22 * part.mark.height_mm, abs=0.02)
    assert found.shells == 1
    if family == "round":
        assert found.wall.width_mm < NECK_WALL_MIN.value


def test_raised_mark_and_snap_slot() -> None:
    part = spec("rectangular", size="40x40", fixing="snap")
    found = measure_walls(part, *mesh_of(build_solids(part).vent, 0.05, 0.3))
    assert found.stroke is not None
    assert found.gap is not None
    assert found.stroke.width_mm == pytest.approx(0.88, abs=0.02)
    # The arm's free end stands off the lip by the panel less the fit clearance.
    assert found.gap.width_mm == pytest.approx(1.7, abs=0.01)

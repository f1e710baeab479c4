"""What a part is made of as drawn shapes: against shapes by hand and volumes by other reckonings.

The volumes are those of :meth:`Body.volume_mm3`, which knows nothing of pieces.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from tests.helpers.families import ALL, fourth_family, vent_of
from vent_family.base.arrays import ObjectArray
from vent_family.geometry.locknut import locknut
from vent_family.geometry.screen import screen_frame
from vent_family.geometry.thread import threaded_neck as neck_solid
from vent_family.spec.pieces import Axis, Lofted, Pieces, Prism, cut_at, disc, edges_along
from vent_family.spec.plate import CornerPlate
from vent_family.spec.thread.iso import thread_spec
from vent_family.spec.thread.pieces import locknut_pieces, neck_form

LEVELS = 500


@pytest.fixture(autouse=True, scope="module")
def _fourth() -> Iterator[None]:
    with fourth_family():
        yield


def material(pieces: Pieces, axis: Axis, levels: np.ndarray) -> ObjectArray:
    """Return what is filled and not taken in planes square to an axis."""

    def whole(found: list[ObjectArray]) -> ObjectArray:
        return np.asarray(shapely.union_all(np.array(found, dtype=object), axis=0))

    fills = whole([cut_at(piece, axis, levels) for piece in pieces.fills])
    taken = [cut_at(piece, axis, levels) for piece in pieces.open]
    return np.asarray(shapely.difference(fills, whole(taken))) if taken else fills


def volume_mm3(pieces: Pieces, axis: Axis = 2, levels: int = LEVELS) -> float:
    """Return a volume by the areas of many planes."""
    low, high = pieces.box_mm()[axis]
    edges = np.linspace(low, high, levels + 1)
    areas = shapely.area(material(pieces, axis, 0.5 * (edges[1:] + edges[:-1])))
    return float(areas.sum() * (edges[1] - edges[0]))


@pytest.mark.parametrize("axis", [1, 2])
@pytest.mark.parametrize("along", [0, 1, 2])
def test_a_prism_is_as_large_in_whichever_planes_it_is_cut(along: Axis, axis: Axis) -> None:
    """A trapezium of 3 x (4 + 2) / 2 mm2, drawn over 2 and over 5 mm."""
    outline = Polygon([(0.0, 0.0), (4.0, 0.0), (2.0, 3.0), (0.0, 3.0)])
    found = Pieces((Prism(along, outline, ((0.0, 2.0), (10.0, 15.0))),))
    assert volume_mm3(found, axis, 3000) == pytest.approx(9.0 * 7.0, rel=2e-3)


def test_every_axis_of_a_box_is_told_in_its_place() -> None:
    """2 x 3 x 4 mm, drawn along each axis in turn, stand where they should in either cut."""
    sides = {0: box(0.0, 0.0, 4.0, 3.0), 1: box(0.0, 0.0, 2.0, 4.0), 2: box(0.0, 0.0, 2.0, 3.0)}
    for along, outline in sides.items():
        piece = Prism(along, outline, ((0.0, (2.0, 3.0, 4.0)[along]),))  # type: ignore[arg-type]
        (flat,) = cut_at(piece, 2, np.array([1.0]))
        (upright,) = cut_at(piece, 1, np.array([1.0]))
        assert flat.bounds == (0.0, 0.0, 2.0, 3.0)
        assert upright.bounds == (0.0, 0.0, 4.0, 2.0)
        assert Pieces((piece,)).box_mm() == ((0.0, 2.0), (0.0, 3.0), (0.0, 4.0))


def test_a_line_through_corners_parts_nothing() -> None:
    """Two triangles that stand with their tips on the middle of a square's side."""
    square = box(0.0, 0.0, 6.0, 6.0)
    notched = square.difference(Polygon([(2.0, 0.0), (4.0, 0.0), (3.0, 3.0)]))
    piece = Prism(0, notched, ((0.0, 1.0),))
    # At the notch's tip the line is whole; below it stands in two.
    tip, below = cut_at(piece, 1, np.array([3.0, 1.5]))
    assert tip.area == pytest.approx(6.0)
    assert shapely.get_num_geometries(tip) == 1
    assert below.area == pytest.approx(5.0)
    # Past its ends no line meets it.
    assert [shape.is_empty for shape in cut_at(piece, 1, np.array([-1.0, 6.5]))] == [True, True]
    assert shapely.get_num_geometries(below) == 2


def test_a_form_within_a_cone_and_its_edges() -> None:
    """A bar through a cone that narrows from 5 to 3 mm is as long as the cone is wide."""
    cone = Lofted(lambda z: disc(5.0 - z), (0.0, 2.0), (1.0,))
    bar = Prism(0, box(0.0, -0.01, 2.0, 0.01), ((-10.0, 10.0),), cone)
    wide, narrow = cut_at(bar, 2, np.array([0.5, 1.5]))
    assert wide.bounds[2] == pytest.approx(4.5, rel=1e-3)
    assert narrow.bounds[2] == pytest.approx(3.5, rel=1e-3)
    assert edges_along(bar, 2)[:, 2].max() == 1.0


@pytest.mark.parametrize("axis", [1, 2])
def test_a_cones_frustum_is_as_large_in_whichever_planes_it_is_cut(axis: Axis) -> None:
    """Pi h (R R + R r + r r) / 3, with chords no higher than 0.05 mm."""
    cone = Pieces((Lofted(lambda z: disc(5.0 - z), (0.0, 2.0), (1.0,)),))
    whole = math.pi * 2.0 * (25.0 + 15.0 + 9.0) / 3.0
    assert volume_mm3(cone, axis) == pytest.approx(whole, rel=0.02)


@pytest.mark.parametrize("leg", [None, 1.5])
def test_a_plates_outline_has_its_area(leg: float | None) -> None:
    """Chords cut off corners no more than 0.05 mm high: a corner of 3 mm lacks a hair."""
    plate = CornerPlate((20.0, 21.0, 11.0, 12.0), 3.0, leg)
    assert plate.outline().area == pytest.approx(plate.area_mm2, rel=1e-3)
    assert plate.outline().bounds == (-20.0, -11.0, 21.0, 12.0)


CASES: list[tuple[str, dict[str, Any]]] = [
    *((name, {}) for name in ALL),
    ("rectangular", {"print_orientation": "upright", "fixing": "snap"}),
    ("rectangular", {"seal": "gasket", "locating_key": "notch", "screen_mm": 1.0}),
    ("flanged", {"slat_form": "channel", "banks_outside": 1}),
    ("flanged", {"size": "92x92", "fan_mount": "80"}),
    ("round", {"slat_form": "folded", "locating_key": "notch"}),
]


@pytest.mark.parametrize(("family", "cells"), CASES)
def test_pieces_have_the_bodys_volume(family: str, cells: dict[str, Any]) -> None:
    """Chords inside circles lack up to half a percent of a round head, next to nothing of blocks.

    What follows a slope on average only, as a hook's lower end, is small against the whole.
    """
    vent = vent_of(family, **cells)
    found = volume_mm3(vent.body.pieces(vent.section, vent.bays))
    near = 5e-3 if vent.body.neck is not None else 2e-3
    assert found == pytest.approx(vent.body.volume_mm3(vent.section, vent.bays), rel=near)


def test_an_upright_part_is_as_large_in_upright_planes() -> None:
    vent = vent_of("rectangular", print_orientation="upright", fixing="snap")
    pieces = vent.body.pieces(vent.section, vent.bays)
    assert volume_mm3(pieces, 1) == pytest.approx(volume_mm3(pieces, 2), rel=4e-3)


@pytest.mark.parametrize("name", ["M20x1.5", "M63x1.5"])
def test_threaded_parts_are_as_large_as_their_solids(name: str) -> None:
    """Neck, locknut and a screen's ring; the kernel's solids have helical faces."""
    thread = thread_spec(name, 0.12)
    bore = thread.nominal_mm - 8.0
    neck = Pieces((neck_form(thread, 12.0),), (Prism(2, disc(bore / 2.0), ((-12.0, 0.0),)),))
    assert volume_mm3(neck) == pytest.approx(neck_solid(thread, 12.0, bore).Volume(), rel=6e-3)
    nut, solid = locknut_pieces(thread), locknut(thread)
    assert volume_mm3(nut) == pytest.approx(solid.Volume(), rel=6e-3)
    around = solid.BoundingBox()
    corners = (around.xmin, around.xmax), (around.ymin, around.ymax), (around.zmin, around.zmax)
    for told, real in zip(nut.box_mm(), corners, strict=True):
        assert told == pytest.approx(real, abs=1e-6)


def test_a_ring_and_a_frame_have_the_volume_of_their_solids() -> None:
    for family, cells in (("round", {"size": "M32x1.5"}), ("rectangular", {"size": "60x60"})):
        vent = vent_of(family, screen_mm=1.0, **cells)
        screen = vent.body.screen
        assert screen is not None
        solid = screen_frame(screen, vent, true_thread=True)
        pieces = screen.frame(vent.section, vent.bays)
        assert volume_mm3(pieces) == pytest.approx(solid.Volume(), rel=6e-3)

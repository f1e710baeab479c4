"""Mean values of the room between the walls, against planes cut through it by the hundred."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from tests.helpers.families import vent_of
from vent_family.base.arrays import ObjectArray
from vent_family.spec.pieces import Axis, Pieces, Prism, material_at
from vent_family.spec.room import room_means

PLANES = 160


def rings(shapes: ObjectArray) -> np.ndarray:
    parts, owner = shapely.get_parts(shapes, return_index=True)
    number = 1 + shapely.get_num_interior_rings(parts)
    return np.bincount(owner, number, len(shapes))


def by_planes(pieces: Pieces, axis: Axis, low: float, high: float) -> tuple[float, float, float]:
    """Return by how much area, outlines and rings differ with the room and without it."""
    steps = low + (np.arange(PLANES) + 0.5) * (high - low) / PLANES
    solid = material_at(Pieces(pieces.fills, pieces.taken), axis, steps)
    real = material_at(pieces, axis, steps)
    area = (shapely.area(solid) - shapely.area(real)).mean()
    outline = (shapely.length(real) - shapely.length(solid)).mean()
    return float(area), float(outline), float((rings(real) - rings(solid)).mean())


@pytest.mark.parametrize(
    ("family", "cells", "near"),
    [
        ("rectangular", {}, 0.01),
        ("flanged", {"slat_form": "channel"}, 0.01),
        ("rectangular", {"print_orientation": "upright"}, 0.03),
        ("round", {}, 0.03),
    ],
)
def test_means_over_the_stack_are_those_of_many_planes(
    family: str, cells: dict[str, Any], near: float
) -> None:
    """In the depths of each bank; upright from a quarter to three quarters of the height."""
    vent = vent_of(family, **cells)
    pieces = vent.body.pieces(vent.section, vent.bays)
    axis: Axis = 2
    stack, front = vent.section.stack, vent.section.stack_z_mm[1]
    spans = [tuple(front + z for z in stack.bank_z(bank)) for bank in range(2)]
    if vent.print_orientation == "upright":
        (low, high), axis = pieces.box_mm()[1], 1
        spans = [(0.75 * low + 0.25 * high, 0.25 * low + 0.75 * high)]
    lows, highs = np.array(spans).T
    found = room_means(pieces.room, axis, lows, highs)
    for k, (low, high) in enumerate(spans):
        area, outline, more = by_planes(pieces, axis, low, high)
        assert found.open_mm2[k] == pytest.approx(area, rel=near)
        assert found.edges_mm[k] == pytest.approx(outline, rel=near)
        assert found.rings[k] == pytest.approx(more, rel=8.0 * near)


def test_one_window_in_a_rib_makes_one_hole_of_two() -> None:
    """A plate 20 x 10 mm with two bays of 6 x 4 mm and 2 mm between them, open for 1 of 4 mm.

    The bays are 40 mm of edge, of which the window takes 2 and adds 4; two of them are islands'.
    """
    plate = Prism(2, box(-10.0, -5.0, 10.0, 5.0), ((0.0, 3.0),))
    bays = Prism(0, box(0.0, -2.0, 3.0, 2.0), ((-7.0, -1.0), (1.0, 7.0)))
    windows = [box(0.0, 0.0, 3.0, 1.0), box(0.0, -2.0, 3.0, -1.0).union(box(0.0, 1.0, 3.0, 2.0))]
    for window, edges, more in ((windows[0], 42.0, 1.0), (windows[1], 44.0, 2.0)):
        rib = Prism(0, window, ((-1.0, 1.0),))
        found = room_means([bays, rib], 2, np.array([0.0]), np.array([3.0]))
        assert found.open_mm2[0] == pytest.approx(48.0 + 2.0 * window.area / 3.0)
        assert found.rings[0] == pytest.approx(more)
        real = by_planes(Pieces((plate,), room=(bays, rib)), 2, 0.0, 3.0)
        assert (found.open_mm2[0], found.rings[0]) == pytest.approx((real[0], real[2]))
        if window is windows[0]:
            assert found.edges_mm[0] == pytest.approx(edges)
            assert real[1] == pytest.approx(edges)


def test_what_the_room_lies_in_is_told_bay_by_bay() -> None:
    """Ribs of 2 and 4 mm: with walls of 1.5 mm the wider one keeps 1 mm between them."""
    bays = Prism(0, Polygon([(0, 0), (3, 0), (3, 4), (0, 4)]), ((-9.0, -3.0), (-1.0, 2.0), (6, 9)))
    found = room_means([bays], 2, np.array([0.0, 8.0]), np.array([3.0, 9.0]))
    around, none = found.around(1.5)
    assert none.is_empty
    assert [part.bounds for part in around.geoms] == [
        (-10.5, -1.5, 3.5, 5.5),
        (4.5, -1.5, 10.5, 5.5),
    ]

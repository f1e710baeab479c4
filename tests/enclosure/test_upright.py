"""TOP is up on every wall of cabinets drawn either way up, and lean and roll are what they are."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from vent_family.base.problems import InputError
from vent_family.enclosure.upright import Stance, stance

# Sides of a cabinet with z up: outwards, and where the vent's right and TOP come to lie, by hand,
# as one stands in front of each side.
Z_UP = [
    ((0, -1, 0), (1, 0, 0), (0, 0, 1)),
    ((0, 1, 0), (-1, 0, 0), (0, 0, 1)),
    ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    ((-1, 0, 0), (0, -1, 0), (0, 0, 1)),
]
Y_UP = [
    ((0, 0, 1), (1, 0, 0), (0, 1, 0)),
    ((0, 0, -1), (-1, 0, 0), (0, 1, 0)),
    ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    ((-1, 0, 0), (0, 0, 1), (0, 1, 0)),
]
Case = tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]


def axes(found: Stance) -> list[tuple[float, ...]]:
    """Return right, TOP and outwards of a thing that is moved to where the vent goes."""
    ends = [cq.Vertex.makeVertex(*p) for p in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
    return [end.moved(found.location).Center().toTuple() for end in ends]


@pytest.mark.parametrize(
    ("up", "case"), [((0, 0, 1), c) for c in Z_UP] + [((0, 1, 0), c) for c in Y_UP]
)
def test_top_is_up_on_every_side(up: tuple[int, ...], case: Case) -> None:
    outward, right, top = case
    found = stance((0, 0, 0), outward, up)
    for got, wanted in zip(axes(found), (right, top, outward), strict=True):
        assert got == pytest.approx(wanted, abs=1e-9)
    assert (found.lean_deg, found.roll_deg) == pytest.approx((0.0, 0.0))


@pytest.mark.parametrize("lean", [20.0, -35.0])
def test_a_slanted_side_leans_and_is_not_turned(lean: float) -> None:
    a = math.radians(lean)
    found = stance((0, 0, 0), (0.0, -math.cos(a), math.sin(a)))
    assert (found.lean_deg, found.roll_deg) == pytest.approx((lean, 0.0))
    right, top, outward = axes(found)
    assert right == pytest.approx((1.0, 0.0, 0.0), abs=1e-9)
    # TOP lies in the wall and goes up as steeply as the wall does.
    assert top[2] == pytest.approx(math.cos(a))
    assert sum(x * y for x, y in zip(top, outward, strict=True)) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("top", "roll"), [((1, 0, 0), 90.0), ((-1, 0, 0), -90.0), ((0, 0, -1), 180.0)]
)
def test_roll_is_clockwise_as_seen_from_outside(top: tuple[int, ...], roll: float) -> None:
    found = stance((0, 0, 0), (0, -1, 0), top=top)
    assert abs(found.roll_deg) == pytest.approx(abs(roll))
    if abs(roll) < 180.0:
        assert found.roll_deg == pytest.approx(roll)


@pytest.mark.parametrize(("outward", "said"), [((0, 0, 1), "roof"), ((0, 0, -1), "floor")])
def test_a_level_wall_wants_to_be_told(outward: tuple[int, ...], said: str) -> None:
    with pytest.raises(InputError, match=said):
        stance((0, 0, 0), outward)
    found = stance((0, 0, 0), outward, top=(0, 1, 0))
    assert found.lean_deg == pytest.approx(90.0 * outward[2])


@pytest.mark.parametrize("up", [(0, 0, 0), (math.nan, 0, 0)])
def test_no_direction_is_refused(up: tuple[float, ...]) -> None:
    with pytest.raises(InputError, match="up gives no direction"):
        stance((0, 0, 0), (0, -1, 0), up)

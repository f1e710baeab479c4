"""Gaskets: ring and frame."""

from __future__ import annotations

import math

import pytest

from vent_family.base.problems import InputError
from vent_family.geometry.gasket import frame_gasket, gasket


def test_ring() -> None:
    solid = gasket(32.5, 44.0, 2.0)
    assert solid.isValid()
    assert solid.Volume() == pytest.approx(math.pi / 4.0 * (44.0**2 - 32.5**2) * 2.0)
    bounds = solid.BoundingBox()
    assert (bounds.zmin, bounds.zmax) == pytest.approx((0.0, 2.0), abs=1e-6)
    assert (bounds.xmin, bounds.xmax) == pytest.approx((-22.0, 22.0), abs=1e-6)
    assert len(solid.Faces()) == 4


def test_frame() -> None:
    solid = frame_gasket(100.0, 80.0, 84.0, 60.0, 1.5)
    assert solid.isValid()
    assert solid.Volume() == pytest.approx((100.0 * 80.0 - 84.0 * 60.0) * 1.5)
    bounds = solid.BoundingBox()
    assert (bounds.xlen, bounds.ylen) == pytest.approx((100.0, 80.0), abs=1e-6)
    assert (bounds.zmin, bounds.zmax) == pytest.approx((0.0, 1.5), abs=1e-6)
    assert (bounds.center.x, bounds.center.y) == pytest.approx((0.0, 0.0), abs=1e-6)
    assert len(solid.Faces()) == 10


@pytest.mark.parametrize(
    ("sizes", "message"),
    [
        ((44.0, 32.0, 2.0), "no width"),
        ((32.0, 32.0, 2.0), "no width"),
        ((0.0, 32.0, 2.0), "no width"),
        ((32.0, math.nan, 2.0), "no width"),
        ((32.0, 44.0, 0.0), "no thickness"),
        ((32.0, 44.0, math.inf), "no thickness"),
    ],
)
def test_impossible_rings_are_refused(sizes: tuple[float, float, float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        gasket(*sizes)


def test_all_faults_of_a_frame_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        frame_gasket(100.0, 80.0, 120.0, 90.0, -1.0)
    assert [p.message for p in caught.value.problems] == [
        "the gasket frame has no width: its inner width must be less than its outer one",
        "the gasket frame has no width: its inner height must be less than its outer one",
        "the gasket frame has no thickness",
    ]

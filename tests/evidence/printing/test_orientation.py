"""How a part stands on the bed: the right side up, and not mirrored."""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.print_shapes import box, mesh
from tests.helpers.rows import spec
from vent_family.catalog.model import Orientation
from vent_family.evidence.printing.orientation import AXES, turned, turned_back
from vent_family.geometry.vent import build_solids, print_location
from vent_family.mesh.triangles import mesh_of, mesh_volume_mm3


def test_turning_keeps_volume_and_handedness() -> None:
    vertices, triangles = mesh(box((0, 3), (1, 5), (-2, 9)))
    for name, (axis, _) in AXES.items():
        moved = turned(vertices, name)
        assert mesh_volume_mm3(moved, triangles) == pytest.approx(3 * 4 * 11)
        assert moved[:, 2].min() == 0.0
        assert np.ptp(moved[:, 2]) == pytest.approx((3, 4, 11)[axis])


@pytest.mark.parametrize(("orientation", "lowest_mm"), [("face_down", 9.0), ("upright", 1.0)])
def test_turning_back_undoes_it(orientation: Orientation, lowest_mm: float) -> None:
    """The side on the bed is the outer one, at z = 9, or the lower one, at y = 1."""
    vertices, _ = mesh(box((0, 3), (1, 5), (-2, 9)))
    back = turned_back(turned(vertices, orientation), orientation, lowest_mm)
    assert np.allclose(back, vertices)


@pytest.mark.parametrize("orientation", ["face_down", "upright"])
def test_agrees_with_the_stl(orientation: Orientation) -> None:
    part = spec("rectangular", size="40x40", print_orientation=orientation)
    solid = build_solids(part).vent
    vertices, _ = mesh_of(solid, 0.05, 0.3)
    box_ = solid.moved(print_location(orientation, solid)).BoundingBox()
    moved = turned(vertices, orientation)
    # Which way round it lies on the bed does not matter; what points up does.
    assert moved[:, 2].max() == pytest.approx(box_.zmax, abs=0.01)
    size = sorted(np.ptp(moved[:, :2], axis=0))
    assert size == pytest.approx(sorted((box_.xlen, box_.ylen)), abs=0.01)

"""The six ways to lay a part down: simple bodies with known supports, and vents."""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.print_shapes import box, fused, mesh
from tests.helpers.rows import spec
from vent_family.base.materials import MATERIALS
from vent_family.base.shop import demo_shop
from vent_family.evidence.printing.orientation import AXES, OrientationCost, compare, turned
from vent_family.geometry.vent import build_solids, print_location
from vent_family.mesh.triangles import mesh_of, mesh_volume_mm3


def ways(vertices: object, triangles: object) -> dict[str, OrientationCost]:
    found = compare(vertices, triangles, MATERIALS["ASA"], demo_shop())  # type: ignore[arg-type]
    return {way.name: way for way in found}


def test_turning_keeps_volume_and_handedness() -> None:
    vertices, triangles = mesh(box((0, 3), (1, 5), (-2, 9)))
    for name, (axis, _) in AXES.items():
        moved = turned(vertices, name)
        assert mesh_volume_mm3(moved, triangles) == pytest.approx(3 * 4 * 11)
        assert moved[:, 2].min() == 0.0
        assert np.ptp(moved[:, 2]) == pytest.approx((3, 4, 11)[axis])


@pytest.mark.parametrize("orientation", ["face_down", "upright"])
def test_agrees_with_the_stl(orientation: str) -> None:
    part = spec("rectangular", size="40x40", print_orientation=orientation)
    solid = build_solids(part).vent
    vertices, _ = mesh_of(solid, 0.05, 0.3)
    box_ = solid.moved(print_location(orientation, solid)).BoundingBox()
    moved = turned(vertices, orientation)
    # Which way round it lies on the bed does not matter; what points up does.
    assert moved[:, 2].max() == pytest.approx(box_.zmax, abs=0.01)
    size = sorted(np.ptp(moved[:, :2], axis=0))
    assert size == pytest.approx(sorted((box_.xlen, box_.ylen)), abs=0.01)


def test_a_nail_stands_on_its_head() -> None:
    """A 4 x 4 shank on a 20 x 20 head: upside down the head's underside needs 10 mm of supports."""
    found = ways(*mesh(fused(box((-10, 10), (-10, 10), (0, 5)), box((-2, 2), (-2, 2), (4, 15)))))
    assert not found["face_up"].needs_support
    assert found["face_down"].needs_support
    assert found["face_down"].support_mm3 == pytest.approx((400 - 16) * 10, rel=0.25)
    assert found["face_up"].base_mm2 == pytest.approx(400)
    assert found["face_down"].base_mm2 == pytest.approx(16)
    assert found["left_down"].height_mm == pytest.approx(20)
    # Supports of 3840 mm3 of ASA at 1.07 g/cm3 and 19 a kg, and the same time on the machine.
    dearer = found["face_down"].cost - found["face_up"].cost
    supports = found["face_down"].support_mm3 * 1.07e-6 * 19.0
    assert dearer == pytest.approx(supports, rel=0.2)


@pytest.mark.parametrize(
    ("cells", "clean"),
    [({"fixing": "snap"}, "upright"), ({"slat_form": "folded"}, "face_down")],
)
def test_a_vent_has_one_way_that_needs_no_supports(cells: dict[str, str], clean: str) -> None:
    part = spec("rectangular", size="50x50", **cells)
    found = ways(*mesh_of(build_solids(part).vent, 0.05, 0.3))
    assert [n for n, w in found.items() if not w.needs_support] == [clean]
    assert found[clean].bridge_mm == pytest.approx(part.longest_bridge_mm, abs=0.05)
    assert found["left_down"].slat_lines == "across"
    assert found[clean].slat_lines == "lengthwise"

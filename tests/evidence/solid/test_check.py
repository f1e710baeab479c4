"""The checks of a body refuse a mesh that is a little too large, and tell by how much."""

from __future__ import annotations

import pytest

from tests.helpers.print_shapes import box, mesh
from vent_family.evidence.solid.check import check_body, measure


@pytest.mark.parametrize(
    ("share", "verdict"), [(1.0, "pass"), (1.004, "pass"), (1.0075, "fail"), (0.9925, "fail")]
)
def test_mesh_may_differ_from_the_solid_by_half_a_percent(share: float, verdict: str) -> None:
    """A box of 10 x 10 x 10 mm whose mesh is stretched along z."""
    solid = box((0.0, 10.0), (0.0, 10.0), (0.0, 10.0))
    vertices, triangles = mesh(solid)
    stretched = vertices * [1.0, 1.0, share]
    found = {c.name: c for c in check_body(solid, measure(solid), stretched, triangles)}
    check = found["mesh volume against exact volume"]
    assert check.limit == pytest.approx(0.005)
    assert check.value == pytest.approx(abs(share - 1.0), abs=1e-6)
    assert check.verdict == verdict


def test_a_box_is_measured_exactly() -> None:
    facts = measure(box((0.0, 2.0), (0.0, 3.0), (1.0, 5.0)))
    assert facts.volume_mm3 == pytest.approx(24.0)
    assert facts.area_mm2 == pytest.approx(2.0 * (6.0 + 8.0 + 12.0))
    assert facts.centroid_mm == pytest.approx((1.0, 1.5, 3.0))
    assert facts.box_min_mm == pytest.approx((0.0, 0.0, 1.0), abs=1e-6)
    assert facts.box_max_mm == pytest.approx((2.0, 3.0, 5.0), abs=1e-6)
    assert facts.face_count == 6

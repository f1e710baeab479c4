"""A round vent's shoulder carries its gasket, measured on both solids."""

from __future__ import annotations

import math

import pytest

from tests.helpers.meshes import section_at_z, trimesh_of
from tests.helpers.rows import spec
from vent_family.geometry.vent import build_solids


@pytest.mark.parametrize("size", ["M20x1.5", "M40x1.5"])
def test_the_gasket_lies_within_the_shoulder(size: str) -> None:
    """As much land outside the gasket as between the gasket and the thread."""
    part = spec("round", size=size, slat_form="folded")
    solids = build_solids(part)
    thread = float(size[1:3]) / 2.0
    rings = section_at_z(trimesh_of(solids.vent), 0.02)
    # The recess parts the shoulder's land from the neck.
    assert len(rings) >= 2
    shoulder = max(p.bounds[2] for p in rings)
    gasket = solids.gasket
    assert gasket is not None
    reach = gasket.BoundingBox().xmax
    hole = min(math.hypot(v.X, v.Y) for v in gasket.Vertices())
    inner, beyond = hole - thread, shoulder - reach
    assert inner > 0.5
    assert beyond == pytest.approx(inner, abs=0.05)

"""The hole in the panel, cut and measured."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from tests.helpers.rows import spec
from vent_family.geometry.opening import opening_tool


@pytest.mark.parametrize(
    ("family", "cells", "area"),
    [
        # A rectangular vent's size is its opening.
        ("rectangular", {"size": "60x50", "fixing": "snap"}, 60.0 * 50.0),
        # M32 with 0.3 mm clearance all round, less or more: between 32 and 33.5 mm.
        ("round", {"size": "M32x1.5"}, None),
    ],
)
def test_the_tool_leaves_no_skin(family: str, cells: dict[str, str], area: float | None) -> None:
    panel = cq.Solid.makeBox(200.0, 200.0, 2.0, cq.Vector(-100.0, -100.0, -2.0))
    part = spec(family, **cells)
    left = panel
    for tool in opening_tool(part, 2.0).Solids():
        left = left.cut(tool)
    removed = (panel.Volume() - left.Volume()) / 2.0
    if area is None:
        assert math.pi * 16.0**2 < removed < math.pi * 16.75**2
    else:
        assert removed == pytest.approx(area, rel=1e-6)
    # Through and through: the middle of both faces is open.
    for z in (-1e-4, -2.0 + 1e-4):
        point = cq.Vector(0.0, 0.0, z)
        assert not any(s.isInside(point) for s in left.Solids())

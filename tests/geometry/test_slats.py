"""Slats set into hollow bodies whose walls stand at any decimal."""

from __future__ import annotations

from typing import Any

import cadquery as cq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.helpers.rows import spec
from vent_family.geometry.primitives import GeometryError
from vent_family.geometry.slats import Span, insert_slats
from vent_family.geometry.vent import build_solids

SLAT = ((-4.0, -1.0), (4.0, -1.0), (4.0, 1.0), (-4.0, 1.0))


def tube(x0: float, x1: float) -> cq.Solid:
    """Return a block 40 mm high and wide with a way through along z, between walls at both x."""
    block = cq.Solid.makeBox(x1 - x0 + 4.0, 40.0, 40.0, cq.Vector(x0 - 2.0, -20.0, -20.0))
    void = cq.Solid.makeBox(x1 - x0, 30.0, 60.0, cq.Vector(x0, -15.0, -30.0))
    return block.cut(void).Solids()[0]


@settings(max_examples=60, deadline=None)
@given(
    st.integers(-1_000_000, 1_000_000).map(lambda n: n * 1.25e-5),
    st.integers(50_000, 400_000).map(lambda n: n * 1.25e-5),
    st.floats(-1e-8, 1e-8),
)
def test_a_slat_fits_between_walls_at_any_decimal(x0: float, width: float, hair: float) -> None:
    """Steps of an eighth of 1e-4 mm and a hair of rounding: wherever a grid has its borders."""
    x1 = x0 + width
    hollow = tube(x0, x1)
    solid = insert_slats(hollow, [Span(SLAT, x0 + hair, x1 - hair)])
    assert solid.isValid()
    assert solid.Volume() == pytest.approx(hollow.Volume() + 16.0 * width, rel=1e-6)


def test_a_slat_without_a_wall_is_told() -> None:
    with pytest.raises(GeometryError, match="no single flat wall"):
        insert_slats(tube(0.0, 10.0), [Span(SLAT, 0.0, 9.0)])


ROWS: list[tuple[str, dict[str, Any]]] = [
    ("rectangular", {"size": "200x80", "rib_thickness_mm": 1.25}),
    ("rectangular", {"size": "195.25x100"}),
    ("rectangular", {"size": "200x120", "rib_thickness_mm": 2.25}),
    ("rectangular", {"size": "395.5x60", "rib_count": 15}),
    ("flanged", {"size": "196.85x60"}),
    ("round", {"size": "M75x1.5", "head_diameter_mm": 200.25, "rib_count": 7}),
]
"""Walls whose x, in ten-thousandths of a millimetre, ends on a half."""


@pytest.mark.parametrize(("family", "cells"), ROWS, ids=[f"{f}-{c['size']}" for f, c in ROWS])
def test_rows_whose_walls_stand_on_a_half(family: str, cells: dict[str, Any]) -> None:
    assert build_solids(spec(family, **cells)).vent.isValid()

"""The cut of a part foretold from its row, against the mesh of its exact solid."""

from __future__ import annotations

from typing import Any

import pytest
from shapely.ops import unary_union

from tests.helpers.meshes import section_at_x, trimesh_of
from tests.helpers.rows import spec
from vent_family.geometry.cross_section import areas_cut, section_slice
from vent_family.geometry.families import BUILDERS
from vent_family.geometry.projection import cut_x_mm

ROWS: dict[str, tuple[str, dict[str, Any]]] = {
    "rectangular": ("rectangular", {"size": "40x40"}),
    "upright, snapped in": (
        "rectangular",
        {"size": "60x60", "fixing": "snap", "print_orientation": "upright"},
    ),
    "round": ("round", {"size": "M20x1.5", "step_thread": "plain"}),
    "flanged": ("flanged", {"size": "60x40", "slat_form": "folded"}),
}


@pytest.mark.parametrize("name", ROWS)
def test_it_is_what_the_exact_solid_is_cut_into(name: str) -> None:
    """All but the mark, cut 0.6 mm deep, the label, 0.4 mm, and chords of the mesh."""
    family, cells = ROWS[name]
    vent = spec(family, **cells)
    x = cut_x_mm(vent.bays)
    solid = BUILDERS[family].vent(vent, False)
    exact = unary_union(section_at_x(trimesh_of(solid), x))
    foretold = unary_union(areas_cut(vent, x))
    apart = foretold.symmetric_difference(exact)
    assert apart.area < 0.012 * exact.area
    assert apart.buffer(-0.32).is_empty
    assert apart.buffer(-0.05).area < 0.006 * exact.area


def test_the_slice_is_as_thick_as_the_bay_left_of_the_cut() -> None:
    vent = spec(size="40x40")
    x = cut_x_mm(vent.bays)
    box = section_slice(vent, x).BoundingBox()
    start = next(a for a, b in vent.bays if a < x < b)
    assert (box.xmin, box.xmax) == pytest.approx((start, x), abs=1e-6)
    area = sum(a.area for a in areas_cut(vent, x))
    assert section_slice(vent, x).Volume() == pytest.approx(area * (x - start), rel=1e-6)

"""Letters that print, and the part number they write inside a vent."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from tests.helpers.meshes import section_at_z, trimesh_of
from tests.helpers.rows import spec
from vent_family.base.limits import MARK_STROKE_MIN, STL_ANGLE, STL_CHORD
from vent_family.catalog.model import PART_NUMBER
from vent_family.evidence.printing.walls import measure_walls
from vent_family.geometry.vent import build_solids
from vent_family.mesh.triangles import mesh_of
from vent_family.spec.label import LabelFace, label_on
from vent_family.spec.letters import letter
from vent_family.spec.mark import mark_outlines

SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._"
UNIT_MM = 2.6 / 6.2
"""One unit of the smallest letters, mm."""


@pytest.mark.parametrize("sign", SIGNS)
def test_a_letter_prints_at_its_smallest(sign: str) -> None:
    shape = shapely.affinity.scale(letter(sign)[0], UNIT_MM, UNIT_MM, origin=(0.0, 0.0))
    assert isinstance(shape, Polygon)
    assert shape.is_valid
    assert shape.bounds[:2] == pytest.approx((0.0, shape.bounds[1]))
    assert shape.bounds[1] >= -0.1
    assert shape.bounds[3] <= 2.6 + 0.1
    # Strokes half a millimetre wide: nothing is lost by going in and out again with square ends.
    opened = shape.buffer(-0.249, join_style="mitre").buffer(0.249, join_style="mitre")
    assert shape.difference(opened.buffer(1e-3)).area < 0.03 * shape.area
    for ring in (shape.exterior, *shape.interiors):
        steps = np.diff(np.asarray(ring.coords), axis=0)
        assert np.hypot(*steps.T).min() >= 0.1
    for hole in shape.interiors:
        assert Polygon(hole).buffer(-0.2).area > 0.0


def test_letters_cover_part_numbers_and_differ() -> None:
    assert all(sign in PART_NUMBER for sign in "._-")
    shapes = {sign: letter(sign)[0] for sign in SIGNS}
    for a in SIGNS:
        for b in SIGNS:
            if a < b:
                apart = shapes[a].symmetric_difference(shapes[b]).area
                assert apart > 0.06 * max(shapes[a].area, shapes[b].area), (a, b)


@pytest.mark.parametrize("upright", [False, True])
def test_the_part_number_reads_from_inside(upright: bool) -> None:
    way = "upright" if upright else "face_down"
    vent = spec("rectangular", part_number="F7", revision="L", print_orientation=way)
    assert vent.label.text == "F7 L"
    mesh = trimesh_of(build_solids(vent).vent)
    z = vent.section.inner_z_mm
    faces = [section_at_z(mesh, z + depth) for depth in (0.2, 0.6)]
    low = vent.label.y_mm
    back = box(-25.0, low - 0.3, 25.0, low + vent.label.height_mm + 0.3)
    sunk, behind = (unary_union(polygons).intersection(back) for polygons in faces)
    letters = sorted(behind.difference(sunk).geoms, key=lambda p: -p.bounds[2])
    letters = [p for p in letters if p.area > 0.5]
    assert len(letters) == 3
    height = letters[0].bounds[3] - letters[0].bounds[1]
    assert height == pytest.approx(vent.label.height_mm, abs=0.01)
    # Seen from inside x runs to the left: an F has its stem at its largest x and its bars above.
    f, _, el = letters
    for shape, high in ((f, True), (el, False)):
        x0, y0, x1, y1 = shape.bounds
        stem = shape.intersection(box(x1 - 0.3, y0, x1, y1)).area
        assert stem == pytest.approx(0.3 * (y1 - y0), rel=0.02)
        bar = (y1 - 0.3, y1) if high else (y0, y0 + 0.3)
        assert shape.intersection(box(x0, bar[0], x1, bar[1])).area == pytest.approx(
            0.3 * (x1 - x0), rel=0.02
        )


def test_what_has_no_room_is_told() -> None:
    low = label_on(LabelFace(0.0, 40.0, (0.0, 4.0), "sill"), "A", "B")
    narrow = label_on(LabelFace(0.0, 6.0, (0.0, 9.0), "sill"), "A" * 30, "B")
    for label in (low, narrow, label_on(None, "A", "B")):
        assert label.text == ""
        assert label.words.startswith("none: ")
        assert list(label.outlines()) == []


def test_a_narrow_bar_carries_an_arrow_alone() -> None:
    vent = spec("rectangular", size="60x40", lip_width_mm=2.0, wall_mm=1.6)
    assert not vent.mark.has_word
    ((arrow, counter),) = mark_outlines(vent.mark)
    assert counter is None
    ys = [y for _, y in arrow]
    top = max(ys)
    assert vent.section.ceiling_mm + 0.89 < min(ys)
    assert top < 20.0 + 2.0 - 0.5 - 0.89
    # It points up: the highest point is one, in the middle.
    assert [p for p in arrow if p[1] > top - 1e-9] == [pytest.approx((0.0, top))]
    solid = build_solids(vent).vent
    found = measure_walls(vent, *mesh_of(solid, STL_CHORD.value, STL_ANGLE.value))
    assert found.stroke is not None
    assert found.stroke.width_mm == pytest.approx(0.4 * vent.mark.height_mm, abs=0.02)
    assert found.stroke.width_mm >= MARK_STROKE_MIN.value

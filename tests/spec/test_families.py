"""The contract of every family, a fourth one included: what its body answers must agree.

Oracles are elementary geometry on the answers themselves: one answer against another, or against a
sum of small strips.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, box

from tests.helpers.families import ALL, fourth_family, row_of, vent_of
from tests.helpers.octagon import Octagonal, OctagonBody, OctagonBuilder
from vent_family.base.problems import InputError
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import ALL as CATALOGUE
from vent_family.geometry.families import BUILDERS, register_family, registered_family
from vent_family.spec.body import OPENINGS
from vent_family.spec.families import FAMILIES, filled_row
from vent_family.spec.families.common import disc_in_box_mm2
from vent_family.spec.mark import mark_outlines
from vent_family.spec.summary import summary

COMMON = {name for name in COLUMNS if COLUMNS[name].families[: len(CATALOGUE)] == CATALOGUE}
"""Columns of every family."""


@pytest.fixture(autouse=True, scope="module")
def _fourth() -> Iterator[None]:
    with fourth_family():
        yield


@pytest.mark.parametrize("name", ALL)
def test_the_columns_a_family_claims_are_the_catalogues_and_are_filled(name: str) -> None:
    family = FAMILIES[name]
    listed = {c for c in COLUMNS if name in COLUMNS[c].families and c not in COMMON}
    assert family.columns == listed
    filled = filled_row(row_of(name))
    assert not [c for c in family.columns if not hasattr(filled, c)]


@pytest.mark.parametrize("name", ALL)
def test_bays_are_disjoint_and_inside_with_a_rib_between(name: str) -> None:
    vent = vent_of(name, rib_count=2)
    bays, half = vent.bays, vent.body.half_width_mm
    assert len(bays) == 3
    assert (bays[0][0], bays[-1][1]) == pytest.approx((-half, half))
    assert all(a < b for a, b in bays)
    for (_, end), (start, _) in pairwise(bays):
        assert start - end == pytest.approx(vent.rib_thickness_mm)


@pytest.mark.parametrize("name", ALL)
def test_a_clear_area_is_the_sum_of_its_strips(name: str) -> None:
    body = vent_of(name).body
    half = body.half_width_mm
    for low, high in ((-20.0, 5.0), (0.0, 18.0)):
        ys = np.linspace(low, high, 4001)
        middle = 0.5 * (ys[1:] + ys[:-1])
        strips = sum(2.0 * body.clear_half_width_mm(float(y)) for y in middle) * (ys[1] - ys[0])
        area = body.clear_area_mm2((-half, half), (low, high))
        assert area == pytest.approx(strips, rel=2e-4)
        right = body.clear_area_mm2((0.0, half), (low, high))
        assert right == pytest.approx(area / 2, rel=1e-9)
    assert body.clear_half_width_mm(0.0) == pytest.approx(half, rel=1e-5)


@settings(max_examples=300, deadline=None)
@given(st.tuples(*[st.floats(-14.0, 14.0)] * 4))
def test_disc_in_a_rectangle_against_polygons(ends: tuple[float, ...]) -> None:
    x, y = sorted(ends[:2]), sorted(ends[2:])
    found = disc_in_box_mm2(10.0, (x[0], x[1]), (y[0], y[1]))
    polygon = Point(0.0, 0.0).buffer(10.0, 4096).intersection(box(x[0], y[0], x[1], y[1])).area
    assert found == pytest.approx(polygon, rel=1e-6, abs=1e-5)


@pytest.mark.parametrize("name", ALL)
def test_the_mark_stands_in_its_bar(name: str) -> None:
    vent = vent_of(name)
    ys = [y for outline, _ in mark_outlines(vent.mark) for _, y in outline]
    xs = [x for outline, _ in mark_outlines(vent.mark) for x, _ in outline]
    assert vent.section.ceiling_mm + 0.5 < min(ys) < max(ys) < vent.body.mark_bar_top_mm - 0.5
    assert min(xs) == pytest.approx(-max(xs))
    left, right, _, top = vent.body.cover.reach_mm
    assert -left < min(xs) < max(xs) < right
    assert vent.body.mark_bar_top_mm <= top


@pytest.mark.parametrize("name", ALL)
def test_cover_opening_and_outline_agree(name: str) -> None:
    vent = vent_of(name)
    body, cover, opening = vent.body, vent.body.cover, vent.opening
    left, right, bottom, top = cover.reach_mm
    box = (left + right) * (bottom + top)
    assert 0.75 * box < cover.area_mm2 <= box * (1 + 1e-12)
    # Of all outlines of an area the circle is the shortest; a box is longer than what it holds.
    assert 4 * np.pi * cover.area_mm2 <= cover.outline_mm**2 * (1 + 1e-12)
    assert cover.outline_mm <= 2 * (left + right + bottom + top) * (1 + 1e-12)
    w, h = opening.size_mm
    assert opening.kind == FAMILIES[name].opening
    assert opening.kind in OPENINGS
    assert 0.75 * w * h < opening.area_mm2 <= w * h * (1 + 1e-12)
    assert w < left + right
    assert h < bottom + top
    outline = body.side_outline_mm(vent.section.front_z_mm)
    assert outline[0] == (vent.section.front_z_mm, top)
    assert outline[-1][0] == pytest.approx(vent.section.inner_z_mm)
    assert max(y for z, y in outline if z < 0.0) < h / 2 < top


@pytest.mark.parametrize("name", ALL)
def test_what_only_such_bodies_have_is_told_with_its_unit(name: str) -> None:
    vent = vent_of(name)
    told = summary(vent)
    for words, value in vent.body.facts.items():
        assert words.endswith(" mm")
        assert told[words] == value
    assert told["family"] == name
    assert (vent.body.neck is None) == ("neck length mm" not in told)


@pytest.mark.parametrize("name", [n for n in ALL if n != "rectangular"])
def test_what_would_hang_over_the_bed_is_refused(name: str) -> None:
    with pytest.raises(InputError, match=f"a {name} vent does not print upright"):
        vent_of(name, print_orientation="upright")


class NoBuilder(OctagonBuilder):
    opening = None  # type: ignore[assignment]


class Half:
    """A body without answers but one."""

    half_width_mm = 10.0


class HalfBodied(Octagonal):
    name = "half_bodied"
    body = Half  # type: ignore[assignment]


class Unlaid(Octagonal):
    name = "unlaid"
    lay_out = None  # type: ignore[assignment]


class Renamed(Octagonal):
    name = "renamed"


class RenamedBuilder(NoBuilder):
    name = "renamed"


@pytest.mark.parametrize(
    ("family", "builder", "sentence"),
    [
        (Renamed(), None, "the family renamed lacks a builder"),
        (Unlaid(), OctagonBuilder(), "the builder octagonal is not the family unlaid's"),
        (Renamed(), RenamedBuilder(), "the builder of the family renamed lacks the member opening"),
        (HalfBodied(), None, "the family half_bodied lacks a builder"),
    ],
)
def test_a_family_without_its_builder_is_refused(
    family: Octagonal, builder: OctagonBuilder | None, sentence: str
) -> None:
    before = [f.name for f in FAMILIES], [b.name for b in BUILDERS], list(OPENINGS)
    with pytest.raises((TypeError, ValueError)) as refused:
        register_family(family, builder)
    assert str(refused.value) == sentence
    assert ([f.name for f in FAMILIES], [b.name for b in BUILDERS], list(OPENINGS)) == before


@pytest.mark.parametrize(
    ("family", "sentence"),
    [
        (Unlaid(), "the family unlaid lacks the member lay_out"),
        (HalfBodied(), "the body of the family half_bodied lacks the member cavity_outline"),
    ],
)
def test_a_family_that_lacks_a_member_is_refused(family: Octagonal, sentence: str) -> None:
    builder = type("Named", (OctagonBuilder,), {"name": family.name})()
    with pytest.raises(TypeError) as refused:
        register_family(family, builder)
    assert str(refused.value) == sentence
    assert family.name not in FAMILIES


def test_nothing_is_left_of_a_family_that_is_withdrawn() -> None:
    fifth = type("Fifth", (Octagonal,), {"name": "fifth", "opening": "pentagon"})()
    builder = type("Built", (OctagonBuilder,), {"name": "fifth"})()
    with registered_family(fifth, builder):
        assert "fifth" in COLUMNS["lip_width_mm"].families
        assert "pentagon" in OPENINGS
    assert "fifth" not in COLUMNS["lip_width_mm"].families
    assert "pentagon" not in OPENINGS
    assert "octagon" in OPENINGS
    with pytest.raises(LookupError, match="no family named fifth is registered"):
        FAMILIES["fifth"]


def test_the_octagon_is_none_of_the_others() -> None:
    assert not any(isinstance(vent_of(n).body, OctagonBody) for n in ALL if n != "octagonal")

"""Where slats stand; layouts and rows that are tried, passed over only where they never close."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest
from pydantic import ValidationError
from shapely.geometry import Polygon

from tests.helpers.candidates import candidate_cells
from vent_family.catalog.model import FAMILIES, CatalogRow
from vent_family.spec.bounds import Bounds
from vent_family.spec.choice import (
    StackChoice,
    closing_stacks,
    endless_margin,
    slope_patterns,
)
from vent_family.spec.families import FAMILIES as REGISTERED
from vent_family.spec.forms import FORMS, IN, OUT
from vent_family.spec.layout import PHASES, lay_out
from vent_family.spec.places import Frame, Layouts
from vent_family.spec.refusals import Refusals
from vent_family.spec.resolve import refusals_of, resolve, resolved_or_none
from vent_family.spec.section import SectionError
from vent_family.spec.sightlines import sight_margin
from vent_family.spec.stack import Stack
from vent_family.spec.stack_rules import stacks

# Floor at -30 mm, level; drain 4 mm; apron 2 mm; two banks of plates 9 mm high, 12 mm apart.
PLATES = Stack("flat", 1.5, 12.0, 9.0, (4.0,), 0.5, (OUT, OUT))
LEVEL = Bounds(
    front_z_mm=3.0,
    front_margin_mm=1.0,
    floor_front_mm=-30.0,
    slope_deg=0.0,
    drain_height_mm=4.0,
    apron_thickness_mm=2.0,
    ceiling_max_mm=28.5,
    ceiling_min_mm=16.5,
    inner_z_mm=-9.6,
    foot_z_mm=-8.0,
    sill_top_mm=-22.0,
)


def candidates(family: str, count: int) -> Iterator[CatalogRow]:
    """Yield rows that can be read."""
    for number in range(count):
        try:
            yield CatalogRow(**candidate_cells(Random(f"places-{family}-{number}"), family))
        except ValidationError:
            continue


def test_plates_stand_and_end_where_a_drawing_by_hand_has_them() -> None:
    """The inner bank begins on the channel at -26 mm, the outer one over the apron.

    At 28.5 mm the outer bank's plate from 28 to 37 mm would be a sliver under the ceiling, at
    28 mm its end would lie in the ceiling's plane; 0.05 mm off it is clear: 27.9 mm.
    """
    places, ceiling = Layouts(Frame.of(PLATES, LEVEL)).places(0.0)
    middles = [[p.centre_mm for p in places if p.bank == bank] for bank in (0, 1)]
    assert middles[0] == pytest.approx([-15.5, -3.5, 8.5, 20.5])
    assert middles[1] == pytest.approx([-21.5, -9.5, 2.5, 14.5, 26.5])
    assert ceiling == 27.9
    assert [p.grown for p in places] == [False] * 8 + [True]
    assert not any(p.short for p in places)


def test_a_ceiling_leaves_no_gap_that_a_film_bridges_over_a_plate() -> None:
    """Over the plate that ends at 25 mm it would be 2.05 mm high, less than 2.7 mm.

    So the ceiling comes down, by 0.1 mm each time, until the plate runs on 0.3 mm: 24.65 mm.
    """
    low = replace(LEVEL, ceiling_max_mm=27.05, ceiling_min_mm=15.05)
    places, ceiling = Layouts(Frame.of(PLATES, low)).places(0.0)
    assert ceiling == 24.65
    assert [p.centre_mm for p in places if p.grown] == pytest.approx([20.5, 26.5])


def test_a_lifted_lattice_is_completed_by_a_plate_cut_at_the_channel() -> None:
    """Lifted by 0.3 pitches, 3.6 mm, the plate below ends at -20.4 mm: 2.4 mm are needed."""
    places, _ = Layouts(Frame.of(PLATES, LEVEL)).places(0.3)
    inner = [p for p in places if p.bank == 1]
    # The next lower one would end at -17.9 + 4.5 - 12 = -25.4 mm, 0.6 mm over the channel.
    assert not inner[0].short
    assert inner[0].centre_mm == pytest.approx(-17.9)
    places, _ = Layouts(Frame.of(PLATES, LEVEL)).places(0.5)
    inner = [p for p in places if p.bank == 1]
    # Lifted by 6 mm it ends at -23 mm, 3 mm over the channel: more than 0.9 mm and the thickness.
    assert inner[0].short
    assert inner[0].centre_mm == pytest.approx(-27.5)


@pytest.mark.parametrize("family", FAMILIES.own)
def test_layouts_are_passed_over_only_where_lines_pass(family: str) -> None:
    """Said of whole slats and the highest sill, it must hold of the slats as they are cut."""
    passed, looked = 0, 0
    for row in candidates(family, 60):
        filled = REGISTERED[family].filled(row)
        refusals = Refusals(row)
        choice = stacks(filled, refusals)
        if choice is None:
            continue
        for stack in itertools.islice(closing_stacks(choice), 2):
            _, bounds = REGISTERED[family].lay_out(filled, refusals, stack)
            if len(refusals):
                break
            top = bounds.sill_top_mm + 2.0
            layouts = Layouts(Frame.of(stack, bounds))
            for phase in PHASES[::3]:
                try:
                    section = lay_out(stack, bounds, phase)
                except SectionError:
                    with pytest.raises(SectionError):
                        layouts.surely_open(phase, top)
                    continue
                looked += 1
                if not layouts.surely_open(phase, top):
                    continue
                passed += 1
                shelf = ((bounds.inner_z_mm, top),)
                face = bounds.sill_face(top)
                high = replace(section, shelf=shelf, sill=bounds.sill(top), sill_face=face)
                assert sight_margin(high.pieces, high.lower, high.upper).margin_mm < 0.2
    assert looked > 40
    assert passed > 0.2 * looked


@pytest.mark.parametrize("form", [member.name for member in FORMS])
def test_a_slat_cut_short_lies_within_the_whole_one(form: str) -> None:
    """What is looked through with whole slats may then be no more open with them cut."""
    for slope, height in itertools.product((OUT, IN), (6.0, 9.0)):
        stack = Stack(form, 1.2, 12.0, height, (3.0,), 0.5, (slope, slope), 0.2)
        whole = stack.slat_box(0, 0.0)
        for share in (0.1, 0.3, 0.45):
            short = stack.shape.shortened(whole, whole.y_mm[0] + share * height)
            outside = Polygon(stack.shape.outline(short)).difference(
                Polygon(stack.shape.outline(whole)).buffer(1e-9)
            )
            assert outside.area < 1e-9


@pytest.mark.parametrize("family", FAMILIES.own)
def test_a_row_that_is_tried_fares_as_one_that_is_told_why(family: str) -> None:
    resolved = 0
    for row in candidates(family, 60):
        found = resolved_or_none(row)
        assert (found is None) == bool(refusals_of(row)), row
        if found is not None:
            resolved += 1
            assert found == resolve(row)
    assert resolved >= 3


@pytest.mark.parametrize("slopes", [False, True])
def test_of_stacks_that_hardly_close_the_nearest_are_offered_in_order(slopes: bool) -> None:
    """Found by reckoning all of them, one by one."""
    stack = Stack("inclined", 0.8, 9.5, 6.0, (4.0, 4.0, 4.0), 0.5, (OUT,) * 4, foot_mm=0.2)
    patterns = slope_patterns(4) if slopes else [stack.slopes]
    widths = [1.0 + 0.25 * i for i in range(9)]
    trials = [
        replace(stack, slopes=pattern, gaps_mm=(round(4.0 * width, 3), 4.0, 4.0))
        for pattern in patterns
        for width in widths
    ]
    margins = [endless_margin(trial).margin_mm for trial in trials]
    assert max(margins) < 0.5
    order = sorted(range(len(trials)), key=lambda i: -margins[i])
    offered = list(closing_stacks(StackChoice(stack, free_slopes=slopes, free_gaps=True)))
    assert offered == [trials[i] for i in order[:4]]


def test_the_least_head_is_named_whatever_comes_after_it() -> None:
    """The head that is told is the smallest whole one that is not refused."""
    cells = {"part_number": "A", "family": "round", "status": "draft", "size": "M32x1.5"}
    for sill, slope in itertools.product((6.0, 14.0, 25.0), (3.0, 10.0)):
        # One stack alone: others, deeper, may need a wider head.
        one = {"slopes": "out-in-out", "bank_gaps_mm": "3"}
        more: dict[str, object] = {"sill_height_mm": sill, "floor_slope_deg": slope, **one}

        def refused(head: float, more: dict[str, object] = more) -> bool:
            row = CatalogRow(**cells, **more, head_diameter_mm=head)
            return any(r.rule == "head.size.small" for r in refusals_of(row))

        (small,) = (
            r
            for r in refusals_of(CatalogRow(**cells, **more, head_diameter_mm=44.0))
            if r.rule == "head.size.small"
        )
        least = small.guesses[0]["head_diameter_mm"]
        assert isinstance(least, float)
        assert math.isclose(small.lack, least - 44.0)
        assert [head for head in range(44, int(least) + 8) if not refused(float(head))] == list(
            range(int(least), int(least) + 8)
        )

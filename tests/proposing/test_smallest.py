"""The smallest opening never becomes smaller by more heat or by more in the air's way."""

from __future__ import annotations

import itertools
import math
from functools import cache
from typing import Any

from vent_family.catalog.attached import Attached, packaged_fans
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.predicted import holds
from vent_family.evidence.air.question import question_of
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.openings import area_mm2, larger_sizes
from vent_family.proposing.proposal import Proposal
from vent_family.proposing.requirement import requirement_of
from vent_family.proposing.run import Front
from vent_family.proposing.search import Found
from vent_family.proposing.smallest import SMALLEST, smallest_opening, with_smallest
from vent_family.proposing.space import space_of
from vent_family.spec.resolve import resolved_or_none

DESIGNS: dict[str, tuple[Any, ...]] = {"slat_form": ("folded", "flat"), "bank_count": (1,)}
FAN = "tank-hall-92"
LARGEST = "45x40"
"""Twenty openings: five widths, four heights."""


@cache
def smallest_mm2(heat_w: float, guard_k: float = 0.0) -> float:
    """Return the area of the smallest opening, mm2; endless where none up to the largest does."""
    asked = requirement_of(
        {
            "opening": {"at_most": LARGEST, "families": "rectangular"},
            "cabinet": {"heat_w": heat_w, "ambient_c": 30.0, "limit_c": 45.0},
            "air": {"fan": FAN, "guard_k": guard_k},
            "water": {"exposure": "dry"},
            "order": {"print_orientation": "face_down"},
        }
    )
    found = smallest_opening(Crew(enquiry_of(asked)), designs=DESIGNS)
    return math.inf if found is None else area_mm2(found.size)


def test_more_heat_never_gives_a_smaller_opening() -> None:
    areas = [smallest_mm2(heat_w) for heat_w in (8.0, 16.0, 24.0, 60.0)]
    assert areas == sorted(areas)
    assert areas[0] < areas[1] < areas[-1] == math.inf


def test_less_air_never_gives_a_smaller_opening() -> None:
    areas = [smallest_mm2(16.0, guard_k) for guard_k in (0.0, 15.0, 60.0)]
    assert areas == sorted(areas)
    assert areas[0] < areas[-1]


def test_no_smaller_opening_does_with_any_of_the_designs() -> None:
    heat_w = 16.0
    fan = parse_fan(packaged_fans()[FAN], FAN)
    cabinet = Cabinet(heat_w, 30.0, 45.0)
    sides = ((25.0, 30.0, 35.0, 40.0, 45.0), (25.0, 30.0, 35.0, 40.0))
    doing = []
    for width, height in itertools.product(*sides):
        for form in DESIGNS["slat_form"]:
            row = CatalogRow(
                part_number="GRID",
                family="rectangular",
                size=f"{width:g}x{height:g}",
                status="draft",
                material="ASA",
                print_orientation="face_down",
                panel_thickness_mm=2.0,
                slat_form=form,
                bank_count=1,
                fan=FAN,
            )
            spec = resolved_or_none(row, Attached(fan_text=packaged_fans()[FAN]))
            if spec is not None and holds(question_of(spec, cabinet, fan=fan)):
                doing.append(width * height)
    # Strength, of which nothing is asked here, may only take openings away.
    assert min(doing) <= smallest_mm2(heat_w) < math.inf
    assert smallest_mm2(heat_w) in doing


def test_sizes_that_are_larger_are_larger_each_way_and_in_order() -> None:
    grown = larger_sizes(["160x120"])
    areas = [area_mm2(size) for size in grown]
    assert areas == sorted(areas)
    assert areas[0] > 160.0 * 120.0
    sides = [tuple(float(side) for side in size.split("x")) for size in grown]
    assert all(w >= 160.0 and h >= 120.0 for w, h in sides)
    assert {w > 160.0 and h == 120.0 for w, h in sides} == {True, False}
    assert all(max(pair) <= 400.0 for pair in sides)
    assert larger_sizes(["400x400"]) == ()


def test_the_smallest_opening_is_one_more_option_unless_another_is_as_small() -> None:
    asked = requirement_of(
        {
            "opening": {"at_most": LARGEST, "families": "rectangular"},
            "water": {"exposure": "dry"},
            "order": {"print_orientation": "face_down"},
        }
    )
    crew = Crew(enquiry_of(asked))
    space = space_of(asked)
    nothing = Proposal(crew.enquiry, (), Front(space, (), Found()), 1)
    found = with_smallest(nothing, crew, lambda *_: None)
    (option,) = found.options
    assert option.titles == (SMALLEST,)
    assert option.confirmed
    assert [known.good for known in found.built] == [True]
    least = smallest_opening(crew)
    assert least is not None
    assert option.row == least.candidate.row
    assert with_smallest(found, crew, lambda *_: None) == found
    given = enquiry_of(requirement_of({"opening": {"size": "40x40"}}))
    assert with_smallest(nothing, Crew(given), lambda *_: None) == nothing

"""What binds is named, and by how much it must give way: a little less does not do.

What each row of a coarse grid does is worked out here by the models alone, without the ladder, the
search or the freeing of constraints.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest

from vent_family.base.rates import demo_rates
from vent_family.catalog.attached import Attached, packaged_fans
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.predicted import holds
from vent_family.evidence.air.question import question_of
from vent_family.evidence.cost.foretold import foretold_price
from vent_family.evidence.strength.members import strength_report
from vent_family.evidence.strength.shells import shell_of
from vent_family.proposing.constraints import Relaxation
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.instead import fewest
from vent_family.proposing.known import known_parts
from vent_family.proposing.relax import nearest_row, relaxations
from vent_family.proposing.requirement import requirement_of
from vent_family.proposing.run import Depth, Front, front_for
from vent_family.proposing.search import Found, SearchEffort
from vent_family.proposing.space import space_of
from vent_family.spec.resolve import resolve, resolved_or_none
from vent_family.spec.vent import VentSpec

GRID: dict[str, tuple[Any, ...]] = {
    "slat_form": ("folded", "flat"),
    "pitch_mm": (None, 7.0),
    "bank_count": (None, 1),
    "slat_thickness_mm": (1.0, 1.2),
}
DEPTH = Depth(SearchEffort(8, 2, 4, drawn=64, begun=8), rounds=2, wet=4, ends=4)
FAN = "tank-hall-92"
HEAT_W, AMBIENT_C, LIMIT_C = 40.0, 30.0, 45.0
DRY: dict[str, Any] = {
    "opening": {"size": "40x40", "families": "rectangular"},
    "water": {"exposure": "dry"},
    "order": {"print_orientation": "face_down"},
}
FIXED: dict[str, Any] = {
    **{"family": "rectangular", "size": "40x40", "status": "draft"},
    **{"material": "ASA", "print_orientation": "face_down", "exposure": "dry"},
}
CABINET = {"heat_w": HEAT_W, "ambient_c": AMBIENT_C, "limit_c": LIMIT_C}
HOT = {
    **DRY,
    "cabinet": CABINET,
    "air": {"fan": FAN},
}


@cache
def grid(size: str = "40x40", vents: int = 1) -> tuple[VentSpec, ...]:
    """Return every vent of the grid that keeps the rules and is strong enough."""
    return tuple(_strong(size, vents))


def _strong(size: str, vents: int) -> Iterator[VentSpec]:
    fixed = FIXED | {"part_number": "GRID", "size": size}
    beside = {"fan": FAN, "panel_thickness_mm": 2.0}
    beside |= {"vents_in_parallel": vents} if vents > 1 else {}
    for values in itertools.product(*GRID.values()):
        row = CatalogRow(**fixed, **beside, **dict(zip(GRID, values, strict=True)))
        spec = resolved_or_none(row, Attached(fan_text=packaged_fans()[FAN]))
        if spec is not None and _bears(spec):
            yield spec


def _bears(spec: VentSpec) -> bool:
    report = strength_report(spec, shell_of(demo_rates().shop.printing))
    return all(check.verdict == "pass" for check in report.checks)


def cool(
    spec: VentSpec,
    heat_w: float = HEAT_W,
    ambient_c: float = AMBIENT_C,
    limit_c: float = LIMIT_C,
    vents: int = 1,
    fan: str = FAN,
    place: str | None = None,
) -> bool:
    moved = parse_fan(packaged_fans()[fan], fan)
    cabinet = Cabinet(heat_w, ambient_c, limit_c)
    return holds(question_of(spec, cabinet, fan=moved, place=place, inlets=vents))


def searched(data: dict[str, Any]) -> tuple[Front, Crew]:
    crew = Crew(enquiry_of(requirement_of(data)))
    return front_for(space_of(crew.enquiry.asked, GRID), crew, depth=DEPTH), crew


def relaxed(data: dict[str, Any]) -> dict[str, Relaxation]:
    front, crew = searched(data)
    assert not front.candidates
    return {r.entry: r for r in relaxations(front, crew, depth=DEPTH, ladders=GRID)}


@pytest.fixture(scope="module")
def hot() -> dict[str, Relaxation]:
    return relaxed(HOT | {"order": {"print_orientation": "face_down", "price_most": 9.0}})


def needed(relaxation: Relaxation) -> float:
    assert relaxation.helps
    assert isinstance(relaxation.needed, int | float)
    return float(relaxation.needed)


def test_what_binds_is_told_first_and_what_does_not_is_told_to_be_of_no_help(
    hot: dict[str, Relaxation],
) -> None:
    cooling = {"opening.size", "cabinet.limit_c", "cabinet.heat_w", "cabinet.ambient_c"}
    assert {name for name, r in hot.items() if r.helps} == cooling | {"air.vents", "air.fan"}
    assert not hot["order.price_most"].helps
    assert [r.helps for r in hot.values()] == sorted((r.helps for r in hot.values()), reverse=True)


def test_the_limit_must_rise_by_just_so_much(hot: dict[str, Relaxation]) -> None:
    limit = needed(hot["cabinet.limit_c"])
    assert limit > LIMIT_C
    assert any(cool(spec, limit_c=limit) for spec in grid())
    assert not any(cool(spec, limit_c=limit - 0.2) for spec in grid())


def test_the_heat_must_fall_by_just_so_much(hot: dict[str, Relaxation]) -> None:
    heat = needed(hot["cabinet.heat_w"])
    assert any(cool(spec, heat_w=heat) for spec in grid())
    assert not any(cool(spec, heat_w=heat + 1.0) for spec in grid())


def test_the_air_outside_must_be_just_so_much_colder(hot: dict[str, Relaxation]) -> None:
    ambient = needed(hot["cabinet.ambient_c"])
    assert any(cool(spec, ambient_c=ambient) for spec in grid())
    assert not any(cool(spec, ambient_c=ambient + 0.1) for spec in grid())


def test_another_fan_that_is_told_does_and_a_place_that_is_not_told_does_not(
    hot: dict[str, Relaxation],
) -> None:
    fan = str(hot["air.fan"].needed)
    assert fan != FAN
    assert hot["air.fan"].asked == FAN
    assert any(cool(spec, fan=fan) for spec in grid())
    assert (hot["air.fan_position"].asked, hot["air.fan_position"].helps) == ("intake", False)
    assert not any(cool(spec, place="outlet") for spec in grid())


def test_there_must_be_just_so_many_vents(hot: dict[str, Relaxation]) -> None:
    vents = int(needed(hot["air.vents"]))
    assert any(cool(spec, vents=vents) for spec in grid(vents=vents))
    assert not any(cool(spec, vents=vents - 1) for spec in grid(vents=vents - 1))


def test_the_opening_must_be_just_so_much_larger(hot: dict[str, Relaxation]) -> None:
    size = str(hot["opening.size"].needed)
    width, height = map(float, size.split("x"))
    assert width * height > 40.0 * 40.0
    assert any(cool(spec) for spec in grid(size))
    for smaller in ("45x40", "40x45", "45x45", "50x40", "40x50"):
        sides = [float(side) for side in smaller.split("x")]
        if sides[0] * sides[1] < width * height:
            assert not any(cool(spec) for spec in grid(smaller)), smaller


def test_the_price_must_rise_by_just_so_much_or_the_order() -> None:
    shop = demo_rates().shop

    def prices(quantity: int) -> list[float]:
        found = (foretold_price(spec, shop, quantity).price for spec in grid())
        return [price for price in found if price is not None]

    most = 0.9 * min(prices(300))
    order = {"quantity": 300, "price_most": most, "print_orientation": "face_down"}
    found = relaxed(DRY | {"order": order})
    price = needed(found["order.price_most"])
    assert price - 0.01 <= min(prices(300)) <= price
    assert {name for name, r in found.items() if r.helps} >= {"order.price_most"}
    if found["order.quantity"].helps:
        parts = int(needed(found["order.quantity"]))
        assert parts > 300
        assert min(prices(parts)) <= most


def test_the_room_must_grow_by_just_so_much() -> None:
    behind_mm = min(spec.behind_mm for spec in grid())
    opening = {**DRY["opening"], "behind_most_mm": round(behind_mm - 2.0, 1)}
    found = relaxed(DRY | {"opening": opening})
    depth = needed(found["opening.behind_most_mm"])
    assert depth - 0.1 <= behind_mm <= depth
    assert not found["opening.size"].helps


def test_a_cell_that_keeps_everything_out_is_named() -> None:
    # A single bank of flat slats lets a straight line through at any pitch of the grid.
    found = relaxed(DRY | {"cells": {"bank_count": 1, "slat_form": "flat"}})
    helps = {name: r.needed for name, r in found.items() if r.helps}
    assert "cells.bank_count" in helps
    assert helps["cells.bank_count"] != "1"


def test_parts_of_the_catalogue_that_would_do_the_rest_are_told_though_no_row_was_tried() -> None:
    """A part whose lips no ladder has needs more vents, or another fan, as it is."""
    crew = Crew(enquiry_of(requirement_of(HOT)))
    beside = {"lip_thickness_mm": 2.7, "slat_form": "folded", "bank_count": 1}
    row = CatalogRow(part_number="HV-1", **FIXED, **beside, panel_thickness_mm=2.0)
    known = known_parts(crew, [row])
    assert [m.name for m in known[0].carried.lacks] == ["temperature"]
    nothing = Front(space_of(crew.enquiry.asked, GRID), (), Found())
    found = {r.entry: r for r in relaxations(nothing, crew, known=known, ladders=GRID)}
    for entry in ("air.fan", "air.vents", "cabinet.limit_c", "cabinet.heat_w"):
        candidate = found[entry].candidate
        assert candidate is not None, entry
        assert (candidate.row.part_number, candidate.row.lip_thickness_mm) == ("HV-1", 2.7)
    spec = resolve(row.model_copy(update={"fan": FAN}), Attached(fan_text=packaged_fans()[FAN]))
    heat = needed(found["cabinet.heat_w"])
    assert cool(spec, heat_w=heat)
    assert not cool(spec, heat_w=heat + 1.0)
    assert cool(spec, fan=str(found["air.fan"].needed))
    # One of another material does not do the rest.
    other = known_parts(crew, [row.model_copy(update={"material": "PC"})])
    none = relaxations(nothing, crew, known=other, ladders=GRID)
    assert {m.name for m in other[0].carried.lacks} == {"temperature"}
    assert {r.entry for r in none if r.helps} <= {"order.material"}


def test_the_fans_other_place_is_told_where_it_does() -> None:
    """The same fan moves a little more air in than out, for the air inside is lighter."""
    spec = grid()[0]
    heats = [heat / 4 for heat in range(40, 160)]
    heat = next(h for h in heats if not cool(spec, heat_w=h, place="outlet"))
    assert cool(spec, heat_w=heat, place="intake")
    air = {"fan": FAN, "fan_position": "outlet"}
    crew = Crew(
        enquiry_of(requirement_of(HOT | {"air": air, "cabinet": CABINET | {"heat_w": heat}}))
    )
    known = known_parts(crew, [spec.row.model_copy(update={"part_number": "HV-1"})])
    nothing = Front(space_of(crew.enquiry.asked, GRID), (), Found())
    found = {r.entry: r for r in relaxations(nothing, crew, known=known, ladders=GRID)}
    there = found["air.fan_position"]
    assert (there.asked, there.needed) == ("outlet", "intake")
    assert there.candidate is not None
    assert there.candidate.row.part_number == "HV-1"


def test_where_no_constraint_alone_helps_none_is_blamed_and_the_nearest_row_tells_all() -> None:
    opening = {**DRY["opening"], "behind_most_mm": 4.0}
    front, crew = searched(HOT | {"opening": opening})
    found = relaxations(front, crew, depth=DEPTH, ladders=GRID)
    assert not any(r.helps for r in found)
    row = nearest_row(front.found, crew.enquiry)
    assert row is not None
    assert {m.name for m in row.lacks} == {"depth behind", "temperature"}


def test_the_same_seed_gives_the_same_answer() -> None:
    data = DRY | {"opening": {**DRY["opening"], "behind_most_mm": 8.0}}
    assert relaxed(data) == relaxed(data)


def test_the_fewest_steps_are_found_for_every_threshold() -> None:
    for last in range(1, 9):
        for first in range(1, 10):
            found = fewest(lambda n, first=first: n >= first, last)  # type: ignore[misc]
            assert found == (first if first <= last else None)

"""The codes of rules between columns: each row breaks what its case says, read off the rules."""

from __future__ import annotations

from typing import Any

import pytest

from tests.helpers.rows import row
from vent_family.spec.resolve import refusals_of

CASES: dict[str, tuple[str, dict[str, Any], list[str]]] = {
    "one bay too wide": (
        "rectangular",
        {"size": "120x60", "rib_count": 1},
        ["printing.bridge.long"],
    ),
    "bays too narrow": ("rectangular", {"rib_count": 12}, ["ribs.bay.narrow"]),
    "all slats one way": ("rectangular", {"slopes": "out-out-out"}, ["water.sight.open"]),
    "five slopes for three banks": (
        "rectangular",
        {"bank_count": 3, "slopes": "out-in-out-in-out"},
        ["slats.slope.count"],
    ),
    "innermost bank slopes in": (
        "rectangular",
        {"bank_count": 2, "slopes": "out-in"},
        ["slats.slope.inward"],
    ),
    "folded slats have no slope": (
        "rectangular",
        {"slat_form": "folded", "slopes": "out-in-out"},
        ["slats.slope.none"],
    ),
    "height said twice": (
        "rectangular",
        {"overlap_mm": 2.0, "slat_height_mm": 12.0},
        ["slats.height.twice"],
    ),
    "flange upright": (
        "flanged",
        {"print_orientation": "upright"},
        ["printing.upright.hanging"],
    ),
    "wire without screen": ("rectangular", {"screen_wire_mm": 0.3}, ["screen.wire.idle"]),
    "gasket under snap arms, upright": (
        "rectangular",
        {"fixing": "snap", "seal": "gasket", "print_orientation": "upright"},
        ["gasket.snap.both", "gasket.print.upright"],
    ),
    "head too small": ("round", {"head_diameter_mm": 50.0}, ["head.size.small"]),
    # Several places of one row: each is told, under one code.
    "two columns without a fan": (
        "rectangular",
        {"fan_position": "intake", "vents_in_parallel": 2},
        ["air.option.idle", "air.option.idle"],
    ),
    "screws of a snap-fixed vent": (
        "rectangular",
        {"fixing": "snap", "print_orientation": "upright", "screw": "M4", "screw_fit": "medium"},
        ["snap.screw.idle", "snap.screw.idle"],
    ),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_a_broken_rule_is_told_under_its_code(
    case: tuple[str, dict[str, Any], list[str]],
) -> None:
    family, cells, codes = case
    found = [r.problem.code for r in refusals_of(row(family, **cells), quick=True)]
    assert found == codes


def test_columns_that_break_one_rule_are_told_apart() -> None:
    """One code, two rules: a search for what mends one must not take it for the other."""
    family, cells, _ = CASES["two columns without a fan"]
    rules = {r.rule: r.problem.column for r in refusals_of(row(family, **cells), quick=True)}
    assert sorted(rules.values()) == ["fan_position", "vents_in_parallel"]

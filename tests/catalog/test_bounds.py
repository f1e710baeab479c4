"""Every end of every column's range is a limit, and some row really has that value."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pydantic import ValidationError

from tests.helpers.rows import row
from vent_family.base import limits
from vent_family.base.limits import Limit
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.water.conditions import conditions_of
from vent_family.spec.resolve import resolve
from vent_family.spec.thread.iso import thread_spec
from vent_family.spec.thread.parts import locknut_size

RANGED = [name for name, column in COLUMNS.items() if column.lowest is not None]
DEEP = {"slat_form": "folded", "bank_count": 4, "drain_height_mm": 2.7, "floor_slope_deg": 1.0}
SMALL_HEAD = {"size": "M20x1.5", "floor_slope_deg": 1.0, "drain_height_mm": 2.7, "wall_mm": 1.2,
              "slat_thickness_mm": 0.64}  # fmt: skip

WITH: dict[tuple[str, str], tuple[str, dict[str, Any]]] = {
    # What else a row with this value needs, where the usual row of a family cannot have it.
    ("slat_thickness_mm", "lowest"): ("round", {"slat_form": "flat"}),
    ("slat_thickness_mm", "highest"): ("round", {"pitch_mm": 20.0}),
    ("slat_foot_mm", "highest"): (
        "rectangular",
        {"size": "100x100", "slat_thickness_mm": 2.8, "pitch_mm": 10.0, "overlap_mm": 4.5},
    ),
    ("pitch_mm", "lowest"): (
        "round",
        {"size": "M20x1.5", "overlap_mm": 6.0, "slat_form": "folded", "bank_count": 1,
         "slat_thickness_mm": 0.8},
    ),
    ("pitch_mm", "highest"): ("round", {"size": "M63x1.5"}),
    ("overlap_mm", "lowest"): (
        "rectangular",
        {"slat_form": "folded", "bank_count": 1, "pitch_mm": 12.0},
    ),
    ("slat_height_mm", "lowest"): (
        "rectangular",
        {"size": "40x40", "bank_count": 6, "pitch_mm": 6.5, "slat_thickness_mm": 0.64,
         "bank_gaps_mm": "15/15/15/2.7/3", "floor_slope_deg": 1.0,
         "slopes": "out-in-out-in-in-out"},
    ),
    ("slat_height_mm", "highest"): ("flanged", {}),
    ("bank_count", "lowest"): (
        "rectangular",
        {"size": "100x100", "slat_form": "folded", "pitch_mm": 14.0},
    ),
    ("banks_outside", "highest"): ("rectangular", {"size": "100x100"}),
    ("rib_count", "lowest"): ("flanged", {"size": "25x25"}),
    ("rib_count", "highest"): ("rectangular", {"size": "400x100"}),
    ("vents_in_parallel", "lowest"): ("rectangular", {"fan": "tank-hall-92"}),
    ("vents_in_parallel", "highest"): ("rectangular", {"fan": "tank-hall-92"}),
    ("drain_height_mm", "highest"): ("rectangular", {"size": "100x100", "sill_height_mm": 60.0}),
    ("sill_height_mm", "lowest"): ("rectangular", DEEP),
    ("sill_height_mm", "highest"): ("flanged", {}),
    ("lip_width_mm", "lowest"): ("rectangular", {"size": "100x100"}),
    ("corner_radius_mm", "highest"): ("rectangular", {"lip_width_mm": 15.0}),
    ("flange_width_mm", "lowest"): ("flanged", {"screw": "M3"}),
    ("head_diameter_mm", "lowest"): ("round", SMALL_HEAD),
    ("screen_wire_mm", "lowest"): ("rectangular", {"screen_mm": 0.5}),
    ("screen_wire_mm", "highest"): ("rectangular", {"screen_mm": 4.0}),
    ("neck_length_mm", "lowest"): ("round", {"size": "M20x1.5", "panel_thickness_mm": 0.5}),
}  # fmt: skip


def reached(name: str, end: str) -> float:
    """Return the value at one end of a column's range; just inside where the end is left out."""
    column = COLUMNS[name]
    value = column.lowest if end == "lowest" else column.highest
    assert value is not None
    return value - 1e-3 if column.open_end and end == "highest" else value


@pytest.mark.parametrize("end", ["lowest", "highest"])
@pytest.mark.parametrize("name", RANGED)
def test_each_end_of_a_range_is_a_row(name: str, end: str) -> None:
    value = reached(name, end)
    family, others = WITH.get((name, end), (COLUMNS[name].families[0], {}))
    made = row(family, **others, **{name: value})
    assert resolve(made).row == made
    assert conditions_of(resolve(made)) is not None


@pytest.mark.parametrize("end", ["lowest", "highest"])
@pytest.mark.parametrize("name", RANGED)
def test_beyond_each_end_nothing_is_a_row(name: str, end: str) -> None:
    value = reached(name, end)
    past = value + (-1 if end == "lowest" else 1) * (1 if COLUMNS[name].kind == "integer" else 2e-3)
    with pytest.raises(ValidationError):
        row(COLUMNS[name].families[0], **{name: past})


@pytest.mark.parametrize(
    ("family", "cells"),
    [
        ("rectangular", {"size": "25x25"}),
        ("rectangular", {"size": "400x25"}),
        ("rectangular", {"size": "25x400"}),
        ("rectangular", {"part_number": "A" * 40}),
        ("rectangular", {"description": "x" * 120}),
        ("rectangular", {"bank_gaps_mm": "2.7"}),
        ("rectangular", {"slat_form": "folded", "size": "100x100", "pitch_mm": 14.0,
                         "overlap_mm": 8.0, "bank_count": 2, "bank_gaps_mm": "40"}),
    ],
)  # fmt: skip
def test_ends_of_texts_are_rows(family: str, cells: dict[str, Any]) -> None:
    made = row(family, **cells)
    assert resolve(made).row == made


def test_every_bound_is_a_limit_with_unit_meaning_and_source() -> None:
    """The numbers of the row model are those of the limits, none of its own."""
    known = [limit for limit in vars(limits).values() if isinstance(limit, Limit)]
    assert all(limit.meaning and limit.source and limit.unit for limit in known)
    for name in RANGED:
        column = COLUMNS[name]
        unit = column.unit or "1"
        for bound in (column.lowest, column.highest):
            assert any(k.value == bound and k.unit == unit for k in known), (name, bound)


def test_model_states_no_number_as_a_bound() -> None:
    """The row model takes its bounds from limits: no figure stands in a column of numbers."""
    import ast
    import inspect

    tree = ast.parse(inspect.getsource(CatalogRow))
    calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call)]
    named = {n.func.id for n in calls if isinstance(n.func, ast.Name)}
    assert named >= {"_column", "_number", "_count"}
    figures = [
        n.value
        for call in calls
        for n in ast.walk(call)
        if isinstance(n, ast.Constant) and type(n.value) in (int, float)
    ]
    assert figures == []


def test_computed_bounds_are_what_the_rules_demand() -> None:
    """A range must not be tighter than the rules between columns are."""
    thread = thread_spec("M20x1.5", 0.15)
    need = limits.PANEL_MIN.value + locknut_size(thread).thickness_mm + 2 * thread.pitch_mm
    assert need == limits.NECK_MIN.value
    gasket = 1.5 + 4.0 + 1.5
    assert gasket + 7.0 + 1.0 == limits.FLANGE_WIDTH_MIN.value
    assert 20.0 + 2 * gasket + 2 * 2.0 == limits.HEAD_MIN.value
    # The first strand of a plank, square to the bed, is sqrt 2 times as high as it is thick.
    strand = limits.SLAT_MIN_SLANTED.value * math.sqrt(2.0)
    assert 0.0 <= strand - limits.STRAND_MIN.value < 0.01 * math.sqrt(2.0)
    assert limits.OVERLAP_MIN.value == limits.SIGHT_MARGIN_MIN.value
    least_sill = limits.DRAIN_MIN.value + limits.SIGHT_MARGIN_MIN.value
    assert 0.0 < limits.SILL_MIN.value - least_sill < 0.25
    assert math.isclose(limits.BANK_SHIFT_END.value, 1.0)

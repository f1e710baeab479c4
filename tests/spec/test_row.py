"""The filled row: every blank cell has a meaning, a given cell keeps its value."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from tests.helpers.rows import row
from vent_family.catalog.columns import COLUMNS
from vent_family.spec.families import filled_row
from vent_family.spec.families.round import RoundRow
from vent_family.spec.row import fill

COMPUTED = {
    "description",
    "flammability_class",
    "slat_height_mm",
    "bank_gaps_mm",
    "rib_count",
    "sill_height_mm",
    "flange_width_mm",
    "head_diameter_mm",
    "back_plate_mm",
    "neck_length_mm",
    "fan",
    "opposite_vent",
    "face_velocity_m_s",
    "other_openings",
    "plate_mm",
    "corner_radius_mm",
    "fan_mount",
    "screen_mm",
    "screen_wire_mm",
}
"""Columns whose blank cell is worked out from the others, or names nothing."""


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_every_column_of_a_family_has_a_meaning_when_blank(family: str) -> None:
    filled = filled_row(row(family))
    own = {name for name, column in COLUMNS.items() if family in column.families}
    blank = {name for name in own - {"status"} if getattr(filled, name) is None}
    assert blank == COMPUTED & own
    other = set(COLUMNS) - own
    assert other
    assert not [name for name in other if getattr(filled, name, None) is not None]


def test_given_cells_keep_their_value_and_blank_ones_are_known_as_blank() -> None:
    filled = filled_row(row(pitch_mm=7.25, material="PA", lip_width_mm=9.0))
    assert (filled.pitch_mm, filled.material) == (7.25, "PA")
    assert getattr(filled, "lip_width_mm") == 9.0  # noqa: B009 - the column of one family only
    assert filled.given("pitch_mm")
    assert not filled.given("overlap_mm")


@pytest.mark.parametrize(
    ("form", "pitch", "banks"), [("flat", 12.0, 4), ("inclined", 6.5, 3), ("folded", 8.0, 2)]
)
def test_the_form_decides_what_blank_pitch_and_banks_mean(
    form: str, pitch: float, banks: int
) -> None:
    filled = filled_row(row(slat_form=form))
    assert (filled.slat_form, filled.pitch_mm, filled.bank_count) == (form, pitch, banks)


@pytest.mark.parametrize(
    ("family", "cells", "foot"),
    [
        ("rectangular", {}, 0.9),
        ("flanged", {"slat_form": "folded"}, 0.9),
        ("round", {}, 0.2),
        ("rectangular", {"slat_form": "flat"}, 0.0),
        # 1.2 sqrt 2 is 1.697 mm, of which two beads of 0.45 mm leave 0.797 mm; 0.64 sqrt 2: 0.905.
        ("rectangular", {"slat_thickness_mm": 1.2}, 0.79),
        ("rectangular", {"slat_thickness_mm": 0.64}, 0.0),
        ("rectangular", {"slat_thickness_mm": 0.5}, 0.0),
        ("rectangular", {"slat_thickness_mm": 1.2, "print_orientation": "upright"}, 0.9),
        ("rectangular", {"fixing": "snap", "slat_thickness_mm": 1.2}, 0.9),
        ("rectangular", {"slat_form": "flat", "print_orientation": "upright"}, 0.0),
        ("rectangular", {"slat_foot_mm": 0.4}, 0.4),
        ("rectangular", {"slat_foot_mm": 0.0}, 0.0),
    ],
)
def test_blank_feet_are_what_family_form_and_thickness_leave(
    family: str, cells: dict[str, Any], foot: float
) -> None:
    assert filled_row(row(family, **cells)).slat_foot_mm == foot


def test_slats_on_feet_overlap_less_unless_told_otherwise() -> None:
    assert filled_row(row()).overlap_mm == 3.0
    assert filled_row(row(slat_foot_mm=0.0)).overlap_mm == 3.5
    assert filled_row(row(slat_foot_mm=0.45)).overlap_mm == 3.25
    assert filled_row(row(slat_foot_mm=1.2)).overlap_mm == 3.0
    assert filled_row(row(overlap_mm=3.5)).overlap_mm == 3.5
    assert filled_row(row(slat_form="folded")).overlap_mm == 3.0


def test_a_lip_over_a_gasket_is_as_thick_as_a_flange() -> None:
    plain, sealed, thick = (
        filled_row(row(**cells)).model_dump()["lip_thickness_mm"]
        for cells in ({}, {"seal": "gasket"}, {"seal": "gasket", "lip_thickness_mm": 5.0})
    )
    assert (plain, sealed, thick) == (3.0, 4.0, 5.0)
    assert filled_row(row("flanged")).model_dump()["flange_thickness_mm"] == sealed


def test_a_snap_fixed_block_prints_standing_unless_told_otherwise() -> None:
    assert filled_row(row(fixing="snap")).print_orientation == "upright"
    assert filled_row(row()).print_orientation == "face_down"
    told = row(fixing="snap", print_orientation="face_down")
    assert filled_row(told).print_orientation == "face_down"


def test_a_filled_row_is_frozen_and_a_missing_default_is_noticed() -> None:
    filled = filled_row(row())
    with pytest.raises(ValidationError):
        filled.pitch_mm = 1.0  # type: ignore[misc]
    with pytest.raises(ValidationError, match="wall_mm"):
        fill(row("round"), RoundRow, {"step_thread": "helical"})

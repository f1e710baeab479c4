"""Rules between columns: what is refused, in which words, and what blanks are resolved to."""

from __future__ import annotations

from typing import Any

import pytest

from tests.helpers.rows import row, spec
from vent_family.base.limits import BRIDGE_GOOD, GAP_MIN, SIGHT_MARGIN_MIN
from vent_family.base.problems import InputError
from vent_family.catalog.attached import Attached
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import parse_catalog
from vent_family.spec.areas import drain_area_mm2, open_areas, smallest
from vent_family.spec.families.block_body import BlockBody
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.resolve import resolve
from vent_family.spec.resolved import ResolvedRows
from vent_family.spec.vent import VentSpec

FORMS = ("flat", "inclined", "folded")
THREADS = ("M20x1.5", "M25x1.5", "M32x1.5", "M40x1.5", "M50x1.5", "M63x1.5", "M75x1.5")

SHORT_SNAP = {
    "fixing": "snap",
    "panel_thickness_mm": 12.0,
    "slat_form": "folded",
    "bank_count": 1,
    "overlap_mm": 0.5,
}

REFUSED: list[tuple[str, dict[str, Any], str, str]] = [
    ("round", {"print_orientation": "upright"}, "print_orientation", "neck would hang"),
    ("flanged", {"print_orientation": "upright"}, "print_orientation", "flange would hang"),
    (
        "rectangular",
        {"fixing": "snap", "print_orientation": "face_down"},
        "fixing",
        "start in mid-air",
    ),
    ("rectangular", {"fixing": "snap", "screw": "M4"}, "screw", "has no screws"),
    ("rectangular", {"fixing": "snap", "screw_fit": "fine"}, "screw_fit", "has no screws"),
    (
        "rectangular",
        {"locating_key": "notch", "print_orientation": "upright"},
        "locating_key",
        "off the bed",
    ),
    (
        "rectangular",
        {"print_orientation": "upright", "slat_thickness_mm": 0.8},
        "slat_thickness_mm",
        "too thin to print upright",
    ),
    ("rectangular", {"slat_form": "flat", "slat_foot_mm": 0.5}, "slat_foot_mm", "no acute corners"),
    (
        "rectangular",
        {"print_orientation": "upright", "slat_foot_mm": 0.89},
        "slat_foot_mm",
        "too narrow to print upright",
    ),
    ("rectangular", {"slat_foot_mm": 1.23}, "slat_foot_mm", "two beads, high"),
    ("flanged", {"slat_form": "folded", "slat_foot_mm": 1.3}, "slat_foot_mm", "two beads, high"),
    ("rectangular", {"overlap_mm": 2.0, "slat_height_mm": 6.0}, "overlap_mm", "both say how high"),
    (
        "rectangular",
        {"slat_form": "flat", "pitch_mm": 9.2, "slat_height_mm": 4.2},
        "pitch_mm",
        "slats overlap by -0.4 mm: a straight path exists",
    ),
    ("rectangular", {"slat_form": "flat", "overlap_mm": 5.0}, "pitch_mm", "water film"),
    ("rectangular", {"pitch_mm": 5.0, "overlap_mm": 2.0}, "pitch_mm", "water film would bridge"),
    ("rectangular", {"bank_gaps_mm": "1.5"}, "bank_gaps_mm", "water film would bridge"),
    ("rectangular", {"bank_gaps_mm": "41"}, "bank_gaps_mm", "absurdly wide"),
    ("rectangular", {"bank_gaps_mm": "3/3/3"}, "bank_gaps_mm", "3 banks have 2 gaps"),
    (
        "rectangular",
        {"size": "100x100", "bank_count": 2, "banks_outside": 2, "slat_form": "folded"},
        "banks_outside",
        "2 of 2 banks outside the trough leave none inside",
    ),
    (
        "rectangular",
        {"size": "100x100", "banks_outside": 1, "print_orientation": "upright"},
        "banks_outside",
        "do not print upright",
    ),
    (
        "flanged",
        {"size": "100x100", "banks_outside": 1, "bank_gaps_mm": "6/3"},
        "bank_gaps_mm",
        "too narrow for the apron",
    ),
    ("rectangular", {"slopes": "out-in"}, "slopes", "2 slopes are given for 3 banks"),
    ("rectangular", {"slopes": "out-out-in"}, "slopes", "runs into the cabinet"),
    ("rectangular", {"slat_form": "flat", "slopes": "out-in-in-out"}, "slopes", "no slope"),
    ("rectangular", {"slopes": "out-out-out"}, "pitch_mm", "straight path"),
    ("rectangular", {"size": "12x60"}, "size", "width of 12 mm is out of range"),
    ("rectangular", {"size": "60x2000"}, "size", "height of 2000 mm is out of range"),
    ("rectangular", {"size": "120x60", "rib_count": 1}, "rib_count", "slats bridge"),
    ("rectangular", {"rib_count": 12}, "rib_count", "bays only"),
    ("rectangular", {"sill_height_mm": 50.0}, "sill_height_mm", "closes the inner side"),
    ("rectangular", SHORT_SNAP, "panel_thickness_mm", "break"),
    ("rectangular", {"size": "25x25", "pitch_mm": 14.0}, "size", "too low for the slat stack"),
    ("flanged", {"flange_width_mm": 16.0}, "flange_width_mm", "no room for gasket"),
    ("round", {"head_diameter_mm": 40.0}, "head_diameter_mm", "too small"),
    ("round", {"neck_length_mm": 10.0}, "neck_length_mm", "does not reach through"),
    ("round", {"head_diameter_mm": 55.0}, "head_diameter_mm", "too small for its sill"),
    ("round", {"floor_slope_deg": 30.0}, "head_diameter_mm", "would need a head of"),
    (
        "round",
        {"size": "M75x1.5", "sill_height_mm": 60.0, "floor_slope_deg": 30.0},
        "sill_height_mm",
        "no head up to",
    ),
    ("round", {"rib_count": 12}, "rib_count", "bays"),
    ("rectangular", {"slat_thickness_mm": 5.0}, "overlap_mm", "too low for their thickness"),
]


@pytest.mark.parametrize(
    ("family", "cells", "column", "words"), REFUSED, ids=[f"{f}-{w}" for f, _, _, w in REFUSED]
)
def test_refused_with_a_reason(family: str, cells: dict[str, Any], column: str, words: str) -> None:
    cells = {k: v for k, v in cells.items() if v is not None}
    with pytest.raises(InputError) as caught:
        resolve(row(family, **cells))
    found = [p for p in caught.value.problems if p.column == column and words in p.message]
    assert found, [p.sentence() for p in caught.value.problems]
    assert all(p.suggestion and p.part_number == "T1" for p in caught.value.problems)


def test_several_faults_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        resolve(row(slopes="out-out-in", bank_gaps_mm="3/3/3", fixing="snap", screw="M3"))
    assert {p.column for p in caught.value.problems} == {"slopes", "bank_gaps_mm", "screw"}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(
    ("family", "size"),
    [("rectangular", s) for s in ("30x30", "60x40", "150x90")]
    + [("flanged", s) for s in ("50x50", "180x120")]
    + [("round", s) for s in THREADS],
)
def test_blank_rows_of_every_form_and_size_are_closed(family: str, size: str, form: str) -> None:
    part = spec(family, size=size, slat_form=form)
    section = part.section
    assert section.sight.margin_mm >= SIGHT_MARGIN_MIN.value
    assert part.longest_bridge_mm <= BRIDGE_GOOD.value
    low, high = section.drain_mm
    assert high - low >= GAP_MIN.value
    depths = [z for z, _ in section.lower]
    assert depths == sorted(depths)
    # The drain is at the bottom, the sill above the drain, and the floor falls outwards.
    assert low == pytest.approx(min(y for _, y in section.lower))
    assert section.sill_top_mm > high
    assert section.floor_inner_mm > low
    assert 0 < drain_area_mm2(part) < part.opening.area_mm2


@pytest.mark.parametrize("form", FORMS)
def test_every_bank_reaches_down_to_the_drain_channel(form: str) -> None:
    section = spec(slat_form=form).section
    for bank in range(1, section.stack.bank_count):
        lowest = min(y for s in section.slats if s.bank == bank for _, y in s.outline)
        assert lowest - section.floor_inner_mm < section.sill_top_mm - section.floor_inner_mm


def test_neck_is_the_smallest_area_of_a_threaded_vent() -> None:
    part = spec("round")
    assert isinstance(part.body, RoundBody)
    assert smallest(open_areas(part)).name == "neck"


def test_folded_vent_inner_area_by_hand() -> None:
    part = spec(slat_form="folded")
    inner = next(a for a in open_areas(part) if a.name == "inner")
    width = sum(b - a for a, b in part.bays)
    height = part.section.ceiling_mm - part.section.sill_top_mm
    assert inner.area_mm2 == pytest.approx(width * height)


def test_flange_screws_leave_the_mark_free_and_stay_on_the_flange() -> None:
    for size in ("50x50", "92x92", "180x120", "250x180"):
        body = spec("flanged", size=size).body
        assert isinstance(body, BlockBody)
        for hole in body.holes:
            assert abs(hole.x_mm) + hole.diameter_mm / 2 + 1.9 < body.cover.reach_mm[0]
            assert abs(hole.y_mm) + hole.diameter_mm / 2 + 1.9 < body.cover.reach_mm[2]
            assert not (hole.y_mm > 0 and abs(hole.x_mm) < 10.0 and hole.y_mm > size_height(size))


def size_height(size: str) -> float:
    return float(size.split("x")[1]) / 2


def test_rows_of_one_family_and_status_leave_the_others_unresolved(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: list[str] = []

    def noted(row: CatalogRow, attached: Attached) -> VentSpec:
        seen.append(row.part_number)
        return resolve(row, attached)

    monkeypatch.setattr("vent_family.spec.resolved.resolve", noted)
    rows = ResolvedRows(
        parse_catalog(
            "part_number,family,size,status\n"
            "V-1,rectangular,40x40,released\nV-2,rectangular,40x40,draft\n"
            "V-3,flanged,40x40,released\nV-4,rectangular,50x50,released\n"
        )
    )
    found = rows.specs(family="rectangular", status="released")
    assert [one.part_number for one in found] == ["V-1", "V-4"] == seen

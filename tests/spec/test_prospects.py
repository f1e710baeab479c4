"""What is told of rows before they are resolved, held against the rows resolved."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from statistics import median
from typing import Any

import pytest
from pydantic import ValidationError

from tests.helpers.candidates import candidate_cells
from vent_family.base.problems import InputError
from vent_family.catalog.model import FAMILIES, CatalogRow
from vent_family.spec.areas import open_areas, smallest
from vent_family.spec.prospects import certainly_refused, lack_of, open_area_most_mm2
from vent_family.spec.resolve import refusals_of, resolve

ROWS = 70
"""Per family; tests/benchmarks/bench_prospects.py takes thousands."""


def candidates(family: str, seed: str, count: int = ROWS) -> Iterator[CatalogRow]:
    """Yield rows that can be read."""
    for number in range(count):
        try:
            yield CatalogRow(**candidate_cells(Random(f"{seed}-{family}-{number}"), family))
        except ValidationError:
            continue


def folded(**cells: Any) -> CatalogRow:
    base = {"part_number": "A", "family": "rectangular", "size": "120x92", "status": "draft"}
    usual = {"slat_form": "folded", "pitch_mm": 8.0, "overlap_mm": 3.0}
    return CatalogRow(**(base | usual | cells))


@pytest.mark.parametrize("family", FAMILIES.own)
def test_a_row_said_to_be_refused_is_refused_for_that(family: str) -> None:
    rows = list(candidates(family, "said"))
    refused, codes = certainly_refused(rows)
    told = [{r.problem.code for r in refusals_of(row)} for row in rows]
    for said, code, found in zip(refused, codes, told, strict=True):
        assert bool(said) is bool(code)
        # A row that is open may be refused before, for its ribs or its ceiling.
        assert not code or code in found or (code == "water.sight.open" and found)
    seen = [found for code, found in zip(codes, told, strict=True) if code == "water.sight.open"]
    assert sum("water.sight.open" in found for found in seen) > 0.5 * len(seen) > 4
    # Most are caught: else a search gains nothing by asking.
    assert refused.sum() > 0.7 * sum(bool(found) for found in told)


@pytest.mark.parametrize("family", FAMILIES.own)
def test_the_narrowest_cross_section_is_no_wider_than_said(family: str) -> None:
    shares = []
    for row in candidates(family, "area", 2 * ROWS):
        try:
            vent = resolve(row, advise=False)
        except InputError:
            continue
        shares.append(open_area_most_mm2(row) / smallest(open_areas(vent)).area_mm2)
    assert len(shares) >= 5
    assert min(shares) >= 1.0 - 1e-9
    assert median(shares) < 1.4


def test_slats_and_floor_are_reckoned_with_in_the_area() -> None:
    """One bank of folds in a cavity 115.4 mm wide, with sharp corners.

    The floor rises by 5 degrees over 18.8 mm of depth at most; of each pitch of 8 mm 1.5 sqrt 2 mm
    are leaf, seen along z, and the air turns by 45 degrees: below 0.52 of the open height pass.
    """
    row = folded(bank_count=1, overlap_mm=0.5, slat_foot_mm=0.0, slat_thickness_mm=1.5)
    width, height = 115.4, 87.4
    whole = 0.7071 * width * height
    share = 1.0 - 1.5 * 2.0**0.5 / 8.0
    assert share * whole < open_area_most_mm2(row) < whole * (share + 4.0 * 8.0 / height)


def test_a_row_that_breaks_a_rule_of_its_slats_has_no_area_said() -> None:
    assert open_area_most_mm2(folded(slat_thickness_mm=0.5)) == float("inf")


@pytest.mark.parametrize("family", FAMILIES.own)
def test_a_row_lacks_nothing_only_where_it_resolves(family: str) -> None:
    for row in candidates(family, "lack", ROWS // 2):
        assert (lack_of(row) == 0.0) is not bool(refusals_of(row)), row


def test_the_nearer_a_row_is_to_closing_the_less_it_lacks() -> None:
    lacks = [lack_of(folded(overlap_mm=overlap)) for overlap in (0.2, 0.6, 1.0, 1.4, 1.8, 3.0)]
    assert lacks == sorted(lacks, reverse=True)
    assert len(set(lacks)) == len(lacks)
    assert lacks[0] < 1.0
    assert lacks[-1] == 0.0


def test_a_row_that_fails_sooner_lacks_more() -> None:
    """Rules of columns, of slats, of the body, of the section."""
    thin = lack_of(folded(slat_thickness_mm=0.5))
    narrow = lack_of(folded(pitch_mm=5.0, slat_thickness_mm=1.5))
    sill = lack_of(folded(sill_height_mm=40.0, size="120x40"))
    seen = lack_of(folded(overlap_mm=0.4))
    assert 4.0 > thin > 3.0 > narrow > 2.0 > sill > 1.0 > seen > 0.0


def test_every_further_rule_that_is_broken_counts() -> None:
    thin: dict[str, Any] = {"slat_thickness_mm": 0.5}
    assert lack_of(folded(**thin, bank_gaps_mm="3/3/3")) > lack_of(folded(**thin))


def test_a_pitch_left_blank_is_not_judged_by_its_usual_value() -> None:
    """Its own pitch leaves no clean ceiling in some openings, and is moved."""
    row = folded(size="44.495x111.24", overlap_mm=10.309, pitch_mm=None)
    refused, _ = certainly_refused([row])
    assert not refused[0]
    vent = resolve(row)
    assert vent.section.stack.pitch_mm != 8.0
    assert open_area_most_mm2(row) >= smallest(open_areas(vent)).area_mm2

"""A sill never reaches the ceiling that was found, wherever that came to lie."""

from __future__ import annotations

import random

import pytest

from vent_family.base.limits import GAP_MIN
from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.spec.resolve import resolve, resolved_or_none

CELLS = {"part_number": "V", "family": "rectangular", "size": "40x40", "status": "draft"}


def test_a_sill_over_a_low_ceiling_is_refused_with_a_lower_one() -> None:
    row = CatalogRow(
        **CELLS,
        slat_form="flat",
        slat_thickness_mm=0.8,
        pitch_mm=9.0,
        bank_count=4,
        bank_stagger=0.35,
        sill_height_mm=26.0,
        fixing="screw",
    )
    with pytest.raises(InputError) as refused:
        resolve(row)
    (problem, *_) = refused.value.problems
    assert problem.code == "cavity.sill.high"
    assert problem.column == "sill_height_mm"


def test_every_row_that_resolves_has_a_way_over_its_sill() -> None:
    chance = random.Random(6)
    seen = 0
    for _ in range(60):
        row = CatalogRow(
            **CELLS,
            slat_form=chance.choice(["flat", "inclined"]),
            pitch_mm=round(chance.uniform(6.0, 10.0), 1),
            sill_height_mm=float(chance.randrange(8, 30)),
        )
        vent = resolved_or_none(row)
        if vent is None:
            continue
        seen += 1
        section = vent.section
        assert section.ceiling_mm - section.sill_top_mm >= GAP_MIN.value
        assert section.air.is_valid
    assert seen > 10

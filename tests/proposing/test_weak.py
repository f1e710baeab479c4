"""What a vent bears today it bears in place of it, whatever else of it is weak."""

from __future__ import annotations

from dataclasses import replace

from tests.proposing.small import asked
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.keeps import least_reserve, wanted_of, weak_today
from vent_family.proposing.ladder import judged_row
from vent_family.spec.resolve import resolve

CELLS = {"part_number": "T", "family": "round", "size": "M20x1.5", "status": "draft"}
# Its neck breaks under a knock on the rim, its slats bear a thumb.
TODAY = CatalogRow(
    **CELLS,
    material="PA",
    colour="black",
    overlap_mm=3.0,
    bank_gaps_mm="2.7/2.7",
    wall_mm=2.0,
    plate_mm=1.6,
    head_diameter_mm=47.0,
    exposure="dry",
)
# Its neck is better off, and its slats are not.
THINNER = TODAY.model_copy(
    update={
        "slat_thickness_mm": 0.8,
        "slat_foot_mm": 0.0,
        "pitch_mm": 6.7,
        "overlap_mm": 2.2,
        "bank_stagger": 0.52,
        "wall_mm": 1.2,
        "plate_mm": 1.2,
        "drain_height_mm": 3.2,
        "sill_height_mm": 7.2,
        "head_diameter_mm": 42.0,
        "back_plate_mm": 1.6,
    }
)


def test_another_member_may_not_become_weak_instead() -> None:
    free = enquiry_of(asked(opening={"size": "M20x1.5", "families": "round"}))
    spec = resolve(TODAY)
    weak = weak_today(spec, free.rates)
    least = least_reserve(wanted_of(["flow"]), spec, free.rates)
    assert weak == {"strength: neck under a knock on the rim"}
    assert least < 1.0
    enquiry = replace(free, reserve_least=least, weak=weak)
    assert judged_row(TODAY, enquiry).kept
    found = judged_row(THINNER, enquiry)
    assert (found.rung, found.kept) == ("strength", False)
    assert judged_row(THINNER, replace(enquiry, weak=None)).kept

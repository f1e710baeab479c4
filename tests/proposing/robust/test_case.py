"""A requirement's vent as a case."""

from __future__ import annotations

from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.asked import balance_of
from vent_family.proposing.enquiry import enquiry_of
from vent_family.proposing.requirement import requirement_of
from vent_family.proposing.robust.case import case_of
from vent_family.proposing.robust.inputs import FAN, SUN
from vent_family.spec.resolve import resolve


def test_a_case_asks_what_the_requirement_does() -> None:
    asked = requirement_of(
        {
            "opening": {"size": "60x60"},
            "cabinet": {"heat_w": 60.0, "ambient_c": 30.0, "limit_c": 50.0, "sunlit_m2": 0.1},
            "air": {"fan": "tank-hall-92", "vents": 2},
            "water": {"exposure": "rain", "at_least": "marginal", "tilt_deg": 2.0},
        }
    )
    enquiry = enquiry_of(asked)
    row = CatalogRow(
        part_number="P", **asked.row_cells("rectangular", "60x60", "PETG", "tank-hall-92")
    )
    case = case_of(resolve(row, enquiry.attached(row)), enquiry)
    assert case.at_least == "marginal"
    assert case.conditions.exposures == ("rain",)
    assert case.conditions.tilt_deg == 2.0
    assert case.question is not None
    assert case.question.inlets == 2
    drive = case.conditions.drive
    assert drive is not None
    assert drive.fan == case.question.fan
    assert balance_of(case.question).sun_w > 0.0
    assert {FAN, SUN} <= {own.name for own in case.inputs}
    petg = enquiry.rates.shop.shrinkage.of("PETG")
    assert case.inputs[0].spread.high == petg.scatter_mm

"""The water check in the record: typed for the sidecar's schema, flat for STEP attributes."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Stated
from vent_family.evidence.water.access import AccessReport
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.report import (
    CAUTION,
    CutSize,
    ExposureReport,
    UpsideDown,
    WaterReport,
)
from vent_family.evidence.water.sight import SightReport

Outcome = Literal["holds", "marginal", "fails", "not checked"]


class WaterRecord(Frozen):
    """Predicted behaviour in water: the report of the check, numbers to four digits."""

    outcome: Outcome = Field(description="worst predicted outcome of all exposures of the row")
    caution: str = CAUTION
    conditions: Conditions
    sight: SightReport
    access: AccessReport
    cut_sizes: tuple[CutSize, ...]
    exposures: tuple[ExposureReport, ...]
    blow_in_pa: float = Field(description="depression that lifts water over the sill")
    upside_down: UpsideDown


def water_record(report: WaterReport) -> WaterRecord:
    """Return the record of a report."""
    r = report.rounded()
    return WaterRecord(
        outcome=r.outcome,
        conditions=r.conditions,
        sight=r.sight,
        access=r.access,
        cut_sizes=r.cut_sizes,
        exposures=r.exposures,
        blow_in_pa=r.blow_in_pa,
        upside_down=r.upside_down,
    )


def water_attributes(record: WaterRecord) -> list[Stated]:
    """Return what goes into STEP files; volumes in cm3, which are millilitres."""
    c = record.conditions
    result = [
        Stated("water_predicted_outcome", record.outcome),
        Stated("water_exposures", "/".join(c.exposures) or "dry"),
        Stated("water_face_velocity_m_s", c.face_velocity_m_s, "m/s"),
        Stated("water_fan_depression_pa", c.depression_pa, "Pa"),
        Stated("water_mounting_tilt_deg", c.tilt_deg, "deg"),
        Stated("water_blow_in_pa", record.blow_in_pa, "Pa"),
        Stated("water_upside_down", "unsafe" if record.upside_down.unsafe else "safe"),
        Stated("access_largest_sphere_mm", record.access.sphere_mm, "mm"),
    ]
    for cut in record.cut_sizes:
        if cut.face_velocity_m_s == c.face_velocity_m_s and cut.d50_mm is not None:
            result.append(Stated("water_d50_mm", cut.d50_mm, "mm"))
    for e in record.exposures:
        name = f"water_{e.name}"
        result += [
            Stated(f"{name}_predicted", e.verdict.outcome),
            Stated(f"{name}_limited_by", e.verdict.mechanism),
            Stated(f"{name}_passes_low_cm3", 1000.0 * e.passed_l.low, "cm3"),
            Stated(f"{name}_passes_high_cm3", 1000.0 * e.passed_l.high, "cm3"),
            Stated(f"{name}_sill_margin_mm", e.drainage.margin_mm, "mm"),
            Stated(f"{name}_decided_by", e.verdict.deciding_test),
        ]
    return result

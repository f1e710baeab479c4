"""The water check as it stands in the record."""

from __future__ import annotations

from typing import Annotated, Literal

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.access import AccessReport
from vent_family.evidence.water.conditions import StatedConditions
from vent_family.evidence.water.posture.mountings import MountingSweep
from vent_family.evidence.water.report import (
    CAUTION,
    CutSize,
    Reported,
    UpsideDown,
    WaterReport,
)
from vent_family.evidence.water.sight import SightReport


def _d50(record: WaterRecord) -> float | None:
    """Return the drop size half of which is caught at the row's own face velocity, mm."""
    own = [
        c.d50_mm
        for c in record.cut_sizes
        if c.face_velocity_m_s == record.conditions.air.face_velocity_m_s
    ]
    return own[-1] if own else None


class WaterRecord(Frozen):
    """Predicted behaviour in water: the report of the check, numbers to four digits."""

    outcome: Annotated[
        Literal[Outcome, "not checked"],
        Fact(
            "worst predicted outcome of all exposures of the row",
            attribute="water_predicted_outcome",
            index="water_predicted",
        ),
    ]
    caution: Annotated[str, Fact("how far to trust it")] = CAUTION
    conditions: Annotated[StatedConditions, Fact("water, air and mounting of the row")]
    overflow_depression_pa: Annotated[
        float,
        Fact(
            "depression that lifts water over the sill",
            "Pa",
            attribute="water_overflow_depression_pa",
        ),
    ]
    upside_down: Annotated[
        UpsideDown,
        Fact(
            "the vent fitted the wrong way up",
            attribute=Shown(
                "water_upside_down",
                "",
                of=lambda r: "unsafe" if r.upside_down.unsafe else "safe",
            ),
        ),
    ]
    mountings: Annotated[
        MountingSweep | None, Fact("how far it may lean and be turned; null: not asked")
    ]
    sight: Annotated[SightReport, Fact("straight paths by direction")]
    access: Annotated[AccessReport, Fact("what can be poked through")]
    cut_sizes: Annotated[
        tuple[CutSize, ...],
        Fact(
            "drops that are caught, by face velocity",
            attribute=Shown("water_d50_mm", "mm", of=_d50),
        ),
    ]
    exposures: Annotated[tuple[Reported, ...], Fact("water by water")]


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
        overflow_depression_pa=r.overflow_depression_pa,
        upside_down=r.upside_down,
        mountings=r.mountings,
    )

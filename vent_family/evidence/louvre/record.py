"""The louvre classes as they stand in a part's record."""

from __future__ import annotations

from typing import Annotated, Final

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, Shown, TableColumn
from vent_family.evidence.louvre.classes import DischargeClass, EffectivenessClass
from vent_family.evidence.louvre.report import LouvreReport
from vent_family.evidence.rounding import rounded

STATED_AT_M_S: Final = 1.0
"""Core velocity the attribute states the classes for, m/s."""
CAUTION: Final = (
    "Predicted from geometry, not tested: a class is given by a test to EN 13030 on one square"
    " metre, by an accredited laboratory."
)


class VelocityRecord(Frozen):
    """Effectiveness at one core velocity."""

    core_velocity_m_s: Annotated[
        float,
        Fact("air drawn in, on the core area", "m/s", column=TableColumn("core m/s", ".1f")),
    ]
    effectiveness_low: Annotated[
        float,
        Fact("severe splash assumption", "1", column=TableColumn("effectiveness from", ".3f")),
    ]
    effectiveness_high: Annotated[
        float, Fact("mild splash assumption", "1", column=TableColumn("to", ".3f"))
    ]
    predicted_class: Annotated[
        EffectivenessClass, Fact("class of the lower end", column=TableColumn("class"))
    ]


class LouvreRecord(Frozen):
    """How the part would be classed as a louvre, predicted."""

    caution: Annotated[str, Fact("how far to trust it")] = CAUTION
    core_area_mm2: Annotated[float, Fact("open face, ribs taken off", "mm2")]
    free_area_mm2: Annotated[float, Fact("smallest open area", "mm2", attribute="free_area_mm2")]
    free_area_percent: Annotated[
        float,
        Fact(
            "that in per cent of the core area",
            "%",
            attribute="free_area_percent",
            index=Shown("free_area_percent", digits=1),
        ),
    ]
    discharge_coefficient: Annotated[
        float,
        Fact(
            "on the core area, drawing in, at the rated pressure",
            "1",
            attribute="louvre_discharge_coefficient",
        ),
    ]
    discharge_class: Annotated[
        DischargeClass,
        Fact("predicted class of discharge", attribute="louvre_discharge_class_predicted"),
    ]
    classes_predicted: Annotated[
        str,
        Fact(
            "predicted classes of effectiveness and discharge at a core velocity of 1 m/s",
            attribute="louvre_classes_predicted",
            index="louvre_classes_predicted",
        ),
    ]
    overflows_from_m_s: Annotated[
        float | None,
        Fact(
            "core velocity from which the suction brings the pool over the sill; null: none of"
            " the test's",
            "m/s",
            attribute="louvre_overflows_from_m_s",
        ),
    ]
    effectiveness: Annotated[tuple[VelocityRecord, ...], Fact("by core velocity")]


def louvre_record(report: LouvreReport) -> LouvreRecord:
    """Return the record of a report."""
    return LouvreRecord(
        core_area_mm2=report.core_area_mm2,
        free_area_mm2=report.free_area_mm2,
        free_area_percent=report.free_area_percent,
        discharge_coefficient=report.discharge_coefficient,
        discharge_class=report.discharge_class,
        classes_predicted=report.label_at(STATED_AT_M_S),
        overflows_from_m_s=report.overflows_from_m_s,
        effectiveness=tuple(
            VelocityRecord(
                core_velocity_m_s=at.core_velocity_m_s,
                effectiveness_low=at.effectiveness_low,
                effectiveness_high=at.effectiveness_high,
                predicted_class=at.predicted_class,
            )
            for at in rounded(report.at)
        ),
    )

"""Louvre classes as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.base.said import three
from vent_family.evidence.air.kind import AIR
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.kind import Kind
from vent_family.evidence.louvre.record import STATED_AT_M_S, LouvreRecord, louvre_record
from vent_family.evidence.louvre.report import LouvreReport, louvre_report
from vent_family.evidence.solid.kind import AREAS

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Louvre(Kind[LouvreReport]):
    """How the part would be classed as a louvre."""

    name = "louvre"
    section = "louvre"
    record_type = LouvreRecord

    def compute(self, context: PartContext) -> LouvreReport:
        """Return free area, discharge and effectiveness."""
        areas = context.of(AREAS)
        air = vent_air(context.spec, areas=areas)
        return louvre_report(context.spec, air, context.of(AIR), areas)

    def record(self, context: PartContext) -> LouvreRecord:
        """Return the louvre section."""
        return louvre_record(context.of(self))

    def sentences(self, context: PartContext) -> list[str]:
        """Return free area, discharge and effectiveness in one line."""
        found = context.of(self)
        discharge = f"{found.discharge_coefficient:.2f}"
        return [
            f"Free area {three(found.free_area_mm2)} mm2, {three(found.free_area_percent)} % of the"
            f" open face; predicted louvre classes {found.label_at(STATED_AT_M_S)} at a core"
            f" velocity of {STATED_AT_M_S:g} m/s (discharge coefficient {discharge})."
        ]


LOUVRE = Louvre()
"""The louvre classes."""

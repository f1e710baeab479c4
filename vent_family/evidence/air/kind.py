"""The air side as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.evidence.air.drive import drive_of
from vent_family.evidence.air.point import operating_points
from vent_family.evidence.air.record import AirRecord, air_record
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.summary import RATED_PA, AirSummary, summarise
from vent_family.evidence.kind import Kind
from vent_family.evidence.rounding import rounded
from vent_family.evidence.solid.kind import AREAS

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Air(Kind[AirSummary]):
    """How much air passes at which pressure drop."""

    name = "air"
    section = "air"
    record_type = AirRecord

    def compute(self, context: PartContext) -> AirSummary:
        """Return the air summary at the rated pressures."""
        return summarise(context.spec, context.of(AREAS))

    def record(self, context: PartContext) -> AirRecord:
        """Return the air section, with the operating point of the row."""
        drive = drive_of(context.spec)
        point = operating_points(vent_air(context.spec, areas=context.of(AREAS)), drive)[0]
        return air_record(context.of(self), rounded(point), drive.words())

    def sentences(self, context: PartContext) -> list[str]:
        """Return the loss coefficients, and the flow at the rated pressure drop."""
        found = context.of(self)
        rated = next(f for f in found.flows if f.pressure_pa == RATED_PA)
        return [
            f"K {found.k_in:.1f} drawing in, {found.k_out:.1f} blowing out, on the velocity in the"
            f" opening; {rated.flow_in_m3_h:.1f} m3/h drawn in at {RATED_PA:g} Pa."
        ]


AIR = Air()

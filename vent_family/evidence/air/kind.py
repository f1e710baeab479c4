"""The air side as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.base.said import three, within
from vent_family.evidence.air.drive import drive_of
from vent_family.evidence.air.point import operating_points
from vent_family.evidence.air.record import AirRecord, air_record
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.stated import path_record
from vent_family.evidence.air.summary import RATED_PA, AirSummary, summarise
from vent_family.evidence.kind import Kind
from vent_family.evidence.rounding import rounded
from vent_family.evidence.solid.kind import AREAS

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Air(Kind[AirSummary]):
    """How much air passes at which pressure drop."""

    name = "air"
    heading = "How much air passes?"
    section = "air"
    record_type = AirRecord

    def compute(self, context: PartContext) -> AirSummary:
        """Return the air summary at the rated pressures."""
        return summarise(context.spec, context.of(AREAS))

    def record(self, context: PartContext) -> AirRecord:
        """Return the air section, with the operating point of the row."""
        drive = drive_of(context.spec)
        vent = vent_air(context.spec, areas=context.of(AREAS))
        point = operating_points(vent, drive)[0]
        return air_record(context.of(self), rounded(point), drive.words(), path_record(vent))

    def sentences(self, context: PartContext) -> list[str]:
        """Return the loss coefficients, and the flow at the rated pressure drop."""
        found = context.of(self)
        rated = next(f for f in found.flows if f.pressure_pa == RATED_PA)
        half = three(rated.flow_in_half_clogged_m3_h)
        return [
            f"Air: K {within(found.k_in, found.k_in_low, found.k_in_high)} drawing in,"
            f" {within(found.k_out, found.k_out_low, found.k_out_high)} blowing out, on the"
            f" velocity in the opening;"
            f" {within(rated.flow_in_m3_h, rated.flow_in_low_m3_h, rated.flow_in_high_m3_h)}"
            f" m3/h drawn in at {RATED_PA:g} Pa, {half} with half of"
            f" the slats clogged."
        ]

    def chapter(self, context: PartContext) -> list[str]:
        """Return the flow table, what moves the air of the row, and how far to trust it."""
        found, record = context.of(self), context.record(self)
        assert isinstance(record, AirRecord)
        lines = [
            "| over the vent | drawn in | slats half clogged | blown out |",
            "| --- | --- | --- | --- |",
        ]
        for flow in found.flows:
            drawn = within(flow.flow_in_m3_h, flow.flow_in_low_m3_h, flow.flow_in_high_m3_h)
            blown = within(flow.flow_out_m3_h, flow.flow_out_low_m3_h, flow.flow_out_high_m3_h)
            half = three(flow.flow_in_half_clogged_m3_h)
            at = f"{flow.pressure_pa:g} Pa"
            lines.append(f"| {at} | {drawn} m3/h | {half} m3/h | {blown} m3/h |")
        point = record.operating_point
        largest = sorted(found.shares.items(), key=lambda part: -part[1])[:3]
        told = ", ".join(f"{name} {100.0 * share:.0f} %" for name, share in largest)
        return [
            *lines,
            "",
            f"- Most of the pressure drop at {RATED_PA:g} Pa, drawing in: {told}.",
            f"- In this row, its drain full of water: {record.driven_by}: {point.words()}.",
            f"- Air of {record.air_temperature_c:g} degC at sea level. {record.basis.capitalize()}."
            " In brackets the ends of what is known of the error.",
        ]


AIR = Air()

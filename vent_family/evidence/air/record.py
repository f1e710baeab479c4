"""The air section of a part's record, and its flat view for STEP attributes."""

from __future__ import annotations

from typing import Final

from pydantic import Field

from vent_family.base.frozen import Frozen
from vent_family.evidence.air.summary import RATED_PA, TEMPERATURE_C, AirSummary, summarise
from vent_family.evidence.facts import Stated
from vent_family.spec.vent import VentSpec

BASIS: Final = (
    "predicted: published loss coefficients corrected by a table of two-dimensional flow"
    " solutions; not measured"
)


class FlowRecord(Frozen):
    """Flow at one pressure drop."""

    pressure_pa: float
    flow_in_m3_h: float = Field(description="drawing in, from outside into the cabinet")
    flow_out_m3_h: float = Field(description="blowing out")
    gap_velocity_m_s: float = Field(description="mean velocity between the slats, drawing in")
    reynolds: float = Field(description="on passage width and velocity")
    in_range: bool = Field(description="false where the loss model extrapolates")


class AirRecord(Frozen):
    """Flow resistance. K and discharge coefficient refer to the panel opening's area."""

    basis: str = BASIS
    rated_pressure_pa: float = RATED_PA
    air_temperature_c: float = TEMPERATURE_C
    air_density_kg_m3: float
    opening_area_mm2: float
    smallest_open_area: str
    smallest_open_area_mm2: float
    k_in: float
    k_out: float
    discharge_coefficient_in: float
    discharge_coefficient_out: float
    drain_share: float = Field(description="part of the flow that goes by the dry drain channel")
    loss_shares: dict[str, float] = Field(description="parts of the pressure drop, drawing in")
    flows: list[FlowRecord]


def air_record(spec: VentSpec) -> AirRecord:
    """Return the air section of a part's record."""
    return _record(summarise(spec))


def _record(summary: AirSummary) -> AirRecord:
    return AirRecord(
        air_density_kg_m3=summary.density_kg_m3,
        opening_area_mm2=summary.opening_mm2,
        smallest_open_area=summary.smallest.name,
        smallest_open_area_mm2=summary.smallest.area_mm2,
        k_in=summary.k_in,
        k_out=summary.k_out,
        discharge_coefficient_in=summary.discharge_in,
        discharge_coefficient_out=summary.discharge_out,
        drain_share=summary.drain_share,
        loss_shares=summary.shares,
        flows=[
            FlowRecord(
                pressure_pa=f.pressure_pa,
                flow_in_m3_h=f.flow_in_m3_h,
                flow_out_m3_h=f.flow_out_m3_h,
                gap_velocity_m_s=f.gap_velocity_m_s,
                reynolds=f.reynolds,
                in_range=f.in_range,
            )
            for f in summary.flows
        ],
    )


def air_attributes(record: AirRecord) -> tuple[Stated, ...]:
    """Return the air section as named attributes; names carry the unit."""
    found = [
        Stated("air_k_in", record.k_in, "1"),
        Stated("air_k_out", record.k_out, "1"),
        Stated("air_discharge_coefficient_in", record.discharge_coefficient_in, "1"),
        Stated("air_discharge_coefficient_out", record.discharge_coefficient_out, "1"),
        Stated("air_rated_pressure_pa", record.rated_pressure_pa, "Pa"),
        Stated("air_density_kg_m3", record.air_density_kg_m3, "kg/m3"),
        Stated("air_basis", record.basis),
    ]
    for flow in record.flows:
        at = f"at_{flow.pressure_pa:g}_pa"
        found.append(Stated(f"air_flow_in_{at}_m3_h", flow.flow_in_m3_h, "m3/h"))
        found.append(Stated(f"air_flow_out_{at}_m3_h", flow.flow_out_m3_h, "m3/h"))
    return tuple(found)

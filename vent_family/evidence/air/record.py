"""The air section of a part's record."""

from __future__ import annotations

from typing import Annotated, Final

from vent_family.base.frozen import Frozen
from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.air.stated import PathRecord
from vent_family.evidence.air.summary import RATED_PA, TEMPERATURE_C, AirSummary
from vent_family.evidence.facts import Fact, Shown

BASIS: Final = (
    "predicted: published loss coefficients corrected by flows solved in two and in three"
    " dimensions; not measured"
)
COEFFICIENTS_ALONE: Final = (
    "predicted: published loss coefficients alone, for the flow was never solved for slats of this"
    " form; not measured"
)


class FlowRecord(Frozen):
    """Flow at one pressure drop."""

    pressure_pa: Annotated[float, Fact("pressure drop over the vent", "Pa")]
    flow_in_m3_h: Annotated[
        float,
        Fact(
            "drawing in, from outside into the cabinet",
            "m3/h",
            attribute="air_flow_in_at_{pressure_pa:g}_pa_m3_h",
        ),
    ]
    flow_in_low_m3_h: Annotated[float, Fact("the same with the greatest K", "m3/h")]
    flow_in_high_m3_h: Annotated[float, Fact("the same with the least K", "m3/h")]
    flow_in_half_clogged_m3_h: Annotated[
        float, Fact("the same with half of the slats and of the drain closed in patches", "m3/h")
    ]
    flow_out_m3_h: Annotated[
        float, Fact("blowing out", "m3/h", attribute="air_flow_out_at_{pressure_pa:g}_pa_m3_h")
    ]
    flow_out_low_m3_h: Annotated[float, Fact("the same with the greatest K", "m3/h")]
    flow_out_high_m3_h: Annotated[float, Fact("the same with the least K", "m3/h")]
    gap_velocity_m_s: Annotated[float, Fact("mean velocity between the slats, drawing in", "m/s")]
    reynolds: Annotated[float, Fact("on passage width and velocity", "1")]
    in_range: Annotated[bool, Fact("false where the loss model extrapolates")]


def _rated_flow(record: AirRecord) -> float:
    """Return the flow drawn in at the rated pressure drop, m3/h."""
    rated = record.rated_pressure_pa
    return next(f.flow_in_m3_h for f in record.flows if f.pressure_pa == rated)


class AirRecord(Frozen):
    """Flow resistance. K and discharge coefficient refer to the panel opening's area."""

    k_in: Annotated[
        float,
        Fact(
            "loss coefficient, drawing in",
            "1",
            attribute="air_k_on_opening_in",
            index=Shown("air_k_on_opening_in", digits=2),
        ),
    ]
    k_in_low: Annotated[
        float,
        Fact(
            "its lower end, by what is known of the error",
            "1",
            attribute="air_k_on_opening_in_low",
        ),
    ]
    k_in_high: Annotated[float, Fact("its upper end", "1", attribute="air_k_on_opening_in_high")]
    k_out: Annotated[
        float, Fact("loss coefficient, blowing out", "1", attribute="air_k_on_opening_out")
    ]
    k_out_low: Annotated[float, Fact("its lower end", "1")]
    k_out_high: Annotated[float, Fact("its upper end", "1")]
    discharge_coefficient_in: Annotated[
        float,
        Fact(
            "flow over that of an ideal nozzle as large as the opening, drawing in",
            "1",
            attribute="air_discharge_coefficient_in",
        ),
    ]
    discharge_coefficient_out: Annotated[
        float, Fact("the same, blowing out", "1", attribute="air_discharge_coefficient_out")
    ]
    rated_pressure_pa: Annotated[
        float,
        Fact(
            "pressure drop at which K, discharge coefficient and shares are stated",
            "Pa",
            attribute="air_rated_pressure_pa",
        ),
    ] = RATED_PA
    air_temperature_c: Annotated[float, Fact("temperature of the air", "degC")] = TEMPERATURE_C
    air_density_kg_m3: Annotated[
        float, Fact("density of the air", "kg/m3", attribute="air_density_kg_m3")
    ]
    operating_point: Annotated[
        OperatingPoint,
        Fact(
            "air of the row on a calm day, its drain full of water, as the water check takes it",
            attribute=Shown(
                "air_operating_flow_m3_h", "m3/h", of=lambda r: r.operating_point.flow_m3_h
            ),
            index=Shown(
                "air_operating_flow_m3_h",
                "m3/h",
                of=lambda r: r.operating_point.flow_m3_h,
                digits=1,
            ),
        ),
    ]
    driven_by: Annotated[str, Fact("what drives it, and how other openings lie")]
    basis: Annotated[str, Fact("how the values were found", attribute="air_basis")] = BASIS
    opening_area_mm2: Annotated[float, Fact("area of the panel opening", "mm2")]
    smallest_open_area: Annotated[str, Fact("the narrowest cross-section")]
    smallest_open_area_mm2: Annotated[float, Fact("its open area", "mm2")]
    drain_share: Annotated[float, Fact("part of the flow that goes by the dry drain channel", "1")]
    loss_shares: Annotated[dict[str, float], Fact("parts of the pressure drop, drawing in", "1")]
    flows: Annotated[
        list[FlowRecord],
        Fact(
            "flow by pressure drop, its drain dry",
            index=Shown("air_flow_in_at_25_pa_m3_h", "m3/h", of=_rated_flow, digits=1),
        ),
    ]
    path: Annotated[
        PathRecord, Fact("what the losses are made of, for any flow, in any air, half clogged")
    ]


def air_record(
    summary: AirSummary, point: OperatingPoint, driven_by: str, path: PathRecord
) -> AirRecord:
    """Return the air section of a part's record; ``point`` is that of its row on a calm day."""
    return AirRecord(
        path=path,
        operating_point=point,
        driven_by=driven_by,
        basis=BASIS if summary.corrected else COEFFICIENTS_ALONE,
        air_density_kg_m3=summary.density_kg_m3,
        opening_area_mm2=summary.opening_mm2,
        smallest_open_area=summary.smallest.name,
        smallest_open_area_mm2=summary.smallest.area_mm2,
        k_in=summary.k_in,
        k_in_low=summary.k_in_low,
        k_in_high=summary.k_in_high,
        k_out=summary.k_out,
        k_out_low=summary.k_out_low,
        k_out_high=summary.k_out_high,
        discharge_coefficient_in=summary.discharge_in,
        discharge_coefficient_out=summary.discharge_out,
        drain_share=summary.drain_share,
        loss_shares=summary.shares,
        flows=[FlowRecord.model_validate(f, from_attributes=True) for f in summary.flows],
    )

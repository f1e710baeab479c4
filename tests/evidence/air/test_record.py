"""The air section of the record, and the attributes made from it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import jsonschema
import pytest

from tests.helpers.conditions import stated_point
from tests.helpers.rows import spec
from vent_family.evidence.air.airway import Direction, Mouth
from vent_family.evidence.air.kind import AIR
from vent_family.evidence.air.losses import band
from vent_family.evidence.air.record import AirRecord, air_record
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at
from vent_family.evidence.air.stated import path_record
from vent_family.evidence.air.summary import PRESSURES_PA, summarise, summary_of
from vent_family.evidence.context import PartContext
from vent_family.evidence.facts import stated


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_record_says_what_the_model_says(family: str) -> None:
    resolved = spec(family)
    summary = summarise(resolved)
    record = air_record(summary, stated_point(), "stated", path_record(vent_air(resolved)))
    assert record.k_in == summary.k_in
    assert [f.pressure_pa for f in record.flows] == list(PRESSURES_PA) == [10.0, 25.0, 50.0]
    assert record.opening_area_mm2 == pytest.approx(resolved.opening.area_mm2)
    assert sum(record.loss_shares.values()) == pytest.approx(1.0)
    rated = record.flows[1]
    velocity = rated.flow_in_m3_h / 3600 / (record.opening_area_mm2 * 1e-6)
    assert record.k_in == pytest.approx(25.0 / (0.5 * record.air_density_kg_m3 * velocity**2))
    assert record.discharge_coefficient_in == pytest.approx(record.k_in**-0.5)
    assert record.air_density_kg_m3 == pytest.approx(air_at(20.0).density_kg_m3)
    jsonschema.validate(record.model_dump(mode="json"), AirRecord.model_json_schema())


@pytest.mark.parametrize("form", ["flat", "inclined", "folded"])
def test_ends_of_slats_alone_by_hand(form: str) -> None:
    """Nothing but slats: the drop at an end's flow, times that end's factor, is the pressure.

    Half of the passages, at the same velocity, pass half of the air.
    """
    whole = vent_air(spec(size="80x80", slat_form=form))
    none: dict[Direction, tuple[Mouth, ...]] = {"in": (), "out": ()}
    vent = replace(whole, drain_mm2=0.0, entry=none, leave=none)
    found, air = summary_of(vent), air_at(20.0)
    for flow in found.flows:
        low, high = band(vent.stack, flow.reynolds, vent.bay_mm)
        for q, factor in ((flow.flow_in_low_m3_h, high), (flow.flow_in_high_m3_h, low)):
            drop = float(vent.loss(q / 3600.0, air).drop_pa[0])
            assert drop * factor == pytest.approx(flow.pressure_pa, rel=1e-6)
        assert flow.flow_in_half_clogged_m3_h == pytest.approx(flow.flow_in_m3_h / 2.0, rel=1e-6)
        assert flow.flow_out_low_m3_h == pytest.approx(flow.flow_in_low_m3_h, rel=1e-6)
    rated = found.flows[1]
    for k, q in (
        (found.k_in_high, rated.flow_in_low_m3_h),
        (found.k_in_low, rated.flow_in_high_m3_h),
    ):
        head = 0.5 * air.density_kg_m3 * (q / 3600.0 / (vent.opening_mm2 * 1e-6)) ** 2
        assert k == pytest.approx(25.0 / head, rel=1e-6)


def test_report_tells_flow_with_its_ends_and_half_clogged() -> None:
    context = PartContext(spec(fan="tank-hall-92"))
    record: Any = context.record(AIR)
    lines = "\n".join(AIR.chapter(context))
    for flow in record.flows:
        row = f"| {flow.pressure_pa:g} Pa | {flow.flow_in_m3_h:.3g} ({flow.flow_in_low_m3_h:.3g} to"
        assert row in lines
        assert f"| {flow.flow_in_half_clogged_m3_h:.3g} m3/h |" in lines
    point = record.operating_point
    assert f"{point.flow_m3_h:.3g} m3/h ({point.flow_low_m3_h:.3g} to" in lines
    assert "tank-hall-92" in lines
    (sentence,) = AIR.sentences(context)
    assert f"K {record.k_in:.3g} ({record.k_in_low:.3g} to {record.k_in_high:.3g})" in sentence
    assert "with half of the slats clogged" in sentence


def test_attributes_carry_the_flow_table_with_units() -> None:
    path = path_record(vent_air(spec("round")))
    record = air_record(summarise(spec("round")), stated_point(), "stated", path)
    found = {a.name: a for a in stated(record, "attribute")}
    assert found["air_k_on_opening_in"].value == record.k_in
    for flow in record.flows:
        attribute = found[f"air_flow_in_at_{flow.pressure_pa:g}_pa_m3_h"]
        assert (attribute.value, attribute.unit) == (flow.flow_in_m3_h, "m3/h")
    assert found["air_rated_pressure_pa"].unit == "Pa"
    assert "not measured" in str(found["air_basis"].value)

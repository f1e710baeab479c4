"""The air section of the record, and the attributes made from it."""

from __future__ import annotations

import jsonschema
import pytest

from tests.helpers.conditions import stated_point
from tests.helpers.rows import spec
from vent_family.evidence.air.record import AirRecord, air_record
from vent_family.evidence.air.state import air_at
from vent_family.evidence.air.summary import PRESSURES_PA, summarise
from vent_family.evidence.facts import stated


@pytest.mark.parametrize("family", ["rectangular", "round", "flanged"])
def test_record_says_what_the_model_says(family: str) -> None:
    resolved = spec(family)
    summary = summarise(resolved)
    record = air_record(summary, stated_point(), "stated")
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


def test_attributes_carry_the_flow_table_with_units() -> None:
    record = air_record(summarise(spec("round")), stated_point(), "stated")
    found = {a.name: a for a in stated(record, "attribute")}
    assert found["air_k_on_opening_in"].value == record.k_in
    for flow in record.flows:
        attribute = found[f"air_flow_in_at_{flow.pressure_pa:g}_pa_m3_h"]
        assert (attribute.value, attribute.unit) == (flow.flow_in_m3_h, "m3/h")
    assert found["air_rated_pressure_pa"].unit == "Pa"
    assert "not measured" in str(found["air_basis"].value)

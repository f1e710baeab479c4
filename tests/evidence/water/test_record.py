from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from tests.helpers.rows import spec
from vent_family.evidence.facts import stated
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.pictures import pictures
from vent_family.evidence.water.record import WaterRecord, water_record
from vent_family.evidence.water.report import WaterReport
from vent_family.release.pictures import write_drawn


@pytest.fixture(scope="module")
def report() -> WaterReport:
    vent = spec(exposure="dripping/splashing", face_velocity_m_s=2.0)
    return assess(vent, conditions_of(vent), advise=False)


def test_record_follows_its_schema_and_survives_json(report: WaterReport) -> None:
    record = water_record(report)
    data = json.loads(record.model_dump_json())
    jsonschema.validate(data, WaterRecord.model_json_schema())
    assert WaterRecord.model_validate(data) == record
    assert data["outcome"] == report.outcome
    assert [e["name"] for e in data["exposures"]] == ["dripping", "splashing"]


def test_attributes_carry_units_and_the_rows_conditions(report: WaterReport) -> None:
    found = {a.name: a for a in stated(water_record(report), "attribute")}
    assert found["water_predicted_outcome"].value == report.outcome
    assert found["water_face_velocity_m_s"].value == 2.0
    assert found["water_face_velocity_m_s"].unit == "m/s"
    assert found["water_splashing_passes_high_cm3"].unit == "cm3"
    high = 1000.0 * report.exposure("splashing").passed_l.high
    assert found["water_splashing_passes_high_cm3"].value == pytest.approx(high, rel=1e-3)
    assert found["water_upside_down"].value == "unsafe"
    assert "water_d50_mm" in found


def test_pictures_are_written_and_named(report: WaterReport, tmp_path: Path) -> None:
    section = spec(exposure="dripping/splashing").section
    names = []
    for stem, figure in pictures(section, report).items():
        names += write_drawn(tmp_path, f"T1-{stem}", figure)
    assert sorted(names) == sorted(p.name for p in tmp_path.iterdir())
    assert "T1-water-tracks.svg" in names
    assert all((tmp_path / n).stat().st_size > 5_000 for n in names)

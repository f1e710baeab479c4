"""Numbers of a published part, the same wherever they stand: record, index, STEP, cost."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.helpers.part21 import Exchange
from vent_family.front.cli.app import app

CATALOG = (
    "part_number,family,size,status,slat_form,material,exposure\n"
    "W-34,rectangular,34x30,released,folded,PETG,dry\n"
)


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("library")
    path = folder / "wide.csv"
    path.write_text(CATALOG, encoding="utf-8")
    words = ["publish", "-c", str(path), "--out", str(folder / "out"), "--jobs", "1"]
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, result.output
    (folder / "told.txt").write_text(result.output, encoding="utf-8")
    return folder / "out"


@pytest.fixture(scope="module")
def entry(out: Path) -> dict[str, Any]:
    (found,) = json.loads((out / "library.json").read_text(encoding="utf-8"))["parts"]
    return dict(found)


@pytest.fixture(scope="module")
def part(out: Path, entry: dict[str, Any]) -> Path:
    return out / str(entry["folder"])


@pytest.fixture(scope="module")
def record(part: Path) -> dict[str, Any]:
    return dict(json.loads((part / "W-34.json").read_text(encoding="utf-8")))


def test_publish_tells_the_mass_as_printed(out: Path, record: dict[str, Any]) -> None:
    """Not the mass of the solid printed full, which no command tells as the part's."""
    told = (out.parent / "told.txt").read_text(encoding="utf-8").splitlines()
    (row_told,) = (line.split() for line in told if "W-34" in line and line.startswith("│"))
    printed = f"{record['printing']['printed_mass_g']:.1f}"
    assert printed != f"{record['geometry']['mass_g']:.1f}"
    assert printed in row_told


def test_index_says_what_the_record_says(record: dict[str, Any], entry: dict[str, Any]) -> None:
    hours = record["printing"]["time_s"] / 3600.0
    assert 0.3 < hours < 6.0
    assert entry["print_time_h"] == pytest.approx(hours, abs=0.006)
    assert entry["mass_g"] == pytest.approx(record["geometry"]["mass_g"], abs=0.006)
    assert entry["volume_mm3"] == pytest.approx(record["geometry"]["volume_mm3"], abs=0.06)
    assert entry["sight_margin_mm"] == pytest.approx(
        record["geometry"]["sight_margin_mm"], abs=0.0006
    )
    assert entry["air_k_on_opening_in"] == pytest.approx(record["air"]["k_in"], abs=0.006)
    at_25 = next(f for f in record["air"]["flows"] if f["pressure_pa"] == 25.0)
    assert entry["air_flow_in_at_25_pa_m3_h"] == pytest.approx(at_25["flow_in_m3_h"], abs=0.06)
    areas = {a["name"]: a["area_mm2"] for a in record["open_areas"]}
    assert entry["smallest_open_area_mm2"] == pytest.approx(min(areas.values()), abs=0.06)
    assert areas[entry["smallest_open_area"]] == min(areas.values())
    assert entry["print_orientation"] == record["print_orientation"] == "face_down"
    assert entry["family"] == "rectangular"
    assert entry["size"] == "34x30"


def test_opening_is_as_wide_and_as_high_as_the_row_says(
    part: Path, record: dict[str, Any], entry: dict[str, Any]
) -> None:
    """The size of a rectangular vent is the opening in the panel: 34 wide, 30 high."""
    opening = record["opening"]
    assert (opening["width_mm"], opening["height_mm"]) == (34.0, 30.0)
    assert "34 x 30" in entry["opening"]
    found = Exchange.load(part / "W-34.step").products()["W-34"].attributes
    assert found["opening_width_mm"].si == pytest.approx(0.034)
    assert found["opening_height_mm"].si == pytest.approx(0.030)


def test_machine_cost_is_the_plates_time(record: dict[str, Any]) -> None:
    """0.55 an hour (demo rates) for the plate's hours, shared by the parts on it."""
    cost = record["printing"]["cost"]
    full = cost["orders"][-1]
    assert full["parts"] == 10_000
    by_hand = cost["plate_time_s"] / 3600.0 * 0.55 / cost["parts_per_plate"]
    assert full["machine"] == pytest.approx(by_hand, rel=1e-6)
    # Parts on a plate print as long as each alone, but for heating up once (420 s).
    alone = record["printing"]["time_s"] - 420.0
    assert cost["plate_time_s"] < cost["parts_per_plate"] * alone + 420.0
    assert cost["plate_time_s"] > record["printing"]["time_s"]

"""Parts as a script uses them: the table, and the same answers as on the command line."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.base.problems import InputError
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.front.cli.app import app
from vent_family.front.parts import Parts
from vent_family.front.table import COLUMNS
from vent_family.release.record import section_of

ROOT = Path(__file__).parents[2]
FAN = ROOT / "vent_family" / "fans" / "tank-hall-92.csv"
SMALL = (
    "part_number,family,size,status,exposure,slat_form,pitch_mm,slat_height_mm\n"
    "V-40,rectangular,40x40,released,dripping,,,\n"
    "V-N20,round,M20x1.5,draft,dry,folded,,\n"
    "V-BAD,rectangular,60x60,released,,flat,9.2,4.2\n"
    "V-60,rectangular,60x60,released,,flat,,\n"
)


def told(*words: str | Path) -> Any:
    result = CliRunner().invoke(app, [*map(str, words), "--json"])
    assert result.exit_code < 2, result.output
    return answered(result.output)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "small.csv"
    path.write_text(SMALL, encoding="utf-8")
    return path


def test_table_has_one_row_a_part_and_every_column_is_documented() -> None:
    parts = Parts(ROOT / "catalog.csv")
    table = parts.table()
    assert tuple(table.index) == parts.part_numbers
    assert table.index.name == "part_number"
    unfilled = ("water_", "pool_", "jet_", "pitch_moved_")
    dry = [n for n in COLUMNS if not n.startswith(unfilled)]
    assert list(table.columns) == dry
    some = ["slopes_from_outside_in", "head_diameter_mm", "bore_diameter_mm", "neck_length_mm"]
    some += ["cover_corner_radius_mm", "largest_corner_radius_of_the_opening_mm"]
    some += ["fan_frame_mm", "fan_behind_slats_mm", "screen_mm", "screen_wire_mm"]
    assert not table.drop(columns=some).isna().any().any()
    assert set(table.attrs["units"]) == set(table.attrs["meanings"]) == set(dry)
    for name, unit in table.attrs["units"].items():
        ends = "_" + unit.replace("/", "_")
        assert name.endswith(ends) == (unit not in ("", "1")), name


def test_table_says_what_show_says(small: Path) -> None:
    table = Parts(small).table()
    assert list(table.index) == ["V-40", "V-N20", "V-60"]
    for number in table.index:
        shown = told("show", number, "-c", small)["facts"]
        cells = {k.replace("_", " "): v for k, v in table.loc[number].items()}
        for name, value in shown.items():
            assert cells[name] == value, (number, name)
    assert table.loc["V-40", "opening_mm2"] == 40 * 40
    assert table.loc["V-N20", "opening_mm2"] == pytest.approx(math.pi / 4 * 20.6**2)
    assert table.loc["V-N20", "neck_length_mm"] > 8
    assert math.isnan(table.loc["V-40", "neck_length_mm"])
    assert "slopes_from_outside_in" in table.columns


def test_air_columns_follow_from_each_other() -> None:
    """Q = Cd A sqrt(2 dp / rho) and K = 1 / Cd^2, by definition; air of 20 degC, 1.2041 kg/m3."""
    table = Parts.from_text(SMALL).table()
    assert (1 / table["discharge_in"] ** 2).tolist() == pytest.approx(table["k_in"].tolist())
    ideal = table["opening_mm2"] * 1e-6 * math.sqrt(2 * 25 / 1.2041) * 3600
    flow = table["discharge_in"] * ideal
    assert table["flow_in_at_25_pa_m3_h"].tolist() == pytest.approx(flow.tolist(), rel=1e-3)
    assert (table["flow_in_at_10_pa_m3_h"] < table["flow_in_at_25_pa_m3_h"]).all()
    assert (table["flow_in_at_25_pa_m3_h"] < table["flow_in_at_50_pa_m3_h"]).all()


def test_water_columns_are_those_of_the_water_command(small: Path) -> None:
    table = Parts(small).table(water=True)
    assert list(table.columns)[-3:] == ["water_predicted", "water_passed_ml", "pool_margin_mm"]
    found = told("water", "V-40", "-c", small)
    (dripping,) = found["exposures"]
    assert table.loc["V-40", "water_predicted"] == found["outcome"]
    margin = dripping["drainage"]["margin_mm"]
    assert table.loc["V-40", "pool_margin_mm"] == pytest.approx(margin, rel=1e-3)
    passed = 1000 * dripping["passed_l"]["high"]
    assert table.loc["V-40", "water_passed_ml"] == pytest.approx(passed, rel=1e-3)
    assert table.loc["V-N20", "water_predicted"] == "not checked"
    assert math.isnan(table.loc["V-N20", "pool_margin_mm"])


def test_an_empty_table_has_no_rows() -> None:
    assert len(Parts.from_text("part_number,family,size,status\n").table()) == 0


def test_script_and_command_line_give_the_same_answers(small: Path, tmp_path: Path) -> None:
    parts = Parts(small)
    further = ["--fan", FAN, "--outlet", "V-60", "--vents", "2", "--guard", "0.8", "--out"]
    asked = ["air", "V-40", "-c", small, "--heat", "40", "--limit", "45", *further, tmp_path / "a"]
    shown = told(*asked)
    cabinet = Cabinet(heat_w=40, ambient_c=25, limit_c=45)
    found = parts.cooling("V-40", cabinet, fan=FAN, outlet="V-60", inlets=2, guard_k=0.8)
    assert len(shown.pop("files")) == 4
    assert json.loads(json.dumps(found.as_dict())) == shown

    shown = told("water", "V-40", "-c", small, "-e", "dripping", "--tilt", "2")
    report = parts.water("V-40", "dripping", tilt_deg=2.0)
    assert json.loads(json.dumps({"part_number": "V-40"} | report.as_dict())) == shown

    (shown,) = told("cost", "-c", small, "-o", "V-40")["parts"]
    assert parts.cost("V-40").model_dump(mode="json") == shown
    shown = told("print-check", "V-40", "-c", small)["printing"]
    assert section_of(parts.evidence("V-40"), "printing").model_dump(mode="json") == shown


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"inlets": 0}, "number of vents on a side is out of range"),
        ({"outlets": 0}, "number of vents on a side is out of range"),
        ({"guard_k": float("nan")}, "loss is not a finite number"),
        ({"filter_pa_s_m": float("inf")}, "loss is not a finite number"),
        ({"guard_k": -1.0}, "loss is negative"),
        ({"counter_pa": float("nan")}, "is not a finite number"),
        ({"place": "roof"}, "Allowed: intake, outlet"),
        ({"draught_height_m": 1.0}, "a fan and natural draught"),
        ({"fan": "none.csv"}, "the file does not exist"),
        ({"outlet": "V-61"}, "no row has this part number"),
    ],
)
def test_questions_that_make_no_sense_are_refused(words: dict[str, Any], said: str) -> None:
    parts = Parts.from_text(SMALL)
    with pytest.raises(InputError, match=said):
        parts.cooling("V-40", Cabinet(40, 25, 45), **({"fan": FAN} | words))


def test_a_bad_row_is_refused_with_its_place(small: Path) -> None:
    with pytest.raises(InputError, match=r"small.csv, row 4, part V-BAD, column pitch_mm"):
        Parts(small).air("V-BAD")
    # What is asked for is no fault of the row's.
    with pytest.raises(InputError, match=r"^option exposure: unknown exposure 'splahsing'"):
        Parts(small).water("V-40", "splahsing")


def test_only_the_table_loads_pandas() -> None:
    code = (
        "import sys; from vent_family import Parts;"
        "parts = Parts('catalog.csv'); parts.spec('HV-N32'); parts.air('HV-N32');"
        "assert 'pandas' not in sys.modules; parts.table(); assert 'pandas' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)

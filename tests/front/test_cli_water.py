from __future__ import annotations

import re
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from typer.testing import CliRunner

from tests.helpers.answers import answered
from tests.helpers.rows import spec
from vent_family.evidence.water import house, sensitivity
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import chosen_conditions
from vent_family.evidence.water.jets.report import Band
from vent_family.evidence.water.jets.verdict import THROUGH_SLATS
from vent_family.evidence.water.report import Range
from vent_family.evidence.water.trough_words import trough_words
from vent_family.front.cli.app import app
from vent_family.front.cli.water import print_report
from vent_family.front.parts import Parts

HEAD = "part_number,family,size,status,exposure\n"


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    path = tmp_path / "catalog.csv"
    path.write_text(
        HEAD + "W-1,rectangular,50x50,released,dripping\nW-2,round,M20x1.5,draft,dry\n",
        encoding="utf-8",
    )
    return path


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    return result.exit_code, " ".join(result.output.split())


def test_water_of_one_part(catalog: Path, tmp_path: Path) -> None:
    folder = tmp_path / "pictures"
    code, text = run("water", "w-1", "-c", str(catalog), "--pictures", str(folder))
    assert code == 0
    assert "dripping: predicted to hold" in text
    assert "Decided by: accredited laboratory test to IEC 60529" in text
    assert "never mount it that way" in text
    assert re.search(
        r"dripping: pool \d+\.\d mm over the drain \(sill \d+\.\d\): surface tension 5\.4, fan",
        text,
    )
    assert "dripping: drain blocked over half its width: the trough" in text
    assert (folder / "W-1-water-sight.png").is_file()


def test_water_for_machines_with_other_conditions(catalog: Path) -> None:
    code, text = run(
        "water", "W-1", "-c", str(catalog), "-e", "dripping/jets", "--tilt", "2", "--json"
    )
    assert code == 0
    data = answered(text)
    assert data["conditions"]["tilt_deg"] == 2.0
    assert [e["name"] for e in data["exposures"]] == ["dripping", "jets"]
    assert data["outcome"] == "fails"


def test_film_on_ribs_names_its_exposures(catalog: Path) -> None:
    """Two exposures may end in two ways: each is named, in one line or in two."""
    wet = ("driving_rain", "splashing")
    words = ("-e", "/".join(wet), "--face-velocity", "1.5")
    result = CliRunner().invoke(app, ["water", "W-1", "-c", str(catalog), *words])
    lines = [t for t in result.output.splitlines() if "more of lean and roll" in t]
    named = [line.split(": at ")[0].split(", ") for line in lines]
    assert sorted(name for names in named for name in names) == sorted(wet)
    told = [line.split(": at ")[1] for line in lines]
    assert len(set(told)) == len(told)


def test_sensitivity_is_told_to_people_and_machines(
    catalog: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sensitivity, "HOUSE", (house.TOLERANCE,))
    code, text = run("water", "W-1", "-c", str(catalog), "--sensitivity")
    assert code == 0
    # 25 Pa stand for an air that nobody stated: they weigh most.
    assert "what moves this most: 1. pressure over the vent, 25 Pa (10 to 50): at 10 it" in text
    assert "2. tolerance of mounting, 3 deg (1.5 to 5): at 1.5 it would hold" in text
    code, text = run("water", "W-1", "-c", str(catalog), "--sensitivity", "--json")
    assert code == 0
    (found,) = answered(text)["sensitivity"]
    second = found["effects"][1]
    assert (found["exposure"], second["number"]["unit"]) == ("dripping", "deg")
    assert second["low"]["margin_mm"] > second["high"]["margin_mm"]
    (again,) = Parts(catalog).water_sensitivity("W-1")
    assert again.effects[1].low.margin_mm == pytest.approx(second["low"]["margin_mm"])


def test_tables_are_whole_on_eighty_columns() -> None:
    """The longest words that a row can show, and amounts of two figures at both ends."""
    vent = spec(exposure="dripping_tilted/strong_jets")
    report = assess(vent, chosen_conditions(vent), advise=False)
    drops = replace(
        report.drops[0],
        passed_l=Range(0.0000123, 0.0345),
        verdict=replace(report.drops[0].verdict, outcome="marginal", mechanism="dripping film"),
    )
    jet = replace(
        report.jets[0],
        inside_share=Band(0.0012, 0.15),
        worst_inflow_l_min=100.0,
        verdict=replace(report.jets[0].verdict, outcome="marginal", mechanism=THROUGH_SLATS),
    )
    screen = Console(width=80, file=StringIO(), record=True)
    print_report(replace(report, exposures=(drops, jet)), screen)
    said = screen.export_text()
    assert "\N{HORIZONTAL ELLIPSIS}" not in said
    lines = [" ".join(line.split()) for line in said.splitlines()]
    assert any(line.startswith("dripping_tilted marginal dripping film") for line in lines)
    assert any("0.012 to 34" in line or "0.012 to 35" in line for line in lines)
    assert any(
        line.startswith("strong_jets marginal jet through the slats 0.12 to 15") for line in lines
    )
    (level,) = [text for text in trough_words(drops) if ": pool" in text]
    told = replace(drops, verdict=replace(drops.verdict, mechanism="pool overflow"))
    assert trough_words(told) == [text for text in trough_words(drops) if text != level]
    for heading in ("exposure predicted limited by mL pool mm", "mean % aim % L/min L/min"):
        words = heading.split()
        assert any(all(w in line for w in words) for line in lines), heading


def test_sensitivity_says_that_it_leaves_jets_out(catalog: Path) -> None:
    code, text = run("water", "W-1", "-c", str(catalog), "-e", "jets", "--sensitivity")
    assert code == 0
    assert "jets: left out of --sensitivity, because a full jet is judged under all" in text
    code, text = run("water", "W-1", "-c", str(catalog), "-e", "jets", "--sensitivity", "--json")
    data = answered(text)
    assert (data["sensitivity"], data["sensitivity_left_out"]) == ([], ["jets"])


def test_verdict_tells_each_number_once(catalog: Path) -> None:
    code, text = run("water", "W-1", "-c", str(catalog), "--extra-depression", "60")
    assert code == 0
    said = re.search(r"dripping: predicted to fail;.*?Decided by", text)
    assert said is not None
    # What the sill leaves over what surface tension holds up, as a depression: 9.8 Pa a millimetre.
    pool = re.search(r"over the drain \(sill (\d+\.\d)\): surface tension (\d+\.\d)", text)
    limit = re.search(r"lifts water over the sill \(limit (\d+) Pa\); air ", said[0])
    assert pool is not None
    assert limit is not None
    assert int(limit[1]) == pytest.approx(9.8 * (float(pool[1]) - float(pool[2])), abs=1.5)
    assert said[0].count("other suction 60") == 1


def test_depression_that_a_vent_bears_is_that_of_its_mounting(catalog: Path) -> None:
    """Lying face up, nothing keeps water out of the cabinet."""
    words = ("water", "W-1", "-c", str(catalog), "--tilt", "90")
    code, text = run(*words)
    assert code == 0
    (top,) = re.findall(r"suction lifts water over the sill above (\d+) Pa", text)
    (limit,) = re.findall(r"lifts water over the sill \(limit (\d+) Pa\)", text)
    assert top == limit == "0"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-e", "splahsing"), "Did you mean splashing?"),
        (("--tilt", "100"), "impossible mounting tilt"),
        (("--face-velocity", "-2"), "column face_velocity_m_s: the value is out of range"),
        (("--extra-depression", "9999"), "column extra_depression_pa: the value is out of range"),
    ],
)
def test_bad_options_are_refused_in_one_sentence(
    catalog: Path, words: tuple[str, str], said: str
) -> None:
    code, text = run("water", "W-1", "-c", str(catalog), *words)
    assert code == 1
    assert said in text
    assert text.startswith("option ") or "row 2" in text
    assert "Traceback" not in text


def test_pictures_into_a_file_are_refused(catalog: Path) -> None:
    code, text = run("water", "W-1", "-c", str(catalog), "--pictures", str(catalog))
    assert code == 2
    assert "cannot be written" in text


def test_check_tells_what_is_predicted_for_every_row(catalog: Path) -> None:
    code, text = run("check", "-c", str(catalog), "--water")
    assert code == 0
    assert "W-1: dripping: predicted to hold" in text
    assert "W-2: not checked: the row says dry" in text
    code, text = run("check", "-c", str(catalog), "--water", "--json")
    assert [w["outcome"] for w in answered(text)["water"]] == ["holds", "not checked"]


AIR_HEAD = "part_number,family,size,status,exposure,fan,air_direction\n"


@pytest.fixture
def fanned(tmp_path: Path) -> Path:
    path = tmp_path / "fanned.csv"
    path.write_text(
        AIR_HEAD + "W-1,rectangular,50x50,draft,dripping,tank-hall-92,\n"
        "W-2,rectangular,50x50,draft,dripping,tank-hall-92,out\n",
        encoding="utf-8",
    )
    return path


def test_the_operating_point_is_told(fanned: Path) -> None:
    code, text = run("water", "W-1", "-c", str(fanned))
    assert code == 0
    assert "fan tank-hall-92 at the intake, drawn in by this vent" in text
    assert "other openings lee side (default)" in text
    assert "Pa over the pool" in text
    assert "stopped" not in text


def test_each_state_of_a_vent_that_lets_air_out_is_told(fanned: Path) -> None:
    _, text = run("water", "W-2", "-c", str(fanned))
    assert "The worst of fan running: holds; fan stopped: holds." in text


def test_options_take_the_place_of_the_rows_air(fanned: Path) -> None:
    _, text = run(
        "water", "W-1", "-c", str(fanned), "--fan", "pump-hall-120", "--fan-position", "outlet",
        "--vents", "2", "--opposite-vent", "W-2", "--other-openings", "same_side", "--json",
    )  # fmt: skip
    told = answered(text)["conditions"]
    assert told["driven_by"] == (
        "fan pump-hall-120 at the outlet, drawn in by this vent of 2 in parallel, W-2 opposite;"
        " other openings same side"
    )
    assert told["air"]["opening_depression_pa"] > 0.0
    _, text = run("water", "W-1", "-c", str(fanned), "--face-velocity", "0.8", "--json")
    assert answered(text)["conditions"]["air"]["source"] == "face velocity"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--fan", "none.csv"), "the fan curve cannot be read: the file does not exist"),
        (("--fan", "tank-hall-92", "--face-velocity", "1"), "both say how much air passes"),
        (("--depression", "20"), "this option is called --extra-depression now"),
        (("--other-openings", "luff"), "sheltered, same_side, lee_side"),
        (("--face-velocity", "1", "--vents", "2"), "it says nothing without a fan"),
    ],
)
def test_bad_air_is_refused_in_one_sentence(
    fanned: Path, words: tuple[str, ...], said: str
) -> None:
    code, text = run("water", "W-1", "-c", str(fanned), *words)
    assert code != 0
    assert said in text.replace("│ ", "")


def test_a_bad_fan_file_is_one_error_in_check_and_build(tmp_path: Path) -> None:
    (tmp_path / "hall.csv").write_text("flow_m3_h,pressure_pa\n0,50\n10,20\n", encoding="utf-8")
    path = tmp_path / "catalog.csv"
    path.write_text(AIR_HEAD + "W-1,rectangular,50x50,released,dry,hall.csv,\n", encoding="utf-8")
    said = "row 2, part W-1, column fan: the fan's file makes no curve"
    for words in (("check",), ("build", "--jobs", "1", "--out", str(tmp_path / "out"))):
        code, text = run(*words, "-c", str(path))
        assert code == 1
        assert text.count(said) == 1

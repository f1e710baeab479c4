from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from vent_family.front.cli.app import app

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
    assert (folder / "W-1-water-sight.png").is_file()


def test_water_for_machines_with_other_conditions(catalog: Path) -> None:
    code, text = run(
        "water", "W-1", "-c", str(catalog), "-e", "dripping/jets", "--tilt", "2", "--json"
    )
    assert code == 0
    data = json.loads(text)
    assert data["conditions"]["tilt_deg"] == 2.0
    assert [e["name"] for e in data["exposures"]] == ["dripping", "jets"]
    assert data["outcome"] == "fails"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-e", "splahsing"), "Did you mean splashing?"),
        (("--tilt", "80"), "impossible mounting tilt"),
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
    assert "row 2" in text
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
    assert [w["outcome"] for w in json.loads(text)["water"]] == ["holds", "not checked"]

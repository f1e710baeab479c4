"""The ``air`` command as an engineer uses it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.front.cli import air as air_module
from vent_family.front.cli.app import app

ROOT = Path(__file__).parents[2]
FAN = ROOT / "vent_family" / "fans" / "tank-hall-92.csv"
SADDLE = ROOT / "vent_family" / "fans" / "pump-hall-120.csv"
runner = CliRunner(env={"COLUMNS": "140"})


@pytest.fixture
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave the curves out: drawing takes longer than the answer."""
    monkeypatch.setattr(air_module, "_draw", lambda *_, **__: [])


def ask(tmp_path: Path, *words: str, part: str = "HV-F150") -> tuple[int, str]:
    catalog = ["-c", str(ROOT / "catalog.csv"), "--out", str(tmp_path / "air")]
    result = runner.invoke(app, ["air", part, *catalog, *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result.exit_code, result.output


def ask_json(tmp_path: Path, *words: str, part: str = "HV-F150") -> tuple[int, dict]:
    code, text = ask(tmp_path, *words, "--json", part=part)
    return code, answered(text)


def test_prints_the_operating_point_and_draws_the_curves(tmp_path: Path) -> None:
    code, text = ask(tmp_path, "--fan", str(FAN), "--heat", "150", "--limit", "45")
    assert code == 0, text
    for word in ("operating point", "m3/h at", "margin to the limit", "turns", "K on the opening"):
        assert word in text
    for word in ("Predicted: ", "HOLDS", "Heat balance", "slats clogged", "It holds up to"):
        assert word in text
    names = {p.name for p in (tmp_path / "air").iterdir()}
    assert names == {
        f"HV-F150-{what}{suffix}"
        for what in ("operating-point", "resistance")
        for suffix in (".png", ".svg")
    }
    with Image.open(tmp_path / "air" / "HV-F150-operating-point.png") as picture:
        assert picture.width > 1000
        assert len(picture.convert("L").getcolors() or [0] * 257) > 50
    assert "<svg" in (tmp_path / "air" / "HV-F150-resistance.svg").read_text(encoding="utf-8")


@pytest.mark.usefixtures("undrawn")
def test_json_agrees_with_itself(tmp_path: Path) -> None:
    code, data = ask_json(
        tmp_path, "--fan", str(FAN), "--heat", "300", "--limit", "45", "--walls", "3",
        "--ambient", "30", "--altitude", "800", "--fans", "2", "--outlet", "HV-F120",
        "--outlets", "2", "--guard", "0.8",
    )  # fmt: skip
    assert data["holds"] is (data["outcome"] == "holds")
    assert code == (0 if data["holds"] else 1)
    assert data["heat_by_air_w"] + data["heat_by_walls_w"] == pytest.approx(300, rel=1e-6)
    assert sum(data["drops_pa"]) == pytest.approx(data["fan_pressure_pa"], rel=1e-6)
    assert data["inside_c"] == pytest.approx(30 + data["rise_k"])
    assert data["outlet_part_number"] == "HV-F120"


@pytest.mark.usefixtures("undrawn")
def test_exit_code_tells_when_the_limit_is_missed(tmp_path: Path) -> None:
    code, data = ask_json(tmp_path, "--fan", str(FAN), "--heat", "900", "--limit", "45")
    assert code == 1
    assert data["outcome"] == "fails"
    assert data["fewest_inlets"] is None or data["fewest_inlets"] > 1


@pytest.mark.usefixtures("undrawn")
def test_natural_draught_and_walls_alone(tmp_path: Path) -> None:
    _, data = ask_json(tmp_path, "--draught", "1.5", "--heat", "40", "--limit", "55")
    assert data["draught_pa"] > 0
    assert "fan_flow_m3_h" not in data
    _, closed = ask_json(tmp_path, "--heat", "40", "--limit", "55", "--walls", "4")
    assert closed["rise_k"] == pytest.approx(10.0)


@pytest.mark.usefixtures("undrawn")
def test_stall_is_warned_about(tmp_path: Path) -> None:
    _, data = ask_json(
        tmp_path, "--fan", str(SADDLE), "--heat", "100", "--limit", "45", part="HV-R080"
    )
    assert data["stalled"]
    assert any("stall region" in w for w in data["warnings"])
    _, text = ask(tmp_path, "--fan", str(SADDLE), "--heat", "100", "--limit", "45", part="HV-R080")
    words = " ".join(text.split())
    assert data["greatest_heat_w"] is None
    assert "however little, because the fan works in its stall region." in words
    assert words.count("flow may hunt") == 1
    assert "Warning: the fan works in its stall region" not in words


@pytest.mark.usefixtures("undrawn")
def test_a_bad_option_is_called_an_option(tmp_path: Path) -> None:
    code, text = ask(tmp_path, "--fan", str(FAN), "--heat", "-5", "--limit", "45")
    assert code == 2
    assert "option heat_w: " in " ".join(text.split())


@pytest.mark.usefixtures("undrawn")
def test_nothing_that_carries_the_heat_away_is_an_error(tmp_path: Path) -> None:
    code, text = ask(tmp_path, "--heat", "100", "--limit", "45")
    assert code == 2
    assert "nothing carries the heat away. Give a fan (--fan)" in " ".join(text.split())
    assert "degC" not in text
    code, text = ask(tmp_path, "--heat", "900", "--limit", "45", "--walls", "1")
    assert code == 1
    assert "hotter than 175 degC, beyond which nothing is predicted" in " ".join(text.split())


@pytest.mark.usefixtures("undrawn")
def test_sun_and_clogging_are_told(tmp_path: Path) -> None:
    words = ("--fan", str(FAN), "--heat", "100", "--limit", "45", "--sunlit", "0.4")
    _, text = ask(tmp_path, *words, "--colour", "dark_grey", "--guard", "2")
    told = " ".join(text.split())
    assert "sun on 0.4 m2, dark grey, 1000 W/m2" in told
    # 0.4 m2 times 0.85 times 1000 W/m2, half of it inwards.
    assert "170 W inwards" in told
    assert "the sun brings 63 %, what is lost inside brings 37 %" in told.lower()
    assert "With 50 % of the inlet's guard clogged" in told
    assert "give --walls" in told
    _, data = ask_json(tmp_path, *words, "--absorptance", "0.5", "--walls", "3")
    assert sum(data["balance_w"].values()) == pytest.approx(0.0, abs=1e-4)
    assert data["half_clogged"]["what"] == "slats"
    assert data["half_clogged"]["flow_m3_h"] < data["flow_low_m3_h"]
    low, high = data["inside_low_c"], data["inside_high_c"]
    assert low < data["inside_c"] < high


def test_field_needs_a_flow(tmp_path: Path) -> None:
    code, text = ask(tmp_path, "--heat", "10", "--limit", "45", "--walls", "4", "--field")
    assert code == 2
    assert "leave --field out" in " ".join(text.split()).lower()


@pytest.mark.usefixtures("undrawn")
def test_no_operating_point_is_explained(tmp_path: Path) -> None:
    code, text = ask(
        tmp_path, "--fan", str(FAN), "--heat", "100", "--limit", "45", "--back-pressure", "70"
    )
    assert code == 1
    assert "stand against it" in " ".join(text.split())


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--heat", "0", "--limit", "45"], "the heat is not more than zero"),
        (["--heat", "100", "--limit", "20"], "not above the ambient"),
        (["--heat", "100", "--limit", "45", "--altitude", "9000"], "altitude is out of range"),
        (["--heat", "100", "--limit", "45", "--fan-position", "roof"], "intake, outlet"),
        (["--heat", "100", "--limit", "45", "--fans", "0"], "at least one fan"),
        (["--heat", "100", "--limit", "45", "--guard", "-2"], "the guard's loss is negative"),
        (
            ["--heat", "100", "--limit", "45", "--guard", "inf"],
            "the guard's loss is not a finite number",
        ),
        (["--heat", "inf", "--limit", "45"], "the heat is not a finite number"),
        (["--heat", "nan", "--limit", "45"], "the heat is not a finite number"),
        (["--heat", "100", "--limit", "nan"], "the temperature limit is out of range"),
        (["--heat", "100", "--limit", "45", "--ambient", "nan"], "the air temperature is out of"),
        (["--heat", "100", "--limit", "45", "--walls", "inf"], "wall conductance is not a finite"),
        (
            ["--heat", "100", "--limit", "45", "--back-pressure", "nan"],
            "against the fan is not a finite number",
        ),
        (["--heat", "100", "--limit", "45", "--draught", "1"], "either --fan or --draught"),
        (["--heat", "100", "--limit", "45", "--outlet", "HV-NONE"], "no row has this part number"),
    ],
)
def test_bad_questions_are_refused(tmp_path: Path, words: list[str], message: str) -> None:
    code, text = ask(tmp_path, "--fan", str(FAN), *words)
    assert code == 2
    assert message in " ".join(text.split())
    assert "Traceback" not in text
    assert not (tmp_path / "air").exists()


@pytest.mark.parametrize("height", ["0", "-1", "nan", "inf", "1e9"])
def test_draught_over_no_height_or_an_endless_one_is_refused(tmp_path: Path, height: str) -> None:
    code, text = ask(tmp_path, "--draught", height, "--heat", "100", "--limit", "45")
    assert code == 2
    assert "natural draught needs a height" in text


def test_missing_fan_file(tmp_path: Path) -> None:
    code, text = ask(
        tmp_path, "--fan", str(tmp_path / "none.csv"), "--heat", "100", "--limit", "45"
    )
    assert code == 2
    assert "cannot be read" in text

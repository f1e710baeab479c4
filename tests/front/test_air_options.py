"""Every option of the ``air`` command changes its answer or is refused, whatever moves the air."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.front.cli import air as air_module
from vent_family.front.cli.app import app

runner = CliRunner()
ROWS = """part_number,family,size,status
V-50,rectangular,50x50,released
V-80,rectangular,80x60,released
"""
MODES = {
    "fan": ("--fan", "tank-hall-92", "--heat", "60", "--limit", "45"),
    "draught": ("--draught", "1.2", "--heat", "9", "--limit", "45"),
    "closed": ("--walls", "4", "--heat", "40", "--limit", "45"),
}
OTHERS = {
    "PART": "V-80",
    "--heat": "20",
    "--limit": "50",
    "--ambient": "20",
    "--altitude": "1500",
    "--walls": "6",
    "--fan": "pump-hall-120",
    "--fans": "2",
    "--fans-in-series": "2",
    "--fan-position": "outlet",
    "--vents": "2",
    "--outlet": "V-80",
    "--outlets": "2",
    "--guard": "2",
    "--filter": "20",
    "--back-pressure": "5",
    "--draught": "2",
    "--sunlit": "0.2",
    "--colour": "black",
    "--absorptance": "0.2",
    "--irradiance": "500",
}
"""A value for every option that differs from its default and from the modes' own."""
APART = {"--catalog", "--out", "--field", "--json", "--help"}
"""Options that ask for files."""
NOT_OF_SUN = ("--colour", "--absorptance", "--irradiance")
REFUSED = {
    "fan": {"--draught", *NOT_OF_SUN},
    "draught": {
        "--fan", "--fans", "--fans-in-series", "--fan-position", "--back-pressure", *NOT_OF_SUN,
    },
    "closed": {
        "--fans", "--fans-in-series", "--fan-position", "--vents", "--outlet", "--outlets",
        "--guard", "--filter", "--back-pressure", *NOT_OF_SUN,
    },
}  # fmt: skip
RESULTS = (
    "outcome", "flow_m3_h", "inside_c", "inside_high_c", "margin_k", "drops_pa",
    "required_flow_m3_h", "air_density_kg_m3", "k_in", "half_clogged",
    "fewest_inlets", "smallest_vent", "greatest_heat_w",
)  # fmt: skip


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(air_module, "_draw", lambda *_, **__: [])
    path = tmp_path / "small.csv"
    path.write_text(ROWS, encoding="utf-8")
    return path


def asked(catalog: Path, *words: str, part: str = "V-50") -> tuple[int, dict[str, Any]]:
    result = runner.invoke(app, ["air", part, "-c", str(catalog), "--json", *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, answered(result.output)


def with_option(mode: str, option: str, value: str) -> list[str]:
    """Return the words of a mode with an option set, or set otherwise where the mode sets it."""
    words = dict(zip(MODES[mode][::2], MODES[mode][1::2], strict=True))
    return [word for pair in (words | {option: value}).items() for word in pair]


def test_every_option_is_looked_at() -> None:
    command = typer.main.get_command(app).commands["air"]  # type: ignore[attr-defined]
    names = {p.opts[0] for p in command.params if not getattr(p, "hidden", False)}
    assert names - APART == set(OTHERS) - {"PART"} | {"part"}


def test_every_word_on_the_sun_changes_the_answer(catalog: Path) -> None:
    plain = asked(catalog, *MODES["closed"], "--sunlit", "0.1")[1]
    for option in NOT_OF_SUN:
        found = asked(catalog, *MODES["closed"], "--sunlit", "0.1", option, OTHERS[option])[1]
        assert found["inside_c"] != plain["inside_c"], option


@pytest.mark.parametrize("mode", MODES)
def test_every_option_changes_the_answer_or_is_refused(mode: str, catalog: Path) -> None:
    _, plain = asked(catalog, *MODES[mode])
    assert "outcome" in plain
    refused = set()
    for option, value in OTHERS.items():
        if option == "PART":
            _, found = asked(catalog, *MODES[mode], part=value)
        else:
            _, found = asked(catalog, *with_option(mode, option, value))
        if "problems" in found:
            refused.add(option)
            continue
        changed = [key for key in RESULTS if found.get(key) != plain.get(key)]
        assert changed, (mode, option)
    assert refused == REFUSED[mode]


NUMBERS = tuple(
    option
    for option, value in OTHERS.items()
    if option != "PART" and value.replace(".", "").isdigit() and "." not in option
)


@pytest.mark.parametrize("value", ["inf", "nan", "1e300", "-1e300"])
def test_no_number_gets_by_that_is_none(value: str, catalog: Path) -> None:
    """One sentence for each option, no traceback, no answer."""
    for option in NUMBERS:
        mode = "draught" if option == "--draught" else "fan"
        words = with_option(mode, option, value)
        if option in NOT_OF_SUN:
            words += ["--sunlit", "0.1"]
        result = runner.invoke(app, ["air", "V-50", "-c", str(catalog), *words])
        assert result.exit_code == 2, (option, value, result.output)
        assert isinstance(result.exception, SystemExit)
        assert "Traceback" not in result.output


@pytest.mark.parametrize(
    ("mode", "words"),
    [
        ("fan", ("--outlet", "V-50", "--outlets", "3", "--guard", "3")),
        ("fan", ("--filter", "40", "--ambient", "30", "--sunlit", "0.05")),
        ("draught", ("--outlet", "V-80")),
    ],
)
def test_who_follows_the_advice_gets_what_it_said(
    mode: str, words: tuple[str, ...], catalog: Path
) -> None:
    """The same command with the number of vents, the part or the heat that is advised."""
    heat = {"fan": "150", "draught": "12"}[mode]
    base = dict(zip(MODES[mode][::2], MODES[mode][1::2], strict=True)) | {"--heat": heat}
    base |= dict(zip(words[::2], words[1::2], strict=True))
    plain = [w for pair in base.items() for w in pair]
    code, found = asked(catalog, *plain)
    assert code == 1
    count, part, watts = (
        found[name] for name in ("fewest_inlets", "smallest_vent", "greatest_heat_w")
    )
    if count is not None:
        assert count > 1
        assert asked(catalog, *plain, "--vents", str(count))[1]["holds"]
        assert not asked(catalog, *plain, "--vents", str(count - 1))[1]["holds"]
    if part is not None:
        assert asked(catalog, *plain, part=part)[1]["holds"]
    assert watts is not None
    for factor, held in ((1.0, True), (1.03, False)):
        further = [w for p in (base | {"--heat": f"{factor * watts:g}"}).items() for w in p]
        assert asked(catalog, *further)[1]["holds"] is held

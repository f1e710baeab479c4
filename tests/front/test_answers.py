"""Answers for machines: each names its schema, and whatever a command ends with is one of them."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.main import get_command
from typer.testing import CliRunner

from tests.helpers.answers import answered, printed_schema, refused
from vent_family.base.codes import CODES
from vent_family.front.answers import ANSWERS, schema_names, stamped
from vent_family.front.cli import check as check_module
from vent_family.front.cli.app import app

ROOT = Path(__file__).parents[2]
HEAD = "part_number,family,size,status,pitch_mm\n"
COMMANDS = {
    "check": [],
    "build": [],
    "publish": [],
    "show": ["A-1"],
    "print-check": ["A-1"],
    "cost": [],
    "water": ["A-1"],
    "air": ["A-1", "--heat", "40", "--limit", "60"],
    "update": [],
}
"""Every command that reads a catalogue, with what else it needs."""


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    path = tmp_path / "vents.csv"
    path.write_text(HEAD + "A-1,rectangular,60x60,draft,\nA-2,rectangular,60,draft,\n")
    return path


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, [*words, "--json"])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout


def objects(schema: Any) -> Iterator[dict[str, Any]]:
    """Yield every object schema with properties, wherever it stands."""
    if isinstance(schema, list):
        for part in schema:
            yield from objects(part)
    elif isinstance(schema, dict):
        if isinstance(schema.get("properties"), dict) and "type" in schema:
            yield schema
        for part in schema.values():
            yield from objects(part)


@pytest.mark.parametrize("name", schema_names())
def test_every_schema_is_valid_closed_and_says_who_it_is(name: str) -> None:
    schema = printed_schema(name)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"].startswith(f"vent-family/{name}-")
    found = list(objects(schema))
    assert found
    assert all(o["additionalProperties"] is False for o in found)


def test_every_command_that_answers_in_json_has_its_schema() -> None:
    commands = get_command(app).commands
    asked = {
        name
        for name, command in commands.items()
        if any("--json" in getattr(p, "opts", ()) for p in command.params)
    }
    assert len(asked) > 10
    # A schema is printed as it is, and an old name only ever refuses.
    assert asked - set(ANSWERS) == {"schema"}


def test_ids_tell_schemas_apart() -> None:
    ids = [printed_schema(name)["$id"] for name in schema_names()]
    assert len(set(ids)) == len(ids) > 10


def test_an_answer_that_drifts_from_its_schema_is_noticed() -> None:
    good = stamped("codes", {"codes": [{"code": "a.b", "meaning": "c"}]})
    answered(json.dumps(good))
    for bad in (
        good | {"more": 1},
        good | {"codes": [{"code": "a.b"}]},
        good | {"codes": [{"code": "a.b", "meaning": "c", "level": 2}]},
        good | {"schema_version": "2.0"},
    ):
        with pytest.raises((jsonschema.ValidationError, AssertionError)):
            answered(json.dumps(bad))


def test_check_answers_with_problems_and_without() -> None:
    code, text = run("check", "-c", str(ROOT / "catalog.csv"))
    assert (code, answered(text)["problems"]) == (0, [])


def test_a_bad_row_is_told_in_json_with_its_code(catalog: Path) -> None:
    code, text = run("check", "-c", str(catalog))
    (problem,) = answered(text)["problems"]
    assert (code, problem["code"], problem["row"]) == (1, "catalog.size.unread", 3)


def test_show_and_what_is_known_answer_in_json(catalog: Path) -> None:
    code, text = run("show", "A-1", "-c", str(catalog))
    assert code == 0
    assert answered(text)["facts"]["size"] == "60x60"
    listed = {c["code"]: c["meaning"] for c in answered(run("codes")[1])["codes"]}
    assert listed == CODES
    told = answered(run("columns")[1])
    assert told["own"]["prefix"] == "x_"
    assert "x_ and then small letters" in told["own"]["allowed_name"]
    assert [c["name"] for c in told["columns"] if c["required"]] == [
        "part_number", "family", "size", "status",
    ]  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS)
def test_a_catalogue_that_is_not_there_is_told_in_json(command: str, tmp_path: Path) -> None:
    code, text = run(command, *COMMANDS[command], "-c", str(tmp_path / "none.csv"))
    (problem,) = refused(text)
    assert (code, problem["code"], problem["file"]) == (2, "file.missing", "none.csv")


@pytest.mark.parametrize("command", ["show", "print-check", "cost", "water", "air"])
def test_a_part_that_is_not_there_is_told_in_json(command: str, catalog: Path) -> None:
    more = COMMANDS[command][1:]
    code, text = run(command, "A-9", *more, "-c", str(catalog))
    (problem,) = refused(text)
    assert (code, problem["code"], problem["value"]) == (2, "part.unknown", "A-9")


@pytest.mark.parametrize(
    "words",
    [
        ["nonsense"],
        ["check", "--nonsense"],
        ["build", "--jobs", "99"],
        ["build", "--publish-if", "ever"],
        ["show"],
        ["show", "A-1", "A-2"],
        ["air", "A-1", "--heat", "much", "--limit", "60"],
        ["air", "A-1", "--heat", "40", "--limit", "60", "--place", "intake"],
        ["--nonsense", "check"],
    ],
    ids=" ".join,
)
def test_wrong_words_are_told_in_json(words: list[str]) -> None:
    code, text = run(*words)
    (problem,) = refused(text)
    assert (code, problem["code"]) == (2, "command.usage")
    assert len(problem["message"]) > 10


def test_wrong_words_are_told_to_people_as_before() -> None:
    result = CliRunner().invoke(app, ["check", "--nonsense"])
    assert result.exit_code == 2
    assert "No such option" in result.output
    assert "{" not in result.output


def test_old_names_and_unknown_schemas_are_told_in_json() -> None:
    code, text = run("print", "A-1")
    assert (code, refused(text)[0]["code"]) == (2, "command.renamed")
    code, text = run("schema", "weather")
    (problem,) = refused(text)
    assert (code, problem["code"]) == (2, "schema.unknown")
    assert all(name in problem["allowed"] for name in ANSWERS)


def test_a_shop_table_that_cannot_be_read_is_told_in_json(catalog: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text("this is = not [toml")
    code, text = run("check", "-c", str(catalog), "--shop", str(own))
    assert (code, refused(text)[0]["code"]) == (2, "shop.file.syntax")


def test_an_interrupt_is_told_in_json(catalog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(check_module, "read", stopped)
    code, text = run("check", "-c", str(catalog))
    assert (code, refused(text)[0]["code"]) == (130, "command.interrupted")
    result = CliRunner().invoke(app, ["check", "-c", str(catalog)])
    assert result.exit_code == 130
    assert "interrupted" in result.stderr
    assert result.stdout == ""


@pytest.mark.skipif(os.name == "nt", reason="Windows sends a console event instead of a signal")
def test_ctrl_c_while_pricing_is_told_in_json(tmp_path: Path) -> None:
    path = tmp_path / "vents.csv"
    path.write_text(HEAD + "A-1,rectangular,60x60,draft,\n")
    code = (
        "import os, signal, sys\n"
        "from vent_family.front.cli import cost\n"
        "cost.side_by_side = lambda *_, **__: os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.argv = ['vent-family', 'cost', '-c', sys.argv[1], '--json']\n"
        "from vent_family.front.cli.app import main\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        capture_output=True,
        text=True,
        # A test run started in the background ignores SIGINT, and so would what it starts.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    assert done.returncode == 128 + signal.SIGINT, done.stderr
    assert refused(done.stdout)[0]["code"] == "command.interrupted"

"""``publish`` and ``verify`` as people and machines call them."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.base.lock import held_lock
from vent_family.front.cli.app import app

HEAD = "part_number,family,size,status,slat_form,material,exposure,description\n"
GOOD = "W-30,rectangular,30x30,released,folded,ASA,dry,plain words\n"
BAD = "W-31,rectangular,30x30,released,folded,ASA,nonsense,\n"


def run(*words: str | Path) -> Any:
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library of one part, beside a row with a fault; published once, never changed."""
    folder = tmp_path_factory.mktemp("publish")
    (folder / "catalog.csv").write_text(HEAD + GOOD + BAD, encoding="utf-8")
    words = ("publish", "-c", folder / "catalog.csv", "--out", folder / "out", "--why")
    result = run(*words)
    assert result.exit_code == 1, result.output
    assert "W-30: not in the library" in result.stdout
    assert "row 3, part W-31, column exposure" in result.stderr
    (folder / "told.txt").write_text(result.output, encoding="utf-8")
    return folder


@pytest.fixture
def library(first: Path, tmp_path: Path) -> Path:
    """A copy of it that a test may change."""
    shutil.copytree(first, tmp_path / "copy")
    return tmp_path / "copy"


def words_of(library: Path) -> tuple[str | Path, ...]:
    return ("publish", "-c", library / "catalog.csv", "--out", library / "out")


def test_a_run_without_news_says_so(library: Path) -> None:
    result = run(*words_of(library), "--why")
    assert result.exit_code == 1, "the row with the fault is told every time"
    assert "W-30: nothing changed" in result.stdout
    assert "stays: nothing changed; 1 of 1 rows as before" in result.stdout
    assert "row 3, part W-31" in result.stderr


def test_the_answers_follow_their_schemas(library: Path) -> None:
    told = answered(run(*words_of(library), "--json").stdout)
    assert [p["outcome"] for p in told["parts"]] == ["unchanged"]
    assert told["switched"] is False
    planned = answered(run(*words_of(library), "--dry-run", "--json").stdout)
    assert planned["planned"] == [{"part_number": "W-30", "reasons": []}]
    found = answered(run("verify", library / "out", "--json").stdout)
    assert found["findings"] == []
    assert found["files"] > 20


def test_dry_run_names_the_cell_that_changed_and_makes_nothing(library: Path) -> None:
    path = library / "catalog.csv"
    text = path.read_text(encoding="utf-8").replace("plain words", "other words")
    path.write_text(text, encoding="utf-8")
    before = (library / "out" / "library.json").read_bytes()
    result = run(*words_of(library), "--dry-run")
    assert "W-30: the row changed: description plain words -> other words" in result.stdout
    assert (library / "out" / "library.json").read_bytes() == before


def test_another_shop_is_a_reason(library: Path, tmp_path: Path) -> None:
    import vent_family.base.shop as shop_module

    text = (Path(shop_module.__file__).parent / "shop.toml").read_text(encoding="utf-8")
    own = tmp_path / "own.toml"
    own.write_text(text.replace("ASA = 19.0", "ASA = 38.0"), encoding="utf-8")
    result = run(*words_of(library), "--dry-run", "--shop", own)
    assert "W-30: the table of the shop changed" in result.stdout
    result = run(*words_of(library), "--dry-run", "--publish-if", "any")
    assert "W-30: the bar changed: publish if marginal -> any" in result.stdout


def test_a_library_in_use_is_told_and_left_alone(library: Path) -> None:
    with held_lock(library / "out" / ".vent-family" / "lock", beat_s=0.1):
        result = run(*words_of(library))
    assert result.exit_code == 3
    assert f"process {os.getpid()}" in result.stderr
    assert "Wait until it has ended" in result.stderr


def test_verify_names_what_is_wrong_and_ends_with_one(library: Path) -> None:
    assert run("verify", library / "out").exit_code == 0
    (record,) = (library / "out" / "parts").glob("*/*/W-30.json")
    record.write_bytes(record.read_bytes().replace(b"W-30", b"W-3O", 1))
    result = run("verify", library / "out")
    assert result.exit_code == 1
    assert "W-30.json: altered" in result.stdout
    assert run("verify", library / "nowhere").exit_code == 1


def test_build_never_writes_into_a_library(library: Path) -> None:
    result = run("build", "-c", library / "catalog.csv", "--out", library / "out")
    assert result.exit_code == 2
    assert "published library" in result.stderr


def test_a_folder_of_other_things_is_refused(library: Path, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("mine", encoding="utf-8")
    result = run("publish", "-c", library / "catalog.csv", "--out", tmp_path / "mine")
    assert result.exit_code == 2
    assert "not empty: letter.txt" in result.stderr


def test_the_schema_of_records_lies_in_the_generation(first: Path) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    out = first / "out"
    generation = json.loads((out / "library.json").read_text(encoding="utf-8"))["generation"]
    schema = json.loads((out / "generations" / generation / "part.schema.json").read_text("utf-8"))
    (record,) = (out / "parts").glob("*/*/W-30.json")
    found = json.loads(record.read_text(encoding="utf-8"))
    jsonschema.validate(found, schema)
    assert (found["identity"]["issue"], found["release"]["change"]) == (1, "new")

"""What the documents say is what the code does."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.helpers.following import advised_cells, text_of
from tests.helpers.rows import spec
from vent_family.catalog.reference import column_reference
from vent_family.evidence.water.report import CAUTION, NOT_PREDICTED
from vent_family.front.cli import common
from vent_family.release.jobs import build_time
from vent_family.release.part import release_part
from vent_family.release.record import record_type

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_ci_runs_the_test_command_of_the_readme() -> None:
    commands = re.findall(r"```sh\n(python3 -m venv .*)\n```", README)
    assert len(commands) == 2
    assert commands[1] in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_column_table_is_the_models() -> None:
    table = README.split("<!-- columns -->\n")[1].split("\n<!-- /columns -->")[0]
    assert table == column_reference().strip()


def test_exit_codes_are_those_of_the_commands() -> None:
    table = README.split("<!-- exit codes -->\n")[1].split("\n<!-- /exit codes -->")[0]
    rows = dict(re.findall(r"^\| (\d+) \| (.*) \|$", table, re.MULTILINE))
    assert rows == {str(code): meaning for code, meaning in common.EXIT_CODES.items()}
    named = {
        value
        for name, value in vars(common).items()
        if name.startswith("EXIT_") and isinstance(value, int)
    }
    assert named == set(common.EXIT_CODES)


def test_map_for_contributors_names_what_is_there() -> None:
    """Every folder of the package stands in the map, and every name in the map is there."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    block = re.search(r"```text\nvent_family/\n(.*?)```", text, re.S)
    assert block is not None
    package = ROOT / "vent_family"
    layer, folders, modules = package, set(), 0
    for line in block[1].splitlines():
        if line.startswith("     "):
            continue  # a description goes on
        names = [n.strip() for n in re.split(r" {2,}", line.strip())[0].split(",")]
        if line.startswith("  ") and line[2] != " ":
            layer = package / names[0].rstrip("/")
            folders.add(layer)
            names = []
        for name in names:
            path = layer / name.rstrip("/") if name.endswith("/") else layer / f"{name}.py"
            assert path.exists(), f"{path} stands in the map"
            folders.update({path} if path.is_dir() else set())
            modules += path.is_file()
    assert modules > 50
    there = {p.parent for p in package.rglob("*.py")} - {package}
    assert {p for p in there if p.parent.parent == package or p.parent == package} == folders


def test_pictures_exist() -> None:
    names = re.findall(r"\((docs/pictures/[^)]+)\)", README)
    assert len(names) >= 5
    for name in names:
        assert (ROOT / name).stat().st_size > 5_000, name


def test_worked_example_of_the_readme_says_what_the_program_says(tmp_path: Path) -> None:
    from typer.testing import CliRunner

    from vent_family.front.cli.app import app

    path = tmp_path / "catalog.csv"
    path.write_text(
        "part_number,family,size,status,slat_form,pitch_mm,slat_height_mm\n"
        + "\n" * 27
        + "HV-R070,rectangular,70x60,draft,flat,9.2,4.2\n",
        encoding="utf-8",
    )
    result = CliRunner().invoke(app, ["check", "-c", str(path)])
    shown = re.search(r"```text\n(catalog.csv, row 29.*)\n```", README)
    assert shown is not None
    assert shown[1] in " ".join(result.output.split())
    # Whoever does what it says is told of no further problem.
    names, *_, cells = path.read_text(encoding="utf-8").splitlines()
    row = dict(zip(names.split(","), cells.split(","), strict=True))
    advised = advised_cells(shown[1].split("). ")[1])
    assert advised
    path.write_text(text_of(row | advised), encoding="utf-8")
    followed = CliRunner().invoke(app, ["check", "-c", str(path)])
    assert followed.exit_code == 0
    assert "no problems" in followed.output


def test_python_example_of_the_readme_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    code = re.search(r"```python\n(.*?)```", README, re.S)
    assert code is not None
    monkeypatch.chdir(ROOT)
    names: dict[str, object] = {}
    exec(code[1], names)
    assert names["opening"].kind == "circle"  # type: ignore[attr-defined]
    assert names["vent"].val().BoundingBox().zmax > 2.0  # type: ignore[attr-defined]


def test_record_follows_its_published_schema(tmp_path: Path) -> None:
    resolved = spec("round", size="M20x1.5", slat_form="folded")
    release_part(
        resolved, tmp_path / "T1", row_hash="0" * 16, time_stamp=build_time(), publish_if="any"
    )
    data = json.loads((tmp_path / "T1" / "T1.json").read_text(encoding="utf-8"))
    jsonschema.validate(data, record_type().model_json_schema())
    assert data["schema_version"] == "1.0"
    assert set(data["files"]) == {p.name for p in (tmp_path / "T1").iterdir()}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data | {"mesh": {}}, record_type().model_json_schema())


def numbers(schema: dict[str, Any], place: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every property of a schema that holds numbers with decimals, with its place."""
    for name, definition in schema.get("$defs", {}).items():
        yield from numbers(definition, name)
    for name, found in schema.get("properties", {}).items():
        if name != "catalogue" and '"type": "number"' in json.dumps(found):
            yield f"{place}.{name}", found


def test_every_number_of_the_schema_has_a_unit_and_a_meaning() -> None:
    schema = record_type().model_json_schema()
    found = dict(numbers(schema))
    assert len(found) > 120
    bare = [
        place for place, said in found.items() if not ("unit" in said and "description" in said)
    ]
    assert bare == []
    assert found["GeometryRecord.sight_elevation_deg"]["unit"] == "deg"
    assert schema["$defs"]["ExposureReport"]["properties"]["passed_share"]["unit"] == "1"


def test_readme_says_what_the_water_check_does_not_predict() -> None:
    assert NOT_PREDICTED in " ".join(README.split())
    assert NOT_PREDICTED in CAUTION

"""What the documents say is what the code does."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import typer
from typer.testing import CliRunner

from tests.helpers.following import advised_cells, text_of
from tests.helpers.rows import spec
from vent_family.evidence.water.report import CAUTION, NOT_PREDICTED
from vent_family.front.cli.app import app
from vent_family.release.jobs import build_time
from vent_family.release.part import release_part
from vent_family.release.record import record_type

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]


def test_ci_runs_the_test_command_of_the_readme() -> None:
    commands = re.findall(r"```sh\n(python3 -m venv .*)\n```", README)
    assert len(commands) == 2
    assert README.count(commands[0]) == 1
    assert commands[1] in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


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
    for page in PAGES:
        for name in re.findall(r"!\[[^]]*\]\(([^)]+)\)", page.read_text(encoding="utf-8")):
            assert (page.parent / name).stat().st_size > 5_000, (page, name)


def test_links_lead_to_files() -> None:
    """Read in the repository, that is; on built pages anchors are followed, too."""
    seen = 0
    for page in PAGES:
        for where in re.findall(r"\]\(([^)#]+)[^)]*\)", page.read_text(encoding="utf-8")):
            seen += 1
            assert where.startswith("https://") or (page.parent / where).is_file(), (page, where)
    assert seen > 60


def block(page: str, begin: str) -> str:
    """Return the block of a page whose first line begins so."""
    text = (ROOT / page).read_text(encoding="utf-8")
    (found,) = re.findall(rf"```text\n({begin}[^`]*)\n```", text)
    return str(found)


def checked(path: Path) -> Any:
    return CliRunner().invoke(app, ["check", "-c", str(path)])


def test_worked_example_says_what_the_program_says(tmp_path: Path) -> None:
    path = tmp_path / "catalog.csv"
    path.write_text(
        "part_number,family,size,status,slat_form,pitch_mm,slat_height_mm\n"
        + "\n" * 27
        + "HV-R070,rectangular,70x60,draft,flat,9.2,4.2\n",
        encoding="utf-8",
    )
    shown = block("docs/paths/product.md", "catalog.csv, row 29")
    assert shown in " ".join(checked(path).output.split())
    # Whoever does what it says is told of no further problem.
    names, *_, cells = path.read_text(encoding="utf-8").splitlines()
    row = dict(zip(names.split(","), cells.split(","), strict=True))
    advised = advised_cells(shown.split("). ")[1])
    assert advised
    path.write_text(text_of(row | advised), encoding="utf-8")
    followed = checked(path)
    assert followed.exit_code == 0
    assert "no problems" in followed.output


def test_first_steps_of_a_design_end_as_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder is begun, the cell changed and what is said taken, as the page has it."""
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(app, ["init", "my-vents"]).exit_code == 0
    path = tmp_path / "my-vents" / "catalog.csv"
    text = path.read_text(encoding="utf-8")
    names = next(line for line in text.splitlines() if line.startswith("part_number")).split(",")
    row = next(line for line in text.splitlines() if line.startswith("START-R080"))
    # One cell is quoted; it stands before the pitch and holds one comma.
    place = names.index("pitch_mm") + 1
    for pitch, told in (
        ("14", block("docs/paths/design.md", "catalog.csv, row 9")),
        ("9", "no problems"),
        ("", "no problems"),
    ):
        cells = row.split(",")
        assert cells[place] == "7"
        cells[place] = pitch
        path.write_text(text.replace(row, ",".join(cells)), encoding="utf-8")
        assert told in " ".join(checked(path).output.split()), pitch
    monkeypatch.chdir(path.parent)
    assert CliRunner().invoke(app, ["show", "START-R080"]).exit_code == 0


@pytest.mark.parametrize("page", ["README.md", "docs/paths/mechanical.md"])
def test_python_of_the_documents_runs(
    page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = re.findall(r"```python\n(.*?)```", (ROOT / page).read_text(encoding="utf-8"), re.DOTALL)
    shutil.copy(ROOT / "catalog.csv", tmp_path)
    monkeypatch.chdir(tmp_path)
    names: dict[str, Any] = {}
    exec("\n".join(code), names)
    assert [child.name for child in names["held"].children] == ["wall", "HV_N32"]
    written = (tmp_path / "cabinet.step").read_text(encoding="ascii")
    for number in ("HV-N32", "HV-N32-gasket", "HV-N32-locknut"):
        assert f"'{number}'" in written
    if "whole" in names:
        assert [c.name for c in names["whole"].children] == ["body", "HV_N32", "HV_N32_2"]


def test_commands_of_the_documents_are_those_of_the_program() -> None:
    """Every command line in a block, and every option, is one that the program takes."""
    group: Any = typer.main.get_command(app)
    takes = {
        name: {option for p in command.params for option in (*p.opts, *p.secondary_opts)}
        for name, command in group.commands.items()
    }
    seen = 0
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        for lines in re.findall(r"```sh\n(.*?)```", text, re.DOTALL):
            for call in re.findall(r"^(?:\.venv/bin/)?vent-family (.*)$", lines, re.MULTILINE):
                name, *words = shlex.split(call, comments=True)
                seen += 1
                assert name in takes, (page, call)
                options = {word.split("=")[0] for word in words if word.startswith("-")}
                assert options <= takes[name], (page, call)
    assert seen > 12


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


def test_the_page_says_what_the_water_check_does_not_predict() -> None:
    page = (ROOT / "docs" / "guide" / "water.md").read_text(encoding="utf-8")
    assert NOT_PREDICTED in " ".join(page.split())
    assert NOT_PREDICTED in CAUTION

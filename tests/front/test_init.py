"""``init`` gives a folder from which everything goes on, and never overwrites a file."""

from __future__ import annotations

import json
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest
from typer.testing import CliRunner

from vent_family.base.rates import rates_of
from vent_family.catalog.model import FAMILIES, SLAT_FORMS
from vent_family.catalog.reader import read_catalog
from vent_family.catalog.starter import starter_files
from vent_family.evidence.air.drive import drive_of
from vent_family.front.cli.app import app
from vent_family.spec.resolved import ResolvedRows

ROOT = Path(__file__).parents[2]
NAMES = {"catalog.csv", "fan.csv", "shop.toml"}


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, [*words])
    return result.exit_code, result.output


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "my vents"
    code, said = run("init", str(made))
    assert code == 0
    assert "invented" in said
    return made


def test_what_is_written_passes_the_check_without_a_word(folder: Path) -> None:
    assert {path.name for path in folder.iterdir()} == NAMES
    words = ("--catalog", str(folder / "catalog.csv"), "--shop", str(folder / "shop.toml"))
    code, said = run("check", *words)
    assert code == 0, said
    assert "no problems" in said


def test_it_has_every_family_a_fan_of_its_own_and_a_column_of_ones_own(folder: Path) -> None:
    rows = ResolvedRows(read_catalog(folder / "catalog.csv"))
    vents = list(rows.specs())
    assert {vent.family for vent in vents} == set(FAMILIES.own)
    assert {vent.section.stack.form for vent in vents} < set(SLAT_FORMS.own)
    assert {vent.row.status for vent in vents} == {"released", "draft"}
    assert any(vent.attached.own for vent in vents)
    (blown,) = [vent for vent in vents if vent.row.fan]
    curve = drive_of(blown).fan
    assert curve is not None
    packaged = (files("vent_family") / "fans" / "tank-hall-92.csv").read_text(encoding="utf-8")
    assert (folder / "fan.csv").read_text(encoding="utf-8").endswith(packaged)


def test_the_shop_table_is_the_demo_one_and_says_that_its_rates_are_invented(folder: Path) -> None:
    text = (folder / "shop.toml").read_text(encoding="utf-8")
    assert "EVERY RATE IN IT IS INVENTED" in text.split("\n\n")[0]
    demo = (files("vent_family.base") / "shop.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text) == tomllib.loads(demo)
    assert rates_of(folder / "shop.toml").shop == rates_of(None).shop


@pytest.mark.parametrize("name", sorted(NAMES))
def test_nothing_is_overwritten_and_then_nothing_is_written(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text("mine", encoding="utf-8")
    code, said = run("init", str(tmp_path))
    assert code == 2
    assert f"{name}: the file is there already, so nothing was written" in said
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text(encoding="utf-8") == "mine"


def test_a_link_that_leads_nowhere_is_not_written_through(tmp_path: Path) -> None:
    (tmp_path / "catalog.csv").symlink_to(tmp_path / "elsewhere.csv")
    assert run("init", str(tmp_path))[0] == 2
    assert not (tmp_path / "elsewhere.csv").exists()


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    code, said = run("init", str(tmp_path / "file" / "vents"))
    assert code == 2
    assert "cannot be written" in said


def test_the_answer_lists_the_files(tmp_path: Path) -> None:
    code, said = run("init", str(tmp_path / "a"), "--json")
    assert code == 0
    assert {Path(path).name for path in json.loads(said)["files"]} == NAMES


def test_its_files_come_with_the_package() -> None:
    """An installed wheel holds what package-data lists."""
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = listed["tool"]["setuptools"]["package-data"]["vent_family"]
    package = ROOT / "vent_family"
    shipped = {path for pattern in patterns for path in package.glob(pattern)}
    for name in ("starter/catalog.csv", "fans/tank-hall-92.csv", "base/shop.toml"):
        assert package / name in shipped
    assert set(starter_files()) == NAMES

"""``difference``: what became of parts between two libraries, or a library and a catalogue."""

from __future__ import annotations

import json
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered, refused
from tests.release.releases import SOLID
from vent_family.catalog.reader import read_catalog
from vent_family.front.cli.app import app
from vent_family.release.entry import entry_of
from vent_family.spec.resolve import resolve

HEAD = "part_number,family,size,status,revision,description,panel_thickness_mm,exposure\n"
ROWS = (
    "A-60,rectangular,60x60,released,B,Feeder,2,rain\n",
    "A-40,rectangular,40x40,released,A,Pump,2,rain\n",
    "A-50,rectangular,50x50,released,A,,2,rain\n",
    "A-OLD,rectangular,30x30,retired,A,,2,rain\n",
)
runner = CliRunner()
Records = dict[str, dict[str, Any]]


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    path = tmp_path / "catalog.csv"
    path.write_text(HEAD + "".join(ROWS), encoding="utf-8")
    return path


def records(path: Path) -> Records:
    """Return records of a catalogue's released rows as publishing writes them, most left out."""
    found = {}
    for source in read_catalog(path).rows:
        if source.row.status != "released":
            continue
        entry = entry_of(resolve(source.row), source.row_hash, "2026-03-04")
        cells = {k: v for k, v in source.row.model_dump().items() if v is not None}
        found[source.row.part_number] = {
            "identity": {
                "part_number": entry.part_number,
                "revision": entry.revision,
                "issue": 1,
                "row_hash": source.row_hash,
            },
            "catalogue": cells,
            "material": {"name": entry.material},
            "air": {"flow_m3_h": 7.453, "resistance": 5.5},
            "water": {"outcome": "holds"},
            "release": {
                "change": "new",
                "before": "",
                "changes": [],
                "fit": entry.fit.text(),
                "design": entry.design.text(),
                "designed_volume_mm3": entry.designed_volume_mm3,
                "geometry": {"vent": SOLID.text()},
                "evidence": "0" * 16,
            },
        }
    return found


def library(folder: Path, held: Mapping[str, dict[str, Any]], content: str = "a" * 12) -> Path:
    """Write a library: an index, and one folder for each release, named by what it holds."""
    parts = []
    for number, record in held.items():
        identity = record["identity"]
        place = f"parts/{number}/{identity['revision']}.{identity['issue']}-{content}"
        (folder / place).mkdir(parents=True)
        (folder / place / f"{number}.json").write_text(json.dumps(record), encoding="utf-8")
        parts.append(
            {
                "part_number": number,
                "folder": place,
                "revision": identity["revision"],
                "issue": identity["issue"],
                "files": [f"{number}.json"],
            }
        )
    (folder / "library.json").write_text(json.dumps({"parts": parts}), encoding="utf-8")
    return folder


def compared(before: Path, now: Path) -> list[dict[str, Any]]:
    result = runner.invoke(app, ["difference", str(before), str(now), "--json"])
    report = answered(result.stdout)
    differs = report["differences"] or report["problems"]
    assert result.exit_code == (1 if differs else 0), result.output
    assert (report["before"], report["now"]) == (str(before), str(now))
    found: list[dict[str, Any]] = report["differences"]
    return found


def test_a_library_does_not_differ_from_itself_nor_from_its_catalogue(
    catalog: Path, tmp_path: Path
) -> None:
    one = library(tmp_path / "one", records(catalog))
    two = library(tmp_path / "two", records(catalog))
    assert compared(one, two) == []
    assert compared(one, catalog) == []
    assert compared(catalog, one) == []
    result = runner.invoke(app, ["difference", str(one), str(two)])
    assert (result.exit_code, result.output) == (
        0, "0 changed, 0 added, 0 retired; 3 parts now.\n",
    )  # fmt: skip


def changed_records(held: Records) -> Records:
    """Return records with a change of each kind, the lightest on the first part."""
    now = deepcopy(held)
    cells = now["A-60"]["catalogue"]
    cells["description"] = "Feeder, hall 2"
    now["A-60"]["identity"] |= {"row_hash": "f" * 16}
    now["A-40"]["identity"]["issue"] = 2
    now["A-40"]["release"] |= {"evidence": "1" * 16, "change": "evidence"}
    now["A-40"]["air"]["flow_m3_h"] = 6.9
    now["A-40"]["water"]["outcome"] = "fails"
    fit = now["A-50"]["release"]["fit"]
    assert "panel=2 mm" in fit
    now["A-50"]["identity"]["revision"] = "B"
    solid = replace(SOLID, faces=340, volume_mm3=14300.0)
    now["A-50"]["release"] |= {
        "fit": fit.replace("panel=2 mm", "panel=3 mm"),
        "geometry": {"vent": solid.text()},
        "change": "revision",
    }
    return now


def test_changes_come_by_their_weight(catalog: Path, tmp_path: Path) -> None:
    held = records(catalog)
    one = library(tmp_path / "one", held)
    two = library(tmp_path / "two", changed_records(held), "b" * 12)
    fit, figures, cells = compared(one, two)
    assert (fit["part_number"], fit["kind"]) == ("A-50", "changed")
    assert (fit["before"], fit["now"]) == ("A.1", "B.1")
    assert fit["fit"] == ["panel 3 mm, before 2 mm"]
    assert fit["geometry"] == [
        "vent: volume 14300 mm3, before 14249.9 mm3",
        "vent: number of faces 340, before 336",
    ]
    assert figures["part_number"] == "A-40"
    assert figures["worse"] == ["water: worst predicted outcome of all exposures of the row: fails,"
                                " before holds"]  # fmt: skip
    assert figures["figures"] == ["air: flow m3 h: 6.9, before 7.453"]
    assert figures["fit"] == figures["geometry"] == figures["notes"] == []
    assert cells["part_number"] == "A-60"
    assert cells["cells"] == ["description Feeder, hall 2, before Feeder"]


def test_a_cell_of_ones_own_is_named_and_blamed_on_no_file(catalog: Path, tmp_path: Path) -> None:
    text = catalog.read_text(encoding="utf-8").replace("exposure\n", "exposure,x_shelf\n")
    catalog.write_text(text.replace("Feeder,2,rain", "Feeder,2,rain,B-04"), encoding="utf-8")
    held = records(catalog)
    held["A-60"]["own"] = {"x_shelf": "B-03"}
    held["A-60"]["identity"]["row_hash"] = "f" * 16
    (found,) = compared(library(tmp_path / "one", held), catalog)
    assert found["cells"] == ["x_shelf B-04, before B-03"]
    assert found["notes"] == []


def test_people_are_told_in_the_same_order(catalog: Path, tmp_path: Path) -> None:
    held = records(catalog)
    one = library(tmp_path / "one", held)
    two = library(tmp_path / "two", changed_records(held), "b" * 12)
    result = runner.invoke(app, ["difference", str(one), str(two)])
    assert result.exit_code == 1
    lines = result.output.splitlines()
    assert lines[0] == "changed A-50 A.1 -> B.1"
    assert lines[1] == "    fit: panel 3 mm, before 2 mm"
    assert lines[-1] == "3 changed, 0 added, 0 retired; 3 parts now."
    worse = next(i for i, line in enumerate(lines) if "got worse" in line)
    assert lines[worse - 1] == "changed A-40 A.1 -> A.2"


def test_figures_beyond_a_few_are_counted_unless_all_are_asked_for(
    catalog: Path, tmp_path: Path
) -> None:
    held = records(catalog)
    held["A-60"]["air"] |= {f"number_{k}": k for k in range(20)}
    now = deepcopy(held)
    now["A-60"]["air"] |= {f"number_{k}": k + 1 for k in range(20)}
    now["A-60"]["release"]["evidence"] = "2" * 16
    one, two = library(tmp_path / "one", held), library(tmp_path / "two", now)
    short = runner.invoke(app, ["difference", str(one), str(two)]).output
    assert short.count("    figure: ") == 8
    assert "and 12 figures more: --all lists them" in short
    whole = runner.invoke(app, ["difference", str(one), str(two), "--all"]).output
    assert whole.count("    figure: ") == 20


def test_new_and_retired_parts_are_told(catalog: Path, tmp_path: Path) -> None:
    held = records(catalog)
    one = library(tmp_path / "one", {k: v for k, v in held.items() if k != "A-50"})
    two = library(tmp_path / "two", {k: v for k, v in held.items() if k != "A-60"})
    told = [(d["kind"], d["part_number"], d["before"], d["now"]) for d in compared(one, two)]
    assert told == [("added", "A-50", "", "A.1"), ("retired", "A-60", "B.1", "")]
    catalog.write_text(catalog.read_text().replace("40x40,released", "40x40,draft"))
    told = [(d["kind"], d["part_number"], d["before"], d["now"]) for d in compared(one, catalog)]
    assert told == [("added", "A-50", "", "A"), ("retired", "A-40", "A.1", "")]


def test_a_row_that_changed_is_told_with_its_cells(catalog: Path, tmp_path: Path) -> None:
    one = library(tmp_path / "one", records(catalog))
    text = catalog.read_text(encoding="utf-8")
    text = text.replace("A,Pump,2,rain", "A,Pump,3,rain/splashing")
    catalog.write_text(text.replace("B,Feeder", "C,Feeder"), encoding="utf-8")
    pump, feeder = compared(one, catalog)
    assert pump["fit"] == ["panel 3 mm, before 2 mm"]
    assert pump["notes"] == ["revision A means two geometries"]
    assert pump["cells"] == [
        "panel_thickness_mm 3.0, before 2.0",
        "exposure rain/splashing, before rain",
    ]
    assert (feeder["before"], feeder["now"]) == ("B.1", "C")
    assert feeder["cells"] == ["revision C, before B"]


def test_only_bytes_is_said(catalog: Path, tmp_path: Path) -> None:
    held = records(catalog)
    one, two = library(tmp_path / "one", held), library(tmp_path / "two", held, "b" * 12)
    assert {tuple(d["notes"]) for d in compared(one, two)} == {
        ("only bytes of its files changed",),
    }


def test_layout_is_no_geometry_where_both_were_built(catalog: Path, tmp_path: Path) -> None:
    held = records(catalog)
    now = deepcopy(held)
    now["A-60"]["release"]["designed_volume_mm3"] *= 1.01
    one, two = library(tmp_path / "one", held), library(tmp_path / "two", now)
    assert compared(one, two) == []


def test_a_row_that_breaks_a_rule_is_told_beside(catalog: Path, tmp_path: Path) -> None:
    one = library(tmp_path / "one", records(catalog))
    catalog.write_text(catalog.read_text().replace("60x60", "6x60"))
    result = runner.invoke(app, ["difference", str(one), str(catalog), "--json"])
    report = answered(result.stdout)
    assert result.exit_code == 1
    assert [p["part_number"] for p in report["problems"]] == ["A-60"]


@pytest.mark.parametrize(
    ("change", "code", "message"),
    [
        (lambda lib: (lib / "library.json").unlink(), "library.index.missing", "no library"),
        (lambda lib: (lib / "library.json").write_text("{"), "library.index.unread", "no JSON"),
        (lambda lib: (lib / "library.json").write_text("[]"), "library.index.unread", "index"),
        (
            lambda lib: (lib / "library.json").write_text('{"parts": [{"part_number": "A"}]}'),
            "library.index.unread",
            "is missing",
        ),
        (lambda lib: _first(lib).unlink(), "library.record.unread", "cannot be read"),
        (lambda lib: _first(lib).write_text("{}"), "library.record.unread", "'identity'"),
        (
            lambda lib: _first(lib).write_text(_first(lib).read_text().replace('"A-60"', '"A-6"')),
            "library.record.unread",
            "another part",
        ),
        (
            lambda lib: _first(lib).write_text(
                json.dumps(json.loads(_first(lib).read_text()) | {"release": None})
            ),
            "library.record.unread",
            "none of a release",
        ),
    ],
)
def test_a_library_that_cannot_be_read_is_told(
    catalog: Path, tmp_path: Path, change: Any, code: str, message: str
) -> None:
    one = library(tmp_path / "one", records(catalog))
    change(one)
    result = runner.invoke(app, ["difference", str(one), str(catalog), "--json"])
    (problem,) = refused(result.stdout)
    assert (result.exit_code, problem["code"]) == (2, code)
    assert message in problem["message"]


def _first(folder: Path) -> Path:
    (path,) = folder.glob("parts/A-60/*/A-60.json")
    return path


@pytest.mark.parametrize("place", ["../elsewhere", "/etc", "parts/../../x"])
def test_no_folder_of_an_index_leads_out_of_the_library(
    catalog: Path, tmp_path: Path, place: str
) -> None:
    one = library(tmp_path / "one", records(catalog))
    index = json.loads((one / "library.json").read_text())
    index["parts"][0]["folder"] = place
    (one / "library.json").write_text(json.dumps(index))
    result = runner.invoke(app, ["difference", str(one), str(catalog), "--json"])
    (problem,) = refused(result.stdout)
    assert problem["code"] == "library.index.unread"
    assert "leads out of the library" in problem["message"]

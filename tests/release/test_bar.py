"""Release follows the prediction: what is not written, what marks files that stay."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from vent_family.front.cli.app import app
from vent_family.release.bar import DO_NOT_FIT, clears

HEAD = "part_number,family,size,status,slat_form,exposure\n"
FLOOD = "strong_jets"
"""100 L/min on an opening of 30 x 30 mm: more than any drain of that width can pass."""


def run(*words: str) -> Any:
    return CliRunner().invoke(app, list(words))


def catalogue(folder: Path, exposure: str, status: str = "released") -> Path:
    path = folder / "bar.csv"
    path.write_text(f"{HEAD}B-30,rectangular,30x30,{status},folded,{exposure}\n", encoding="utf-8")
    return path


def built(folder: Path, exposure: str, *words: str, status: str = "released") -> Any:
    path = catalogue(folder, exposure, status)
    return run("build", "-c", str(path), "--out", str(folder / "out"), "-j1", *words)


def files(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in (folder / "out" / "B-30").iterdir()}


def test_a_part_predicted_to_fail_is_not_written_and_its_last_files_are_marked(
    tmp_path: Path,
) -> None:
    assert built(tmp_path, "dry").exit_code == 0
    before = files(tmp_path)
    assert json.loads(before["B-30.json"])["standing"] == "current"

    result = built(tmp_path, FLOOD)
    assert result.exit_code == 1
    # The first line of the summary, before the table.
    first = next(line for line in result.stdout.splitlines() if line.strip())
    assert first.startswith("B-30")
    assert DO_NOT_FIT in first
    assert "column exposure" in result.stderr
    assert FLOOD in result.stderr
    after = files(tmp_path)
    changed = {name for name in after if after[name] != before.get(name)}
    assert changed == {"B-30.json", "B-30-print.md"}
    assert set(after) == set(before)
    record = json.loads(after["B-30.json"])
    assert record.pop("standing").startswith(DO_NOT_FIT)
    assert record == {k: v for k, v in json.loads(before["B-30.json"]).items() if k != "standing"}
    assert after["B-30-print.md"].decode().splitlines()[0].lower().startswith(f"**{DO_NOT_FIT}")

    # A second night adds nothing; the row mended, the mark is gone.
    assert built(tmp_path, FLOOD).exit_code == 1
    assert files(tmp_path) == after
    assert built(tmp_path, "dry").exit_code == 0
    assert json.loads(files(tmp_path)["B-30.json"])["standing"] == "current"


def test_nothing_appears_for_a_new_part_below_the_bar(tmp_path: Path) -> None:
    result = built(tmp_path, FLOOD, "--json")
    assert result.exit_code == 1
    (part,) = json.loads(result.stdout)["parts"]
    assert part["outcome"] == "below bar"
    assert part["water_predicted"] == "fails"
    assert part["folder"] == ""
    assert part["files"] == []
    assert not (tmp_path / "out" / "B-30").exists()


def test_any_writes_and_tells(tmp_path: Path) -> None:
    result = built(tmp_path, FLOOD, "--publish-if", "any")
    assert result.exit_code == 0
    assert f"predicted to fail {FLOOD}" in result.stdout
    assert json.loads(files(tmp_path)["B-30.json"])["standing"] == "current"


def test_drafts_are_told_not_refused(tmp_path: Path) -> None:
    result = built(tmp_path, FLOOD, status="draft")
    assert result.exit_code == 0
    assert f"predicted to fail {FLOOD}" in result.stdout
    # With files, too.
    result = built(tmp_path, FLOOD, "--drafts", status="draft")
    assert result.exit_code == 0
    assert f"predicted to fail {FLOOD}" in result.stdout
    assert (tmp_path / "out" / "_drafts" / "B-30" / "B-30.step").is_file()


@pytest.mark.parametrize(
    ("exposure", "status", "bar", "code"),
    [
        (FLOOD, "released", "marginal", 1),
        (FLOOD, "released", "any", 0),
        (FLOOD, "draft", "holds", 0),
        ("dry", "released", "holds", 0),
    ],
)
def test_check_judges_water_as_build_does(
    tmp_path: Path, exposure: str, status: str, bar: str, code: int
) -> None:
    path = str(catalogue(tmp_path, exposure, status))
    judged = run("check", "-c", path, "--water", "--publish-if", bar)
    assert judged.exit_code == code, judged.output
    assert "not judged" not in judged.output
    plain = run("check", "-c", path)
    assert plain.exit_code == 0
    assert plain.output.rstrip().endswith("Water was not judged: check --water does.")
    assert built(tmp_path, exposure, "--publish-if", bar, status=status).exit_code == code


@pytest.mark.parametrize(
    ("outcome", "admitted"),
    [
        ("holds", {"holds", "marginal", "any"}),
        ("marginal", {"marginal", "any"}),
        ("fails", {"any"}),
        ("not checked", {"holds", "marginal", "any"}),
    ],
)
def test_each_bar_admits(outcome: str, admitted: set[str]) -> None:
    bars = ("holds", "marginal", "any")
    assert {bar for bar in bars if clears(outcome, bar)} == admitted

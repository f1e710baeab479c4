"""What a spreadsheet, an environment or an output may bring: one sentence, never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from typer.testing import CliRunner

from vent_family.base.atomic import staged_folder
from vent_family.base.problems import InputError
from vent_family.catalog.parse.cells import parse_exposures
from vent_family.front.cli.app import app
from vent_family.release.jobs import build_time
from vent_family.release.report import escaped

ROW = "part_number,family,size,status,description,exposure\nV-1,rectangular,60x60,draft,{},{}\n"


def catalogue(folder: Path, description: str, exposure: str = "rain") -> Path:
    path = folder / "vents.csv"
    path.write_text(ROW.format(description, exposure), encoding="utf-8")
    return path


@pytest.mark.parametrize("words", ["Pump [/nope] house", "[bold]loud[/bold]", "a [link=x]b"])
def test_show_prints_descriptions_as_they_are(tmp_path: Path, words: str) -> None:
    result = CliRunner().invoke(app, ["show", "V-1", "-c", str(catalogue(tmp_path, words))])
    assert result.exit_code == 0, result.output
    assert words in result.output


@pytest.mark.parametrize(
    "words",
    ["Pump <script>alert(1)</script>", "a *b* _c_ `d` ~~e~~", "[x](y) ![z](w) & | # <a@b.org>"],
)
def test_reports_show_descriptions_as_they_are(words: str) -> None:
    """A library's Markdown, raw HTML let through, reads the escaped words back as plain text."""
    parser = MarkdownIt("gfm-like", {"linkify": False})
    (_, inline, _) = parser.parse(escaped(words))
    kinds = {token.type for token in inline.children or ()}
    assert kinds <= {"text", "text_special"}
    assert "".join(token.content for token in inline.children or ()) == words


@pytest.mark.parametrize("epoch", ["99999999999999", "9" * 5000, "soon", "-5", "1.5", "٣"])
def test_a_time_stamp_that_is_none_is_refused(monkeypatch: pytest.MonkeyPatch, epoch: str) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    with pytest.raises(InputError, match="variable SOURCE_DATE_EPOCH: this is no time stamp"):
        build_time()


def test_a_time_stamp_counts_from_1970(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    assert build_time().isoformat() == "1970-01-02T00:00:00+00:00"


def test_an_option_is_not_blamed_on_a_row(tmp_path: Path) -> None:
    path = catalogue(tmp_path, "Pump")
    result = CliRunner().invoke(app, ["water", "V-1", "-c", str(path), "--exposure", "wet"])
    assert result.exit_code == 1
    assert result.stderr.startswith("option exposure: unknown exposure 'wet'")
    assert "row" not in result.stderr.split("Allowed")[0]


@pytest.mark.parametrize(
    ("cell", "meant"),
    [
        ("rain/splashin", "rain/splashing"),
        ("heavy rain + jetz", "heavy_rain/jets"),
        ("rian", "rain"),
    ],
)
def test_advice_on_an_exposure_keeps_the_others(cell: str, meant: str) -> None:
    fault = parse_exposures(cell)
    assert not isinstance(fault, str)
    assert fault.suggestion == f"write {meant} if that was meant"
    assert parse_exposures(meant) == meant


@pytest.mark.parametrize("size", ["hello", "80", ""])
def test_no_size_is_invented(tmp_path: Path, size: str) -> None:
    text = f"part_number,family,size,status\nV-1,rectangular,{size},draft\n"
    (tmp_path / "vents.csv").write_text(text, encoding="utf-8")
    result = CliRunner().invoke(app, ["check", "-c", str(tmp_path / "vents.csv")])
    assert result.exit_code == 1
    assert "rite it as" not in result.stderr


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full on this system")
@pytest.mark.parametrize("words", [["columns"], ["schema"], ["--help"], ["--version"]])
def test_an_output_that_is_full_is_told_in_one_sentence(words: list[str]) -> None:
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "vent_family.front.cli.app", *words],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 1
    assert done.stderr == "the output cannot be written: No space left on device\n"


def test_a_reader_that_has_enough_is_no_fault() -> None:
    done = subprocess.run(
        f"{sys.executable} -m vent_family.front.cli.app columns | head -n 1",
        shell=True,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr == ""
    assert done.stdout.startswith("|")


def test_what_stands_under_the_name_of_an_old_version_goes(tmp_path: Path) -> None:
    target = tmp_path / "part"
    target.mkdir()
    (tmp_path / ".previous-part").write_text("no folder")
    (tmp_path / ".staging-part").write_text("no folder")
    with staged_folder(target) as staging:
        (staging / "a.txt").write_text("new")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["part"]
    assert (target / "a.txt").read_text() == "new"

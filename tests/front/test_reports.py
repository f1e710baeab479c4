"""Reports of a run as the command line writes them: files, and a line of JSON for each row."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered
from vent_family.front.cli.app import app

HEAD = "part_number,family,size,status,pitch_mm\n"
ROWS = HEAD + "A-BAD,flanged,60x60,released,40\nA-OLD,round,M20x1.5,retired,\nA-X,round,9,draft,\n"
"""A row that breaks a rule, one that is left out, one that cannot be read: nothing is built."""


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    path = tmp_path / "vents.csv"
    path.write_text(ROWS)
    return path


def build(catalog: Path, *words: str) -> tuple[int, str]:
    out = catalog.parent / "out"
    command = ["build", "-c", str(catalog), "--out", str(out), "-j1", *words]
    result = CliRunner().invoke(app, command)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout


def test_all_reports_are_written_and_agree(catalog: Path, tmp_path: Path) -> None:
    places = {o: tmp_path / "reports" / o for o in ("junit", "summary", "log", "report")}
    words = [w for option, path in places.items() for w in (f"--{option}", str(path))]
    code, text = build(catalog, "--json", *words)
    assert code == 1
    report = places["report"].read_text(encoding="utf-8")
    assert answered(report) == answered(text)
    assert [p["outcome"] for p in answered(report)["parts"]][:1] == ["failed"]
    cases = {c.get("name"): c for c in ET.parse(places["junit"]).getroot().iter("testcase")}
    assert cases["A-BAD"].find("failure") is not None
    assert cases["A-X"].find("failure") is not None
    mail = places["summary"].read_text(encoding="utf-8")
    assert mail.startswith("Subject: vent-family build vents.csv: 2 of ")
    log = places["log"].read_text(encoding="utf-8")
    for problem in (*answered(report)["problems"], *answered(report)["parts"][0]["problems"]):
        assert problem["message"] in log
        assert problem["code"] in places["junit"].read_text(encoding="utf-8")


def broken_off(places: dict[str, Path], code: str, *words: str) -> None:
    """Require that reports tell of a run that came to nothing: one failed case that says why."""
    (suite,) = ET.parse(places["junit"]).getroot()
    (case,) = suite.iter("testcase")
    (failure,) = case
    assert (suite.get("tests"), suite.get("failures")) == ("1", "1")
    assert (failure.tag, failure.get("type")) == ("failure", code)
    (problem,) = answered(places["report"].read_text(encoding="utf-8"))["problems"]
    assert problem["code"] == code
    mail, log = (" ".join(places[n].read_text("utf-8").split()) for n in ("summary", "log"))
    for word in words:
        assert word in (failure.text or "")
        assert word in mail
        assert word in log
    assert "last night" not in mail + log


def yesterday(folder: Path) -> tuple[dict[str, Path], list[str]]:
    """Return where reports of last night lie, and the options that name them."""
    places = {o: folder / f"{o}.txt" for o in ("junit", "summary", "log", "report")}
    for path in places.values():
        path.write_text("last night")
    return places, [w for option, path in places.items() for w in (f"--{option}", str(path))]


def test_an_interrupted_run_is_told_in_place_of_last_nights(
    catalog: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Or last night's would be taken for tonight's."""
    places, words = yesterday(tmp_path)

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("vent_family.front.cli.build.run_jobs", stopped)
    assert build(catalog, *words)[0] == 130
    broken_off(places, "command.interrupted", "interrupted: finished parts were kept")
    assert "Subject: vent-family build vents.csv: the run was interrupted\n" in places[
        "summary"
    ].read_text("utf-8")


def test_a_run_that_is_refused_says_why_in_its_reports(catalog: Path, tmp_path: Path) -> None:
    places, words = yesterday(tmp_path)
    catalog.unlink()
    for command in ("build", "publish"):
        for path in places.values():
            path.write_text("last night")
        line = [command, "-c", str(catalog), "--out", str(tmp_path / "out"), *words]
        assert CliRunner().invoke(app, line).exit_code == 2
        broken_off(places, "file.missing", "vents.csv")
        mail = places["summary"].read_text("utf-8")
        assert mail.startswith(f"Subject: vent-family {command} vents.csv: the run was refused\n")
        assert not (tmp_path / "out").exists()


def test_a_plan_writes_no_reports(catalog: Path, tmp_path: Path) -> None:
    places, words = yesterday(tmp_path)
    line = ["publish", "-c", str(catalog), "--out", str(tmp_path / "out"), "--dry-run", *words]
    assert CliRunner().invoke(app, line).exit_code == 1
    assert {path.read_text() for path in places.values()} == {"last night"}


def test_a_request_to_end_is_told_in_the_reports(catalog: Path, tmp_path: Path) -> None:
    """A timer that gives up sends one; the publisher ends, its reports say so."""
    places, words = yesterday(tmp_path)
    code = (
        "import os, signal, sys, time\n"
        "from vent_family.release.publish import publish\n"
        "def slow(order, told):\n"
        "    os.kill(os.getpid(), signal.SIGTERM)\n"
        "    time.sleep(60.0)\n"
        "publish.publish_catalog = slow\n"
        "from vent_family.front.cli.app import main\n"
        f"sys.argv = ['vent-family', 'publish', '-c', {str(catalog)!r},\n"
        f"            '--out', {str(tmp_path / 'out')!r}, *{words!r}]\n"
        "main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True)
    assert done.returncode == 130
    broken_off(places, "command.interrupted", "interrupted", "the library is whole")


def test_a_report_that_cannot_be_written_is_told_before_the_work(
    catalog: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def begun(*_: object, **__: object) -> None:
        raise AssertionError("the work began")

    monkeypatch.setattr("vent_family.front.cli.build.run_jobs", begun)
    code, text = build(catalog, "--json", "--junit", str(catalog / "junit.xml"))
    assert code == 2
    assert answered(text)["problems"][0]["code"] == "file.unwritable"


def test_json_lines_are_one_answer_a_line(catalog: Path) -> None:
    code, text = build(catalog, "--json-lines")
    assert code == 1
    lines = text.splitlines()
    names = [json.loads(line)["schema"] for line in lines]
    assert names == ["vent-family/row-1.0.schema.json", "vent-family/build-1.0.schema.json"]
    row, whole = map(answered, lines)
    assert row["part_number"] == "A-BAD"
    assert row in whole["parts"]


def test_refusals_are_one_line_too(catalog: Path) -> None:
    for words in (["--jobs", "99"], ["-c", "none.csv"]):
        code, text = build(catalog, "--json-lines", *words)
        assert code == 2
        (line,) = text.splitlines()
        assert answered(line)["problems"]


def test_a_line_comes_when_its_row_is_done(catalog: Path, tmp_path: Path) -> None:
    """The second row is held back until the first one's line has been read."""
    go = tmp_path / "go"
    code = (
        "import pathlib, sys, time\n"
        "from vent_family.front.cli import build\n"
        "from vent_family.release.jobs import RowOutcome\n"
        "def jobs(work, workers, on_done):\n"
        "    rows = [RowOutcome(n, i, 'released', 'written') for i, n in enumerate('AB', 2)]\n"
        "    on_done(rows[0])\n"
        "    for _ in range(1500):\n"
        f"        if pathlib.Path({str(go)!r}).exists(): break\n"
        "        time.sleep(0.02)\n"
        "    else: raise SystemExit('nobody read the first line')\n"
        "    on_done(rows[1])\n"
        "    return rows\n"
        "build.run_jobs = jobs\n"
        "from vent_family.front.cli.app import main\n"
        f"sys.argv = ['vent-family', 'build', '-c', {str(catalog)!r}, '--json-lines',\n"
        f"            '--out', {str(tmp_path / 'out')!r}]\n"
        "main()\n"
    )
    plain = {k: v for k, v in os.environ.items() if k != "PYTHONUNBUFFERED"}
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, encoding="utf-8", env=plain
    ) as running:
        assert running.stdout is not None
        first = running.stdout.readline()
        assert answered(first)["part_number"] == "A"
        assert running.poll() is None
        go.touch()
        rest = running.stdout.read().splitlines()
    assert answered(rest[0])["part_number"] == "B"
    assert len(rest) == 2

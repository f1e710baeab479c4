"""The command line as a product manager and a nightly build use it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.helpers.answers import answered
from tests.helpers.rows import row
from vent_family.base.rates import Rates, demo_rates
from vent_family.catalog.attached import Attached
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import SourcedRow
from vent_family.front.cli.app import app
from vent_family.release import costs
from vent_family.release import jobs as jobs_module
from vent_family.release.jobs import Job, RowOutcome, build_row, build_time
from vent_family.release.pool import run_jobs
from vent_family.spec import resolved
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

HEAD = "part_number,family,size,status,slat_form,pitch_mm,slat_height_mm,step_thread,exposure\n"
SMALL = HEAD + (
    "A-30,rectangular,30x30,released,folded,,,,dry\n"
    "A-BAD,rectangular,60x60,released,flat,9.2,4.2,,dry\n"
    "A-N20,round,M20x1.5,released,folded,,,plain,dry\n"
    "A-DRAFT,rectangular,40x30,draft,folded,,,,dry\n"
    "A-OLD,rectangular,40x40,retired,,,,,dry\n"
)
ROOT = Path(__file__).parents[2]
FAN = ROOT / "vent_family" / "fans" / "tank-hall-92.csv"
runner = CliRunner()


def run(*words: str) -> object:
    return runner.invoke(app, list(words))


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    path = tmp_path / "small.csv"
    path.write_text(SMALL, encoding="utf-8")
    return path


def test_demo_catalogue_has_no_problems() -> None:
    result = run("check")
    assert result.exit_code == 0, result.output
    assert "no problems" in result.output


def test_check_lists_problems_with_row_and_advice(catalog: Path) -> None:
    result = run("check", "-c", str(catalog))
    assert result.exit_code == 1
    assert "small.csv, row 3, part A-BAD, column pitch_mm" in result.output
    assert "set slat_height_mm to 6.4" in result.output.lower()


HEAVY = ("pandas", "cadquery", "OCP", "matplotlib", "trimesh", "numba", "vtkmodules", "ocp_vscode")
"""Packages that take a fifth of a second and more to load."""
LIGHT = {
    "package": "import vent_family",
    "check": "run('check')",
    "show": "run('show', 'HV-N32')",
    "help of build": "run('build', '--help')",
    "help of publish": "run('publish', '--help')",
    "columns": "run('columns')",
    "resolving": "from pathlib import Path; from vent_family.catalog.reader import read_catalog;"
    "from vent_family.spec.resolved import ResolvedRows;"
    "assert len(list(ResolvedRows(read_catalog(Path('catalog.csv'))).specs())) > 20",
}


COMPILES = {"check", "show", "resolving"}
"""What looks for straight lines: the compiler of that search takes less time than it saves."""


@pytest.mark.parametrize("name", LIGHT)
def test_what_must_answer_at_once_loads_nothing_heavy(name: str) -> None:
    """Validation must start fast, so it must not load kernel, tables or plots."""
    code = LIGHT[name]
    heavy = set(HEAVY) - ({"numba"} if name in COMPILES else set())
    start = (
        "import sys\n"
        "def run(*words):\n"
        "    from typer.testing import CliRunner\n"
        "    from vent_family.front.cli.app import app\n"
        "    result = CliRunner().invoke(app, list(words))\n"
        "    assert result.exit_code == 0, result.output\n"
    )
    end = f"\nfound = sorted({heavy} & set(sys.modules)); assert not found, found"
    done = subprocess.run(
        [sys.executable, "-c", start + code + end], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("command", ["print-check", "cost", "water", "air", "build"])
def test_evidence_is_computed_without_pandas(catalog: Path, tmp_path: Path, command: str) -> None:
    words = {
        "print-check": ["print-check", "A-30"],
        "cost": ["cost", "--only", "A-30"],
        "water": ["water", "A-30", "-e", "dripping"],
        "air": ["air", "A-30", "--fan", str(FAN), "--heat", "9", "--limit", "60"],
        "build": ["build", "--only", "A-DRAFT", "-j1"],
    }[command]
    if command in ("air", "build"):
        words += ["--out", str(tmp_path / "out")]
    code = (
        "import sys; from typer.testing import CliRunner;"
        "from vent_family.front.cli.app import app;"
        f"result = CliRunner().invoke(app, {[*words, '-c', str(catalog)]});"
        "assert 'Traceback' not in result.output, result.output;"
        "assert result.exit_code < 2, result.output;"
        "assert 'pandas' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_build_writes_good_rows_and_reports_the_bad_one(catalog: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = run("build", "-c", str(catalog), "--out", str(out), "--jobs", "1", "--json")
    assert result.exit_code == 1
    report = answered(result.output)
    outcomes = {p["part_number"]: p["outcome"] for p in report["parts"]}
    assert outcomes == {
        "A-30": "written",
        "A-BAD": "failed",
        "A-N20": "written",
        "A-DRAFT": "checked",
        "A-OLD": "skipped",
    }
    assert sorted(p.name for p in out.iterdir()) == ["A-30", "A-N20"]
    names = {p.name for p in (out / "A-N20").iterdir()}
    assert names == {
        "A-N20.step",
        "A-N20.stl",
        "A-N20.json",
        "A-N20-locknut.step",
        "A-N20-locknut.stl",
        "A-N20-gasket.step",
        "A-N20-gasket.stl",
        "A-N20-assembly.step",
        "A-N20-envelope.step",
        "A-N20.3mf",
        "A-N20-locknut.3mf",
        "A-N20-opening.dxf",
        "A-N20-print.md",
        "A-N20-print.png",
        "A-N20-cost.png",
        "A-N20-cost.svg",
        *(
            f"A-N20-water-{picture}.{kind}"
            for picture in ("sight", "penetration")
            for kind in ("svg", "png")
        ),
    }


@pytest.mark.parametrize(
    "words",
    [
        ["check", "--water"],
        ["show", "A-30"],
        ["print-check", "A-30"],
        ["cost", "-j1", "--only", "A-30"],
        ["water", "A-30", "-e", "dripping"],
        ["air", "A-30", "--outlet", "A-N20", "--heat", "9", "--limit", "60", "--draught", "1"],
        ["build", "-j1", "--only", "A-30"],
    ],
    ids=lambda words: words[0],
)
def test_every_row_is_resolved_at_most_once(
    catalog: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str]
) -> None:
    seen: list[str] = []

    def counted(row: CatalogRow, *named: Attached) -> VentSpec:
        seen.append(row.part_number)
        return resolve(row, *named)

    for module in (resolved, jobs_module, costs):
        monkeypatch.setattr(module, "resolve", counted)
    out = ["--out", str(tmp_path / "out")] if words[0] in ("air", "build") else []
    result = run(*words, "-c", str(catalog), *out)
    assert result.exit_code < 2, result.output
    assert "A-30" in seen
    assert len(seen) == len(set(seen)), seen


def test_failed_rows_in_a_second_run(catalog: Path, tmp_path: Path) -> None:
    """A row that goes bad keeps its last good files."""
    out = tmp_path / "out"
    text = HEAD + "A-30,rectangular,30x30,released,folded,,,,dry\n"
    catalog.write_text(text, encoding="utf-8")
    assert run("build", "-c", str(catalog), "--out", str(out), "--jobs", "1").exit_code == 0
    before = (out / "A-30" / "A-30.step").read_bytes()
    text = HEAD + "A-30,rectangular,30x30,released,flat,9.2,4.2,,dry\n"
    catalog.write_text(text, encoding="utf-8")
    result = run("build", "-c", str(catalog), "--out", str(out), "--jobs", "1")
    assert result.exit_code == 1
    assert (out / "A-30" / "A-30.step").read_bytes() == before


def test_drafts_are_written_apart_on_request(catalog: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ("build", "-c", str(catalog), "--out", str(out), "--only", "a-dr*", "--drafts")
    assert run(*words).exit_code == 0
    assert (out / "_drafts" / "A-DRAFT" / "A-DRAFT.step").is_file()


def test_only_must_match_something(catalog: Path) -> None:
    result = run("check", "-c", str(catalog), "--only", "A-N21")
    assert result.exit_code == 2
    assert "no row has this part number" in result.output
    assert "A-N20" in result.output


@pytest.mark.parametrize(
    ("name", "content"),
    [("missing.csv", None), ("empty.csv", ""), ("no_columns.csv", "a,b\n1,2\n")],
)
def test_unreadable_catalogue_is_one_sentence_and_exit_2(
    tmp_path: Path, name: str, content: str | None
) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_text(content, encoding="utf-8")
    result = run("check", "-c", str(path))
    assert result.exit_code == 2
    assert name in result.output
    assert "Traceback" not in result.output


def test_export_folder_that_is_a_file_is_refused(catalog: Path, tmp_path: Path) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("not a folder")
    result = run("build", "-c", str(catalog), "--out", str(blocked))
    assert result.exit_code == 2
    assert "export folder" in result.output


def test_show_explains_a_good_and_a_bad_row(catalog: Path) -> None:
    good = run("show", "A-30", "-c", str(catalog))
    assert good.exit_code == 0
    assert "sight margin mm" in good.output
    bad = run("show", "A-BAD", "-c", str(catalog))
    assert bad.exit_code == 1
    assert "a straight path exists" in bad.output


def test_columns_lists_every_column() -> None:
    result = run("columns")
    assert result.exit_code == 0
    assert "| `bank_gaps_mm` |" in result.output


def job(part_number: str) -> Job:
    source = SourcedRow(2, row(part_number=part_number, size="30x30", slat_form="folded"), "0" * 16)
    return Job(source, "x.csv", None, build_time())


def crash_on_b(one: Job) -> RowOutcome:
    if one.source.row.part_number == "B":
        os.abort()
    return RowOutcome(one.source.row.part_number, 2, "draft", "checked")


def test_a_row_that_kills_its_process_costs_only_itself() -> None:
    seen: list[str] = []
    outcomes = run_jobs(
        [job(n) for n in "ABCD"], 2, lambda o: seen.append(o.part_number), work=crash_on_b
    )
    assert [o.outcome for o in outcomes] == ["checked", "failed", "checked", "checked"]
    assert "crashed" in outcomes[1].message
    assert sorted(seen) == list("ABCD")


def test_unexpected_fault_in_one_row_is_an_outcome(monkeypatch: pytest.MonkeyPatch) -> None:
    def explode(*_: object) -> None:
        raise RuntimeError("kernel says no")

    monkeypatch.setattr(jobs_module, "resolve", explode)
    outcome = build_row(job("A"))
    assert outcome.outcome == "failed"
    assert "kernel says no" in outcome.problems[0].message


def test_a_draft_is_printed_by_the_shop_that_builds() -> None:
    """One line of wall round sparse cores holds no water: the table's fault, not the program's."""
    rates = demo_rates()
    leaky = rates.shop.printing.model_copy(update={"wall_count": 1})
    shop = rates.shop.model_copy(update={"printing": leaky})
    outcome = build_row(replace(job("A"), rates=Rates(shop, "own.toml")))
    assert outcome.outcome == "failed"
    assert "walls hold water" in outcome.message
    assert "change the table or the row" in outcome.problems[0].sentence()


def test_interrupt_leaves_no_half_written_file(tmp_path: Path) -> None:
    lines = [f"P-{i},rectangular,{30 + i}x60,released,inclined,,,,dry\n" for i in range(12)]
    path = tmp_path / "many.csv"
    path.write_text(HEAD + "".join(lines), encoding="utf-8")
    out = tmp_path / "out"
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "vent_family.front.cli.app",
            "build",
            "-c",
            str(path),
            "--out",
            str(out),
            "-j2",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        start_new_session=True,
        # A test run started in the background ignores SIGINT, and so would what it starts.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    deadline = time.monotonic() + 900
    # The largest rows begin first.
    while not list(out.glob("P-*")) and time.monotonic() < deadline:
        time.sleep(0.05)
    os.killpg(process.pid, signal.SIGINT)
    output = process.communicate(timeout=900)[0].decode()
    assert process.returncode != 0
    assert "Traceback" not in output, output
    finished = [f for f in out.iterdir() if f.is_dir() and not f.name.startswith(".")]
    assert finished
    for folder in finished:
        assert {p.suffix for p in folder.iterdir()} == {
            ".step",
            ".dxf",
            ".stl",
            ".json",
            ".svg",
            ".png",
            ".3mf",
            ".md",
        }
    # The next run clears what the interrupt left and completes the library.
    only = ["--only", "P-1", "--only", "P-2"]
    assert run("build", "-c", str(path), "--out", str(out), "-j1", *only).exit_code == 0
    assert not [p for p in out.iterdir() if p.name.startswith(".")]

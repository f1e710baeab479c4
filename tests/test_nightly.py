"""The examples for every night run as they stand: workflow, service, timer.

Rows are made by a quick job that writes files of a few bytes; command line, shell and git are real.
"""

from __future__ import annotations

import configparser
import json
import os
import re
import shlex
import shutil
import stat
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
import yaml

from tests.release.publish.quick import catalogue, line
from vent_family.release.cautions import CAUTION

ROOT = Path(__file__).parents[1]
NIGHTLY = ROOT / "docs" / "nightly"
HOME = "/srv/vents"
PROGRAM = f"""#!{sys.executable}
import sys
sys.path.insert(0, {str(ROOT)!r})
from dataclasses import replace
from tests.release.publish.quick import here
from vent_family.release.publish import publish
real = publish.publish_catalog
def quickly(order, told):
    return real(replace(order, runner=here, still_s=1.0, beat_s=0.1), told)
publish.publish_catalog = quickly
from vent_family.front.cli.app import main
main()
"""
pytestmark = pytest.mark.skipif(
    os.name == "nt" or not shutil.which("bash") or not shutil.which("git"),
    reason="the examples are for Linux, with bash and git",
)


def workflow() -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load((NIGHTLY / "workflow.yml").read_text(encoding="utf-8"))
    return found


def steps() -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = workflow()["jobs"]["publish"]["steps"]
    return found


def unit(name: str) -> configparser.ConfigParser:
    parser = configparser.ConfigParser(strict=False, interpolation=None)
    parser.optionxform = str  # type: ignore[assignment, method-assign]
    parser.read(NIGHTLY / name, encoding="utf-8")
    return parser


class Night:
    """A folder as the workflow finds it: a checkout with a remote, and the program on the path."""

    def __init__(self, folder: Path) -> None:
        self.work, self.remote = folder / "work", folder / "remote.git"
        self.bin = folder / "bin"
        for made in (self.work, self.bin):
            made.mkdir()
        program = self.bin / "vent-family"
        program.write_text(PROGRAM, encoding="utf-8")
        program.chmod(program.stat().st_mode | stat.S_IXUSR)
        self.git("init", "--quiet", "--bare", str(self.remote))
        self.git("init", "--quiet", "--initial-branch", "main")
        self.git("remote", "add", "origin", str(self.remote))
        self.git("commit", "--quiet", "--allow-empty", "--message", "begin")
        self.git("push", "--quiet", "--set-upstream", "origin", "main")

    def git(self, *words: str) -> str:
        who = ["-c", "user.name=t", "-c", "user.email=t@localhost"]
        done = subprocess.run(
            ["git", *who, *words], cwd=self.work, check=True, capture_output=True, text=True
        )
        return done.stdout

    def environment(self, **more: str) -> dict[str, str]:
        own = {"PATH": f"{self.bin}{os.pathsep}{os.environ['PATH']}"}
        return {**os.environ, **own, **more}

    def run(self) -> dict[str, int]:
        """Run the shell lines of all steps after the installation; return how each ended."""
        output, told = self.work.parent / "output", self.work.parent / "told"
        output.write_text("")
        ended: dict[str, int] = {}
        for step in steps():
            if "run" not in step or step["name"] == "Install":
                continue
            outputs = dict(x.split("=", 1) for x in output.read_text().splitlines())
            code = outputs.get("code", "")
            if step.get("if", "").endswith("code < 2") and not int(code) < 2:
                continue
            given = {
                name: re.sub(r"\$\{\{ steps\.publish\.outputs\.code \}\}", code, text)
                for name, text in step.get("env", {}).items()
            }
            # How the CI system runs `shell: bash`, by its documentation.
            done = subprocess.run(
                ["bash", "--noprofile", "--norc", "-eo", "pipefail", "-c", step["run"]],
                cwd=self.work,
                env=self.environment(
                    GITHUB_OUTPUT=str(output), GITHUB_STEP_SUMMARY=str(told), **given
                ),
                capture_output=True,
                text=True,
            )
            assert "Traceback" not in done.stderr, done.stderr
            ended[step["name"]] = done.returncode
        return ended


@pytest.fixture
def night(tmp_path: Path) -> Night:
    return Night(tmp_path)


def test_the_workflow_runs_night_after_night(night: Night) -> None:
    catalogue(night.work, line("A-1"), line("A-2"))
    names = ["Publish", "Verify", "Keep the register of releases", "Tell", "End as publish ended"]
    assert night.run() == dict.fromkeys(names, 0)
    cases = ET.parse(night.work / "night" / "junit.xml").getroot().iter("testcase")
    assert [c.get("name") for c in cases] == ["A-1", "A-2"]
    kept = night.git("show", "origin/main:catalog.releases.csv")
    assert "A-1,A,1," in kept
    before = night.git("rev-parse", "HEAD")

    # One row fails: everything else is done, and the night ends as publish did.
    catalogue(night.work, line("A-1", words="fails"), line("A-2", words="other"))
    assert night.run() == dict.fromkeys(names, 0) | {"End as publish ended": 1}
    told = (night.work.parent / "told").read_text(encoding="utf-8")
    assert "1 of 2 rows not made" in told
    assert night.git("rev-parse", "HEAD") != before

    # No catalogue: nothing is verified or kept, and no report of last night is left.
    (night.work / "catalog.csv").unlink()
    assert night.run() == {"Publish": 0, "Tell": 0, "End as publish ended": 2}
    library = json.loads((night.work / "exports" / "library.json").read_text(encoding="utf-8"))
    assert [p["part_number"] for p in library["parts"]] == ["A-1", "A-2"]


def test_the_service_publishes_as_the_workflow_does() -> None:
    """So what the workflow's lines do when they are run, the service's line does."""
    service = unit("vent-family-publish.service")["Service"]
    words = shlex.split(service["ExecStart"])
    assert words[0] == f"{HOME}/.venv/bin/vent-family"
    assert service["WorkingDirectory"] == HOME
    (lines,) = (step["run"] for step in steps() if step.get("name") == "Publish")
    found = re.search(r"vent-family (.*?) \|\|", lines.replace("\\\n", " "))
    assert found
    assert words[1:] == shlex.split(found[1])


def test_the_mail_is_the_summary_or_says_that_there_is_none(night: Night) -> None:
    words = shlex.split(unit("vent-family-mail.service")["Service"]["ExecStart"])
    assert words[:2] == ["/bin/sh", "-c"]
    # What systemd passes on after its own escapes (systemd.service(5), COMMAND LINES).
    command = words[2].replace("/usr/sbin/sendmail -i catalogue@localhost", "cat")
    assert command != words[2]

    def mailed() -> str:
        return subprocess.run(
            ["/bin/sh", "-c", command], cwd=night.work, check=True, capture_output=True, text=True
        ).stdout

    subject, empty, *_ = mailed().split("\n")
    assert (subject, empty) == ("Subject: vent-family published nothing", "")
    (night.work / "night").mkdir()
    (night.work / "night" / "summary.txt").write_text("Subject: x\n\nbody\n")
    assert mailed() == "Subject: x\n\nbody\n"


def test_a_run_is_ended_gently_and_not_begun_again() -> None:
    service, timer = unit("vent-family-publish.service"), unit("vent-family-publish.timer")
    own = service["Service"]
    assert own["Type"] == "oneshot"
    assert own["Restart"] == "no"
    assert own["KillMode"] == "mixed"
    assert int(own["TimeoutStopSec"]) >= 30
    assert own["Nice"] == "10"
    assert own["ReadWritePaths"] == HOME
    # What the program compiles while it runs lies in memory that is written and run.
    assert "MemoryDenyWriteExecute" not in own
    assert timer["Timer"]["Persistent"] == "yes"
    assert timer["Install"]["WantedBy"] == "timers.target"


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="there is no systemd-analyze here")
def test_systemd_takes_the_units(tmp_path: Path) -> None:
    """It warns of unknown keys and of commands that are not there; it must not."""
    names = [p.name for p in NIGHTLY.iterdir() if p.suffix in (".service", ".timer")]
    for name in names:
        text = (NIGHTLY / name).read_text(encoding="utf-8")
        text = text.replace(f"{HOME}/.venv/bin/vent-family", "/bin/true")
        (tmp_path / name).write_text(text, encoding="utf-8")
    command = ["systemd-analyze", "verify", "--man=no", *(str(tmp_path / n) for n in names)]
    done = subprocess.run(command, capture_output=True, text=True)
    own = [text for text in done.stderr.splitlines() if "vent-family" in text]
    assert not own
    (tmp_path / names[0]).write_text("[Service]\nExecStart=/bin/true\nNonsense=yes\n")
    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(tmp_path / names[0])],
        capture_output=True,
        text=True,
    )
    assert "Nonsense" in done.stderr or done.returncode != 0


def test_the_readme_names_every_file_and_carries_the_caution() -> None:
    text = (NIGHTLY / "README.md").read_text(encoding="utf-8")
    for path in NIGHTLY.iterdir():
        assert path.name == "README.md" or path.name in text
    assert CAUTION in " ".join(text.split())


def test_the_workflow_asks_for_no_more_than_it_needs() -> None:
    found = workflow()
    assert found["permissions"] == {"contents": "write"}
    assert found["concurrency"]["cancel-in-progress"] is False
    # YAML 1.1 reads the word "on" as true.
    assert found[True]["schedule"][0]["cron"] == "17 2 * * *"
    for step in steps():
        if "run" in step:
            assert "${{" not in step["run"], "what a run says is never put into shell lines"
            assert subprocess.run(["bash", "-nc", step["run"]]).returncode == 0

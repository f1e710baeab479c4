"""Other Pythons that the project promises to run on, where this machine has them.

They have nothing installed, so this shows only that they can read every module. What the package
does there, ``tests/clean/run.py`` tries with everything installed.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
PROMISED = [
    line.rpartition(" :: ")[2]
    for line in PROJECT["classifiers"]
    if re.fullmatch(r"Programming Language :: Python :: 3\.\d+", line)
]
READ = """
import sys, warnings
from pathlib import Path
warnings.simplefilter("error")
paths = sorted(Path(sys.argv[1]).rglob("*.py"))
for path in paths:
    compile(path.read_bytes(), str(path), "exec", dont_inherit=True)
print(len(paths), "%d.%d" % sys.version_info[:2])
"""


def read_by(python: str, folder: Path) -> tuple[int, str, str]:
    """Return how many modules a Python read, what it says it is, and what it complained of."""
    try:
        done = subprocess.run(
            [python, "-I", "-c", READ, str(folder)], capture_output=True, text=True
        )
    except OSError:
        return 0, "", ""
    count, _, version = done.stdout.strip().partition(" ")
    return int(count or 0), version, done.stderr


def test_the_promise_begins_where_the_project_says() -> None:
    assert PROMISED == ["3.11", "3.12", "3.13"]
    assert PROJECT["requires-python"] == f">={PROMISED[0]}"
    clean = (ROOT / "tests" / "clean" / "run.py").read_text(encoding="utf-8")
    assert f"python{PROMISED[-1]}" in clean


@pytest.mark.parametrize("version", PROMISED)
def test_every_module_is_read_by_each_python(version: str) -> None:
    here = f"{sys.version_info[0]}.{sys.version_info[1]}"
    python = sys.executable if version == here else f"python{version}"
    count, told, complaint = read_by(python, ROOT / "vent_family")
    if told != version and "SyntaxError" not in complaint:
        # A name on the path may be a mere signpost to a Python that is not there.
        pytest.skip(f"there is no Python {version} on the path")
    assert complaint == ""
    assert count > 400


def test_what_a_python_cannot_read_is_noticed(tmp_path: Path) -> None:
    (tmp_path / "later.py").write_text("type = 1 = 2\n", encoding="utf-8")
    count, told, complaint = read_by(sys.executable, tmp_path)
    assert (count, told) == (0, "")
    assert "SyntaxError" in complaint
    assert read_by("python-of-nowhere", tmp_path) == (0, "", "")

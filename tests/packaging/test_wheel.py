"""The wheel, and the package installed from it into an environment of its own.

That environment lends what the package needs from the one the tests run in (a line in a ``.pth``
file), so nothing is fetched: it shows that the wheel is whole and works without a checkout, not
that what it needs can be had. ``tests/clean/run.py`` does that with every Python.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tomllib
import zipfile
from email import message_from_bytes
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PIP = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]
PACKED = ("vent_family", "pyproject.toml", "README.md", "THIRD-PARTY-LICENCES.md")
"""What is taken to build from: nothing of what lies in the checkout besides may be needed."""


def run(words: list[str], folder: Path) -> str:
    """Return what a command prints, in an environment that knows nothing of the checkout."""
    known = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run(words, cwd=folder, env=known, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    source = tmp_path_factory.mktemp("source")
    for name in PACKED:
        if (ROOT / name).is_dir():
            ignored = shutil.ignore_patterns("__pycache__", "node_modules")
            shutil.copytree(ROOT / name, source / name, ignore=ignored)
        else:
            shutil.copy(ROOT / name, source)
    words = ["wheel", "--no-deps", "--no-build-isolation", "--no-index", "--wheel-dir", "out", "."]
    run([*PIP, *words], source)
    (built,) = (source / "out").iterdir()
    return built


@pytest.fixture(scope="module")
def programs(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the programs of an environment in which the wheel is installed."""
    folder = tmp_path_factory.mktemp("environment")
    run([sys.executable, "-m", "venv", "--without-pip", "own"], folder)
    here = folder / "own" / ("Scripts" if os.name == "nt" else "bin")
    python = str(here / "python")
    place = run([python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], folder)
    lent = sysconfig.get_path("purelib")
    (Path(place.strip()) / "lent.pth").write_text(f"{lent}\n", encoding="utf-8")
    run([*PIP, "--python", python, "install", "--no-deps", "--no-index", str(wheel)], folder)
    return here


def test_the_wheel_holds_the_package_whole(wheel: Path) -> None:
    there = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "vent_family").rglob("*")
        if path.is_file() and not {"__pycache__", "node_modules"} & set(path.parts)
    }
    assert len(there) > 400
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {name for name in names if name.startswith("vent_family/")} == there
    assert "vent_family/py.typed" in names
    texts = {Path(name).name for name in names if "/licenses/" in name}
    assert texts == {"THIRD-PARTY-LICENCES.md", "viewer-licence.txt"}


def test_the_wheel_says_what_it_needs(wheel: Path) -> None:
    archive = zipfile.ZipFile(wheel)
    (name,) = (n for n in archive.namelist() if n.endswith(".dist-info/METADATA"))
    told = message_from_bytes(archive.read(name))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    always = [line for line in told.get_all("Requires-Dist", []) if "extra ==" not in line]
    assert {line.replace(" ", "") for line in always} == {
        ",".join(sorted_bounds(line)) for line in project["dependencies"]
    }
    assert told["Requires-Python"] == project["requires-python"]
    assert told["License-Expression"] == "LicenseRef-All-Rights-Reserved"


def sorted_bounds(requirement: str) -> list[str]:
    """Return a requirement's name with its bounds as the metadata sorts them."""
    first, *more = requirement.split(",")
    name = first.split(">")[0].split("<")[0]
    bounds = sorted([first.removeprefix(name), *more])
    return [name + bounds[0], *bounds[1:]]


def test_the_installed_package_begins_a_folder_and_checks_it(
    programs: Path, tmp_path: Path
) -> None:
    program = str(programs / "vent-family")
    run([program, "init", "vents"], tmp_path)
    told = run([program, "check"], tmp_path / "vents")
    assert "no problems" in " ".join(told.split())
    where = "import vent_family; print(vent_family.__file__)"
    place = Path(run([str(programs / "python"), "-c", where], tmp_path).strip())
    assert place.is_relative_to(programs.parent)


def test_a_users_script_is_checked_against_the_types_of_the_installed_package(
    programs: Path, tmp_path: Path
) -> None:
    """Once with a mistake: without the types nothing would be known of any of it."""
    script = tmp_path / "script.py"
    script.write_text(
        "import vent_family\n"
        'spec = vent_family.Parts("catalog.csv").spec("HV-N32")\n'
        "spec.panel_thickness_mm.upper()\n",
        encoding="utf-8",
    )
    (tmp_path / "mypy.ini").write_text(
        # What lies beside the way from the call to the field is left out: it takes seconds.
        "[mypy]\n[mypy-cadquery.*,OCP.*,numpy.*,scipy.*,pandas.*,shapely.*,fluids.*,numba.*,"
        "vent_family.evidence.*,vent_family.geometry.*,vent_family.mesh.*,vent_family.release.*]\n"
        "follow_imports = skip\nignore_missing_imports = True\n",
        encoding="utf-8",
    )
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "mypy",
            "--python-executable",
            str(programs / "python"),
            "script.py",
        ],
        cwd=tmp_path,
        env={k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "MYPYPATH")},
        capture_output=True,
        text=True,
    )
    assert done.stdout.splitlines() == [
        'script.py:3: error: "float" has no attribute "upper"  [attr-defined]',
        "Found 1 error in 1 file (checked 1 source file)",
    ], done.stdout + done.stderr

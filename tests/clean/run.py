"""The package in clean environments: ``python tests/clean/run.py python3.11 python3.13``.

For each Python named: an empty environment, the wheel built and installed with everything it needs
from the package index, then ``init``, ``check`` and ``build`` of one part in an empty folder, as
somebody does who has no checkout. Prints a line for each; takes minutes and about 2 GB each.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
PART = "START-N25"
OWN = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")
"""What would let the checkout or another environment shine through."""


def told(words: list[str], folder: Path) -> str:
    """Return what a command prints; a failure ends the run with all it said."""
    environment = {name: value for name, value in os.environ.items() if name not in OWN}
    done = subprocess.run(words, cwd=folder, env=environment, capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(f"{' '.join(words)}\n{done.stdout}{done.stderr}")
    return done.stdout.strip()


def tried(python: str) -> str:
    """Return in a line how the package does in a clean environment of one Python."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        told([python, "-m", "venv", "env"], folder)
        here = folder / "env" / "bin"
        ignored = shutil.ignore_patterns(".*", "exports", "build", "*.egg-info", "__pycache__")
        shutil.copytree(ROOT, folder / "source", ignore=ignored)
        pip = [str(here / "python"), "-m", "pip", "--disable-pip-version-check", "-q"]
        told([*pip, "wheel", "--no-deps", "--wheel-dir", "wheel", "./source"], folder)
        (wheel,) = (folder / "wheel").glob("*.whl")
        told([*pip, "install", str(wheel)], folder)
        shutil.rmtree(folder / "source")
        program = str(here / "vent-family")
        told([program, "init", "vents"], folder)
        checked = told([program, "check"], folder / "vents")
        told([program, "build", "--only", PART], folder / "vents")
        files = list((folder / "vents" / "built" / PART).iterdir())
        needed = told([*pip[:-1], "list", "--format", "freeze"], folder).splitlines()
        version = told([str(here / "python"), "-V"], folder)
        return (
            f"{version}: {wheel.name} with {len(needed)} distributions; check: "
            f"{checked.partition('.')[0]}; build {PART}: {len(files)} files"
        )


def main(pythons: list[str]) -> None:
    """Try every Python named, the running one if none is."""
    for python in pythons or [sys.executable]:
        print(tried(python), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])

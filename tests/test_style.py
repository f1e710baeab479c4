"""Style, types and layers: the rules of DEVELOPERS.md."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
LAYERS = [
    "base",
    "catalog",
    "spec",
    "geometry",
    "mesh",
    "evidence",
    "files",
    "release",
    "front",
    "tools",
]


@pytest.mark.parametrize(
    "command",
    [["ruff", "check", "."], ["ruff", "format", "--check", "."], ["mypy"]],
    ids=["ruff", "format", "mypy"],
)
def test_clean(command: list[str]) -> None:
    result = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True
    )
    assert result.returncode == 0, result.stdout + result.stderr


def rank(module: str) -> int:
    """Return how high a module stands: the package's front door 0, then the layers."""
    parts = module.split(".")
    return 0 if len(parts) == 1 else LAYERS.index(parts[1])


def imports(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
        elif isinstance(node, ast.Import):
            found += [a.name for a in node.names]
    return [m for m in found if m.split(".")[0] == "vent_family"]


def test_no_layer_imports_a_higher_one() -> None:
    for path in sorted((ROOT / "vent_family").rglob("*.py")):
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        if module.endswith("__init__") and len(path.parts) - len(ROOT.parts) == 2:
            continue  # the package's front door opens the plugin, lazily
        for other in imports(path):
            assert rank(other) <= rank(module), f"{module} imports {other}"


def test_checks_and_geometry_do_not_print_or_open_files() -> None:
    for layer in ("catalog", "spec", "geometry", "mesh", "evidence"):
        for path in (ROOT / "vent_family" / layer).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                    assert node.func.id != "print", path
                    assert node.func.id != "open" or layer == "catalog", path

"""The places where faults are planted: every k-th function that computes, area by area.

Run ``python -m tests.faults.places`` for the list of the code as it stands.
"""

from __future__ import annotations

import ast
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[2] / "vent_family"
WANTED: Final = 14
AREAS: Final = {
    "spec": ("spec", "base"),
    "geometry": ("geometry", "mesh"),
    "water": ("evidence/water",),
    "air": ("evidence/air",),
    "printing": ("evidence/printing",),
    "strength": ("evidence/strength",),
    "cost": ("evidence/cost",),
    "records": ("release", "files", "evidence/solid"),
}


def computes(node: ast.AST) -> bool:
    """Return whether a piece of code calculates or fills a record."""
    indices = {
        id(inner)
        for outer in ast.walk(node)
        if isinstance(outer, ast.Subscript)
        for inner in ast.walk(outer.slice)
    }
    for part in ast.walk(node):
        if isinstance(part, ast.BinOp) and not isinstance(part.op, ast.BitOr):
            return True
        if isinstance(part, ast.Call):
            named = isinstance(part.func, ast.Name) and part.func.id in ("min", "max", "sum")
            if named or len(part.keywords) >= 3:
                return True
        number = isinstance(part, ast.Constant) and type(part.value) in (int, float)
        if number and id(part) not in indices:
            return True
        if isinstance(part, ast.Dict) and len(part.keys) >= 3:
            return True
    return False


def functions(path: Path) -> list[tuple[str, int]]:
    """Return the names and lines of what computes in a module, its top level first."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    top = [n for n in tree.body if isinstance(n, ast.Assign | ast.AnnAssign)]
    found = [("(top)", 1)] if any(computes(n) for n in top) else []
    found += [
        (node.name, node.lineno)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and any(computes(part) for part in node.body)
    ]
    return sorted(found, key=lambda entry: entry[1])


def places(area: str) -> list[tuple[str, str, int]]:
    """Return (module, function, line) of every place of an area that gets a fault."""
    every = [
        (path.relative_to(ROOT).as_posix(), name, line)
        for folder in AREAS[area]
        for path in sorted((ROOT / folder).rglob("*.py"))
        if "picture" not in path.name
        for name, line in functions(path)
    ]
    step = max(1, len(every) // WANTED)
    return every[step // 2 :: step]


if __name__ == "__main__":
    for area in AREAS:
        for module, name, line in places(area):
            print(f"{area:9} {module}:{line} {name}")

"""What a part is made from covers whatever its files depend on: all code, all libraries."""

from __future__ import annotations

import ast
import sys
from importlib.metadata import packages_distributions
from pathlib import Path

from tests.test_style import import_graph
from vent_family.release.publish.keys import LIBRARIES, code

ROOT = Path(__file__).parents[3]
NO_FILE_DEPENDS = {
    "annotated_types",
    "filelock",
    "odf",
    "openpyxl",
    "pebble",
    "platformdirs",
    "pydantic",
    "pydantic_core",
    "rich",
}
"""Locks, processes, folders, validation and terminals; and what reads workbooks, whose rows are in
the key themselves."""
OF_THE_KERNEL = {"OCP": "cadquery-ocp"}


def sources() -> dict[str, str]:
    found = {}
    for path in sorted((ROOT / "vent_family").rglob("*.py")):
        name = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        found[name] = path.read_text(encoding="utf-8")
    return found


def reached(graph: dict[str, set[str]], start: str) -> set[str]:
    seen, todo = set(), [start]
    while todo:
        module = todo.pop()
        if module not in seen:
            seen.add(module)
            todo += graph[module]
    return seen


def test_all_code_that_a_parts_files_depend_on_is_in_its_key() -> None:
    """By the syntax trees, which know nothing of what the key leaves out."""
    needed = reached(import_graph(sources()), "vent_family.release.part")
    assert len(needed) > 250
    stands = {name.removeprefix("code").strip() for name in code()}
    for module in needed:
        folders = [p for p in module.split(".")[1:-1] if p]
        # Evidence and release are told apart by their packages.
        depth = 2 if folders[:1] in (["evidence"], ["release"]) else 1
        assert "/".join(folders[:depth]) in stands, module


def test_all_libraries_that_it_imports_are_in_the_key() -> None:
    graph_of = sources()
    needed = reached(import_graph(graph_of), "vent_family.release.part")
    own = set(sys.stdlib_module_names) | {"vent_family"}
    distributions = packages_distributions()
    missing = set()
    for module in needed:
        for name in imported(graph_of[module]) - own - NO_FILE_DEPENDS:
            by = OF_THE_KERNEL.get(name) or distributions[name][0]
            if by.lower().replace("_", "-") not in LIBRARIES:
                missing.add((name, by))
    assert not missing


def imported(source: str) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module.split(".")[0])
        elif isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
    return found

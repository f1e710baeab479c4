"""The examples in the docstrings say what the program says."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PUBLIC = ("vent_family.spec.", "vent_family.evidence.", "vent_family.front.")
"""What users import by name; functions there bring examples with numbers."""
EXAMPLES_MIN = 120
"""Docstrings with examples in the public modules, at least."""
OPTIONS = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS

MODULES = sorted(
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    for path in (ROOT / "vent_family").rglob("*.py")
    if ">>> " in path.read_text(encoding="utf-8")
)


def examples(name: str) -> list[doctest.DocTest]:
    """Return the docstrings of a module that hold examples."""
    finder = doctest.DocTestFinder(exclude_empty=True)
    return [t for t in finder.find(importlib.import_module(name)) if t.examples]


@pytest.mark.parametrize("name", MODULES)
def test_examples_say_what_the_program_says(name: str) -> None:
    told: list[str] = []
    ran = 0
    for example in examples(name):
        result = doctest.DocTestRunner(optionflags=OPTIONS).run(example, out=told.append)
        ran += result.attempted
    assert not told, "".join(told)
    assert ran, name


def test_public_functions_bring_examples() -> None:
    found = {e.name for name in MODULES if name.startswith(PUBLIC) for e in examples(name)}
    assert len(found) >= EXAMPLES_MIN, sorted(found)

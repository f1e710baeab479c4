"""Advice followed as a person follows it: its words read, its values typed into the row's cells."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import parse_catalog
from vent_family.spec.resolve import resolve

NO_ADVICE = "no change of one, two or three columns that was tried mends this"
_VALUE = r"[A-Za-z0-9_./-]+"
_SET = re.compile(rf"set ((?:[a-z_]+ to {_VALUE}(?: and )?)+)", re.IGNORECASE)
_BLANK = re.compile(r"leave ([a-z_]+(?: and [a-z_]+)*) blank", re.IGNORECASE)


def advised_cells(words: str) -> dict[str, str]:
    """Return what a sentence of advice says to type: text by column, "" for a blank cell."""
    words = words.split(" (")[0]
    cells: dict[str, str] = {}
    for part in _SET.findall(words):
        cells |= dict(re.findall(rf"([a-z_]+) to ({_VALUE}?)(?=[.,]? and |[.,]?\s*$)", part))
    for part in _BLANK.findall(words):
        cells |= dict.fromkeys(part.split(" and "), "")
    return cells


def text_of(cells: Mapping[str, Any]) -> str:
    """Return a catalogue of one row."""
    names = [name for name, value in cells.items() if value not in (None, "")]
    return f"{','.join(names)}\n{','.join(str(cells[name]) for name in names)}\n"


def read_row(cells: Mapping[str, Any]) -> CatalogRow:
    """Return the row that a catalogue with these cells holds; it must be a good one."""
    file = parse_catalog(text_of(cells))
    assert file.problems == (), [p.sentence() for p in file.problems]
    return file.rows[0].row


def problems_of(row: CatalogRow, *, advise: bool = False) -> tuple[Problem, ...]:
    """Return what is refused about a row; nothing if it resolves."""
    try:
        resolve(row, advise=advise)
    except InputError as refused:
        return refused.problems
    return ()


def kind_of(problem: Problem) -> tuple[str, str]:
    """Return what a problem is about, whatever its numbers: column and words."""
    words = re.sub(r"-?\d+(?:\.\d+)?", "#", problem.message)
    # Three sentences of one rule: the line passes, touches, or misses by too little.
    sight = (
        "a straight path # mm wide exists at",
        "a straight line misses",
        "a straight line only",
    )
    if words.startswith(sight):
        words = "straight line"
    words = re.sub(r"is too small for its .*", "is too small", words)
    return problem.column, words

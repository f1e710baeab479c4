"""Read a catalogue file: typed rows, and every problem of the file in one go."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.parse.table import read_table
from vent_family.catalog.parse.text import read_text
from vent_family.catalog.rows import SourcedRow, check_rows

__all__ = ["CatalogFile", "InputError", "SourcedRow", "read_catalog"]


@dataclass(frozen=True)
class CatalogFile:
    """What a catalogue file holds: its good rows in file order, and all problems of the others.

    ``path_name`` is the file's name without its folder. Problems are in row order, those of the
    whole file first. A row is good only if all of it was read: rows with cells under an unknown
    column name, and all rows that share a part number, are not.
    """

    path_name: str
    rows: tuple[SourcedRow, ...]
    problems: tuple[Problem, ...]


def read_catalog(path: Path) -> CatalogFile:
    """Read and check a catalogue: CSV with commas, semicolons or tabs.

    Semicolon and tab files may have decimal commas. Rules between columns are not checked here.

    Raises :class:`InputError` only where no row can be read: file missing,
    a folder, empty, not text, of ambiguous encoding, without column names, without a required
    column or with a column name twice.
    """
    path = Path(path)
    table = read_table(read_text(path), path.name)
    rows, found = check_rows(table)
    problems = sorted((*table.problems, *found), key=lambda p: p.row or 0)
    return CatalogFile(path.name, rows, tuple(problems))

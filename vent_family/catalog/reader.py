"""Read a catalogue file: typed rows, and every problem of the file in one go."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.parse.table import read_table
from vent_family.catalog.parse.text import read_text
from vent_family.catalog.rows import SourcedRow, check_rows

__all__ = ["CatalogFile", "InputError", "SourcedRow", "parse_catalog", "read_catalog"]


@dataclass(frozen=True)
class CatalogFile:
    """What a catalogue file holds: its good rows in file order, and all problems of the others.

    ``path_name`` is the file's name without its folder. Problems are in row order, those of the
    whole file first. A row is good only if all of it was read: rows with cells under an unknown
    column name, and all rows that share a part number, are not. ``withheld`` are rows that only a
    cell under a column that is read no longer keeps back.
    """

    path_name: str
    rows: tuple[SourcedRow, ...]
    problems: tuple[Problem, ...]
    withheld: tuple[SourcedRow, ...] = ()


def read_catalog(path: Path) -> CatalogFile:
    """Read and check a catalogue: CSV with commas, semicolons or tabs.

    Semicolon and tab files may have decimal commas. Rules between columns are not checked here.

    Raises
    ------
    InputError
        only where no row can be read: file missing, a folder, empty, not text, of ambiguous
        encoding, without column names, without a required column or with a column name twice
    """
    path = Path(path)
    return parse_catalog(read_text(path), path.name, path.parent)


def parse_catalog(text: str, name: str = "catalogue", folder: Path | None = None) -> CatalogFile:
    """Check the text of a catalogue; as :func:`read_catalog`, ``name`` stands in messages.

    ``folder`` is where the files lie that rows name; without one only packaged fans are known.

    Raises
    ------
    InputError
        where no row can be read

    Examples
    --------
    >>> file = parse_catalog("part_number;family;size;status\\nV-1;round;M20x1,5;draft\\n")
    >>> file.rows[0].row.size, file.rows[0].row_number, file.problems
    ('M20x1.5', 2, ())
    """
    table = read_table(text, name)
    rows = check_rows(table, folder)
    problems = sorted((*table.problems, *rows.problems), key=lambda p: p.row or 0)
    return CatalogFile(name, rows.good, tuple(problems), rows.withheld)

"""Read a catalogue file: typed rows, and every problem of the file in one go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.parse.sheet import is_workbook, sheet_text
from vent_family.catalog.parse.table import RawTable, read_table
from vent_family.catalog.parse.text import read_text
from vent_family.catalog.rows import SourcedRow, check_rows

__all__ = ["CatalogFile", "InputError", "SourcedRow", "parse_catalog", "read_catalog"]


@dataclass(frozen=True)
class CatalogFile:
    """What a catalogue file holds: its good rows in file order, and all problems of the others.

    ``path_name`` is the file's name without its folder. Problems are in row order, those of the
    whole file first. A row is good only if all of it was read: rows with cells under an unknown
    column name, and all rows that share a part number, are not. ``withheld`` are rows that only a
    cell under a column that is read no longer keeps back. ``letters`` are those of each column of a
    workbook, empty for a text file.
    """

    path_name: str
    rows: tuple[SourcedRow, ...]
    problems: tuple[Problem, ...]
    withheld: tuple[SourcedRow, ...] = ()
    letters: Mapping[str, str] = field(default_factory=dict)

    def placed(self, problems: Iterable[Problem]) -> list[Problem]:
        """Return problems with the cells of a workbook; those of a text file as they are."""
        return [
            replace(p, cell=f"{self.letters[p.column]}{p.row}")
            if p.row is not None and not p.cell and p.column in self.letters
            else p
            for p in problems
        ]


def read_catalog(path: Path) -> CatalogFile:
    """Read and check a catalogue: CSV with commas, semicolons or tabs, or a workbook.

    Semicolon and tab files may have decimal commas. Of an .xlsx or .ods workbook the first sheet is
    read, or one named ``catalogue``. Rules between columns are not checked here.

    Raises
    ------
    InputError
        only where no row can be read: file missing, a folder, empty, not text, of ambiguous
        encoding, without column names, without a required column or with a column name twice
    """
    path = Path(path)
    if not is_workbook(path):
        return parse_catalog(read_text(path), path.name, path.parent)
    text, problems = sheet_text(path)
    table = read_table(text, path.name)
    file = replace(_checked(table, path.parent), letters=table.letters)
    found = file.placed([*problems, *file.problems])
    return replace(file, problems=tuple(sorted(found, key=lambda p: p.row or 0)))


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
    return _checked(read_table(text, name), folder)


def _checked(table: RawTable, folder: Path | None) -> CatalogFile:
    """Return the rows of a table; files that they name lie in ``folder``."""
    rows = check_rows(table, folder)
    problems = sorted((*table.problems, *rows.problems), key=lambda p: p.row or 0)
    return CatalogFile(table.file, rows.good, tuple(problems), rows.withheld)

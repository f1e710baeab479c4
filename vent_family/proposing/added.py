"""A proposed row added to a catalogue, as a draft with a part number of its own."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from vent_family.catalog.model import TEXT_MOST, CatalogRow
from vent_family.catalog.numbering import free_part_number, taken_numbers, wished_part_number
from vent_family.catalog.parse.sheet import is_workbook, sheet_text
from vent_family.catalog.parse.table import read_table
from vent_family.catalog.parse.text import read_text
from vent_family.catalog.paste import row_to_paste
from vent_family.catalog.reader import CatalogFile
from vent_family.catalog.spelled import row_cells
from vent_family.release.register import read_register, register_path
from vent_family.release.saved_row import append_row

FIRST_REVISION: Final = "A"
UNNAMED: Final = "a requirement"


@dataclass(frozen=True, slots=True)
class Added:
    """What became of a row that was to be added.

    ``row_number`` is the row's in the file, ``None`` for a workbook: there ``paste`` is the line of
    column names and the row, to be pasted so that the row's first cell is ``cell``.
    ``columns_added`` are columns that the file lacked.
    """

    part_number: str
    file: str
    row_number: int | None
    columns_added: tuple[str, ...]
    paste: str = ""
    cell: str = ""


def numbers_taken(path: Path) -> frozenset[str]:
    """Return the part numbers of a catalogue's file and of all parts ever released from it.

    Raises
    ------
    InputError
        where the file or the register of releases beside it cannot be read
    """
    text = sheet_text(path)[0] if is_workbook(path) else read_text(path)
    register = read_register(register_path(path))
    released = set() if register is None else {e.part_number for e in register.entries}
    return taken_numbers(read_table(text, path.name)) | released


def row_to_add(row: CatalogRow, file: CatalogFile, path: Path, name: str) -> CatalogRow:
    """Return a proposed row as a draft of a catalogue: numbered in its way, and said where from.

    Parameters
    ----------
    row
        the row
    file, path
        the catalogue, and where it lies
    name
        what the requirement is called

    Raises
    ------
    InputError
        where the file or the register of releases beside it cannot be read
    """
    wished = wished_part_number((s.row for s in file.rows), row.family, row.size)
    cells = {
        "part_number": free_part_number(numbers_taken(path), wished),
        "status": "draft",
        "revision": FIRST_REVISION,
        "description": described(name),
    }
    return row.model_copy(update=cells)


def described(name: str) -> str:
    """Return the description of a row that comes from a requirement.

    Examples
    --------
    >>> described("Feed hall drive cabinet"), described(""), len(described("wall " * 99)) <= 120
    ('from Feed hall drive cabinet', 'from a requirement', True)
    """
    words = " ".join(name.split()) or UNNAMED
    return f"from {words}"[:TEXT_MOST].rstrip()


def added(path: Path, row: CatalogRow, as_read: str | None = None) -> Added:
    """Add a row to the file of a catalogue; of a workbook, return what is to be pasted.

    ``as_read`` is the fingerprint of the file when the search for the row began.

    Raises
    ------
    InputError
        where the file was changed meanwhile, or cannot take the row
    OSError
        if the file cannot be written; it is as it was then
    """
    if is_workbook(path):
        paste = row_to_paste(path, row_cells(row))
        columns = tuple(paste.columns_added)
        return Added(row.part_number, path.name, None, columns, paste.text, paste.cell)
    written = append_row(path, row, as_read)
    return Added(row.part_number, path.name, written.row_number, written.columns_added)

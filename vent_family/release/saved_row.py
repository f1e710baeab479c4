"""A row written into the file of a catalogue: whole or not at all, and never over other changes.

The bytes that are to be written are read back before they get the file's name. A file that was
changed since it was read, by hand or by another run, is left as it is.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

from vent_family.base.atomic import atomic_file
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.append import Written, appended, replaced
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.parse.sheet import is_workbook
from vent_family.catalog.parse.text import read_bytes
from vent_family.catalog.spelled import row_cells


def state_of(path: Path) -> str:
    """Return the fingerprint of a file's bytes, the SHA-256 in hex.

    Raises
    ------
    InputError
        where the file cannot be read
    """
    return hashlib.sha256(read_bytes(path)).hexdigest()


def append_row(path: Path, row: CatalogRow, as_read: str | None = None) -> Written:
    """Add a row to the file of a catalogue, below its last one; all else stays as it is.

    Parameters
    ----------
    path
        the catalogue, a CSV file
    row
        the row
    as_read
        :func:`state_of` the file when the search for the row began; ``None`` where it does not
        matter

    Raises
    ------
    InputError
        where the file is a workbook, was changed meanwhile, or cannot take the row
    OSError
        if the file cannot be written; it is as it was then
    """
    cells = row_cells(row)
    return _saved(path, as_read, lambda d: appended(d, path.name, cells, path.parent))


def revise_row(path: Path, row: CatalogRow, as_read: str | None = None) -> Written:
    """Give the row of a part number other cells in the file of a catalogue; all else stays.

    Columns of one's own are left alone.

    Parameters
    ----------
    path
        the catalogue, a CSV file
    row
        what the row of this part number is to hold
    as_read
        :func:`state_of` the file when the search for the row began; ``None`` where it does not
        matter

    Raises
    ------
    InputError
        where the file is a workbook, was changed meanwhile, or cannot take the row
    OSError
        if the file cannot be written; it is as it was then
    """
    cells = dict.fromkeys(CatalogRow.model_fields, "") | row_cells(row)
    return _saved(
        path, as_read, lambda d: replaced(d, path.name, row.part_number, cells, path.parent)
    )


def _saved(path: Path, as_read: str | None, write: Callable[[bytes], Written]) -> Written:
    if is_workbook(path):
        raise InputError(
            [
                Problem(
                    "sheet.file.append",
                    "rows are not written into workbooks",
                    path.name,
                    suggestion="paste the row into the spreadsheet, or save the sheet as CSV",
                )
            ]
        )
    data = read_bytes(path)
    _refuse_changed(path, data, as_read)
    written = write(data)
    # Through a link the file it names is written, not the link.
    with atomic_file(path.resolve()) as file:
        file.write(written.data)
        # As late as can be: what comes between this and the new name is over at once.
        _refuse_changed(path, read_bytes(path), hashlib.sha256(data).hexdigest())
    return written


def _refuse_changed(path: Path, data: bytes, as_read: str | None) -> None:
    if as_read is not None and hashlib.sha256(data).hexdigest() != as_read:
        raise InputError(
            [
                Problem(
                    "catalog.write.changed",
                    "the file was changed while the row was being found, and is left as it is",
                    path.name,
                    suggestion="close or save it elsewhere, then try again",
                )
            ]
        )

"""A row added to a catalogue, or a row's cells changed in it, and every other byte kept.

A new row goes below the last row of the table, above comments and blank lines that end the file: a
spreadsheet takes a blank line for the end of a table, and a closing comment stays one. No row gets
another number by it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.kept import Edit, KeptText, Span, is_quoted, kept_text
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.near import no_such_row
from vent_family.catalog.parse.scan import Record, row_list, scan
from vent_family.catalog.parse.table import RawTable, read_table, row_fault
from vent_family.catalog.parse.text import catalog_text
from vent_family.catalog.reader import CatalogFile, parse_catalog
from vent_family.catalog.rows import SourcedRow
from vent_family.catalog.spelled import (
    Spelling,
    changed_texts,
    quoted_where,
    quoting_habit,
    read_row,
    row_cells,
    spelling,
)
from vent_family.catalog.widened import widened

_NO_ROWS: Final = "catalog.rows.none"
"""What is told of a file without rows, and is told no longer once it has one."""


@dataclass(frozen=True, slots=True)
class Written:
    """The bytes of a catalogue with a row added or changed.

    ``row_number`` is the row's as a spreadsheet shows it, ``row`` what it is read back as.
    ``columns_added`` are those that the file lacked, ``rows_grown`` the numbers of other rows that
    got separators because of them.
    """

    data: bytes
    row_number: int
    row: CatalogRow
    columns_added: tuple[str, ...] = ()
    rows_grown: tuple[int, ...] = ()


def appended(
    data: bytes, file: str, cells: Mapping[str, str], folder: Path | None = None
) -> Written:
    """Return a CSV catalogue's bytes with one row more, which was read back.

    Parameters
    ----------
    data
        the bytes of the file
    file
        its name, for messages
    cells
        the filled cells of the row by column, numbers with a decimal point; they are written as the
        file writes its own, and its other columns are left blank
    folder
        where the catalogue lies, so that files it names are found; ``None`` where it is no file

    Raises
    ------
    InputError
        where the file cannot be read as a table, the cells are no good row, or the new row would
        change how another one is read

    Examples
    --------
    >>> data = b"part_number;family;size;status;pitch_mm\\nA;round;M20x1.5;draft;7,5\\n# end\\n"
    >>> row = {"part_number": "B", "family": "round", "size": "M25x1.5", "status": "draft"}
    >>> appended(data, "vents.csv", row | {"pitch_mm": "6.5"}).data.decode().splitlines()[2:]
    ['B;round;M25x1.5;draft;6,5', '# end']
    """
    before = _read(data, file, folder)
    wanted = read_row(cells, file, folder)
    kept, spelled = kept_text(data, file), spelling(before.table)
    _refuse_cut_off(kept)
    texts = row_cells(wanted)
    habit = quoting_habit(kept)
    wide = widened(kept, texts, habit, followed=True)
    line = kept.separator.join(
        quoted_where(
            spelled.text(name, texts.get(name, "")),
            kept.separator,
            always=habit.quotes(i, filled=name in texts),
        )
        for i, name in enumerate(wide.names)
    )
    _refuse_comment(line, kept, wide.names[0], texts)
    last = (kept.header, *kept.body)[-1]
    end = last.at + len(last.text)
    new = kept.edited([*wide.edits, Edit((end, end), kept.line_end(last) + line)])
    number = last.row_number + 1
    _compare(before, _read(new, file, folder), number, wanted)
    return Written(new, number, wanted, wide.added, wide.grown)


def replaced(
    data: bytes,
    file: str,
    part_number: str,
    cells: Mapping[str, str],
    folder: Path | None = None,
) -> Written:
    """Return a CSV catalogue's bytes with cells of one row changed, which was read back.

    Parameters
    ----------
    data
        the bytes of the file
    file
        its name, for messages
    part_number
        that of the row, which must be a good one
    cells
        what the row is to hold, by column, numbers with a decimal point: ``""`` for a blank cell;
        cells that are not named, and those that say already what they should, stay as written
    folder
        where the catalogue lies, so that files it names are found; ``None`` where it is no file

    Raises
    ------
    InputError
        where the file cannot be read as a table, there is no such good row, the cells make no good
        row of it, or the change would change how another row is read

    Examples
    --------
    >>> data = b"part_number,family,size,status,pitch_mm\\nA, round ,M20x1.5,draft,7.0\\n"
    >>> replaced(data, "vents.csv", "A", {"pitch_mm": "7", "size": "M25x1.5"}).data.splitlines()[1]
    b'A, round ,M25x1.5,draft,7.0'
    """
    before = _read(data, file, folder)
    source = good_source(before.file, part_number)
    wanted = read_row({**row_cells(source.row), **cells}, file, folder)
    texts = changed_texts(source.row, wanted)
    kept = kept_text(data, file)
    wide = widened(kept, (n for n in texts if texts[n]), quoting_habit(kept), followed=False)
    record = next(r for r in kept.body if r.row_number == source.row_number)
    grown = tuple(number for number in wide.grown if number != record.row_number)
    others = [e for e in wide.edits if e.span[0] < record.at or e.span[0] > _end(record)]
    edits = _changed(kept, record, wide.names, texts, spelling(before.table))
    new = kept.edited([*others, *edits])
    _compare(before, _read(new, file, folder), source.row_number, wanted)
    return Written(new, source.row_number, wanted, wide.added, grown)


@dataclass(frozen=True, slots=True)
class _Reading:
    """A catalogue as it is read: the table of its cells, and its rows."""

    table: RawTable
    file: CatalogFile


def _read(data: bytes, file: str, folder: Path | None) -> _Reading:
    text = catalog_text(data, file)
    return _Reading(read_table(text, file), parse_catalog(text, file, folder))


def good_source(file: CatalogFile, part_number: str) -> SourcedRow:
    """Return a catalogue's good row of a part number.

    Raises
    ------
    InputError
        where none is one
    """
    found = next((s for s in file.rows if s.row.part_number == part_number), None)
    if found is not None:
        return found
    known = [s.row.part_number for s in file.rows]
    problems = [p for p in file.problems if p.part_number == part_number]
    raise InputError(problems or [no_such_row(part_number, known, file.path_name)])


def _changed(
    kept: KeptText,
    record: Record,
    names: Sequence[str],
    texts: Mapping[str, str],
    spelled: Spelling,
) -> list[Edit]:
    """Return what puts new cells into a sound row, and as many separators as it then needs."""
    spans = kept.spans(record)
    new = {names.index(name): spelled.text(name, text) for name, text in texts.items()}
    edits = [_cell(kept, spans[i], text) for i, text in new.items() if i < len(spans)]
    beyond = {i: text for i, text in new.items() if i >= len(spans) and text}
    tail = "".join(
        kept.separator + quoted_where(beyond.get(i, ""), kept.separator, always=False)
        for i in range(len(spans), max(beyond, default=0) + 1)
    )
    cells = len(spans) + len(range(len(spans), max(beyond, default=0) + 1))
    pieces, at = [], record.at
    for edit in sorted(edits, key=lambda e: e.span):
        pieces += [kept.plain[at : edit.span[0]], edit.new]
        at = edit.span[1]
    text = "".join([*pieces, kept.plain[at : _end(record)], tail])
    now = replace(record, text=text, cells=cells)
    if row_fault(now, names, kept.separator, kept.file) is not None:
        tail += kept.separator * (len(names) - cells)
    return [*edits, Edit((_end(record), _end(record)), tail)]


def _cell(kept: KeptText, span: Span, text: str) -> Edit:
    """Return what puts a text into a cell; spaces and quotation marks around it stay."""
    written = kept.plain[slice(*span)]
    old = kept.cell(span)
    start = kept.plain.index(old, span[0] + is_quoted(written), span[1])
    if is_quoted(written):
        return Edit((start, start + len(old)), text.replace('"', '""'))
    marked = quoted_where(text, kept.separator, always=False)
    return Edit((start, start + len(old)) if marked == text else span, marked)


def _end(record: Record) -> int:
    return record.at + len(record.text)


def _refuse_cut_off(kept: KeptText) -> None:
    """Refuse a file that ends inside its last row, which a row below would make a whole one."""
    for record in kept.body[-1:]:
        fault = row_fault(record, kept.names, kept.separator, kept.file)
        if fault is not None and fault.code == "table.row.cut":
            raise InputError([fault])


def _refuse_comment(line: str, kept: KeptText, column: str, texts: Mapping[str, str]) -> None:
    if next(scan(line, kept.separator), None) is None:
        raise InputError(
            [
                Problem(
                    "catalog.write.comment",
                    "the row would begin with # and so be a comment, because the column is the"
                    " first of the file",
                    kept.file,
                    column=column,
                    value=texts[column],
                    suggestion="let the text begin otherwise",
                )
            ]
        )


def _compare(before: _Reading, after: _Reading, number: int, wanted: CatalogRow) -> None:
    """Compare two readings: a row is there as wanted, and all others are as they were.

    Raises
    ------
    InputError
        where they are not
    """
    told = [p for p in after.file.problems if p.row == number]
    row = next((s.row for s in after.file.rows if s.row_number == number), None)
    if told:
        raise InputError(told)
    then, now = _others(before, number), _others(after, number)
    changed = sorted(n for n in then.keys() | now.keys() if then.get(n) != now.get(n))
    if row == wanted and not changed:
        return
    which = row_list(changed) if changed else "the row itself"
    raise InputError(
        [
            Problem(
                "catalog.write.rows",
                f"with the row of {wanted.part_number} as it is to be, the file would be read in"
                f" another way: {which}",
                after.file.path_name,
                changed[0] if changed else number,
                suggestion="mend first what vent-family check names, or write the row by hand",
            )
        ]
    )


def _others(reading: _Reading, number: int) -> dict[int, list[object]]:
    """Return what is read of every row but one, by row number: cells, values and problems.

    Which vent stands opposite is left out: it may be the row that changes.
    """
    found: dict[int, list[object]] = {}
    file = reading.file
    for raw in reading.table.rows:
        filled = {name: text for name, text in raw.cells.items() if text}
        found.setdefault(raw.row_number, []).append((filled, raw.own, raw.withdrawn, raw.unread))
    for source in (*file.rows, *file.withheld):
        content = (source.row, source.attached.fan_text, source.attached.own)
        found.setdefault(source.row_number, []).append(content)
    for problem in file.problems:
        if problem.code != _NO_ROWS:
            found.setdefault(problem.row or 0, []).append(problem)
    found.pop(number, None)
    return found

"""Write today's column names and cells into an old catalogue, and keep every other byte."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.columns import loose
from vent_family.catalog.kept import Edit, Span, kept_text
from vent_family.catalog.parse.cells import TRUE_WORDS, choice_key
from vent_family.catalog.parse.scan import split
from vent_family.catalog.parse.table import frame
from vent_family.catalog.parse.text import decode
from vent_family.catalog.renamed import COLUMNS_RENAMED, COLUMNS_WITHDRAWN, Renamed


@dataclass(frozen=True, slots=True)
class Change:
    """One name or cell that was rewritten; ``row`` as a spreadsheet shows it."""

    row: int
    old: str
    new: str


def updated(data: bytes, file: str) -> tuple[bytes, tuple[Change, ...]]:
    """Return the bytes of a catalogue with the names of today, and what was changed.

    Separators, quotation marks, comments, line ends, spaces and encoding stay as they are. Rows
    with broken quoting are left alone: reading the file names them.

    Raises
    ------
    InputError
        where the file cannot be read as a table, or holds a column under its old and its new name

    Examples
    --------
    >>> updated(b"part_number;thread\\r\\nA; simplified \\r\\n", "vents.csv")[0]
    b'part_number;step_thread\\r\\nA; plain \\r\\n'
    """
    kept = kept_text(data, file)
    header, names = kept.header, kept.names
    renamed = {i: COLUMNS_RENAMED[n] for i, n in enumerate(names) if n in COLUMNS_RENAMED}
    _refuse_both(names, renamed, file, header.row_number)
    edits: list[Edit] = []
    changes: list[Change] = []

    def rewrite(row: int, span: Span, new: str) -> None:
        old = kept.cell(span)
        start = kept.plain.index(old, *span)
        edits.append(Edit((start, start + len(old)), new))
        changes.append(Change(row, old, new))

    spans = kept.spans(header)
    for i, now in renamed.items():
        rewrite(header.row_number, spans[i], now.column)
    for record in kept.body:
        if record.fault:
            continue
        cells = kept.spans(record)
        for i, now in renamed.items():
            if i < len(cells):
                new = _cell(kept.cell(cells[i]), now)
                if new:
                    rewrite(record.row_number, cells[i], new)
    return kept.edited(edits), tuple(changes)


def left_columns(data: bytes, file: str) -> tuple[Problem, ...]:
    """Return a remark on each column that has no name of today, so that it is left as it is.

    Raises
    ------
    InputError
        where the file cannot be read as a table

    Examples
    --------
    >>> (remark,) = left_columns(b"part_number,fan_depression_pa\\r\\nA,20\\r\\n", "vents.csv")
    >>> remark.row, remark.column
    (1, 'fan_depression_pa')
    """
    _, separator, records, _ = frame(decode(data, file), file)
    header = records[0]
    names = [loose(name) for name in split(header.text, separator)]
    return tuple(
        Problem(
            "catalog.column.withdrawn",
            f"left as it is, because {COLUMNS_WITHDRAWN[name][0]}",
            file,
            header.row_number,
            column=name,
            suggestion=f"run vent-family check: it says what is computed; then"
            f" {COLUMNS_WITHDRAWN[name][1]}",
        )
        for name in names
        if name in COLUMNS_WITHDRAWN
    )


def _refuse_both(names: Sequence[str], renamed: dict[int, Renamed], file: str, row: int) -> None:
    problems = [
        Problem(
            "catalog.column.both",
            f"the column stands beside {names[i]}, which is its old name",
            file,
            row,
            column=now.column,
            suggestion="keep one of the two columns",
        )
        for i, now in renamed.items()
        if now.column in names
    ]
    if problems:
        raise InputError(problems)


def _cell(text: str, now: Renamed) -> str:
    """Return today's word for a cell, ``""`` where it stays as it is."""
    word = "true" if text in TRUE_WORDS else choice_key(text)
    return next((new for old, new in now.cells.items() if choice_key(old) == word), "")

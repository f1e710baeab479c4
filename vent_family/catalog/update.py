"""Write today's column names and cells into an old catalogue, and keep every other byte."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.columns import loose
from vent_family.catalog.parse.cells import TRUE_WORDS, choice_key
from vent_family.catalog.parse.scan import clean, split
from vent_family.catalog.parse.table import frame
from vent_family.catalog.parse.text import decode
from vent_family.catalog.renamed import COLUMNS_RENAMED, COLUMNS_WITHDRAWN, Renamed

_ENCODINGS: Final = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"", "utf-8"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
    (b"", "cp1252"),
)
"""Byte order marks and encodings that :func:`decode` reads."""


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
    text = decode(data, file)
    mark, encoding = _encoding(data, text, file)
    plain, separator, records, origin = frame(text, file)
    header, body = records[0], records[1:]
    names = [loose(clean(_bare(plain[a:b]))) for a, b in _spans(header.text, separator, header.at)]
    renamed = {i: COLUMNS_RENAMED[n] for i, n in enumerate(names) if n in COLUMNS_RENAMED}
    _refuse_both(names, renamed, file, header.row_number)
    edits: list[tuple[int, int, str]] = []
    changes: list[Change] = []

    def rewrite(row: int, span: tuple[int, int], new: str) -> None:
        old = clean(_bare(plain[slice(*span)]))
        start = plain.index(old, *span)
        edits.append((origin[start], origin[start + len(old)], new))
        changes.append(Change(row, old, new))

    spans = _spans(header.text, separator, header.at)
    for i, now in renamed.items():
        rewrite(header.row_number, spans[i], now.column)
    for record in body:
        if record.fault:
            continue
        cells = _spans(record.text, separator, record.at)
        for i, now in renamed.items():
            if i < len(cells):
                new = _cell(clean(_bare(plain[slice(*cells[i])])), now)
                if new:
                    rewrite(record.row_number, cells[i], new)
    for start, end, new in sorted(edits, reverse=True):
        text = text[:start] + new + text[end:]
    return mark + text.encode(encoding), tuple(changes)


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


def _encoding(data: bytes, text: str, file: str) -> tuple[bytes, str]:
    """Return byte order mark and encoding under which a text is these very bytes."""
    for mark, encoding in _ENCODINGS:
        try:
            if mark + text.encode(encoding) == data:
                return mark, encoding
        except UnicodeEncodeError:
            continue
    raise InputError(
        [
            Problem(
                "file.unwritable",
                "the file cannot be written back as it is",
                file,
                suggestion="save it as UTF-8",
            )
        ]
    )


def _refuse_both(names: list[str], renamed: dict[int, Renamed], file: str, row: int) -> None:
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


def _spans(record: str, separator: str, at: int) -> list[tuple[int, int]]:
    """Return where each cell of a sound row begins and ends, quotation marks included."""
    cell = re.compile(rf'(?:"(?:[^"]|"")*"|[^"{re.escape(separator)}]*)')
    spans, start = [], 0
    while True:
        match = cell.match(record, start)
        assert match is not None
        spans.append((at + start, at + match.end()))
        if match.end() >= len(record):
            return spans
        start = match.end() + 1


def _bare(cell: str) -> str:
    return cell[1:-1] if cell.startswith('"') and cell.endswith('"') and len(cell) > 1 else cell


def _cell(text: str, now: Renamed) -> str:
    """Return today's word for a cell, ``""`` where it stays as it is."""
    word = "true" if text in TRUE_WORDS else choice_key(text)
    return next((new for old, new in now.cells.items() if choice_key(old) == word), "")

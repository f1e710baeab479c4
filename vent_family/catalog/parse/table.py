"""From text to a table of cells: separator, comments, header, rows with their numbers.

Rows that cannot be split into the header's columns for certain are problems. All cells are text, so
that nothing is taken for a missing value or a number here.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.columns import COLUMNS, loose
from vent_family.catalog.model import NAME_MOST, REQUIRED
from vent_family.catalog.own import is_own, name_refusal
from vent_family.catalog.parse.scan import (
    SEPARATORS,
    Record,
    cells_of,
    cut,
    letters,
    scan,
    shorten,
    split,
)
from vent_family.catalog.parse.unknown import unknown_columns
from vent_family.catalog.renamed import COLUMNS_WITHDRAWN

_SEP_LINE: Final = re.compile(r'"?sep=(.)"?[,;\t]*(?:\r\n|\r|\n|$)', re.IGNORECASE)
_CONFLICT: Final = re.compile(r"^(?:<{7}|={7}|>{7})(?:[ \r]|$)", re.MULTILINE)
_SPLIT_DECIMAL: Final = re.compile(r"(?:^|,)[ \t]*([+-]?[0-9]+,[0-9]+)[ \t]*(?=,|$)")


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row: its number and its cells by column, outer spaces removed.

    ``unread`` holds the places (0 is the first column) of filled cells whose column name is not
    known, so the row is not fully read; ``withdrawn`` the filled ones of columns that are read no
    longer, ``own`` those of the writer's own columns.
    """

    row_number: int
    cells: dict[str, str]
    unread: tuple[int, ...] = ()
    withdrawn: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RawTable:
    """A file as text cells, with the problems found on the way.

    ``letters`` are those of each named column in a spreadsheet.
    """

    file: str
    separator: str
    columns: tuple[str, ...]
    rows: tuple[RawRow, ...]
    problems: tuple[Problem, ...]
    letters: Mapping[str, str] = field(default_factory=dict)


def frame(text: str, file: str) -> tuple[str, str, list[Record], list[int]]:
    """Return a catalogue's text with plain line ends, its separator, its rows, and where it was.

    The last holds, for every place of the plain text and its end, the place in ``text``.

    Raises
    ------
    InputError
        where no row can be told from the others: an unknown separator, no line of column names
    """
    rest, separator = declared_separator(text, file)
    first = len(text) - len(rest)
    origin = [m.start() + first for m in re.finditer(r"\r\n|[\s\S]", rest)] + [len(text)]
    plain = rest.replace("\r\n", "\n").replace("\r", "\n")
    separator = separator or _separator(plain, file)
    records = list(scan(plain, separator))
    if not records:
        raise _no_header(plain, file, None)
    return plain, separator, records, origin


def read_table(text: str, file: str) -> RawTable:
    """Split a catalogue's text into rows of cells.

    Raises
    ------
    InputError
        where no row can be read: no header, a required column missing, a column twice, separators
        mixed in the header, unresolved merge
    """
    if _CONFLICT.search(text):
        raise InputError(
            [
                Problem(
                    "catalog.file.merge",
                    "the file holds the markers of an unresolved merge (<<<<<<<, =======, >>>>>>>)",
                    file=file,
                    suggestion="settle the merge, then try again",
                )
            ]
        )
    text, separator, records, _ = frame(text, file)
    header, body = records[0], records[1:]
    names, problems = _header(text, header, separator, file)
    sound: list[Record] = []
    for record in body:
        fault = row_fault(record, names, separator, file)
        if fault is None:
            sound.append(record)
        else:
            problems.append(fault)
    rows = _rows(sound, names, separator)
    problems.extend(unknown_columns(names, header, rows, file))
    if not rows and len(sound) == len(body):
        problems.append(
            Problem(
                "catalog.rows.none",
                "the file has column names but no rows",
                file=file,
                suggestion="add one row per part",
            )
        )
    named = tuple(n for n in names if n)
    places = {n: letters(i) for i, n in enumerate(names) if n}
    return RawTable(file, separator, named, tuple(rows), tuple(problems), places)


def declared_separator(text: str, file: str) -> tuple[str, str]:
    """Take off a first line ``sep=;``, which a spreadsheet obeys and does not show as a row.

    Raises
    ------
    InputError
        if that line names a separator that is not read
    """
    match = _SEP_LINE.match(text)
    if match is None:
        return text, ""
    if match.group(1) not in SEPARATORS:
        raise InputError(
            [
                Problem(
                    "table.separator.unknown",
                    "the first line names a separator that is not read",
                    file=file,
                    value=match.group(1),
                    allowed="comma, semicolon or tab",
                    suggestion="save the file with one of these",
                )
            ]
        )
    return text[match.end() :], match.group(1)


def _separator(text: str, file: str) -> str:
    """Return the separator under which the header line shows most known column names."""
    best, score = "", (0, 0)
    first: Record | None = None
    for separator in SEPARATORS:
        record = next(scan(text, separator), None)
        if record is None:
            continue
        first = first or record
        names = split(record.text, separator)
        found = (sum(loose(n) in COLUMNS for n in names), len(names))
        if found[0] and found > score:
            best, score = separator, found
    if not best:
        raise _no_header(text, file, first)
    return best


def _no_header(text: str, file: str, first: Record | None) -> InputError:
    """Explain why no column names were found."""
    commented = any(
        line.lstrip('" ').startswith("#")
        and sum(loose(n) in COLUMNS for n in split(line.lstrip('#" '), s)) >= len(REQUIRED)
        for line in text.split("\n")[:50]
        for s in SEPARATORS
    )
    code, message = "catalog.header.commented", "the line of column names is commented out"
    if first is None and not commented:
        code, message = "catalog.file.comments", "the file holds only comments and blank lines"
    elif first is not None and not commented:
        code, message = "catalog.header.missing", "no line of column names was found"
        if first.fault:
            code = "catalog.header.unread"
            message = f"the line of column names cannot be read: {first.fault}"
        elif not any(s in first.text for s in SEPARATORS):
            code = "catalog.file.table"
            message = "this is not a table: its first line has no commas, semicolons or tabs"
    problem = Problem(
        code,
        message,
        file=file,
        row=None if first is None else first.row_number,
        value="" if first is None else cut(first.text),
        allowed=f"column names, with {', '.join(REQUIRED)} among them",
        suggestion="start the table with a line of column names, separated by commas, semicolons "
        "or tabs",
    )
    return InputError([problem])


def _header(
    text: str, header: Record, separator: str, file: str
) -> tuple[list[str], list[Problem]]:
    """Return the column names in file order, unknown ones as written, unnamed ones as ``""``."""
    if header.fault:
        raise _no_header(text, file, header)
    written = split(header.text, separator)
    names = [loose(n) if _is_known(loose(n)) or is_own(n) else n for n in written]
    faults: list[Problem] = []
    for name in written:
        for other in SEPARATORS.keys() - {separator}:
            if loose(name) not in COLUMNS and any(loose(n) in COLUMNS for n in split(name, other)):
                faults.append(
                    Problem(
                        "catalog.header.separators",
                        f"the line of column names mixes {SEPARATORS[separator]} "
                        f"and {SEPARATORS[other]}",
                        file=file,
                        row=header.row_number,
                        value=cut(name),
                        suggestion="use one separator in the whole file",
                    )
                )
    if faults:
        raise InputError(faults)
    for name in dict.fromkeys(n for n in names if n):
        if names.count(name) > 1:
            places = " and ".join(letters(i) for i, n in enumerate(names) if n == name)
            faults.append(
                Problem(
                    "catalog.column.repeated",
                    f"the column name appears more than once (spreadsheet columns {places})",
                    file=file,
                    row=header.row_number,
                    column=shorten(name),
                    suggestion="keep one of the columns",
                )
            )
    for name in REQUIRED:
        if name not in names:
            near = difflib.get_close_matches(name, [loose(n) for n in names if n], 1)
            faults.append(
                Problem(
                    "catalog.column.missing",
                    "the required column is missing",
                    file=file,
                    row=header.row_number,
                    column=name,
                    allowed=f"a header with {', '.join(REQUIRED)}",
                    suggestion=f"rename the column {written[_index(names, near[0])]!r} to {name}"
                    if near
                    else "add the column",
                )
            )
    if faults:
        raise InputError(faults)
    return names, []


def _is_known(name: str) -> bool:
    return name in COLUMNS or name in COLUMNS_WITHDRAWN


def _index(names: Sequence[str], wanted: str) -> int:
    return next(i for i, n in enumerate(names) if loose(n) == wanted)


def row_fault(record: Record, names: Sequence[str], separator: str, file: str) -> Problem | None:
    """Return what keeps a row from being split into the header's columns."""

    def fault(code: str, message: str, suggestion: str) -> Problem:
        return Problem(
            code,
            message,
            file=file,
            row=record.row_number,
            part_number=part,
            value=cut(record.text),
            suggestion=suggestion,
        )

    width = len(names)
    # Cells before the fault are where they belong, so a part number in front names the row.
    leads = names[0] == "part_number" and not record.fault and record.cells > 1
    part = shorten(split(record.text, separator)[0], NAME_MOST) if leads else ""
    if record.fault:
        return fault(
            "table.row.quotation",
            record.fault,
            "put the whole cell in quotation marks and double those inside it, or remove them",
        )
    decimal = _SPLIT_DECIMAL.search(record.text) if separator == "," else None
    point = decimal.group(1).replace(",", ".") if decimal else ""
    as_decimal = (
        f"write {point} if one number was meant, or save the file with semicolons as separators"
    )
    if record.cells > width:
        message = f"the row has {record.cells} cells but there are {width} column names"
        if decimal:
            return fault(
                "table.row.decimal",
                f"{message}: a decimal comma seems to have split a number, as in "
                f"{decimal.group(1)}, because commas also separate the cells of this file",
                as_decimal,
            )
        return fault(
            "table.row.long",
            message,
            "put a cell that contains a separator in quotation marks, or remove the surplus cell",
        )
    if record.cells == width:
        return None
    if record.cells == 1:
        for other in SEPARATORS.keys() - {separator}:
            if other in record.text:
                return fault(
                    "table.row.separator",
                    f"the row is separated by {SEPARATORS[other]}, the line of column names "
                    f"by {SEPARATORS[separator]}",
                    "use one separator in the whole file",
                )
    # Rows that end early are read: some spreadsheets leave out separators after the last filled
    # cell (P. Lin, How Excel writes empty cells, StataCorp 1997). Two doubts are not settled
    # silently: a file cut off in the middle, and a number split at its decimal comma.
    if record.cut_off:
        return fault(
            "table.row.cut",
            f"the file ends inside this row: {record.cells} of {width} cells and no line end",
            "complete the row, or end it with a line break if it is complete",
        )
    if decimal:
        return fault(
            "table.row.decimal",
            f"the row has {record.cells} cells but there are {width} column names, and "
            f"{decimal.group(1)} can be read as two cells or as one number with a decimal comma",
            f"{as_decimal}; if two cells were meant, write all separators of the row (a "
            "filled cell in the last column makes a spreadsheet do so)",
        )
    return None


def _rows(records: Sequence[Record], names: Sequence[str], separator: str) -> list[RawRow]:
    """Split sound records into cells; cells left out at the end of a row are blank."""
    rows = []
    own_names = {n for n in names if is_own(n) and name_refusal(n) is None}
    for record in records:
        cells = cells_of(record, separator)
        values = [*cells, *[""] * (len(names) - len(cells))]
        cells_named = list(zip(names, values, strict=True))
        known = {n: v for n, v in cells_named if n in COLUMNS}
        past = {n: v for n, v in cells_named if v and n in COLUMNS_WITHDRAWN}
        own = {n: v for n, v in cells_named if v and n in own_names}
        unread = tuple(
            i
            for i, (n, v) in enumerate(cells_named)
            if v and not (n in known or n in past or n in own)
        )
        if unread or past or own or any(known.values()):
            rows.append(RawRow(record.row_number, known, unread, past, own))
    return rows

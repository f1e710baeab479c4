"""From text cells to typed rows, with every problem of every row."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from vent_family.base.problems import Problem
from vent_family.catalog.attached import NOTHING_ATTACHED, Attached, attached
from vent_family.catalog.columns import COLUMNS, Column, decimal, loose
from vent_family.catalog.hashing import row_hash
from vent_family.catalog.model import FAMILIES, NAME_MOST, REQUIRED, CatalogRow, size_words
from vent_family.catalog.names import collisions, name_fault
from vent_family.catalog.own import ALLOWED_TEXT, own_text
from vent_family.catalog.parse.cells import (
    damage,
    parse_choice,
    parse_exposures,
    parse_gaps,
    parse_size,
    parse_slopes,
)
from vent_family.catalog.parse.numbers import (
    Fault,
    NumberStyle,
    number_style,
    parse_integer,
    parse_number,
)
from vent_family.catalog.parse.scan import cut, shorten
from vent_family.catalog.parse.table import RawRow, RawTable
from vent_family.catalog.parse.text import invisible_name, is_double_encoded
from vent_family.catalog.renamed import COLUMNS_WITHDRAWN

MAX_CELL: Final = 400
"""Longer cells are not looked at; the longest valid one is a description of 120 characters."""


@dataclass(frozen=True)
class SourcedRow:
    """A valid row with its place in the file and its content hash.

    ``row_number`` is the spreadsheet's: the first line of the file is row 1, comments and blank
    lines count. ``row_hash`` is described at :func:`vent_family.catalog.hashing.row_hash`;
    ``attached`` is what the row names outside itself.
    """

    row_number: int
    row: CatalogRow
    row_hash: str
    attached: Attached = NOTHING_ATTACHED


@dataclass(frozen=True)
class CheckedRows:
    """The good rows of a table, those that only a withdrawn column keeps back, and all problems."""

    good: tuple[SourcedRow, ...]
    withheld: tuple[SourcedRow, ...]
    problems: tuple[Problem, ...]


def check_rows(table: RawTable, folder: Path | None = None) -> CheckedRows:
    """Return the rows of a table; what they name as files is looked for in ``folder``."""
    style = table_style(table)
    typed: list[tuple[RawRow, CatalogRow]] = []
    problems: list[Problem] = []
    named: list[tuple[int, str]] = []
    carried: dict[int, tuple[tuple[str, str], ...]] = {}
    raw = {r.row_number: r for r in table.rows}
    for line in table.rows:
        row, found = _check_row(line, table.file, style)
        problems.extend(found)
        own, refused = _own_cells(line, table.file)
        problems.extend(refused)
        problems.extend(_withdrawn(line, table.file))
        part = line.cells["part_number"]
        if part and name_fault(part) is None:
            named.append((line.row_number, part))
        if row is not None and not line.unread and not refused:
            typed.append((line, row))
            carried[line.row_number] = own
    clashes = collisions(named)
    for number, fault in clashes.items():
        problems.append(
            _problem(fault, table.file, raw[number], COLUMNS["part_number"], allowed="")
        )
    typed = [(line, row) for line, row in typed if line.row_number not in clashes]
    good: list[SourcedRow] = []
    withheld: list[SourcedRow] = []
    rows = [row for _, row in typed]
    for line, row in typed:
        named_by, faults = attached(row, rows, folder)
        for name, fault in faults.items():
            problems.append(_problem(fault, table.file, line, COLUMNS[name], allowed=""))
        if not faults:
            named_by = replace(named_by, own=carried[line.row_number])
            source = SourcedRow(line.row_number, row, row_hash(row, named_by), named_by)
            (withheld if line.withdrawn else good).append(source)
    return CheckedRows(tuple(good), tuple(withheld), tuple(problems))


def _own_cells(line: RawRow, file: str) -> tuple[tuple[tuple[str, str], ...], list[Problem]]:
    """Return the cells of the writer's own columns, by name, and a problem for each bad one."""
    good, problems = [], []
    for name, text in sorted(line.own.items()):
        plain = _plain(text)
        value = plain if isinstance(plain, Fault) else own_text(plain)
        if isinstance(value, Fault):
            problems.append(_told(value, file, line, name, text, ALLOWED_TEXT))
        else:
            good.append((name, value))
    return tuple(good), problems


def _withdrawn(line: RawRow, file: str) -> Iterator[Problem]:
    """Yield a problem for each filled cell of a column that is read no longer."""
    for name, text in line.withdrawn.items():
        message, advice = COLUMNS_WITHDRAWN[name]
        yield Problem(
            "catalog.column.withdrawn",
            message,
            file=file,
            row=line.row_number,
            part_number=shorten(line.cells["part_number"], NAME_MOST),
            column=name,
            value=cut(text),
            suggestion=advice,
        )


def table_style(table: RawTable) -> NumberStyle:
    """Return how a table writes numbers, judged by all cells of its number columns."""
    return number_style(_number_cells(table), table.separator)


def _number_cells(table: RawTable) -> Iterator[str]:
    names = [n for n in table.columns if n in COLUMNS]
    numeric = [n for n in names if COLUMNS[n].kind in ("number", "integer")]
    for row in table.rows:
        yield from (row.cells[n] for n in numeric if row.cells[n])


def _check_row(
    line: RawRow, file: str, style: NumberStyle
) -> tuple[CatalogRow | None, list[Problem]]:
    filled = {n: v for n, v in line.cells.items() if v}
    whole_row = _not_a_row(line, filled, file)
    if whole_row is not None:
        return None, [whole_row]
    faults: dict[str, Fault] = {}
    values: dict[str, Any] = {}
    family = _family(filled.get("family", ""))
    for name in REQUIRED:
        if name not in filled:
            faults[name] = Fault(
                "catalog.cell.blank", "the cell is blank but required", "fill it in"
            )
    for name, text in filled.items():
        column = COLUMNS[name]
        if family is not None and family not in column.families:
            faults[name] = Fault(
                "catalog.column.family",
                f"the column does not apply to the {family} family",
                f"clear the cell; it is for {' and '.join(column.families)} vents",
            )
            continue
        value = _value(text, column, family, style)
        if isinstance(value, Fault):
            faults[name] = _tried(value, column, family, style)
        else:
            values[name] = value
    row, broken = _typed(values, faults, style)
    faults |= broken
    order = {name: i for i, name in enumerate(COLUMNS)}
    return row if not faults else None, [
        _problem(
            faults[name],
            file,
            line,
            COLUMNS[name],
            allowed=_allowed(COLUMNS[name], family, style),
        )
        for name in sorted(faults, key=order.__getitem__)
    ]


def _allowed(column: Column, family: str | None, style: NumberStyle) -> str:
    """Return the allowed values of a column for a family, if that is known."""
    if family is not None and family not in column.families:
        return "a blank cell"
    if family is not None and column.name == "size":
        return size_words(family)
    return column.allowed(style.mark)


def _not_a_row(line: RawRow, filled: Mapping[str, str], file: str) -> Problem | None:
    """Return one problem for a row that is no part at all, rather than one for each cell."""
    if all(loose(filled.get(n, "")) == n for n in REQUIRED):
        return Problem(
            "catalog.header.repeated",
            "the line of column names is repeated",
            file=file,
            row=line.row_number,
            suggestion="remove this row",
        )
    if len(filled) + len(line.own) == 1 and not line.unread:
        name, text = next(iter((*filled.items(), *line.own.items())))
        return Problem(
            "catalog.row.single",
            "only one cell of the row is filled",
            file=file,
            row=line.row_number,
            column=name,
            value=cut(text),
            allowed=f"rows with {', '.join(REQUIRED)}",
            suggestion="fill in the others, or begin the row with # if it is a heading or a note",
        )
    return None


def _family(text: str) -> str | None:
    found = parse_choice(text, COLUMNS["family"]) if text else None
    return found if isinstance(found, str) and found in FAMILIES else None


def _plain(text: str) -> str | Fault:
    """Return a cell's text in plain form, or why it cannot be seen or read as one line."""
    if len(text) > MAX_CELL:
        return Fault("catalog.cell.long", f"the cell holds {len(text)} characters", "shorten it")
    if "\n" in text:
        return Fault(
            "catalog.cell.break",
            "the cell holds a line break: its quotation mark closes on a later line",
            "write the cell on one line",
        )
    unseen = invisible_name(text)
    if unseen:
        return Fault(
            "catalog.cell.unseen",
            f"the cell holds a character that is not text or cannot be seen: {unseen}",
            "clear the cell and type the value again",
        )
    return unicodedata.normalize("NFC", text.replace("\xa0", " ").replace("\u202f", " "))


def _value(text: str, column: Column, family: str | None, style: NumberStyle) -> Any:
    """Return a cell's value, or a :class:`Fault`; ranges are left to the row model."""
    plain = _plain(text)
    if isinstance(plain, Fault):
        return plain
    fault = damage(plain, column)
    if fault is not None:
        return fault
    if column.kind == "choice":
        return parse_choice(plain, column)
    if column.kind == "number":
        return parse_number(plain, column, style)
    if column.kind == "integer":
        return parse_integer(plain, column, style)
    if column.name == "size":
        return parse_size(plain, family, style)
    if column.name == "bank_gaps_mm":
        return parse_gaps(plain, style)
    if column.name == "slopes":
        return parse_slopes(plain)
    if column.name == "exposure":
        return parse_exposures(plain)
    if column.name == "part_number":
        return name_fault(plain) or plain
    if column.name == "description" and is_double_encoded(plain):
        return Fault(
            "catalog.cell.encoding",
            "letters with accents were saved in a wrong encoding",
            "type the cell again and save the sheet as CSV in the encoding UTF-8",
        )
    return plain


_PROPOSED: Final = re.compile(
    r"(?:write|type)(?: it as)? (\S+?)"
    r"(?: with as few decimals as it needs)?(?:,? or (\S+)(?: without a separator)?)?"
)
"""Advice that says what to type into the cell: one value, or one of two."""


def _tried(fault: Fault, column: Column, family: str | None, style: NumberStyle) -> Fault:
    """Return a fault whose advice names only values that the cell's own check accepts."""
    found = _PROPOSED.fullmatch(fault.suggestion)
    if found is None:
        return fault
    proposed = [text for text in found.groups() if text]
    good = [text for text in proposed if _accepted(text, column, family, style)]
    if len(good) == len(proposed):
        return fault
    if good:
        return Fault(fault.code, fault.message, f"write {good[0]}")
    return Fault(fault.code, fault.message, "write a value that is allowed")


def _accepted(text: str, column: Column, family: str | None, style: NumberStyle) -> bool:
    """Return whether a cell with this text would be accepted by itself."""
    value = _value(text, column, family, style)
    if isinstance(value, Fault):
        return False
    _, refused = _typed({column.name: value}, {}, style)
    return column.name not in refused


def _typed(
    values: Mapping[str, Any], faults: Mapping[str, Fault], style: NumberStyle
) -> tuple[CatalogRow | None, dict[str, Fault]]:
    """Return the typed row, or what the model's ranges and patterns refuse."""
    try:
        return CatalogRow.model_validate(dict(values)), {}
    except ValidationError as error:
        return None, {
            name: _refused(details["type"], COLUMNS[name], values[name], style)
            for details in error.errors(include_url=False, include_context=False)
            if (name := str(details["loc"][0])) not in faults and name in values
        }


def _refused(kind: str, column: Column, value: Any, style: NumberStyle) -> Fault:
    """Put a refusal of the row model into words."""
    unit = f" {column.unit}" if column.unit not in ("", "1") else ""
    if kind == "greater_than_equal":
        return Fault(
            "catalog.cell.small",
            f"{decimal(value, style.mark)}{unit} is too small",
            f"use {decimal(column.lowest, style.mark)}{unit} or more",
        )
    if kind in ("less_than_equal", "less_than"):
        limit = f"{decimal(column.highest, style.mark)}{unit}"
        return Fault(
            "catalog.cell.large",
            f"{decimal(value, style.mark)}{unit} is too large",
            f"use less than {limit}" if column.open_end else f"use {limit} or less",
        )
    if kind == "string_too_long":
        return Fault(
            "catalog.cell.long", f"the text is too long: {len(str(value))} characters", "shorten it"
        )
    if column.name == "revision" and str(value).isascii() and str(value).upper() != value:
        return Fault(
            "catalog.revision.case",
            "the revision has a small letter",
            f"write {str(value).upper()}",
        )
    return Fault("catalog.cell.pattern", "the value does not fit the column", "correct the cell")


def _problem(
    fault: Fault,
    file: str,
    line: RawRow,
    column: Column,
    allowed: str,
) -> Problem:
    return _told(fault, file, line, column.name, line.cells[column.name], allowed)


def _told(fault: Fault, file: str, line: RawRow, name: str, text: str, allowed: str) -> Problem:
    """Return the fault of a cell as a problem of its row."""
    return Problem(
        fault.code,
        fault.message,
        file=file,
        row=line.row_number,
        part_number=shorten(line.cells["part_number"], NAME_MOST),
        column=name,
        value=cut(text),
        allowed=allowed,
        suggestion=fault.suggestion,
    )

"""Columns that a catalogue lacks: named in the line of column names with as few changes as can be.

A blank column without a name takes the new one. Else the line of column names grows at its end.
Rows below that end early are read, their cells blank, so they stay as they are, unless the reader
could then take them for something else: a row with 7 and 5 side by side could hold 7,5 and gets the
separators that it would lack.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.kept import Edit, KeptText
from vent_family.catalog.parse.scan import Record, cells_of
from vent_family.catalog.parse.table import row_fault
from vent_family.catalog.renamed import COLUMNS_RENAMED, COMMAND
from vent_family.catalog.spelled import QuotingHabit, quoted_where


@dataclass(frozen=True, slots=True)
class Widened:
    """The column names of a catalogue once those that it lacked are there.

    ``edits`` put them in; ``added`` are the new ones, ``grown`` the numbers of the rows below that
    got separators.
    """

    names: tuple[str, ...]
    edits: tuple[Edit, ...] = ()
    added: tuple[str, ...] = ()
    grown: tuple[int, ...] = ()


def widened(
    kept: KeptText, needed: Iterable[str], habit: QuotingHabit, *, followed: bool
) -> Widened:
    """Return the columns of a catalogue with those that are needed, and what puts them in.

    ``followed`` says that a row is added below the last one, whose line ends then for certain.

    Raises
    ------
    InputError
        where a column stands there under its old name, or a row cannot be split for certain, so
        that another column would give its cells another meaning
    """
    lacking = set(needed) - set(kept.names)
    added = tuple(sorted(lacking, key=lambda n: list(COLUMNS).index(n) if n in COLUMNS else -1))
    if not added:
        return Widened(kept.names)
    _refuse_old_names(kept, added)
    _refuse_broken_rows(kept, added)
    names = list(kept.names)
    free = iter(_blank_columns(kept))
    spans = kept.spans(kept.header)
    edits: list[Edit] = []
    end = kept.header.at + len(kept.header.text)
    for name in added:
        place = next(free, None)
        column = len(names) if place is None else place
        text = quoted_where(name, kept.separator, always=habit.header)
        if place is None:
            names.append(name)
            edits.append(Edit((end, end), kept.separator + text))
        else:
            names[column] = name
            edits.append(Edit(spans[column], text))
    grown = []
    for record in kept.body:
        now = replace(record, cut_off=record.cut_off and not followed)
        if row_fault(now, names, kept.separator, kept.file) is not None:
            grown.append(record.row_number)
            edits.append(missing_separators(kept, record, len(names)))
    return Widened(tuple(names), tuple(edits), added, tuple(grown))


def missing_separators(kept: KeptText, record: Record, width: int) -> Edit:
    """Return what gives a row as many cells as there are columns."""
    end = record.at + len(record.text)
    return Edit((end, end), kept.separator * (width - record.cells))


def _blank_columns(kept: KeptText) -> list[int]:
    """Return the places of the columns that have no name and no filled cell."""
    rows = [cells_of(record, kept.separator) for record in kept.body]
    return [
        i
        for i, name in enumerate(kept.names)
        if not name and not any(cells[i] for cells in rows if i < len(cells))
    ]


def _refuse_old_names(kept: KeptText, added: Iterable[str]) -> None:
    old = {COLUMNS_RENAMED[n].column: n for n in kept.names if n in COLUMNS_RENAMED}
    problems = [
        Problem(
            "catalog.column.renamed",
            f"the column is called {name} now, and the new row needs it",
            kept.file,
            kept.header.row_number,
            column=old[name],
            suggestion=f"let {COMMAND} write the new names into the file, then try again",
        )
        for name in added
        if name in old
    ]
    if problems:
        raise InputError(problems)


def _refuse_broken_rows(kept: KeptText, added: tuple[str, ...]) -> None:
    faults = [row_fault(r, kept.names, kept.separator, kept.file) for r in kept.body]
    problems = [
        replace(
            fault,
            code="catalog.write.columns",
            message=f"the file lacks {', '.join(added)}, and no column can be added to it as long"
            f" as this row cannot be split for certain: {fault.message}",
        )
        for fault in faults
        if fault is not None
    ]
    if problems:
        raise InputError(problems)

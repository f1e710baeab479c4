"""What is told of columns whose names are not known, or not allowed for one's own."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from vent_family.base.problems import Problem
from vent_family.catalog.columns import COLUMNS, loose
from vent_family.catalog.own import ALLOWED_NAME, is_own, name_refusal, own_name
from vent_family.catalog.parse.scan import Record, letters, row_list, shorten
from vent_family.catalog.renamed import COLUMNS_WITHDRAWN, COMMAND, new_column

if TYPE_CHECKING:
    from vent_family.catalog.parse.table import RawRow


def unknown_columns(
    names: Sequence[str], header: Record, rows: Sequence[RawRow], file: str
) -> Iterator[Problem]:
    """Yield a problem for each column whose name is unknown, or missing above filled cells."""
    for i, name in enumerate(names):
        refusal = name_refusal(name) if is_own(name) else None
        if name in COLUMNS or (is_own(name) and refusal is None):
            continue
        filled = [r.row_number for r in rows if i in r.unread]
        if not name and not filled:
            continue
        if name in COLUMNS_WITHDRAWN:
            # Filled cells are told row by row.
            if not any(name in r.withdrawn for r in rows):
                message, _ = COLUMNS_WITHDRAWN[name]
                yield Problem(
                    "catalog.column.withdrawn",
                    message,
                    file=file,
                    row=header.row_number,
                    column=name,
                    suggestion="remove the column",
                )
            continue
        now = new_column(loose(name))
        code, message = "catalog.column.unknown", "the column name is not known"
        allowed, advice = "the names in the column reference", _unknown_advice(name)
        if refusal is not None:
            code, message, advice = refusal.code, refusal.message, refusal.suggestion
            allowed = ALLOWED_NAME
        elif now:
            code, message = "catalog.column.renamed", f"the column is called {now} now"
            advice = f"rename it, or let {COMMAND} write the new names into the file"
        elif not name:
            code, message = "catalog.column.unnamed", "the column has no name but filled cells"
        yield Problem(
            code,
            message + (f"; left out because of it: {row_list(filled)}" if filled else ""),
            file=file,
            row=header.row_number,
            column=shorten(name) or letters(i),
            allowed=allowed,
            suggestion=advice,
        )


def _unknown_advice(name: str) -> str:
    """Return what to do about a column of an unknown name."""
    near = difflib.get_close_matches(loose(name), COLUMNS, 1, 0.6)
    own = own_name(name)
    comment = "; # begins a comment and cannot mark a column" if name.startswith("#") else ""
    ways = [f"rename it to {near[0]}"] if near else []
    ways += [f"call it {own} if it is one of your own, which decides nothing"] if own else []
    return (", or ".join(ways) or "rename or remove the column") + comment

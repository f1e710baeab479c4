"""``vent-family update``: the names of today in an old catalogue; and old names of commands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, Final

import typer
from rich.console import Console

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import Problem
from vent_family.catalog.parse.sheet import is_workbook, sheet_text
from vent_family.catalog.parse.text import read_bytes
from vent_family.catalog.update import left_columns, updated
from vent_family.front.cli.common import (
    CatalogOption,
    JsonOption,
    print_answer,
    refuse,
    told,
    writing,
)

RENAMED_COMMANDS: Final = {"print": "print-check"}
"""Old names of commands with the new ones."""
ANY_WORDS: Final[dict[str, Any]] = {"allow_extra_args": True, "ignore_unknown_options": True}


def update(
    catalog: CatalogOption = Path("catalog.csv"),
    out: Annotated[
        Path | None, typer.Option("--out", help="Where to write it; in its own place if blank.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Write today's column names and words into an old catalogue; every other byte stays.

    Workbooks are left alone: what would change is listed, to be changed in the spreadsheet.
    """
    with told(as_json):
        if is_workbook(catalog):
            refuse(_to_change_by_hand(catalog), as_json)
        data, changes = updated(read_bytes(catalog), catalog.name)
        left = left_columns(data, catalog.name)
    target = out or catalog
    if changes or out:
        with writing("the catalogue", target, "check folder and access rights", as_json):
            write_bytes(target, data)
    if as_json:
        told_changes = [{"row": c.row, "old": c.old, "new": c.new} for c in changes]
        print_answer(
            "update", {"changes": told_changes, "left": [remark.as_dict() for remark in left]}
        )
        return
    console = Console(soft_wrap=True)
    for change in changes:
        console.print(f"row {change.row}: {change.old} -> {change.new}", highlight=False)
    for remark in left:
        console.print(remark.sentence(), highlight=False, markup=False)
    console.print(f"{len(changes)} names rewritten" if changes else "nothing to rewrite")


def _to_change_by_hand(catalog: Path) -> list[Problem]:
    """Return the names and cells of a workbook that are others now.

    Raises
    ------
    InputError
        where it cannot be read as a table
    """
    text, _ = sheet_text(catalog)
    _, changes = updated(text.encode(), catalog.name)
    code, name = "sheet.file.update", catalog.name
    if not changes:
        return [Problem(code, "names are not changed in workbooks, and none is an old one", name)]
    return [
        Problem(
            code,
            f"{c.old} is called {c.new} now",
            name,
            c.row,
            suggestion=f"write {c.new} in the spreadsheet: names are not changed in workbooks",
        )
        for c in changes
    ]


def old_command(old: str, new: str) -> Callable[[typer.Context], None]:
    """Return a command that refuses its old name and tells the new one."""

    def refused(context: typer.Context) -> None:
        words = " ".join([new, *context.args])
        problem = Problem(
            "command.renamed", f"the command {old} is called {new} now", suggestion=f"type {words}"
        )
        refuse(problem, "--json" in context.args)

    return refused

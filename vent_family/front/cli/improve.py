"""``vent-family improve``: cheaper rows around an existing one, as its next revision."""

from __future__ import annotations

import os
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from vent_family.base.problems import Problem
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.parse.sheet import is_workbook
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    NOTHING_HALF,
    CatalogOption,
    JobsOption,
    JsonOption,
    ShopOption,
    interrupted,
    print_answer,
    rates,
    read,
    refuse,
    told,
    writing,
)
from vent_family.front.cli.searching import search_shown

if TYPE_CHECKING:
    from vent_family.proposing.improve import Improvement


def improve(
    part: Annotated[str, typer.Argument(help="Part number.")],
    keep: Annotated[
        list[str] | None,
        typer.Option(
            "--keep",
            help="What must not get worse: of flow, water, depth, strength, fit, with commas"
            " between them; flow=0.95 for a share. Blank: flow,water,fit.",
        ),
    ] = None,
    catalog: CatalogOption = Path("catalog.csv"),
    quantity: Annotated[
        int, typer.Option("--quantity", "-n", min=1, max=1_000_000, help="Parts in the order.")
    ] = 1000,
    shop: ShopOption = None,
    jobs: JobsOption = None,
    seed: Annotated[int, typer.Option("--seed", min=0, help="From which all chance follows.")] = 1,
    write: Annotated[
        bool, typer.Option("--write", help="Write a found row into the catalogue.")
    ] = False,
    option: Annotated[
        int, typer.Option("--option", min=1, max=3, help="Which of the found rows to write.")
    ] = 1,
    as_json: JsonOption = False,
) -> None:
    """Find cheaper rows around an existing one that keep what it does, as its next revision.

    What the part is fitted with and meets stays: opening, wall, material, colour, fixing, seal,
    screen, fan, water. With --write a found row replaces today's; every other byte stays.
    """
    from vent_family.front.parts import Parts
    from vent_family.proposing.bettered import improvement_lines, improvement_told
    from vent_family.proposing.keeps import wanted_of
    from vent_family.release.saved_row import state_of

    with told(as_json):
        wanted = wanted_of(keep or [])
        as_read = state_of(catalog)
    own = rates(shop, as_json)
    parts = Parts(read(catalog, as_json))
    name = next((n for n in parts.part_numbers if n.lower() == part.lower()), part)
    try:
        with told(as_json), search_shown() as step:
            found = parts.improve(
                name,
                keep=wanted,
                quantity=quantity,
                rates=own,
                seed=seed,
                workers=jobs or os.cpu_count() or 1,
                told=step,
            )
    except KeyboardInterrupt:
        interrupted(NOTHING_HALF, as_json)
    answer = improvement_told(found, own.source)
    console = Console(soft_wrap=True)
    if not as_json:
        for line in improvement_lines(answer):
            console.print(line, highlight=False, markup=False)
    written: dict[str, Any] = {}
    if write:
        written = _write(catalog, _chosen(found, option, as_json), as_read, as_json)
        if not as_json:
            console.print(written["words"], highlight=False, markup=False)
    if as_json:
        print_answer("improve", asdict(answer) | {"written": written or None})
    raise typer.Exit(EXIT_OK if found.options or not write else EXIT_FAILED)


def _chosen(found: Improvement, option: int, as_json: bool) -> CatalogRow | None:
    """Return the row of an option; ``None`` if there is none at all."""
    if not found.options:
        return None
    if option > len(found.options):
        problem = Problem(
            "improve.option.unknown",
            "nothing was written: so many rows were not found",
            column="option",
            place="option",
            value=str(option),
            allowed=f"1 to {len(found.options)}",
            suggestion="choose one of these",
        )
        refuse(problem, as_json)
    return found.options[option - 1].row


def _write(catalog: Path, row: CatalogRow | None, as_read: str, as_json: bool) -> dict[str, Any]:
    """Write a row over that of its part number; return what was written, and that in words."""
    from vent_family.catalog.paste import cells_to_type
    from vent_family.release.saved_row import revise_row

    if row is None:
        return {"row": None, "cells_to_type": [], "words": "Nothing was written."}
    if is_workbook(catalog):
        with told(as_json):
            cells = cells_to_type(catalog, row)
        typed = "\n".join(f"  {c.cell}  {c.column}: {c.new or 'blank'}" for c in cells)
        words = f"Rows are not written into workbooks. Cells to type in {catalog.name}:\n{typed}"
        return {"row": None, "cells_to_type": [asdict(c) for c in cells], "words": words}
    with told(as_json), writing("the catalogue", catalog, "check access rights", as_json):
        done = revise_row(catalog, row, as_read)
    words = (
        f"{catalog.name}, row {done.row_number}: {row.part_number} is revision {row.revision} now."
    )
    return {"row": done.row_number, "cells_to_type": [], "words": words}

"""``vent-family check``: the rules of the catalogue, and on request what water will do."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from vent_family.base.problems import Problem
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JsonOption,
    OnlyOption,
    print_json,
    print_problems,
    read,
    selected,
)
from vent_family.spec.resolved import ResolvedRows

if TYPE_CHECKING:
    from vent_family.evidence.water.report import WaterReport


def check(
    catalog: CatalogOption = Path("catalog.csv"),
    only: OnlyOption = None,
    water: Annotated[
        bool, typer.Option("--water", help="Also predict each row's behaviour in water.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Validate the catalogue, rules between columns included, without building geometry.

    What --water predicts is told, not judged: it does not change the exit code.
    """
    file = read(catalog, as_json)
    file = replace(file, rows=tuple(selected(file, only, as_json)))
    rows = ResolvedRows(file)
    problems = rows.problems()
    reports = _water_reports(rows, problems) if water else []
    if as_json:
        data: dict[str, Any] = {
            "rows": len(file.rows),
            "problems": [p.as_dict() for p in problems],
        }
        if water:
            data["water"] = [{"part_number": r.part_number} | r.as_dict() for r in reports]
        print_json(data)
    else:
        for report in reports:
            for sentence in report.sentences() or ["not checked: the row says dry"]:
                Console(soft_wrap=True).print(f"{report.part_number}: {sentence}", highlight=False)
        print_problems(problems)
        console = Console(stderr=bool(problems))
        count = f"{len(problems)} problems" if problems else "no problems"
        console.print(f"{len(file.rows)} readable rows, {count}.")
    raise typer.Exit(EXIT_FAILED if problems else EXIT_OK)


def _water_reports(rows: ResolvedRows, problems: list[Problem]) -> list[WaterReport]:
    """Return the water reports of all rows without problems that are not retired."""
    from vent_family.evidence.water.assess import assess
    from vent_family.evidence.water.conditions import conditions_of

    bad = {p.row for p in problems}
    return [
        assess(rows.spec(source), conditions_of(source.row))
        for source in rows.file.rows
        if source.row_number not in bad and source.row.status != "retired"
    ]

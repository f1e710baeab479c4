"""``vent-family check``: the rules of the catalogue, and on request what water will do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from vent_family.base.problems import InputError, Problem
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JsonOption,
    OnlyOption,
    PublishIfOption,
    RegisterOption,
    ShopOption,
    print_answer,
    print_problems,
    rates,
    read,
    selected,
)
from vent_family.release.bar import DEFAULT_BAR, PublishIf, below, below_bar_problem
from vent_family.release.register import read_register, register_path
from vent_family.spec.resolved import MANY, ResolvedRows

if TYPE_CHECKING:
    from vent_family.evidence.water.report import WaterReport
    from vent_family.release.unbuilt import HeldAgainst


def check(
    catalog: CatalogOption = Path("catalog.csv"),
    only: OnlyOption = None,
    water: Annotated[
        bool, typer.Option("--water", help="Also predict each row's behaviour in water.")
    ] = False,
    publish_if: PublishIfOption = DEFAULT_BAR,
    shop: ShopOption = None,
    register: RegisterOption = None,
    as_json: JsonOption = False,
) -> None:
    """Validate the catalogue, rules between columns included, without building geometry.

    With --water, released rows are judged by the bar that build publishes by, and the exit code
    says so; drafts are told what is predicted. With --shop, nozzle, lines and layers are told that
    are coarser than the parts are designed for. With a register of releases, rows are told whose
    fit or layout changed and whose revision did not; the solid of an edited row is built where
    nothing else decides.
    """
    from vent_family.base.shop import design_problems

    own = rates(shop, as_json)
    file = read(catalog, as_json)
    file = replace(file, rows=tuple(selected(file, only, as_json)))
    rows = ResolvedRows(file)
    if len(file.rows) >= MANY:
        # Imported here: only many rows need processes.
        from vent_family.release.resolving import resolve_all

        resolve_all(rows)
    problems = rows.problems() + design_problems(own.shop, str(shop or "shop.toml"))
    if any(s.row.fan or s.row.opposite_vent for s in file.rows):
        # Imported here: only rows that name a fan or another vent need the air side.
        from vent_family.evidence.air.drive import drive_problems

        problems = sorted([*problems, *drive_problems(rows)], key=lambda p: p.row or 0)
    releases = register or register_path(catalog)
    registered = _registered(rows, releases)
    undecided = list(registered.undecided) if registered else []
    problems += registered.problems if registered else ()
    problems = sorted(problems, key=lambda p: p.row or 0)
    reports = _water_reports(rows, problems) if water else []
    problems += _below_bar(rows, reports, publish_if)
    if as_json:
        data: dict[str, Any] = {
            "rows": len(file.rows),
            "register": None if registered is None else releases.name,
            "undecided": undecided,
            "problems": [p.as_dict() for p in problems],
        }
        if water:
            data["publish_if"] = publish_if
            data["water"] = [{"part_number": r.part_number} | r.as_dict() for r in reports]
        print_answer("check", data)
    else:
        for report in reports:
            for sentence in report.sentences() or ["not checked: the row says dry"]:
                Console(soft_wrap=True).print(f"{report.part_number}: {sentence}", highlight=False)
        print_problems(problems)
        if undecided:
            Console(soft_wrap=True).print(_undecided_words(undecided), highlight=False)
        console = Console(stderr=bool(problems))
        count = f"{len(problems) or 'no'} problem{'s' * (len(problems) != 1)}"
        unjudged = ""
        if registered is None and any(s.row.status == "released" for s in file.rows):
            unjudged = f" There is no {releases.name}: whether a part changed under its revision"
            unjudged += " was not checked."
        unjudged += "" if water else " Water was not judged: check --water does."
        console.print(f"{len(file.rows)} readable rows, {count}.{unjudged}", soft_wrap=True)
    raise typer.Exit(EXIT_FAILED if problems else EXIT_OK)


def _undecided_words(part_numbers: Sequence[str]) -> str:
    """Return what is said of parts that only their solids decide."""
    return (
        f"{', '.join(part_numbers)}: layout reckoned otherwise than when released; publish decides"
        " by the solid, and refuses a revision whose solid changed"
    )


def _registered(rows: ResolvedRows, register: Path) -> HeldAgainst | None:
    """Return what the register of releases is at odds with; ``None`` if there is no register."""
    # Imported here: what judges releases is needed only where there are some.
    from vent_family.release.unbuilt import HeldAgainst, held_against

    try:
        found = read_register(register)
    except InputError as error:
        return HeldAgainst(error.problems, ())
    return None if found is None else held_against(rows, found)


def _below_bar(
    rows: ResolvedRows, reports: list[WaterReport], publish_if: PublishIf
) -> list[Problem]:
    """Return why released rows would not be published for what water is predicted to do."""
    sources = {s.row.part_number: s for s in rows.file.rows}
    found = []
    for report in reports:
        source = sources[report.part_number]
        exposures = below(report.exposures, publish_if)
        if source.row.status == "released" and exposures:
            found.append(
                below_bar_problem(
                    exposures,
                    file=rows.file.path_name,
                    row=source.row_number,
                    part_number=report.part_number,
                    value=source.row.exposure or "",
                )
            )
    return rows.file.placed(found)


def _water_reports(rows: ResolvedRows, problems: list[Problem]) -> list[WaterReport]:
    """Return the water reports of all rows without problems that are not retired."""
    from vent_family.evidence.water.assess import assess
    from vent_family.evidence.water.conditions import conditions_of

    bad = {p.row for p in problems}
    return [
        assess(spec, conditions_of(spec))
        for source in rows.file.rows
        if source.row_number not in bad and source.row.status != "retired"
        for spec in (rows.spec(source),)
    ]

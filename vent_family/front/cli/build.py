"""``vent-family build``: every row to files."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from vent_family.base.problems import Problem
from vent_family.base.shop import design_problems
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JobsOption,
    JsonOption,
    OnlyOption,
    PublishIfOption,
    ShopOption,
    interrupted,
    print_answer,
    print_problems,
    progress,
    rates,
    read,
    refuse,
    selected,
    told,
    writing,
)
from vent_family.release.bar import DEFAULT_BAR, DO_NOT_FIT, PublishIf
from vent_family.release.index import withdraw, write_index
from vent_family.release.jobs import DRAFTS, Job, RowOutcome, build_time, jobs_of
from vent_family.release.pool import run_jobs


def build(
    catalog: CatalogOption = Path("catalog.csv"),
    out: Annotated[Path, typer.Option("--out", help="Where the files go.")] = Path("exports"),
    only: OnlyOption = None,
    jobs: JobsOption = None,
    drafts: Annotated[
        bool, typer.Option("--drafts", help="Write files of draft rows too, in _drafts/.")
    ] = False,
    publish_if: PublishIfOption = DEFAULT_BAR,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Build every row: check it, and publish the files of released rows.

    A released row whose part is predicted to let in water that it says it meets is not published;
    --publish-if says how good the prediction must be. A --shop that prints coarser than the parts
    are designed for is refused.
    """
    own = rates(shop, as_json)
    coarse = design_problems(own.shop, str(shop))
    if coarse:
        refuse(coarse, as_json)
    file = read(catalog, as_json)
    rows = selected(file, only, as_json)
    _prepare(out, as_json)
    with told(as_json):
        stamp = build_time()
    work = jobs_of(file, rows, out, drafts=drafts, stamp=stamp, publish_if=publish_if, rates=own)
    workers = min(jobs or os.cpu_count() or 1, max(1, len(work)))
    advice = "choose another folder with --out, or free the disk"
    try:
        with writing("the export folder", out, advice, as_json):
            outcomes = withdraw(rows, out) + _run(work, workers, quiet=as_json)
            write_index(out, [s.row for s in file.rows], outcomes, stamp, publish_if)
    except KeyboardInterrupt:
        interrupted("finished parts were kept, no file is half-written; build again", as_json)
    outcomes.sort(key=lambda o: o.row_number)
    failed = [o for o in outcomes if o.outcome in ("failed", "below bar")]
    if as_json:
        print_answer(
            "build",
            {
                "time_stamp": stamp.isoformat(timespec="seconds"),
                "publish_if": publish_if,
                "shop": own.as_dict(),
                "parts": [o.as_dict() for o in outcomes],
                "problems": [p.as_dict() for p in file.problems],
            },
        )
    else:
        for line in _warnings(outcomes, publish_if):
            print(line)
        Console().print(_table(outcomes))
        for o in outcomes:
            if o.outcome in ("written", "checked") and o.message:
                print(f"{o.part_number}: {o.message}")
        print_problems([*file.problems, *(p for o in failed for p in o.problems)])
    raise typer.Exit(EXIT_FAILED if failed or file.problems else EXIT_OK)


def _prepare(out: Path, as_json: bool) -> None:
    """Make the export folder and clear what a killed run left in it."""
    from vent_family.base.atomic import recover

    try:
        out.mkdir(parents=True, exist_ok=True)
        recover(out)
        recover(out / DRAFTS)
    except OSError as error:
        refuse(
            Problem(
                "file.unwritable",
                f"the export folder cannot be used: {error.strerror or error}",
                file=str(out),
                suggestion="choose another folder with --out",
            ),
            as_json,
        )


def _run(work: list[Job], workers: int, *, quiet: bool) -> list[RowOutcome]:
    """Run the jobs with a progress bar on the terminal."""
    if quiet:
        return run_jobs(work, workers, lambda outcome: None)
    with progress("building", len(work), transient=False) as (console, advance):

        def on_done(outcome: RowOutcome) -> None:
            console.print(f"{outcome.part_number}: {_word(outcome)}", highlight=False)
            advance()

        return run_jobs(work, workers, on_done)


def _word(outcome: RowOutcome) -> str:
    """Return what became of a row, in capitals where it was not published for a fault."""
    loud = outcome.outcome in ("failed", "below bar")
    return outcome.outcome.upper() if loud else outcome.outcome


def _warnings(outcomes: list[RowOutcome], publish_if: PublishIf) -> list[str]:
    """Return what comes before everything else: parts on disk that must not be fitted."""
    below = [o for o in outcomes if o.outcome == "below bar"]
    stays = [o.part_number for o in below if o.folder]
    lines = []
    if stays:
        lines.append(f"{', '.join(stays)}: {DO_NOT_FIT}; the last release stays, marked so")
    new = [o.part_number for o in below if not o.folder]
    if new:
        lines.append(
            f"{', '.join(new)}: not published; the bar is: publish if {publish_if}"
            " (--publish-if), and water is predicted to get in"
        )
    return lines


def _table(outcomes: list[RowOutcome]) -> Table:
    """Return the closing table of a build."""
    table = Table(title="Catalogue build", caption="area: smallest open area; mass: as printed")
    for name in ("row", "part", "result", "water"):
        table.add_column(name, no_wrap=True)
    for name in ("area mm2", "margin mm", "mass g", "s"):
        table.add_column(name, justify="right")
    for o in outcomes:
        facts = o.facts or {}
        table.add_row(
            str(o.row_number),
            o.part_number,
            _word(o),
            o.water,
            _cell(facts.get("smallest_open_area_mm2"), 0),
            _cell(facts.get("sight_margin_mm"), 2),
            _cell(facts.get("printed_mass_g"), 1),
            f"{o.seconds:.1f}" if o.seconds else "",
        )
    return table


def _cell(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"

"""``vent-family build``: every row to files."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from vent_family.base.problems import Problem
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_INTERRUPTED,
    EXIT_OK,
    CatalogOption,
    JsonOption,
    OnlyOption,
    print_json,
    print_problems,
    read,
    refuse,
    selected,
    writing,
)
from vent_family.release.index import withdraw, write_index
from vent_family.release.jobs import DRAFTS, Job, RowOutcome, build_time, jobs_of
from vent_family.release.pool import run_jobs


def build(
    catalog: CatalogOption = Path("catalog.csv"),
    out: Annotated[Path, typer.Option("--out", help="Where the files go.")] = Path("exports"),
    only: OnlyOption = None,
    jobs: Annotated[
        int | None,
        typer.Option("--jobs", "-j", min=1, max=64, help="Processes; all cores if blank."),
    ] = None,
    drafts: Annotated[
        bool, typer.Option("--drafts", help="Write files of draft rows too, in _drafts/.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Build every row: check it, and publish the files of released rows."""
    file = read(catalog, as_json)
    rows = selected(file, only, as_json)
    _prepare(out, as_json)
    stamp = build_time()
    work = jobs_of(file, rows, out, drafts=drafts, stamp=stamp)
    workers = min(jobs or os.cpu_count() or 1, max(1, len(work)))
    advice = "choose another folder with --out, or free the disk"
    try:
        with writing("the export folder", out, advice, as_json):
            outcomes = withdraw(rows, out) + _run(work, workers, quiet=as_json)
            write_index(out, [s.row for s in file.rows], outcomes, stamp)
    except KeyboardInterrupt:
        text = "interrupted: finished parts were kept, no file is half-written; build again"
        Console(stderr=True).print(text)
        raise typer.Exit(EXIT_INTERRUPTED) from None
    outcomes.sort(key=lambda o: o.row_number)
    failed = [o for o in outcomes if o.outcome == "failed"]
    if as_json:
        print_json(
            {
                "time_stamp": stamp.isoformat(timespec="seconds"),
                "parts": [o.as_dict() for o in outcomes],
                "problems": [p.as_dict() for p in file.problems],
            }
        )
    else:
        Console().print(_table(outcomes))
        for o in outcomes:
            if o.outcome == "written" and o.message:
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
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        console=Console(stderr=True),
    ) as progress:
        task = progress.add_task("building", total=len(work))

        def on_done(outcome: RowOutcome) -> None:
            word = "FAILED" if outcome.outcome == "failed" else outcome.outcome
            progress.console.print(f"{outcome.part_number}: {word}", highlight=False)
            progress.advance(task)

        return run_jobs(work, workers, on_done)


def _table(outcomes: list[RowOutcome]) -> Table:
    """Return the closing table of a build."""
    table = Table(title="Catalogue build", caption="area: smallest open area, and where it is")
    for name in ("row", "part", "result"):
        table.add_column(name, no_wrap=True)
    table.add_column("area mm2", justify="right")
    table.add_column("at", no_wrap=True)
    for name in ("margin mm", "mass g", "kB", "s"):
        table.add_column(name, justify="right")
    for o in outcomes:
        facts = o.facts or {}
        table.add_row(
            str(o.row_number),
            o.part_number,
            o.outcome.upper() if o.outcome == "failed" else o.outcome,
            _cell(facts.get("smallest_open_area_mm2"), 0),
            facts.get("smallest_open_area", ""),
            _cell(facts.get("sight_margin_mm"), 2),
            _cell(facts.get("mass_g"), 1),
            f"{sum(b for _, b in o.files) / 1000:.0f}" if o.files else "",
            f"{o.seconds:.1f}" if o.seconds else "",
        )
    return table


def _cell(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"

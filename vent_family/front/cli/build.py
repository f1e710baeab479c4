"""``vent-family build``: every row to files."""

from __future__ import annotations

import os
import time
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from vent_family.base.problems import Problem
from vent_family.front.cli.common import (
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
    rates_to_make,
    read,
    refuse,
    selected,
    told,
    writing,
)
from vent_family.front.cli.outcomes import (
    exit_code,
    outcome_table,
    row_lines,
    told_faults,
    warnings,
    word,
)
from vent_family.front.cli.reports import (
    JsonLinesOption,
    JunitOption,
    LogOption,
    ReportOption,
    SummaryOption,
    print_row,
    reporting,
    reports_written,
)
from vent_family.release.bar import DEFAULT_BAR
from vent_family.release.jobs import DRAFTS, Job, RowOutcome, build_time, jobs_of, left_out
from vent_family.release.pool import run_jobs


def build(
    catalog: CatalogOption = Path("catalog.csv"),
    out: Annotated[Path, typer.Option("--out", help="Where the folders go.")] = Path("built"),
    only: OnlyOption = None,
    jobs: JobsOption = None,
    drafts: Annotated[
        bool, typer.Option("--drafts", help="Write files of draft rows too, in _drafts/.")
    ] = False,
    sheets: Annotated[
        bool, typer.Option("--sheets", help="Product pictures, drawings, datasheet and such, too.")
    ] = False,
    publish_if: PublishIfOption = DEFAULT_BAR,
    shop: ShopOption = None,
    junit: JunitOption = None,
    summary: SummaryOption = None,
    log: LogOption = None,
    report: ReportOption = None,
    json_lines: JsonLinesOption = False,
    as_json: JsonOption = False,
) -> None:
    """Build rows into folders of your own, one a part, to look at; publish makes the library.

    A released row whose part is predicted to let in water that it says it meets is not written;
    --publish-if says how good the prediction must be. A --shop that prints coarser than the parts
    are designed for is refused.
    """
    from vent_family.release.reports.run import FinishedRun
    from vent_family.release.reports.written import ReportPaths

    begin, as_json = time.perf_counter(), as_json or json_lines
    reports = ReportPaths(junit, summary, log, report)
    with reporting(reports, "build", catalog, as_json):
        own = rates_to_make(shop, as_json)
        file = read(catalog, as_json)
        rows = selected(file, only, as_json)
        _prepare(out, as_json)
        with told(as_json):
            stamp = build_time()
        work = jobs_of(
            file,
            rows,
            out,
            drafts=drafts,
            stamp=stamp,
            publish_if=publish_if,
            rates=own,
            for_people=sheets,
        )
        workers = min(jobs or os.cpu_count() or 1, max(1, len(work)))
        advice = "choose another folder with --out, or free the disk"
        try:
            with writing("the export folder", out, advice, as_json):
                outcomes = [o for o in map(left_out, rows) if o is not None]
                outcomes += _run(work, workers, quiet=as_json, lines=json_lines)
        except KeyboardInterrupt:
            interrupted("finished parts were kept, no file is half-written; build again", as_json)
    outcomes = [replace(o, problems=tuple(file.placed(o.problems))) for o in outcomes]
    outcomes.sort(key=lambda o: o.row_number)
    answer = {
        "time_stamp": stamp.isoformat(timespec="seconds"),
        "publish_if": publish_if,
        "shop": own.as_dict(),
        "parts": [o.as_dict() for o in outcomes],
        "problems": [p.as_dict() for p in file.problems],
    }
    seconds = time.perf_counter() - begin
    run = FinishedRun(
        "build", file.path_name, stamp, seconds, tuple(outcomes), tuple(file.problems)
    )
    reports_written(reports, run, "build", answer, as_json)
    if as_json:
        print_answer("build", answer)
    else:
        for line in warnings(outcomes, publish_if):
            print(line)
        Console().print(outcome_table(outcomes, "Build"))
        for line in row_lines(outcomes):
            print(line)
        print_problems(told_faults(file.problems, outcomes))
    raise typer.Exit(exit_code(file.problems, outcomes))


def _prepare(out: Path, as_json: bool) -> None:
    """Make the folder and clear what a killed run left in it; a library is left alone."""
    from vent_family.base.atomic import recover
    from vent_family.release.publish.layout import Layout

    if Layout(out).own.exists():
        refuse(
            Problem(
                "library.folder.published",
                "the folder is a published library, whose files are never written over",
                file=str(out),
                suggestion="choose another folder with --out, or use publish",
            ),
            as_json,
        )
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


def _run(work: list[Job], workers: int, *, quiet: bool, lines: bool) -> list[RowOutcome]:
    """Run the jobs with a progress bar on the terminal, or a line of JSON for each."""
    if quiet:
        return run_jobs(work, workers, print_row if lines else lambda outcome: None)
    with progress("building", len(work), transient=False) as (console, advance):

        def on_done(outcome: RowOutcome) -> None:
            console.print(f"{outcome.part_number}: {word(outcome)}", highlight=False)
            advance()

        return run_jobs(work, workers, on_done)

"""``vent-family publish`` and ``verify``: a catalogue to a released library, and its state."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from vent_family.base.lock import HeldError, Holder, LostError
from vent_family.base.problems import Problem
from vent_family.front.cli.common import (
    EXIT_BUSY,
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JobsOption,
    JsonOption,
    OnlyOption,
    PublishIfOption,
    RegisterOption,
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
from vent_family.release.jobs import RowOutcome, build_time
from vent_family.release.register import register_path
from vent_family.release.stages import all_stages

if TYPE_CHECKING:
    from vent_family.release.publish.plan import Planned
    from vent_family.release.publish.publish import Order, Published
    from vent_family.release.reports.run import FinishedRun

OutOption = Annotated[Path, typer.Option("--out", help="The library's folder.")]


def publish(
    catalog: CatalogOption = Path("catalog.csv"),
    out: OutOption = Path("exports"),
    only: OnlyOption = None,
    jobs: JobsOption = None,
    publish_if: PublishIfOption = DEFAULT_BAR,
    shop: ShopOption = None,
    why: Annotated[bool, typer.Option("--why", help="Say why each part is made again.")] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would be made, and why; make nothing.")
    ] = False,
    rebuild: Annotated[
        bool, typer.Option("--rebuild", help="Make all parts again, changed or not.")
    ] = False,
    prune: Annotated[
        bool, typer.Option("--prune", help="Withdraw parts whose row is gone.")
    ] = False,
    register: RegisterOption = None,
    row_limit_s: Annotated[
        float, typer.Option("--row-limit", min=1.0, help="Give a row up after so many seconds.")
    ] = 1800.0,
    keep_days: Annotated[
        float, typer.Option("--keep-days", min=0.0, help="Days that old generations stay.")
    ] = 30.0,
    keep_pinned: Annotated[
        list[Path] | None,
        typer.Option(
            "--keep-pinned", help="A project's lock file: what it pins stays; may be repeated."
        ),
    ] = None,
    lock_age_s: Annotated[
        float,
        typer.Option(
            "--lock-age", min=1.0, help="Seconds after which a lock nobody renews is taken."
        ),
    ] = 20.0,
    junit: JunitOption = None,
    summary: SummaryOption = None,
    log: LogOption = None,
    report: ReportOption = None,
    json_lines: JsonLinesOption = False,
    scheduler: Annotated[
        str | None,
        typer.Option("--scheduler", help="Make rows on a Dask scheduler's workers: its address."),
    ] = None,
    sign: Annotated[
        Path | None, typer.Option("--sign", help="Sign the manifest with the key in this file.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Publish the catalogue as a library: make what changed, then switch to it at once.

    Rows are made side by side; one that fails costs only itself, and its last good release stays.
    Until the index is renamed into place at the end, readers see the library as it was.
    """
    from vent_family.release.pinned.lockfile import pinned_folders
    from vent_family.release.publish.publish import Order
    from vent_family.release.reports.written import ReportPaths

    begin, as_json = time.perf_counter(), as_json or json_lines
    reports = ReportPaths() if dry_run else ReportPaths(junit, summary, log, report)
    with reporting(reports, "publish", catalog, as_json):
        own = rates_to_make(shop, as_json)
        file = read(catalog, as_json)
        rows = selected(file, only, as_json)
        with told(as_json):
            stamp = build_time()
            pinned = pinned_folders(keep_pinned or ())
        order = Order(
            catalog=file,
            catalog_path=catalog,
            register=register or register_path(catalog),
            rows=tuple(rows),
            out=out,
            rates=own,
            stamp=stamp,
            publish_if=publish_if,
            workers=jobs or os.cpu_count() or 1,
            limit_s=row_limit_s,
            rebuild=rebuild,
            prune=prune,
            keep_days=keep_days,
            pinned=pinned,
            still_s=lock_age_s,
            beat_s=min(2.0, lock_age_s / 5.0),
        )
        if scheduler is not None:
            from vent_family.release.remote import on_scheduler

            with told(as_json):
                order = replace(order, runner=on_scheduler(scheduler))
        if sign is not None:
            from vent_family.release.publish.signing import signer

            with told(as_json):
                order = replace(order, signer=signer(sign))
        if dry_run:
            _plan_only(order, as_json)
        result = _published(order, _Shown(quiet=as_json, why=why, lines=json_lines), as_json)
    answer = _answer(result, order)
    run = _finished(result, order, time.perf_counter() - begin)
    reports_written(reports, run, "publish", answer, as_json)
    _tell(result, order, answer if as_json else None)


def _published(order: Order, shown: _Shown, as_json: bool) -> Published:
    """Return what came of a run, or say why it could not be made and end."""
    from vent_family.release.publish.publish import Told, publish_catalog
    from vent_family.release.publish.releases import RegisterHeldError

    out, advice = order.out, "choose another folder with --out, or free the disk"
    try:
        with told(as_json), writing("the library", out, advice, as_json), shown:
            return publish_catalog(order, Told(_stale, shown.plan, shown.done))
    except RegisterHeldError as error:
        problem = Problem(
            "register.lock.held",
            f"another run adds to this register of releases: {error.holder.text()}",
            file=str(order.register),
            suggestion="wait until it has ended; a lock that nobody renews is taken by itself",
        )
        refuse(problem, as_json, EXIT_BUSY)
    except HeldError as error:
        problem = Problem(
            "library.lock.held",
            f"another run is publishing into this folder: {error.holder.text()}",
            file=str(out),
            suggestion="wait until it has ended; a lock that nobody renews is taken by itself",
        )
        refuse(problem, as_json, EXIT_BUSY)
    except LostError as error:
        problem = Problem(
            "library.lock.lost",
            f"nothing was published: {error}",
            file=str(out),
            suggestion="publish again",
        )
        refuse(problem, as_json, EXIT_BUSY)
    except KeyboardInterrupt:
        interrupted("the library is whole, as it was or already switched; publish again", as_json)


def signing_key(
    file: Annotated[Path, typer.Argument(help="Where the secret key goes; the public: FILE.pub.")],
) -> None:
    """Make a pair of keys to sign libraries with. Keep the secret one secret."""
    from vent_family.release.publish.signing import new_keys

    advice = "choose another place"
    with told(as_json=False), writing("the key", file, advice, as_json=False):
        public = new_keys(file)
    print(f"secret key: {file}\npublic key: {public}; give this to whoever verifies")


def verify(
    library: Annotated[Path, typer.Argument(help="The library's folder.")] = Path("exports"),
    key: Annotated[
        Path | None, typer.Option("--key", help="The public key of who must have signed.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Read every file of a library again, and name what was altered, is missing or foreign."""
    from vent_family.release.publish.signing import public_key
    from vent_family.release.publish.verify import verify_library

    advice = "check the folder"
    with told(as_json), writing("the library", library, advice, as_json):
        result = verify_library(library, public_key(key) if key else "")
    if as_json:
        print_answer(
            "verify",
            {
                "generation": result.generation,
                "files": result.files,
                "findings": [
                    {"path": f.path, "fault": f.fault, "text": f.text} for f in result.findings
                ],
                "beside": list(result.beside),
            },
        )
    else:
        for finding in result.findings:
            print(finding.sentence())
        if result.beside:
            print(f"beside the library, not its own: {', '.join(result.beside)}")
        if result.generation:
            faults = f"{len(result.findings)} not as published" if result.findings else "all whole"
            print(f"generation {result.generation}: {result.files} files read, {faults}")
    raise typer.Exit(EXIT_FAILED if result.findings else EXIT_OK)


class _Shown:
    """What is shown while a run goes on: reasons, a bar, and each row as it is done."""

    def __init__(self, *, quiet: bool, why: bool, lines: bool) -> None:
        self._quiet, self._why, self._lines = quiet, why, lines
        self._bar: Any = None
        self._console: Console | None = None
        self._advance: Any = None

    def __enter__(self) -> _Shown:
        return self

    def __exit__(self, *error: object) -> None:
        if self._bar is not None:
            self._bar.__exit__(None, None, None)

    def plan(self, rows: Sequence[Planned]) -> None:
        """Tell what is to be done."""
        if self._why and not self._quiet:
            _print_plan(rows)
        making = sum(1 for p in rows if p.reasons)
        if making and not self._quiet:
            self._bar = progress("publishing", making, transient=False)
            self._console, self._advance = self._bar.__enter__()

    def done(self, outcome: RowOutcome) -> None:
        """Tell of one row."""
        if self._lines:
            print_row(outcome)
        if self._console is not None:
            line = f"{outcome.part_number}: {word(outcome)}"
            self._console.print(line, highlight=False, markup=False)
            self._advance()


def _print_plan(rows: Sequence[Planned]) -> None:
    for p in rows:
        print(f"{p.part_number}: {'; '.join(p.reasons) if p.reasons else 'nothing changed'}")


def _plan_only(order: Order, as_json: bool) -> None:
    """Print what a run would make, and why, and end."""
    from vent_family.release.publish.keys import common_key
    from vent_family.release.publish.layout import Layout
    from vent_family.release.publish.manifest import read_current
    from vent_family.release.publish.plan import planned
    from vent_family.release.registered import registered_here

    layout = Layout(order.out)
    manifest, _ = read_current(layout)
    common = common_key(order.rates.fingerprint, registered_here())
    rows = planned(order.rows, manifest, common, order.publish_if, layout, rebuild=order.rebuild)
    if as_json:
        print_answer(
            "plan",
            {
                "planned": [
                    {"part_number": p.part_number, "reasons": list(p.reasons)} for p in rows
                ],
                "problems": [p.as_dict() for p in order.catalog.problems],
            },
        )
    else:
        _print_plan(rows)
        print_problems(list(order.catalog.problems))
    raise typer.Exit(EXIT_FAILED if order.catalog.problems else EXIT_OK)


def _stale(holder: Holder) -> None:
    text = f"a run that ended without a word had the lock ({holder.text()}); it was taken"
    Console(stderr=True, soft_wrap=True).print(text, markup=False, highlight=False)


def _answer(result: Published, order: Order) -> dict[str, Any]:
    """Return what came of a run as plain data."""
    return {
        "time_stamp": order.stamp.isoformat(timespec="seconds"),
        "generation": result.generation,
        "switched": result.switched,
        "publish_if": order.publish_if,
        "shop": order.rates.as_dict(),
        "parts": [o.as_dict() for o in result.outcomes],
        "orphans": list(result.orphans),
        "notes": list(result.notes),
        "removed": list(result.swept.removed),
        "problems": [p.as_dict() for p in _problems(result, order)],
    }


def _problems(result: Published, order: Order) -> list[Problem]:
    """Return what is wrong with the catalogue, and what went wrong besides its rows."""
    return [*order.catalog.problems, *result.problems]


def _finished(result: Published, order: Order, seconds: float) -> FinishedRun:
    """Return what came of a run for its reports."""
    from vent_family.release.reports.run import FinishedRun

    return FinishedRun(
        "publish",
        order.catalog.path_name,
        order.stamp,
        seconds,
        result.outcomes,
        tuple(_problems(result, order)),
        (*result.notes, *_orphans(result)),
    )


def _orphans(result: Published) -> list[str]:
    """Return what is to be said of parts whose row is gone."""
    if not result.orphans:
        return []
    return [
        f"{', '.join(result.orphans)}: published, but no row of the catalogue any more;"
        " --prune withdraws them"
    ]


def _tell(result: Published, order: Order, answer: dict[str, Any] | None) -> None:
    """Print what came of a run, as its answer for machines if there is one, and end."""
    outcomes = list(result.outcomes)
    problems = _problems(result, order)
    if answer is not None:
        print_answer("publish", answer)
    else:
        for line in warnings(outcomes, order.publish_if):
            print(line)
        made = [o for o in outcomes if o.outcome != "unchanged"]
        if made:
            Console().print(outcome_table(made, "Published"))
        for line in row_lines(outcomes):
            print(line)
        for note in (*result.notes, *_orphans(result)):
            print(note)
        for path in result.swept.kept:
            print(f"{path}: stays, for it was not written here or was changed since")
        stages = all_stages(o.stages for o in outcomes if o.stages)
        if stages:
            shown = ", ".join(f"{name} {seconds:.0f}" for name, seconds in stages.items())
            print(f"seconds of work: {shown}; pages {result.pages_s:.1f}")
        as_was = len(outcomes) - len(made)
        state = "is published" if result.switched else "stays: nothing changed"
        print(f"generation {result.generation} {state}; {as_was} of {len(outcomes)} rows as before")
        print_problems(told_faults(problems, outcomes))
    raise typer.Exit(exit_code(problems, outcomes))

"""Reports of a run over many rows: their options, a line of JSON a row, files at the end."""

from __future__ import annotations

import json
import signal
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vent_family.base.problems import Problem
from vent_family.front.answers import stamped
from vent_family.front.cli.common import (
    EXIT_INTERRUPTED,
    NOTHING_HALF,
    REFUSAL,
    Refused,
    interruption,
    print_problems,
    refusal_answer,
    writing,
)
from vent_family.release.jobs import RowOutcome

if TYPE_CHECKING:
    from vent_family.release.reports.run import FinishedRun
    from vent_family.release.reports.written import ReportPaths

JunitOption = Annotated[
    Path | None, typer.Option("--junit", help="Write a JUnit file, one case a row.")
]
SummaryOption = Annotated[
    Path | None, typer.Option("--summary", help="Write a short mail as text, the worst first.")
]
LogOption = Annotated[
    Path | None, typer.Option("--log", help="Write every row and what came of it as text.")
]
ReportOption = Annotated[
    Path | None, typer.Option("--report", help="Write the answer of --json to a file.")
]
JsonLinesOption = Annotated[
    bool,
    typer.Option(
        "--json-lines", help="Print a line of JSON for each row as it is done, the answer last."
    ),
]
_ADVICE = "choose another place"


@contextmanager
def reporting(paths: ReportPaths, command: str, catalog: Path, as_json: bool) -> Iterator[None]:
    """Take old reports away before a run begins; if it is refused or interrupted, write them.

    A request to end counts as an interrupt from the keyboard. Where a report cannot be written,
    the run ends before it begins.
    """
    began, begin = datetime.now(UTC), time.perf_counter()
    with terminated():
        with writing("the reports", Path(), _ADVICE, as_json):
            paths.cleared()
        try:
            yield
        except (Refused, KeyboardInterrupt) as error:
            refused = isinstance(error, Refused) and error.exit_code != EXIT_INTERRUPTED
            problems = (
                error.problems if isinstance(error, Refused) else (interruption(NOTHING_HALF),)
            )
            seconds = time.perf_counter() - begin
            _broken_off(paths, command, catalog.name, began, seconds, problems, refused=refused)
            raise


def _broken_off(
    paths: ReportPaths,
    command: str,
    catalogue: str,
    began: datetime,
    seconds: float,
    problems: Sequence[Problem],
    *,
    refused: bool,
) -> None:
    """Write the reports of a run that came to nothing after ``seconds`` (s), and why."""
    from vent_family.release.reports.run import FinishedRun

    run = FinishedRun(
        command,
        catalogue,
        began,
        seconds,
        (),
        tuple(problems),
        broken_off="refused" if refused else "interrupted",
    )
    try:
        paths.written(run, stamped(REFUSAL, refusal_answer(problems)))
    except OSError as error:
        # The run's own end is told already, and its exit code stays.
        message = f"the reports cannot be written: {error.strerror or error}"
        print_problems([Problem("file.unwritable", message, suggestion=_ADVICE)])


@contextmanager
def terminated() -> Iterator[None]:
    """Take a request to end as an interrupt from the keyboard: workers end, nothing is switched.

    Raises
    ------
    KeyboardInterrupt
        once the request comes
    """

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    try:
        before = signal.signal(signal.SIGTERM, stop)
    except ValueError:  # not in the main thread
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def reports_written(
    paths: ReportPaths, run: FinishedRun, command: str, answer: dict[str, Any], as_json: bool
) -> None:
    """Write the reports of a run, or say why one cannot be written and end.

    ``answer`` is what the ``command`` answers with ``--json``.
    """
    with writing("the reports", Path(), _ADVICE, as_json):
        paths.written(run, stamped(command, answer))


def print_row(outcome: RowOutcome) -> None:
    """Print what became of a row as one line of JSON, at once."""
    print(json.dumps(stamped("row", outcome.as_dict()), ensure_ascii=False), flush=True)

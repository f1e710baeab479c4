"""Reports of a run over many rows: their options, a line of JSON a row, files at the end."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vent_family.front.answers import stamped
from vent_family.front.cli.common import writing
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


def reports_cleared(paths: ReportPaths, as_json: bool) -> None:
    """Take old reports away before a run begins, or say why that cannot be done and end."""
    with writing("the reports", Path(), _ADVICE, as_json):
        paths.cleared()


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

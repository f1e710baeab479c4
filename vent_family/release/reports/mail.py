"""A run as a short mail: what needs somebody first, then what changed; the rest is a number."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from vent_family.release.cautions import CAUTION
from vent_family.release.reports.log import total_words
from vent_family.release.reports.run import FinishedRun, RunLine, lasting

WIDTH: Final = 78
"""Longest line, characters: RFC 5322, 2.1.1, recommends no longer ones."""
MOST_TOLD: Final = 20
"""Rows named under one heading; the log names all."""


def subject(run: FinishedRun) -> str:
    """Return the subject of the mail: the worst first, in one line."""
    if run.broken_off:
        return f"{run.name}: the run was {run.broken_off}"
    worse, failed = len({part for part, _ in run.worse}), run.count("refused") + run.count("error")
    told = [f"{worse} got worse"] if worse else []
    told += [f"{failed} of {len(run.lines())} rows not made"] if failed else []
    return f"{run.name}: {', '.join(told) or 'all rows are good'}"


def mail_text(run: FinishedRun) -> str:
    """Return subject and body as plain text, the subject as a first line ``Subject: ...``."""
    return "\n".join([f"Subject: {subject(run)}", "", *_body(run)]) + "\n"


def _body(run: FinishedRun) -> Iterator[str]:
    lines = run.lines()
    below = [line for line in lines if line.outcome == "below bar"]
    errors = [line for line in lines if line.state == "error"]
    refused = [line for line in lines if line.state == "refused" and line.outcome != "below bar"]
    yield from _section("GOT WORSE", [f"{part}: {words}" for part, words in run.worse])
    yield from _section("PREDICTED TO LET IN WATER", _told(below))
    yield from _section("NOT MADE", _told(refused))
    yield from _section("NOT MADE, a fault of the program", _told(errors))
    yield from _section("CHANGED", _changed(run))
    yield from _section("NOTES", run.notes)
    begun = run.began.strftime("%Y-%m-%d %H:%M")
    yield from _wrapped(f"{total_words(run)}. Begun {begun} UTC, took {lasting(run.seconds)}.")
    yield ""
    yield from _wrapped(CAUTION)


def _told(lines: Sequence[RunLine]) -> list[str]:
    """Return each row in one piece: its sentences, under its name where they do not say it."""
    return [
        text if line.name in text else f"{line.name}: {text}"
        for line in lines
        for text in [" ".join(line.words) or line.outcome]
    ]


def _changed(run: FinishedRun) -> list[str]:
    """Return what was released or withdrawn, in one line each."""
    found = []
    for o in run.outcomes:
        if o.judgement is not None and o.judgement.kind != "same" and o.outcome == "written":
            found.append(f"{o.part_number}: {o.judgement.text()}")
        elif o.outcome == "withdrawn":
            found.append(f"{o.part_number}: {o.message or o.outcome}")
    return found


def _section(heading: str, told: Sequence[str]) -> Iterator[str]:
    """Yield a heading with what is told under it; nothing where there is nothing."""
    if not told:
        return
    yield f"{heading} ({len(told)})"
    for text in told[:MOST_TOLD]:
        yield from _wrapped(text, "- ", "  ")
    if len(told) > MOST_TOLD:
        yield f"- and {len(told) - MOST_TOLD} more, see the log"
    yield ""


def _wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )

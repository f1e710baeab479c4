"""A run as a text to read from top to bottom: every row, what came of it, and why."""

from __future__ import annotations

from collections.abc import Iterator

from vent_family.release.reports.run import FinishedRun, RunLine, lasting


def log_text(run: FinishedRun) -> str:
    """Return a run as lines of text, rows in the catalogue's order, totals last."""
    return "\n".join(_lines(run)) + "\n"


def _lines(run: FinishedRun) -> Iterator[str]:
    yield f"{run.name}, begun {run.began.strftime('%Y-%m-%d %H:%M:%S')} UTC"
    found = run.lines()
    wide = max((len(line.name) for line in found), default=0)
    words = max((len(_word(line)) for line in found), default=0)
    for line in found:
        row = f"row {line.row}" if line.row else "file"
        time = f"{line.seconds:9.1f} s" if line.seconds else ""
        yield f"{row:>8}  {line.name:{wide}}  {_word(line):{words}}{time}".rstrip()
        yield from (f"{'':10}{text}" for text in line.words)
    yield from run.notes
    yield f"{total_words(run)}; {lasting(run.seconds)}"


def _word(line: RunLine) -> str:
    """Return what came of a row, in capitals where something is wrong."""
    return line.outcome.upper() if line.state in ("refused", "error") else line.outcome


def total_words(run: FinishedRun) -> str:
    """Return how many rows came to what, in one line, or that the run came to nothing."""
    if run.broken_off:
        return f"the run was {run.broken_off}"
    found = run.lines()
    told = ", ".join(f"{count} {outcome}" for outcome, count in run.counts().items())
    return f"{len(found)} row{'s' * (len(found) != 1)}" + (f": {told}" if told else "")

"""A finished run over a catalogue, and what is told of it first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from vent_family.base.problems import Problem, printable
from vent_family.release.jobs import Outcome, RowOutcome

State = Literal["done", "refused", "error", "left out"]
"""``refused``: the row does not pass; ``error``: the program failed on it."""

BrokenOff = Literal["", "refused", "interrupted"]
"""How a run ended before its end; blank for one that came to its end."""

PROGRAM: Final = "release.part."
"""How the codes of problems begin that are no fault of the row: an error, a crash, a hang."""
_LEFT_OUT: Final[tuple[Outcome, ...]] = ("skipped", "withdrawn")


@dataclass(frozen=True, slots=True)
class FinishedRun:
    """What was asked of a run and what it came to.

    ``outcomes`` are those of rows that could be read, in the catalogue's order; ``problems`` those
    of the file and of rows that could not be read; ``notes`` what else is to be said of the whole
    run. A run that was ``broken_off`` came to nothing, for its problems. It began at ``began`` and
    took ``seconds``, s. Lines and names hold printable signs only, so that they break neither a
    terminal nor XML.
    """

    command: str
    catalogue: str
    began: datetime
    seconds: float
    outcomes: tuple[RowOutcome, ...]
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()
    broken_off: BrokenOff = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "notes", tuple(map(printable, self.notes)))
        object.__setattr__(self, "catalogue", printable(self.catalogue))

    @property
    def name(self) -> str:
        """What the run is called: command and catalogue."""
        return f"vent-family {self.command} {self.catalogue}"

    def lines(self) -> tuple[RunLine, ...]:
        """Return every row of the catalogue, and the file itself where it has a problem.

        Of a run that was broken off there is one line, which says why.
        """
        if self.broken_off:
            words = tuple(p.sentence() for p in self.problems)
            codes = _codes(self.problems)
            return (RunLine(self.catalogue, 0, "refused", self.broken_off, words, codes),)
        found = [_of_outcome(o) for o in self.outcomes]
        built = {o.row_number for o in self.outcomes}
        unread: dict[int | None, list[Problem]] = {}
        for problem in self.problems:
            unread.setdefault(problem.row, []).append(problem)
        for row, problems in unread.items():
            if row in built:
                continue
            name = problems[0].part_number or (f"row {row}" if row else self.catalogue)
            words = tuple(p.sentence() for p in problems)
            found.append(
                RunLine(printable(name), row or 0, "refused", "refused", words, _codes(problems))
            )
        return tuple(sorted(found, key=lambda line: line.row))

    def count(self, state: State) -> int:
        """Return how many lines ended in a state."""
        return sum(line.state == state for line in self.lines())

    def counts(self) -> dict[str, int]:
        """Return how many rows came to each outcome, the most frequent first."""
        return dict(Counter(line.outcome for line in self.lines()).most_common())

    @property
    def worse(self) -> tuple[tuple[str, str], ...]:
        """Part and words of every verdict that got worse."""
        return tuple(
            (o.part_number, words)
            for o in self.outcomes
            if o.judgement is not None
            for words in o.judgement.worse
        )


@dataclass(frozen=True, slots=True)
class RunLine:
    """One row in a report: what it is called, what came of it, and why.

    ``row`` is 0 for the file itself; ``seconds`` is the time it took, s.
    """

    name: str
    row: int
    state: State
    outcome: str
    words: tuple[str, ...]
    codes: tuple[str, ...] = ()
    seconds: float = 0.0
    status: str = ""


def _of_outcome(outcome: RowOutcome) -> RunLine:
    codes = _codes(outcome.problems)
    state: State = "done"
    if outcome.outcome in _LEFT_OUT:
        state = "left out"
    elif outcome.is_amiss:
        state = "error" if any(c.startswith(PROGRAM) for c in codes) else "refused"
    words = tuple(p.sentence() for p in outcome.problems)
    if not words and outcome.message:
        words = (printable(outcome.message),)
    return RunLine(
        outcome.part_number,
        outcome.row_number,
        state,
        outcome.outcome,
        words,
        codes,
        outcome.seconds,
        outcome.status,
    )


def _codes(problems: Sequence[Problem]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(p.code for p in problems))


def lasting(time_s: float) -> str:
    """Return a time (s) in words.

    Examples
    --------
    >>> lasting(7.42), lasting(312.0), lasting(7500.0)
    ('7.4 s', '5 min 12 s', '2 h 5 min')
    """
    if time_s < 60.0:
        return f"{time_s:.1f} s"
    minutes, rest = divmod(round(time_s), 60)
    if minutes < 60:
        return f"{minutes} min {rest} s"
    return f"{minutes // 60} h {minutes % 60} min"

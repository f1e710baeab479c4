"""What is refused about one row while it is being resolved, and what its rules would try first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vent_family.base.problems import Problem
from vent_family.catalog.model import CatalogRow
from vent_family.spec.changes import Change


@dataclass(frozen=True, slots=True)
class Refusal:
    """One rule that a row breaks.

    ``rule`` names the rule, whatever the numbers in its sentence: its code, and which of several
    places of the row breaks it. ``stage`` counts how far the row had come when it was found.
    ``guesses`` are changes that the rule has computed, cheapest first; ``columns`` are worth
    turning besides, cheapest first. Both are mere candidates: what is told to people is what
    :mod:`vent_family.spec.advice` has tried. ``lack`` says how far the row is from keeping the
    rule, in any unit: less is nearer.
    """

    rule: str
    stage: int
    problem: Problem
    guesses: tuple[Change, ...]
    columns: tuple[str, ...]
    lack: float


class RefusedError(Exception):
    """Raised while a row is being resolved; carries every :class:`Refusal` found so far."""

    def __init__(self, refusals: Sequence[Refusal]) -> None:
        self.refusals: tuple[Refusal, ...] = tuple(refusals)
        super().__init__("\n".join(r.problem.message for r in self.refusals))


class Refusals:
    """The rules found broken so far in one row."""

    def __init__(self, row: CatalogRow) -> None:
        self._row = row
        self._found: list[Refusal] = []
        self._stage = 0

    def __len__(self) -> int:
        return len(self._found)

    @property
    def found(self) -> tuple[Refusal, ...]:
        """The rules, in the order in which they were found broken."""
        return tuple(self._found)

    def refuse(
        self,
        code: str,
        column: str,
        message: str,
        *,
        which: str = "",
        allowed: str = "",
        guesses: Sequence[Change] = (),
        columns: Sequence[str] = (),
        lack: float = 0.0,
    ) -> None:
        """Note a broken rule of the row; see :class:`Refusal`.

        ``code`` is listed in :mod:`vent_family.base.codes`; ``which`` tells apart what one rule may
        refuse several times in a row, such as gaps. ``column`` is the one blamed, ``allowed`` what
        it accepts, ``lack`` in any unit. File and row number are filled in by the caller's caller.
        """
        rule = f"{code} {which}" if which else code
        if any(r.rule == rule for r in self._found):
            return
        problem = Problem(
            code,
            message,
            part_number=self._row.part_number,
            column=column,
            value=_text(getattr(self._row, column, None)),
            allowed=allowed,
        )
        self._found.append(
            Refusal(rule, self._stage, problem, tuple(guesses), tuple(columns), lack)
        )

    def next_stage(self) -> None:
        """Count on: what is refused from here on was not looked at where anything was before."""
        self._stage += 1

    def stop_if_any(self) -> None:
        """Begin the next stage, or stop.

        Raises
        ------
        RefusedError
            if anything has been refused, with all of it
        """
        if self._found:
            raise RefusedError(self._found)
        self.next_stage()


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)

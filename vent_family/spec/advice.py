"""Advice on a refused row: changes that were tried, least first, one to three columns together.

Every rule names changes it has computed and columns worth turning; both are candidates only. Here
each is made on the row and the row resolved again. A change is advice if the rule is kept then and
no rule that comes before it is broken instead; best is one that leaves nothing but what else was
refused in the first place. Where one change leads to the next rule, that rule's own candidates are
tried on top; where none does it, two columns are turned at once.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Protocol

from vent_family.base.problems import Problem
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.spec import defaults
from vent_family.spec.changes import (
    BLANK,
    Change,
    applied,
    change_words,
    gaps_text,
    ladder,
    on_step,
    possible,
    step_of,
)
from vent_family.spec.families import filled_row
from vent_family.spec.forms import DEFAULT_FORM, FORMS
from vent_family.spec.refusals import Refusal
from vent_family.spec.row import FilledRow

Broken = tuple[Refusal, ...]


class Attempt(Protocol):
    """Resolves a row and returns the rules it breaks; none where it is accepted.

    A ``quick`` answer leads the search; what it leads to is tried in full.
    """

    def __call__(self, row: CatalogRow, *, quick: bool = False) -> Broken:
        """Return the rules that a row breaks."""
        ...


OTHERS: Final = (
    "pitch_mm",
    "overlap_mm",
    "slat_height_mm",
    "bank_gaps_mm",
    "bank_stagger",
    "bank_count",
    "slat_thickness_mm",
    "slopes",
    "floor_slope_deg",
    "drain_height_mm",
    "sill_height_mm",
    "rib_count",
    "head_diameter_mm",
    "slat_form",
    "size",
)
"""Columns turned where a rule's own do not help, cheapest first."""
_RANK: Final = 0.04
"""What one place later in the order of columns costs, as a share by which a number is turned."""
_TRIALS: Final = 60
"""Layouts tried for one broken rule by its own columns, by pairs, and by all others, at most."""
_CHAINED: Final = 12
"""Layouts tried for the next rule on top of one change, at most."""
_STEPS_IN_VAIN: Final = 3
"""After so many steps that led no nearer a direction is given up."""
_CHEAP: Final = 0.05
"""What a row costs that is refused before it is laid out."""
_LAID_OUT: Final = 3
"""The stage from which on a stack has been laid out."""
_COARSE: Final = (BLANK, 0.1, 0.32, 0.8, 1.0, 2.5)
"""Shares by which columns are turned in pairs."""
_KEPT: Final = 2
"""Changes that lead to the next rule and are followed up."""
_DEEPEST: Final = 3
"""Columns changed together, at most; cells that are cleared with them do not count."""
_CLEAN, _GONE, _SAME = 2, 1, 0


def with_advice(row: CatalogRow, refusals: Sequence[Refusal], attempt: Attempt) -> list[Problem]:
    """Return the problems of a refused row, each with advice that was tried.

    Parameters
    ----------
    row
        The row.
    refusals
        The rules it breaks.
    attempt
        Resolves a changed row; it must not ask for advice itself.
    """
    tries = _Tries(row, tuple(refusals), attempt)
    mended = row
    before: dict[str, Any] = {}
    problems = []
    for refusal in refusals:
        found = None
        if mended != row:
            # Best is a change that works alone and along with what was advised before.
            found = _Search(refusal, (row, mended), before, tries).best()
        if found is None or found.grade == _SAME:
            found = _Search(refusal, (row,), before, tries).best()
        if found.grade != _SAME:
            mended = applied(mended, found.change)
            before = {**before, **found.change}
        problems.append(replace(refusal.problem, suggestion=found.words))
    return problems


@dataclass(frozen=True, slots=True)
class _Found:
    """The best change of a search: what it achieves, and how it is told."""

    change: Change
    grade: int
    words: str


class _Tries:
    """Rows tried, each once; ``spent`` counts what they have cost, a layout being 1."""

    def __init__(self, row: CatalogRow, broken: Broken, attempt: Attempt) -> None:
        self._known = {(row, True): broken}
        self._attempt = attempt
        self.spent = 0.0

    def __call__(self, row: CatalogRow, *, quick: bool = False) -> Broken:
        """Return the rules that a row breaks."""
        if (row, quick) not in self._known:
            broken = self._known[row, quick] = self._attempt(row, quick=quick)
            self.spent += _CHEAP if broken and broken[0].stage < _LAID_OUT else 1.0
        return self._known[row, quick]


class _Search:
    """The search for a change that makes one or two versions of a row keep a rule."""

    def __init__(
        self, refusal: Refusal, rows: tuple[CatalogRow, ...], before: Change, attempt: _Tries
    ) -> None:
        self._refusal, self._rows, self._before = refusal, rows, before
        self._attempt = attempt
        self._others = {r.rule for r in attempt(rows[0], quick=True)} - {refusal.rule}
        self._first: tuple[str, float] = ("", 0.0)
        self._ways: dict[tuple[str, bool], list[tuple[str, float]]] = {}
        self._nearest: tuple[float, Change, str] = (0.9 * refusal.lack, {}, "")

    def best(self) -> _Found:
        """Return the best change met, cheapest first; of grade ``_SAME`` if none mends it."""
        row, refusal = self._rows[0], self._refusal
        kept: list[Change] = []
        first = [self._before] if self._before else []
        own = itertools.chain(first, refusal.guesses, _singles(row, refusal.columns))
        for candidates in (own, self._pairs(), _singles(row, OTHERS)):
            for change in self._promising(row, candidates, _TRIALS):
                grade = self.grade(change)
                if grade == _CLEAN:
                    told = self._told(self._least(change, grade), change)
                    if told is not None:
                        return told
                elif grade == _GONE and len(kept) < _KEPT and not _alike(change, kept):
                    kept.append(change)
            for change in kept:
                further = self._further(change, 1)
                told = None if further is None else self._told(further)
                if told is not None:
                    return told
            for change in kept:
                told = self._told(self._least(change, _GONE), change)
                if told is not None:
                    return told
        return _Found({}, _SAME, self._none())

    def grade(self, change: Change, *, quick: bool = True) -> int:
        """Return whether a change does nothing, mends the rule, or leaves no other one broken."""
        if not possible(self._rows[0], change):
            self._first = ("", 0.0)
            return _SAME
        return min(self._graded(row, change, quick=quick) for row in self._rows)

    def _graded(self, row: CatalogRow, change: Change, *, quick: bool) -> int:
        left = self._attempt(applied(row, change), quick=quick)
        rules = {r.rule: r for r in left}
        new = [r for r in left if r.rule not in self._others]
        self._first = (new[0].rule, new[0].lack) if new else ("", 0.0)
        if self._refusal.rule in rules:
            lack = rules[self._refusal.rule].lack
            if len(new) == 1 and 0.0 < lack < self._nearest[0]:
                self._nearest = (lack, change, new[0].problem.message)
            return _SAME
        if any(r.stage < self._refusal.stage for r in new):
            return _SAME  # the row does not come as far as this rule any more
        return _GONE if new else _CLEAN

    def _way(self, row: CatalogRow, change: Change) -> tuple[str, bool] | None:
        """Return column and direction of a change of one number."""
        name, value = next(iter(change.items()))
        now = meant_today(row, filled_row(row), name)
        if len(change) > 1 or isinstance(value, str) or None in (now, value):
            return None
        return name, value > now

    def _in_vain(self, way: tuple[str, bool]) -> bool:
        """Return whether the last steps in a direction led no nearer to keeping the next rule."""
        last = self._ways.get(way, [])[-_STEPS_IN_VAIN:]
        lacks = [lack for _, lack in last]
        alike = len({rule for rule, _ in last}) == 1 and len(last) == _STEPS_IN_VAIN
        return alike and lacks[0] > 0.0 and lacks == sorted(lacks)

    def _promising(
        self, row: CatalogRow, candidates: Iterator[Change], layouts: float
    ) -> Iterator[Change]:
        """Yield candidates of a row until they have cost so many layouts.

        What goes further in a direction that led no nearer is left out.
        """
        self._ways = {}
        end = self._attempt.spent + layouts
        for change in candidates:
            if self._attempt.spent >= end:
                return
            way = self._way(row, change)
            if way is not None and self._in_vain(way):
                continue
            yield change
            if way is not None:
                self._ways.setdefault(way, []).append(self._first)

    def _further(self, change: Change, depth: int) -> Change | None:
        """Return a change with candidates of the next broken rule on top, if that clears all."""
        row = applied(self._rows[0], change)
        new = [r for r in self._attempt(row, quick=True) if r.rule not in self._others]
        if not new:
            return None
        kept: list[Change] = []
        more = itertools.chain(new[0].guesses, _singles(row, new[0].columns))
        for added in self._promising(row, more, _CHAINED):
            both: Change = {**change, **added}
            if not possible(row, added) or _turned(both) > _DEEPEST:
                continue
            grade = self.grade(both)
            if grade == _CLEAN:
                return both
            if grade == _GONE and not kept:
                kept.append(both)
        if depth + 1 < _DEEPEST:
            for both in kept:
                found = self._further(both, depth + 1)
                if found is not None:
                    return found
        return None

    def _pairs(self) -> Iterator[Change]:
        """Yield changes of two columns, the first of them one that the rule names."""
        row = self._rows[0]
        own = _costed(row, self._refusal.columns, _COARSE)
        rest = [n for n in OTHERS if n not in self._refusal.columns]
        other = _costed(row, rest, _COARSE)
        pairs = [
            (a + b, {**one, **two})
            for (a, one), (b, two) in itertools.chain(
                itertools.combinations(own, 2), itertools.product(own, other)
            )
            if not set(one) & set(two)
        ]
        yield from (change for _, change in sorted(pairs, key=lambda item: item[0]))

    def _least(self, change: Change, grade: int) -> Change:
        """Return a change of one number turned back as far as it does as much."""
        row = self._rows[0]
        if len(change) != 1:
            return change
        ((name, value),) = change.items()
        now = meant_today(row, filled_row(row), name)
        if COLUMNS[name].kind not in ("number", "integer") or None in (now, value):
            return change
        column = COLUMNS[name]
        step = step_of(column)
        low, high = 0, round(abs(value - now) / step)
        best = change
        while high - low > 1:
            middle = (low + high) // 2
            upwards = value > now
            turned = now + (middle if upwards else -middle) * step
            trial: Change = {name: on_step(column, turned, upwards=upwards)}
            if self.grade(trial) >= grade:
                best, high = trial, middle
            else:
                low = middle
        return best

    def _told(self, *changes: Change) -> _Found | None:
        """Return the first change that mends the rule in full, with its words, ``None`` if none.

        A quick answer may lay the row out with another stack than the whole search. What is still
        to mend then is told with the change.
        """
        for change in changes:
            grade = self.grade(change, quick=False)
            if grade == _SAME:
                continue
            words = change_words(change)
            if grade == _GONE:
                left = [r for row in self._rows for r in self._attempt(applied(row, change))]
                new = next(r for r in left if r.rule not in self._others)
                words += f" (next: {new.problem.message})"
            return _Found(change, grade, words)
        return None

    def _none(self) -> str:
        words = "no change of one, two or three columns that was tried mends this"
        _, change, message = self._nearest
        return (
            f"{words}; what comes nearest: {change_words(change)} ({message})" if change else words
        )


def _turned(change: Change) -> int:
    return sum(value is not None for value in change.values())


def _alike(change: Change, kept: Sequence[Change]) -> bool:
    return any(set(change) == set(other) for other in kept)


def _singles(row: CatalogRow, names: Sequence[str]) -> Iterator[Change]:
    """Yield changes of one column each, least turn first, earlier columns before later ones."""
    costed = _costed(row, names)
    yield from (change for _, change in sorted(costed, key=lambda item: item[0]))


def _costed(
    row: CatalogRow, names: Sequence[str], shares: Sequence[float] | None = None
) -> list[tuple[float, Change]]:
    """Return changes of one column each with their cost; only by some shares where given."""
    filled = filled_row(row)
    return [
        (share + _RANK * rank, _with_companions(row, name, value))
        for rank, name in enumerate(names)
        if row.family in COLUMNS[name].families and not _unused(row, name)
        for share, value in ladder(row, name, meant_today(row, filled, name))
        if shares is None or share in shares
    ]


def _unused(row: CatalogRow, name: str) -> bool:
    """Return whether a column is without meaning because another one is filled in."""
    if name == "overlap_mm":
        return row.slat_height_mm is not None and row.overlap_mm is None
    return name == "slat_height_mm" and row.slat_height_mm is None


def meant_today(row: CatalogRow, filled: FilledRow, name: str) -> Any:
    """Return what a column's cell means today, blank or not; ``None`` if it is computed later."""
    if name == "bank_gaps_mm" and filled.bank_gaps_mm is None:
        return gaps_text((filled.bank_gap_mm,)) if filled.bank_count > 1 else None
    if name == "sill_height_mm" and filled.sill_height_mm is None:
        return filled.drain_height_mm + defaults.SILL_OVER_DRAIN_MM
    own = getattr(row, name)
    return getattr(filled, name, None) if own is None else own


def _with_companions(row: CatalogRow, name: str, value: Any) -> Change:
    """Return a change of a column, with the cells cleared that cannot stay as they are."""
    change: dict[str, Any] = {name: value}
    blank: tuple[str, ...] = ()
    if name == "bank_count":
        blank = ("bank_gaps_mm", "slopes")
        if row.bank_gaps_mm is not None and "/" not in row.bank_gaps_mm:
            blank = ("slopes",)
    elif name == "slat_form":
        blank = ("pitch_mm", "bank_count", "bank_gaps_mm", "slat_height_mm", "overlap_mm")
        if not FORMS[value or DEFAULT_FORM].slopes_chosen:
            blank += ("slopes",)
        if FORMS[value or DEFAULT_FORM].foot_most_mm(1.0) is None:
            blank += ("slat_foot_mm",)
    return change | {n: None for n in blank if getattr(row, n) is not None}

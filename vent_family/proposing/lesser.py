"""Rows with one thing less than another one: thinner, fewer or smaller, and what becomes of them.

Every one is a row of its own that goes up the ladder as any other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.confirm import Confirmed
from vent_family.proposing.crew import Crew
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import RUNGS, Candidate, refused_words
from vent_family.proposing.search import AIMS
from vent_family.proposing.titles import NOTICED, TITLES, gains_and_losses
from vent_family.spec.changes import Change, applied, gaps_text, in_range, on_step
from vent_family.spec.families import filled_row
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

Stands = Literal["stopped", "no gain", "trade", "better", "end"]
"""What became of a neighbour: something stops it; it gains nothing, whether it does what is asked
or not; it does that and is better by one aim and worse by another; it is better, by what the option
is the best in or without being worse; or the catalogue takes no less."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A way to make a vent thinner, fewer or smaller.

    ``step`` is in the unit of the column.
    """

    column: str
    step: float
    now: Callable[[VentSpec], float | None]


def _filled(column: str) -> Callable[[VentSpec], float | None]:
    """Return what reads a column of a row whose blank cells are filled."""
    return lambda spec: getattr(filled_row(spec.row), column, None)


def _fact(spec: VentSpec, name: str) -> float | None:
    value = spec.body.facts.get(name)
    return None if value is None else float(value)


def _gap(spec: VentSpec) -> float | None:
    return min(spec.section.stack.gaps_mm, default=None)


TURNS: Final = (
    Turn("slat_thickness_mm", 0.1, lambda spec: spec.section.stack.thickness_mm),
    Turn("bank_count", 1.0, lambda spec: spec.section.stack.bank_count),
    Turn("pitch_mm", 0.2, lambda spec: spec.section.stack.pitch_mm),
    Turn("overlap_mm", 0.2, lambda spec: spec.section.stack.overlap_mm),
    Turn("bank_gaps_mm", 0.3, _gap),
    Turn("head_diameter_mm", 1.0, lambda spec: _fact(spec, "head diameter mm")),
    Turn("wall_mm", 0.2, _filled("wall_mm")),
    Turn("lip_thickness_mm", 0.2, _filled("lip_thickness_mm")),
    Turn("flange_thickness_mm", 0.2, _filled("flange_thickness_mm")),
)
"""What is tried, in the order in which it is told."""


@dataclass(frozen=True)
class LesserRow:
    """An option with one thing less.

    ``now`` and ``value`` are what the column means in the option and in the neighbour, in the
    column's unit. ``candidate`` is the neighbour as far as it came, ``None`` where the catalogue
    takes no less. ``gained`` and ``lost`` hold by how much its figures are less and more than the
    option's, by aim, each judged in the same way. ``refused`` says in words which rule it breaks.
    ``solid`` is what its solid says of one that is better.
    """

    column: str
    now: float
    value: float
    stands: Stands
    candidate: Candidate | None = None
    gained: Mapping[str, float] = field(default_factory=dict)
    lost: Mapping[str, float] = field(default_factory=dict)
    refused: str = ""
    solid: Confirmed | None = None


def less(spec: VentSpec, turn: Turn) -> tuple[float, float, Change | None] | None:
    """Return what a column means in a vent, the next smaller value, and the change to it.

    Both in the column's unit, mm or a count.

    ``None`` where the vent has no such thing; no change where the catalogue takes no less.

    Examples
    --------
    >>> cells = {"part_number": "A", "family": "round", "size": "M32x1.5", "status": "draft"}
    >>> spec = resolve(CatalogRow(**cells, bank_count=3, bank_gaps_mm="3"))
    >>> [less(spec, turn) for turn in TURNS if turn.column in ("bank_count", "lip_thickness_mm")]
    [(3, 2, {'bank_count': 2}), None]
    """
    column = COLUMNS[turn.column]
    now = turn.now(spec)
    if now is None or spec.family not in column.families:
        return None
    if turn.column == "bank_count" and now == 1:
        return None  # nobody asks for a vent without slats
    least = now - turn.step if column.lowest is None else max(now - turn.step, column.lowest)
    value = on_step(column, least, upwards=True)
    if turn.column == "bank_gaps_mm":
        text = gaps_text((value,))
        usable = value > 0.0 and in_range(turn.column, text)
        return now, value, {turn.column: text} if usable else None
    if not in_range(turn.column, value) or not value < now:
        return now, value, None
    change: dict[str, Any] = {turn.column: value}
    if turn.column == "overlap_mm" and spec.row.slat_height_mm is not None:
        return None  # the height of the slats decides
    if turn.column == "bank_count":
        change |= _with_fewer_banks(spec.row, int(value))
    return now, value, change


def _with_fewer_banks(row: CatalogRow, count: int) -> Change:
    """Return the cells that cannot stay as they are beside fewer banks."""
    alone = ("bank_gaps_mm", "bank_stagger") if count == 1 else ()
    several = tuple(n for n in ("bank_gaps_mm", "slopes") if "/" in str(getattr(row, n) or ""))
    blank: Change = {n: None for n in (*alone, *several) if getattr(row, n) is not None}
    outside = row.banks_outside
    return blank if outside is None or outside < count else {**blank, "banks_outside": None}


@dataclass(frozen=True, slots=True)
class _Trial:
    """A neighbour to be tried; ``row`` is ``None`` where the catalogue takes no less."""

    column: str
    now: float
    value: float
    row: CatalogRow | None


def _trials(row: CatalogRow, enquiry: Enquiry) -> Iterator[_Trial]:
    spec = resolve(row, enquiry.attached(row))
    for turn in TURNS:
        step = None if turn.column in enquiry.asked.cells else less(spec, turn)
        if step is not None:
            now, value, change = step
            tried = None if change is None else applied(row, change)
            yield _Trial(turn.column, now, value, tried)


def _whole(candidate: Candidate) -> bool:
    """Return whether there is no more to be found out about a candidate."""
    return candidate.rung == RUNGS[-1] or not candidate.kept


def _may_gain(early: Candidate, base: Candidate, met: Candidate) -> bool:
    """Return whether a neighbour that is strong enough could be better than its option by an aim.

    Before water is sent nothing is known of what passes; less than nothing cannot.
    """
    if not early.kept:
        return False
    gained, _ = gains_and_losses(early.figures, base.figures)
    return bool(gained) or (met.figures.passed_ml or 0.0) > NOTICED["passed_ml"]


def lesser_rows(
    bases: Mapping[CatalogRow, Sequence[str]],
    crew: Crew,
    met: Mapping[CatalogRow, Candidate],
    told: Callable[[int, int], None] = lambda at, of: None,
    early: dict[CatalogRow, Candidate] | None = None,
) -> dict[CatalogRow, tuple[LesserRow, ...]]:
    """Return what becomes of rows with one thing less than others, by these.

    Cells that the requirement itself decides are left as they are. Water is sent only at rows that
    would gain something.

    Parameters
    ----------
    bases
        rows that do what is asked, and what each is called (:data:`TITLES`)
    crew
        who judges
    met
        what a search has met, the bases among it
    told
        told how far it has come, of how much
    early
        what was judged in an earlier call, up to the strength rung; what is judged now is added

    Raises
    ------
    InputError
        if a base breaks a rule
    """
    early = {} if early is None else early
    enquiry = crew.enquiry
    trials = {base: list(_trials(base, enquiry)) for base in bases}
    rows = [t.row for near in trials.values() for t in near if t.row is not None]
    told(0, 3)
    new = [row for row in dict.fromkeys([*rows, *trials]) if row not in early]
    early |= {c.row: c for c in crew.judge(new)}
    gains = dict.fromkeys(
        t.row
        for base, near in trials.items()
        for t in near
        if t.row is not None and _may_gain(early[t.row], early[base], met[base])
    )
    told(1, 3)
    whole = {row: met[row] for row in (*gains, *trials) if row in met and _whole(met[row])}
    left = [early[row] for row in (*gains, *trials) if row not in whole]
    whole |= {c.row: c for c in crew.to_the_end(left)}
    told(2, 3)
    return {
        base: tuple(_became(t, base, titles, early, whole, enquiry) for t in trials[base])
        for base, titles in bases.items()
    }


def _became(
    trial: _Trial,
    base: CatalogRow,
    titles: Sequence[str],
    early: Mapping[CatalogRow, Candidate],
    whole: Mapping[CatalogRow, Candidate],
    enquiry: Enquiry,
) -> LesserRow:
    told = (trial.column, trial.now, trial.value)
    if trial.row is None:
        return LesserRow(*told, "end")
    ended = trial.row in whole
    mine = whole[trial.row] if ended else early[trial.row]
    if not mine.kept:
        refused = refused_words(trial.row, enquiry) if mine.rung == RUNGS[0] else ()
        return LesserRow(*told, "stopped", mine, refused=next(iter(refused), ""))
    # The option judged in the same way: its price by its solid is another one.
    own = whole[base] if ended else early[base]
    gained, lost = gains_and_losses(mine.figures, own.figures)
    stands = stood(gained, lost, titles) if ended else "no gain"
    return LesserRow(*told, stands, mine, gained, lost)


def stood(gained: Mapping[str, float], lost: Mapping[str, float], titles: Sequence[str]) -> Stands:
    """Return how a row that does what is asked stands to another one of some titles.

    ``gained`` and ``lost`` are what it gains and loses, by aim.

    Examples
    --------
    >>> stood({"price": 0.1}, {"rise_k": 2.0}, ["cheapest"])
    'better'
    >>> stood({"price": 0.1}, {"rise_k": 2.0}, ["coolest"])
    'trade'
    """
    if not gained:
        return "no gain"
    best_in = {name for name in AIMS if TITLES[name] in titles}
    return "better" if not lost or best_in & gained.keys() else "trade"

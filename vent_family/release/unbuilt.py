"""Rows held against the register before they are published: what `check` can tell at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.limits import ESTIMATE_VOLUME
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.reader import SourcedRow
from vent_family.release.discipline import foretold, geometry_changes, refusal, released_under
from vent_family.release.entry import ReleaseEntry, entry_of
from vent_family.release.register import Register
from vent_family.spec.resolved import ResolvedRows
from vent_family.spec.vent import VentSpec

MOST_BUILT: Final = 20
"""Solids that are built at most, to be held against those released: a second or two each."""


@dataclass(frozen=True, slots=True)
class HeldAgainst:
    """What the register is at odds with: problems, and parts that only publishing decides.

    ``undecided`` are part numbers of rows whose layout is reckoned otherwise than when they were
    released; publishing refuses them only if their solid changed, too.
    """

    problems: tuple[Problem, ...]
    undecided: tuple[str, ...]


def held_against(rows: ResolvedRows, register: Register) -> HeldAgainst:
    """Return the released rows that publishing will refuse, in the words it will say it in.

    A row that was edited and whose layout changed has its solid built where nothing else decides,
    and of so many rows that the answer does not wait. What only the solid shows of others is not
    seen. Rows that break a rule are left out.
    """
    known = register.by_part()
    problems, undecided, built = [], [], 0
    for source in rows.file.rows:
        entries = known.get(source.row.part_number, ())
        if source.row.status != "released" or not entries:
            continue
        try:
            spec = rows.spec(source)
        except InputError:
            continue
        # The designed volume is reckoned only if the row was edited: it takes a while.
        edited = all(source.row_hash != entry.row for entry in entries)
        now = entry_of(spec, source.row_hash, "", volume=edited)
        told = foretold(now, entries)
        if told is None:
            continue
        problem: Problem | None = told.problem
        if not told.sure and not (edited and _is_other(spec, entries)):
            if not edited or built == MOST_BUILT:
                undecided.append(source.row.part_number)
                continue
            built += 1
            problem = _by_solid(spec, now, entries)
        problems += [_placed(p, rows, source) for p in (problem,) if p is not None]
    return HeldAgainst(tuple(rows.file.placed(problems)), tuple(undecided))


def _placed(problem: Problem, rows: ResolvedRows, source: SourcedRow) -> Problem:
    return replace(problem, file=rows.file.path_name, row=source.row_number)


def _is_other(spec: VentSpec, entries: Sequence[ReleaseEntry]) -> bool:
    """Return whether a part's volume alone tells that its solid is another one.

    The solid is off its estimate by so little that a released one further off is none of it.
    """
    # Imported here: only edited rows need it.
    from vent_family.evidence.solid.volume import estimate_volume_mm3

    first = released_under(entries, spec.revision)[0]
    volume, estimate = dict(first.geometry)["vent"].volume_mm3, estimate_volume_mm3(spec)
    return abs(volume - estimate) > ESTIMATE_VOLUME.value * estimate


def _by_solid(spec: VentSpec, now: ReleaseEntry, entries: Sequence[ReleaseEntry]) -> Problem | None:
    """Return why a row will be refused, by its solid."""
    # Imported here: the kernel takes a second to load, and few rows need it.
    from vent_family.evidence.context import PartContext
    from vent_family.release.earlier import fingerprints

    now = replace(now, geometry=fingerprints(PartContext(spec)))
    moved = geometry_changes(released_under(entries, now.revision)[0], now)
    return refusal(now, moved) if moved else None

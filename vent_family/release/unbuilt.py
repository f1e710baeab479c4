"""Rows held against the register before anything is built: what `check` can tell at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.reader import SourcedRow
from vent_family.release.discipline import foretold
from vent_family.release.entry import ReleaseEntry, entry_of
from vent_family.release.register import Register
from vent_family.spec.resolved import ResolvedRows
from vent_family.spec.vent import VentSpec


def revision_problems(rows: ResolvedRows, register: Register) -> list[Problem]:
    """Return the released rows that publishing will refuse, in the words it will say it in.

    What only the solid shows is not seen. Rows that break a rule are left out.
    """
    known = register.by_part()
    found = []
    for source in rows.file.rows:
        entries = known.get(source.row.part_number, ())
        if source.row.status != "released" or not entries:
            continue
        try:
            spec = rows.spec(source)
        except InputError:
            continue
        problem = _revision_problem(spec, source, entries)
        if problem is not None:
            found.append(replace(problem, file=rows.file.path_name, row=source.row_number))
    return found


def _revision_problem(
    spec: VentSpec, source: SourcedRow, entries: Sequence[ReleaseEntry]
) -> Problem | None:
    """Return why a row will be refused; its volume is reckoned only if the row was edited."""
    edited = all(source.row_hash != entry.row for entry in entries)
    return foretold(entry_of(spec, source.row_hash, "", volume=edited), entries)

"""What differs between two states of a library: of what was published, or of the catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Literal, Protocol

from vent_family.catalog.hashing import Cells, changed_cells
from vent_family.release.discipline import fit_changes, solid_changes, stated_changes
from vent_family.release.entry import ReleaseEntry
from vent_family.release.figures import Figures, got_worse, other_figures


class State(Protocol):
    """One part in one state: what a record says of it, or a row of the catalogue alone."""

    @property
    def entry(self) -> ReleaseEntry:
        """What identifies its geometry, without solids where none were built."""
        ...

    @property
    def cells(self) -> Cells:
        """The cells of its row that were filled in."""
        ...

    @property
    def label(self) -> str:
        """Revision and issue, as A.1; the revision alone where nothing was published."""
        ...

    def figures(self) -> Figures | None:
        """Return what was found out about it; ``None`` if nothing was."""
        ...


@dataclass(frozen=True, slots=True)
class PartDifference:
    """What became of one part, in words; what decides the fit first, then geometry, then verdicts.

    ``before`` and ``now`` are revision and issue. ``cells`` are those of its row, ``notes`` what
    else is to be said.
    """

    part_number: str
    kind: Literal["added", "changed", "retired"]
    before: str = ""
    now: str = ""
    fit: tuple[str, ...] = ()
    geometry: tuple[str, ...] = ()
    worse: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    cells: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, str | list[str]]:
        """Return plain data for ``--json``."""
        return told_fields(self)


def told_fields(told: Any) -> dict[str, str | list[str]]:
    """Return what a frozen record tells of a part, texts and tuples of texts, as plain data."""
    values = {field.name: getattr(told, field.name) for field in fields(told)}
    return {n: list(v) if isinstance(v, tuple) else v for n, v in values.items()}


def library_differences(
    before: Mapping[str, State], now: Mapping[str, State]
) -> list[PartDifference]:
    """Return what differs: parts that changed, the weightiest first, then new and retired ones."""
    changed = [
        found
        for number, state in now.items()
        if number in before and (found := _changed(number, before[number], state)) is not None
    ]
    changed.sort(key=_weight)
    added = [
        PartDifference(number, "added", now=state.label)
        for number, state in now.items()
        if number not in before
    ]
    retired = [
        PartDifference(number, "retired", before=state.label)
        for number, state in before.items()
        if number not in now
    ]
    return [*changed, *added, *retired]


def _weight(found: PartDifference) -> tuple[bool, bool, bool, bool]:
    """Return a key that puts changes of the fit first, then geometry, verdicts and figures."""
    return not found.fit, not found.geometry, not found.worse, not found.figures


def _changed(number: str, before: State, now: State) -> PartDifference | None:
    """Return what changed of a part, ``None`` if nothing did."""
    old, new = before.entry, now.entry
    fit = fit_changes(old, new)
    built = bool(old.geometry and new.geometry)
    solid = solid_changes(old.geometry, new.geometry) if built else []
    layout = [words for words in stated_changes(old, new) if words not in fit]
    # Where both were built, the solids say whether anything moved; the layout only explains it.
    geometry = layout + solid if solid or not built else []
    worse, figures = _found_out(before, now)
    cells = [
        f"{name} {is_now}, before {was}"
        for name, was, is_now in changed_cells(before.cells, now.cells)
    ]
    notes = []
    if old.revision == new.revision and (fit or geometry):
        notes.append(f"revision {old.revision} means two geometries")
    if not cells and old.row != new.row:
        notes.append("a file or another row that its row names changed")
    told = fit or geometry or worse or figures or cells or notes
    if not told and old.revision == new.revision:
        published = bool(old.content and new.content)
        if not published or (old.issue, old.content) == (new.issue, new.content):
            return None
        notes.append("only bytes of its files changed")
    return PartDifference(
        number,
        "changed",
        before.label,
        now.label,
        tuple(fit),
        tuple(geometry),
        tuple(worse),
        tuple(figures),
        tuple(cells),
        tuple(notes),
    )


def _found_out(before: State, now: State) -> tuple[list[str], list[str]]:
    """Return verdicts that got worse and other figures, where something was found out of both."""
    old, new = before.entry.evidence, now.entry.evidence
    if not old or not new or old == new:
        return [], []
    was, found = before.figures(), now.figures()
    if was is None or found is None:
        return [], []
    return got_worse(was, found), other_figures(was, found)

"""Release discipline: one revision never means two geometries, and every other change is told.

What is to be released is compared with what the register says was released before. Other geometry
under the same revision is refused; other figures of the same geometry raise the issue; where only
bytes differ, the issue stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

from vent_family.base.limits import SAME_FACES
from vent_family.base.problems import Problem
from vent_family.catalog.model import REVISION_WORDS
from vent_family.geometry.fingerprint import Fingerprint, differences
from vent_family.release.entry import ReleaseEntry
from vent_family.release.figures import Figures, got_worse, other_figures
from vent_family.release.revisions import next_revision, revision_order, skipped

Issued = Literal["new", "revision", "evidence", "returned"]
"""What makes a new issue."""
_ISSUED: Final[dict[str, Issued]] = {change: change for change in get_args(Issued)}
Kind = Literal[Issued, "bytes", "same"]
"""What a release changes, as in the register; ``same``: nothing at all, so there is none."""

COULD_NOT_RUN: Final = (
    "the check for a changed geometry could not run: the library holds this part, but the register"
    " of releases does not"
)
NO_RECORD: Final = "the changed figures cannot be listed: the earlier record is not in the library"
ONLY_BYTES: Final = "no figure changed, only bytes of its files"
MOST_KEPT: Final = 60
"""Changes that stand in a record; more than these nobody reads there."""
_MOST_TOLD: Final = 6
"""Further changes of the same solid are counted, not told, in the sentence of a refusal."""


class RevisionError(RuntimeError):
    """A part's geometry changed and its revision did not; nothing was written.

    ``problem`` says what changed and what to do.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem.message)

    def __reduce__(self) -> tuple[type[RevisionError], tuple[Problem]]:
        return type(self), (self.problem,)


@dataclass(frozen=True, slots=True)
class Before:
    """Where a part's earlier releases are found: what its job is handed.

    ``entries`` are those of the register, the earliest first; ``record`` is the path of the part's
    record in the library and ``revision`` its revision there, both empty if it holds none.
    """

    entries: tuple[ReleaseEntry, ...] = ()
    record: str = ""
    revision: str = ""


@dataclass(frozen=True, slots=True)
class IssueTold:
    """What the record of an issue says of it: kind of change, the issue before, what changed.

    ``before`` is as A.1, empty for the first one.
    """

    change: Issued
    before: str = ""
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EarlierRecord:
    """The part's record in the library: its revision and issue, its figures, what it says."""

    revision: str
    issue: int
    figures: Figures
    told: IssueTold | None = None


@dataclass(frozen=True, slots=True)
class Earlier:
    """What is known of the releases of a part before this one.

    ``entries`` are those of the register, the earliest first; ``record`` is ``None`` if the library
    holds none.
    """

    entries: tuple[ReleaseEntry, ...] = ()
    record: EarlierRecord | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a release is: its line for the register, what kind of change, and all of it in words.

    ``told`` is what stands in the record: of the issue, so that a later release of other bytes
    keeps it. ``worse`` are verdicts that got worse, ``changes`` everything else that changed,
    ``notes`` what else is to be said.
    """

    entry: ReleaseEntry
    kind: Kind
    told: IssueTold
    worse: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        """Everything that is told, what got worse first."""
        return (*_worse(self.worse), *self.notes, *self.changes)

    def text(self) -> str:
        """Return in one line what is released, what got worse, and how much else changed."""
        parts = [f"{self.entry.revision}.{self.entry.issue}, {self.kind}"]
        parts += [*_worse(self.worse), *self.notes]
        if self.changes:
            count = len(self.changes)
            parts.append(f"{count} other change{'s' * (count > 1)}, see the record")
        return "; ".join(parts)

    def as_dict(self) -> dict[str, str | int | list[str]]:
        """Return plain data for ``--json``."""
        return {
            "revision": self.entry.revision,
            "issue": self.entry.issue,
            "change": self.kind,
            "got_worse": list(self.worse),
            "changes": list(self.changes),
            "notes": list(self.notes),
        }


def _worse(verdicts: Sequence[str]) -> list[str]:
    return [f"got worse: {words}" for words in verdicts]


def classified(now: ReleaseEntry, figures: Figures, earlier: Earlier) -> Judgement:
    """Return what a release is, compared with those before it.

    Parameters
    ----------
    now
        what is to be released; its issue and its kind of change are found here
    figures
        what its record says
    earlier
        what is known of the releases before it

    Raises
    ------
    RevisionError
        if the geometry changed under the same revision, or a revision is taken up again that
        another one followed
    """
    entries, record = earlier.entries, earlier.record
    if not entries:
        return _without_register(now, figures, record)
    last = entries[-1]
    if revision_order(now.revision) < revision_order(last.revision):
        raise RevisionError(_lowered(now, last))
    released = released_under(entries, now.revision)
    worse, changes, notes = _compared(figures, record)
    if not released:
        before = next((e for e in reversed(entries) if e.change != "withdrawn"), None)
        moved, told = _raised(before, last, now)
        return _issued(now, "revision", 1, last, worse, [*moved, *changes], [*told, *notes])
    moved = geometry_changes(released[0], now)
    if moved:
        raise RevisionError(refusal(now, moved))
    if last.change == "withdrawn":
        notes = [f"published again after it was withdrawn on {last.released}", *notes]
        return _issued(now, "returned", last.issue + 1, last, worse, changes, notes)
    if now.evidence != last.evidence:
        return _issued(now, "evidence", last.issue + 1, last, worse, changes, notes)
    return _bytes(now, last, released, record)


def released_under(entries: Sequence[ReleaseEntry], revision: str) -> list[ReleaseEntry]:
    """Return the releases of a revision, the earliest first."""
    return [e for e in entries if e.revision == revision and e.change != "withdrawn"]


def _issued(
    now: ReleaseEntry,
    change: Issued,
    issue: int,
    last: ReleaseEntry | None,
    worse: Sequence[str] = (),
    changes: Sequence[str] = (),
    notes: Sequence[str] = (),
) -> Judgement:
    """Return the judgement of a new issue; its record holds no more changes than are read."""
    every = [*_worse(worse), *notes, *changes]
    more = len(every) - MOST_KEPT
    if more > 0:
        every = [*every[:MOST_KEPT], f"and {more} more, which the command difference lists"]
    before = f"{last.revision}.{last.issue}" if last else ""
    return Judgement(
        replace(now, issue=issue, change=change),
        change,
        IssueTold(change, before, tuple(every)),
        tuple(worse),
        tuple(changes),
        tuple(notes),
    )


def _bytes(
    now: ReleaseEntry,
    last: ReleaseEntry,
    released: Sequence[ReleaseEntry],
    record: EarlierRecord | None,
) -> Judgement:
    """Return the judgement of files that differ in their bytes alone: their issue stays."""
    entry = replace(now, issue=last.issue, change="bytes")
    told = None
    if record is not None and (record.revision, record.issue) == (now.revision, last.issue):
        told = record.told
    if told is None:
        made = next(e.change for e in released if e.issue == last.issue)
        told = IssueTold(_ISSUED.get(made, "evidence"))
    return Judgement(entry, "bytes", told, notes=(ONLY_BYTES,))


def _compared(
    figures: Figures, record: EarlierRecord | None
) -> tuple[list[str], list[str], list[str]]:
    """Return what got worse, what else changed, and what is to be said about that."""
    if record is None:
        return [], [], [NO_RECORD]
    return got_worse(record.figures, figures), other_figures(record.figures, figures), []


def _without_register(
    now: ReleaseEntry, figures: Figures, record: EarlierRecord | None
) -> Judgement:
    """Return what a release is of which the register knows nothing."""
    if record is None:
        return _issued(now, "new", 1, None)
    if record.revision != now.revision:
        return _issued(now, "new", 1, None, notes=[COULD_NOT_RUN])
    worse, changes, _ = _compared(figures, record)
    issue = max(1, record.issue + bool(worse or changes))
    return _issued(now, "new", issue, None, worse, changes, [COULD_NOT_RUN])


def _raised(
    before: ReleaseEntry | None, last: ReleaseEntry, now: ReleaseEntry
) -> tuple[list[str], list[str]]:
    """Return what changed with a revision that was raised, and what is to be said about that."""
    told = [f"revision raised from {last.revision} to {now.revision}"]
    left_out = skipped(last.revision, now.revision)
    if left_out:
        told.append(f"revision {left_out} was left out")
    moved = [] if before is None else stated_changes(before, now)
    if before is not None and not moved:
        # The solid does differ where its revision is marked inside.
        told.append("fit, sizes, volume and material are as they were")
    return moved, told


def fit_changes(before: ReleaseEntry, now: ReleaseEntry) -> list[str]:
    """Return what changed of fit and material."""
    found = before.fit.changes(now.fit)
    if before.material != now.material:
        found.append(f"material {now.material}, before {before.material}")
    return found


def stated_changes(before: ReleaseEntry, now: ReleaseEntry) -> list[str]:
    """Return what changed of what the row alone says: fit and material, layout, volume."""
    found = fit_changes(before, now) + before.design.changes(now.design)
    old, new = before.designed_volume_mm3, now.designed_volume_mm3
    # To within what the register writes, besides.
    if old is not None and new is not None and abs(new - old) > SAME_FACES.value * old + 1e-4:
        found.append(f"designed volume {new:.1f} mm3, before {old:.1f} mm3")
    return found


def geometry_changes(before: ReleaseEntry, now: ReleaseEntry) -> list[str]:
    """Return what changed of a part's geometry or material: what decides the fit always first.

    Layout and designed volume explain a change of the solid and are none by themselves: the code
    that reckons them may change, too.
    """
    solid = solid_changes(before.geometry, now.geometry)
    return stated_changes(before, now) + solid if solid else fit_changes(before, now)


def solid_changes(
    before: Sequence[tuple[str, Fingerprint]], now: Sequence[tuple[str, Fingerprint]]
) -> list[str]:
    """Return in what the solids differ, body by body, the vent first."""
    old, new = dict(before), dict(now)
    found = [f"{body} is new" for body in new if body not in old]
    found += [f"{body} is gone" for body in old if body not in new]
    for body, solid in new.items():
        if body in old:
            found += [f"{body}: {words}" for words in differences(old[body], solid)]
    return found


def refusal(now: ReleaseEntry, changes: Sequence[str]) -> Problem:
    """Return the problem of a part whose geometry changed under the same revision."""
    told = "; ".join(changes[:_MOST_TOLD])
    more = len(changes) - _MOST_TOLD
    if more > 0:
        told += f"; and {more} more"
    return _problem(
        "release.revision.geometry",
        now,
        f"revision {now.revision} was released with another geometry: {told}",
        f"raise revision to {_following(now.revision)}, or take the change back",
    )


def _lowered(now: ReleaseEntry, last: ReleaseEntry) -> Problem:
    return _problem(
        "release.revision.lowered",
        now,
        f"revision {last.revision} was released after revision {now.revision}",
        f"write {last.revision} if nothing changed, else {_following(last.revision)}",
    )


def _following(revision: str) -> str:
    following = next_revision(revision)
    return f"{following}, the next letter" if following else "one that is free"


def _problem(code: str, now: ReleaseEntry, message: str, suggestion: str) -> Problem:
    return Problem(
        code,
        message,
        part_number=now.part_number,
        column="revision",
        value=now.revision,
        allowed=REVISION_WORDS,
        suggestion=suggestion,
    )


@dataclass(frozen=True, slots=True)
class Foretold:
    """Why a row will be refused; not ``sure``: only if its solid shows it, too."""

    problem: Problem
    sure: bool


def foretold(now: ReleaseEntry, entries: Sequence[ReleaseEntry]) -> Foretold | None:
    """Return why a row will be refused, as far as that can be told without its solid.

    ``now`` needs no geometry. What only the solid shows is left to :func:`classified`. Layout and
    designed volume alone are not sure: the code that reckons them may have changed.
    """
    if not entries:
        return None
    last = entries[-1]
    if revision_order(now.revision) < revision_order(last.revision):
        return Foretold(_lowered(now, last), sure=True)
    released = released_under(entries, now.revision)
    if not released:
        return None
    # The layout is held against the last release: the code that reckons it may have changed since
    # the first one without moving a face.
    moved = stated_changes(replace(released[-1], fit=released[0].fit), now)
    return Foretold(refusal(now, moved), bool(fit_changes(released[0], now))) if moved else None


def same_design(before: ReleaseEntry, now: ReleaseEntry) -> bool:
    """Return whether two releases are one design: the same solid, or one of the same sizes.

    Where the revision was raised, its mark inside makes another solid of the same design.
    """
    return not stated_changes(before, now) or not geometry_changes(before, now)


def settled(judgement: Judgement, entries: Sequence[ReleaseEntry], content: str) -> Judgement:
    """Return a judgement once the files are written; ``content`` is the hash of all of them.

    Where nothing else changed and they hold the bytes of the last of the register's ``entries``,
    there is no new release.
    """
    same = judgement.kind == "bytes" and entries[-1].content == content
    entry = replace(judgement.entry, content=content)
    return replace(judgement, entry=entry, kind="same" if same else judgement.kind)

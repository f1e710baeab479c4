"""What became of pinned releases since they were pinned."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal, get_args

from vent_family.base.problems import InputError, Problem
from vent_family.release.difference import told_fields
from vent_family.release.pinned.pin import Pin
from vent_family.release.pinned.shelf import Held, Release, Shelf
from vent_family.release.publish.manifest import HistoryEntry
from vent_family.release.revisions import revision_order

Kind = Literal["marked", "withdrawn", "revision", "issue", "bytes"]
"""What became of a pinned release, the weightiest first: it is no longer predicted to hold, its
part was withdrawn, another revision or issue followed, or only bytes of its files changed."""
_WEIGHT: Final = get_args(Kind)
_LEAVES: Final = "it leaves the library in time, unless publish keeps what is pinned"


@dataclass(frozen=True, slots=True)
class PinNews:
    """What became of one pinned release.

    ``pinned`` and ``now`` are revision and issue, ``now`` empty for a part that was withdrawn.
    ``why`` says why a part is not to be fitted. ``fit`` is what changed of what other parts must
    fit, ``changes`` everything else that the releases since then tell of themselves. ``held`` is
    where the pinned release stands.
    """

    part_number: str
    kind: Kind
    pinned: str
    now: str
    held: Held
    why: str = ""
    fit: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()

    def sentence(self) -> str:
        """Return it in one line, without what else changed."""
        arrow = f"{self.pinned} -> {self.now}" if self.now else self.pinned
        told = [self.why] if self.why else [f"fit: {words}" for words in self.fit]
        if self.held == "replaced":
            told.append(_LEAVES)
        text = f"{self.kind} {self.part_number} {arrow}"
        return f"{text}: {'; '.join(told)}" if told else text

    def as_dict(self) -> dict[str, str | list[str]]:
        """Return plain data for ``--json``."""
        return told_fields(self)


@dataclass(frozen=True, slots=True)
class PinReport:
    """What became of pins, the weightiest first, and those that cannot be had, as problems."""

    news: tuple[PinNews, ...]
    problems: tuple[Problem, ...]


def pins_news(shelf: Shelf, pins: Iterable[Pin]) -> tuple[PinNews, ...]:
    """Return what became of pins in a library, the weightiest first.

    Raises
    ------
    InputError
        with every pinned release that the library does not hold, or whose record was altered
    """
    found, problems = _told(shelf, pins, whole=False)
    if problems:
        raise InputError(problems)
    return tuple(found)


def pins_report(shelf: Shelf, pins: Iterable[Pin]) -> PinReport:
    """Return what became of pins in a library; every file of theirs is compared with its hash."""
    found, problems = _told(shelf, pins, whole=True)
    return PinReport(tuple(found), tuple(problems))


def _told(shelf: Shelf, pins: Iterable[Pin], *, whole: bool) -> tuple[list[PinNews], list[Problem]]:
    news: list[PinNews] = []
    problems: list[Problem] = []
    for pin in pins:
        try:
            release = shelf.pinned(pin)
            amiss = release.faults() if whole else []
            told = None if amiss else _news(shelf, pin, release)
        except InputError as error:
            problems += error.problems
            continue
        problems += amiss
        if told is not None:
            news.append(told)
    news.sort(key=_weight)
    return news, problems


def _weight(told: PinNews) -> tuple[bool, bool, int]:
    """Return a key by which parts not to be fitted come first, then what fits otherwise now."""
    return not told.why, not told.fit, _WEIGHT.index(told.kind)


def _news(shelf: Shelf, pin: Pin, release: Release) -> PinNews | None:
    """Return what became of a pinned release; ``None`` if nothing did."""
    now = shelf.current(pin.part_number)
    kind = _kind(pin, release, now)
    if kind is None:
        return None
    last = now or shelf.latest(pin.part_number)
    fit = () if now is None or now.revision == pin.revision else _fit(release, now)
    why = release.standing if release.is_marked else ""
    if now is not None and now.is_marked and not why:
        why = f"{now.label} is {now.standing}"
    since = [h for h in last.history if _order(h) > release.order]
    words = dict.fromkeys(text for h in since for text in h.changes)
    return PinNews(
        pin.part_number,
        kind,
        pin.label,
        "" if now is None else now.label,
        release.held,
        why,
        fit,
        tuple(text for text in words if text not in (*fit, why)),
    )


def _kind(pin: Pin, release: Release, now: Release | None) -> Kind | None:
    if now is None:
        return "withdrawn"
    if release.is_marked or now.is_marked:
        return "marked"
    if now.revision != pin.revision:
        return "revision"
    if now.issue != pin.issue:
        return "issue"
    return None if now.pin == pin else "bytes"


def _order(told: HistoryEntry) -> tuple[object, int]:
    return revision_order(told.revision), told.issue


def _fit(before: Release, now: Release) -> tuple[str, ...]:
    """Return what changed of fit and material, by both records."""
    # Imported here: fingerprints load the kernel, which pins without news do not need.
    from vent_family.release.discipline import fit_changes
    from vent_family.release.states import published_state

    old, new = (
        published_state(r.record(), r.file(".json"), r.pin.sha256).entry for r in (before, now)
    )
    return tuple(fit_changes(old, new))

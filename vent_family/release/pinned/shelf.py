"""The releases that a published library holds; no file of one is used before it was checked.

What a file must be is told by the manifest of the generation that the index names, and that
manifest by its hash in the index. Of a pinned release that the index names no more, the pin tells
it: its hash is that of all files together.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any, Final, Literal

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.near import unknown_part
from vent_family.release.bar import CURRENT
from vent_family.release.pinned.pin import Pin
from vent_family.release.publish.layout import Layout
from vent_family.release.publish.ledger import entries
from vent_family.release.publish.manifest import (
    ArchivedEntry,
    FileEntry,
    HistoryEntry,
    PartEntry,
    read_published,
)
from vent_family.release.revisions import RevisionOrder, revision_order
from vent_family.release.written import WrittenFile, content_hash, hashed

Held = Literal["current", "archive", "replaced"]
"""Where a release stands; one that was replaced by another issue leaves the library in time."""
AGAIN: Final = "publish the library again"
_UNTOUCHED: Final = f"take the file from a copy of the library, or {AGAIN}"
_HASH_TOLD: Final = 16
"""Digits of a hash in a sentence."""


@dataclass(frozen=True, slots=True, eq=False)
class Release:
    """One release of one part, as :attr:`pin` names it, and where its files lie.

    ``standing`` says why it is not to be fitted, or ``current``; ``history`` is that of its part up
    to it, the newest first, as far as it is known.
    """

    pin: Pin
    folder: Path
    files: tuple[FileEntry, ...]
    held: Held
    standing: str
    history: tuple[HistoryEntry, ...] = ()

    @property
    def part_number(self) -> str:
        """Whose release it is."""
        return self.pin.part_number

    @property
    def revision(self) -> str:
        """Its revision."""
        return self.pin.revision

    @property
    def issue(self) -> int:
        """Which issue of the revision it is."""
        return self.pin.issue

    @property
    def label(self) -> str:
        """Revision and issue, as A.1."""
        return self.pin.label

    @property
    def name(self) -> str:
        """Part number, revision and issue, as people say it: ``HV-R040 D.2``."""
        return self.pin.name

    @property
    def is_marked(self) -> bool:
        """Whether it is no longer predicted to hold, or its part was withdrawn."""
        return self.standing != CURRENT

    @property
    def order(self) -> tuple[RevisionOrder, int]:
        """A key by which the releases of a part sort from the earliest to the latest."""
        return revision_order(self.revision), self.issue

    def file(self, ending: str) -> Path:
        """Return one of its files, the name of which is the part number and an ending.

        Raises
        ------
        InputError
            if there is none, or it is not as it was published
        """
        name = f"{self.part_number}{ending}"
        for listed in self.files:
            if listed.name == name:
                problem = self._fault(listed)
                if problem is not None:
                    raise InputError([problem])
                return self.folder / listed.name
        message = f"release {self.name} has no such file"
        raise InputError(
            [
                Problem(
                    "library.file.missing", message, file=str(self.folder / name), suggestion=AGAIN
                )
            ]
        )

    def record(self) -> dict[str, Any]:
        """Return its record.

        Raises
        ------
        InputError
            if it is not as it was published, or no record
        """
        path = self.file(".json")
        try:
            found = json.loads(path.read_text(encoding="utf-8"))
            identity = found["identity"]
            if identity["part_number"] != self.part_number:
                raise ValueError("it is the record of another part")
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise InputError(
                [
                    Problem(
                        "library.record.unread",
                        f"the part's record cannot be read: {error}",
                        file=str(path),
                        part_number=self.part_number,
                        suggestion=AGAIN,
                    )
                ]
            ) from None
        return dict(found)

    def faults(self) -> list[Problem]:
        """Return which of its files are not as they were published."""
        return [p for listed in self.files if (p := self._fault(listed)) is not None]

    def _fault(self, listed: FileEntry) -> Problem | None:
        """Return in what a file is not as it was published, size first."""
        path = self.folder / listed.name
        try:
            size = path.stat().st_size
            found = hashed(path, listed.name) if size == listed.size_bytes else None
        except FileNotFoundError:
            code, why = "library.file.missing", f"a file of release {self.name} is gone"
        except OSError as error:
            code, why = "library.file.missing", f"it cannot be read: {error.strerror or error}"
        else:
            if found is None:
                told = f"it has {size} bytes, as published {listed.size_bytes}"
            elif found.sha256 != listed.sha256:
                told = (
                    f"its SHA-256 is {found.sha256[:_HASH_TOLD]}…, as published"
                    f" {listed.sha256[:_HASH_TOLD]}…"
                )
            else:
                return None
            code, why = "library.file.altered", f"a file of release {self.name} was altered: {told}"
        return Problem(
            code, why, file=str(path), part_number=self.part_number, suggestion=_UNTOUCHED
        )


class Shelf:
    """The releases of a library, as its index names them now.

    Folders of releases never change, so that what was found stays while others publish.

    Raises
    ------
    InputError
        if the folder is no library, or index or manifest are not as they were published
    """

    def __init__(self, folder: Path) -> None:
        self.layout = Layout(folder)
        self.manifest = read_published(self.layout)
        self._known: dict[str, Release] = {}
        self._pinned: dict[Pin, Release] = {}
        self._parts = {entry.part_number: entry for entry in self.manifest.parts}
        self._archive: dict[str, list[ArchivedEntry]] = {}
        for old in self.manifest.archive:
            self._archive.setdefault(old.release.part_number, []).append(old)

    @property
    def part_numbers(self) -> tuple[str, ...]:
        """The part numbers of the current releases, in the library's order."""
        return tuple(self._parts)

    def current(self, part_number: str) -> Release | None:
        """Return the current release of a part; ``None`` if there is none."""
        entry = self._parts.get(part_number)
        return None if entry is None else self._release(entry, "current")

    def releases(self, part_number: str) -> tuple[Release, ...]:
        """Return all releases of a part that are current or in the archive, the earliest first."""
        found = [self._release(a.release, "archive") for a in self._archive.get(part_number, [])]
        now = self.current(part_number)
        return tuple(sorted([*found, *([now] if now else [])], key=lambda r: r.order))

    def latest(self, part_number: str) -> Release:
        """Return the current release of a part, or the last one of a part that was withdrawn.

        Raises
        ------
        InputError
            if there is none
        """
        found = self.releases(part_number)
        if not found:
            raise InputError([self._unknown(part_number)])
        return self.current(part_number) or found[-1]

    def at(self, part_number: str, revision: str, issue: int | None = None) -> Release:
        """Return a release of a part, current or from the archive.

        Raises
        ------
        InputError
            if the library holds none such
        """
        known = self.releases(part_number)
        if not known:
            raise InputError([self._unknown(part_number)])
        for release in known:
            if release.revision == revision and issue in (None, release.issue):
                return release
        wanted = revision if issue is None else f"{revision}.{issue}"
        raise InputError(
            [
                Problem(
                    "library.release.unknown",
                    "the library holds no such release of the part",
                    file=str(self.layout.root),
                    part_number=part_number,
                    value=wanted,
                    allowed=", ".join(r.label for r in known),
                    suggestion="of every revision the last issue stays in the archive",
                )
            ]
        )

    def pinned(self, pin: Pin) -> Release:
        """Return the release that a pin names, be it current, archived or replaced.

        Raises
        ------
        InputError
            if the library does not hold it
        """
        for release in self.releases(pin.part_number):
            if release.pin == pin and _sum(release.files) == pin.sha256:
                return release
        replaced = self._replaced(pin)
        if replaced is None:
            raise InputError([self._gone(pin)])
        return replaced

    def _replaced(self, pin: Pin) -> Release | None:
        """Return a release that the manifest does not tell of, by what the ledger says of it.

        The ledger is believed as far as the pin goes: all hashes together must come to the pin's.
        """
        folder, place = pin.folder, self.layout.at(pin.folder)
        hashes = self._ledger.get(folder, {})
        files = [WrittenFile(name, _size(place / name), sha) for name, sha in hashes.items()]
        if not files or content_hash(files) != pin.sha256:
            return None
        if pin not in self._pinned:
            self._pinned[pin] = Release(
                pin,
                place,
                tuple(FileEntry.of(file) for file in files),
                "replaced",
                self._standing(pin.part_number, pin.revision, CURRENT),
            )
        return self._pinned[pin]

    @cached_property
    def _ledger(self) -> dict[str, Mapping[str, str]]:
        try:
            return entries(self.layout)
        except OSError:
            return {}

    def _release(self, entry: PartEntry, held: Held) -> Release:
        if entry.folder not in self._known:
            self._known[entry.folder] = Release(
                Pin(entry.part_number, entry.revision, entry.issue, entry.content),
                self.layout.at(entry.folder),
                tuple(entry.files),
                held,
                self._standing(entry.part_number, entry.revision, entry.standing),
                tuple(entry.history),
            )
        return self._known[entry.folder]

    def _standing(self, part_number: str, revision: str, stated: str) -> str:
        """Return whether a release may be fitted, by what the library says of its revision now."""
        now = self._parts.get(part_number)
        archived = self._archive.get(part_number, [])
        known = [*([now] if now else []), *(a.release for a in archived)]
        told = [stated, *(e.standing for e in known if e.revision == revision)]
        marks = [words for words in told if words != CURRENT]
        if marks:
            return marks[-1]
        if now is None:
            days = [a.since for a in archived if a.why == "withdrawn"]
            if days:
                return f"withdrawn on {datetime.fromisoformat(max(days)).date().isoformat()}"
        return CURRENT

    def _unknown(self, part_number: str) -> Problem:
        for row in self.manifest.unpublished:
            if row.part_number == part_number:
                return Problem(
                    "part.unpublished",
                    f"nothing of this part was published: {row.outcome}, {row.message}",
                    file=str(self.layout.root),
                    part_number=part_number,
                    suggestion="mend its row of the catalogue and publish it",
                )
        return unknown_part(
            part_number,
            self.part_numbers,
            file=str(self.layout.root),
            message="the library holds no part of this number",
            otherwise="look at the library's pages, or publish the part",
        )

    def _gone(self, pin: Pin) -> Problem:
        """Return why a pinned release cannot be had."""
        held = self.releases(pin.part_number)
        if not held:
            return self._unknown(pin.part_number)
        alike = [r for r in held if (r.revision, r.issue) == (pin.revision, pin.issue)]
        same = [r for r in held if r.revision == pin.revision]
        if alike:
            message = (
                f"the library holds {pin.name} with other files: SHA-256 of all together"
                f" {_sum(alike[0].files)[:_HASH_TOLD]}…, pinned {pin.sha256[:_HASH_TOLD]}…"
            )
        else:
            message = f"the library does not hold the pinned release {pin.name} any more"
        if same:
            advice = (
                f"lock the part again: {same[-1].label} has the same geometry, since a revision"
                " means one geometry"
            )
        else:
            labels = ", ".join(r.label for r in held)
            advice = (
                f"name the library it was pinned from, or lock the part again; here are {labels}"
            )
        return Problem(
            "pins.release.gone",
            message,
            file=str(self.layout.root),
            part_number=pin.part_number,
            suggestion=advice,
        )


def _sum(files: Iterable[FileEntry]) -> str:
    """Return what files come to as one, by which a pin holds whatever the manifest says."""
    return content_hash(WrittenFile(f.name, f.size_bytes, f.sha256) for f in files)


def _size(path: Path) -> int:
    """Return the size of a file, 0 where there is none: its hash is what it is known by."""
    try:
        return path.stat().st_size
    except OSError:
        return 0

"""The register of releases during a run: what jobs are judged by, and what the run adds to it.

The register is written after the index, so it never tells of a release that did not come to be.
Every part's line stands in the manifest, too: what a run that was cut short did not add, or a
register that was lost, is made good from there by the next one.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from vent_family.base.lock import HeldError, Holder, Lock, LostError, held_lock
from vent_family.base.problems import Problem
from vent_family.release.publish.manifest import HistoryEntry, Manifest, PartEntry
from vent_family.release.revisions import revision_order

if TYPE_CHECKING:
    from vent_family.release.discipline import Before, Judgement
    from vent_family.release.entry import ReleaseEntry
    from vent_family.release.register import Register

BEGUN: Final = (
    "there was no register of releases, so whether a revision's geometry changed could not be"
    " checked against it; it begins with this run"
)
_EVIDENCE_DIGITS: Final = 16
RESTORED: Final = "the register of releases lacked {} lines of this library; they were added"


class RegisterHeldError(RuntimeError):
    """A run into another folder adds to the same register; nothing was done."""

    def __init__(self, holder: Holder) -> None:
        self.holder = holder
        super().__init__(f"held by {holder.text()}")


@contextmanager
def register_kept(
    path: Path, *, still_s: float, beat_s: float, on_stale: Callable[[Holder], None]
) -> Iterator[Lock | None]:
    """Keep all others from a register while the block runs: from its reading to its writing.

    Two libraries may have one catalogue, and so one register, of which neither run may lose a line
    of the other's. ``None``: the folder takes no lock, and so no register, which is told when it
    is to be written.

    Parameters
    ----------
    path
        the register
    still_s, beat_s
        when a lock that is not renewed is taken, and how often one's own is, s
    on_stale
        told of a holder whose lock is taken because it stood still

    Raises
    ------
    RegisterHeldError
        if another run has it
    TimeoutError
        if it cannot be told whether one has
    """
    with ExitStack() as held:
        lock = None
        try:
            if path.parent.is_dir():
                place = path.with_name(f".{path.name}.lock")
                lock = held.enter_context(
                    held_lock(place, still_s=still_s, beat_s=beat_s, on_stale=on_stale)
                )
        except HeldError as error:
            raise RegisterHeldError(error.holder) from None
        except TimeoutError:
            raise
        except OSError:
            lock = None
        yield lock


class Releases:
    """The register beside a catalogue, read when it is first needed."""

    def __init__(self, path: Path, manifest: Manifest | None, lock: Lock | None = None) -> None:
        self._path, self._lock = path, lock
        self._kept: Register | None = None
        self._known: dict[str, tuple[ReleaseEntry, ...]] = {}
        self._added: list[ReleaseEntry] = []
        self._lost = [] if manifest is None else _lost(path, manifest)
        self.notes: list[str] = []
        if self._lost:
            self.notes.append(RESTORED.format(len(self._lost)))
        elif not path.exists():
            self.notes.append(BEGUN)

    @property
    def _register(self) -> Register:
        # Imported here: fingerprints load the kernel, which a run without news does not need.
        from vent_family.release.entry import entry_of_line
        from vent_family.release.register import Register, read_register

        if self._kept is None:
            found = read_register(self._path) or Register()
            lines = [entry_of_line(self._path.name, 0, line, []) for line in self._lost]
            self._kept = found.appended(*(entry for entry in lines if entry is not None))
            self._known = self._kept.by_part()
        return self._kept

    def before(self, part_number: str, record: Path | None = None, revision: str = "") -> Before:
        """Return what a part's release is judged by: record and revision are those of the library.

        Raises
        ------
        InputError
            with every fault of the register's file
        """
        from vent_family.release.discipline import Before

        return Before(self._of_part(part_number), str(record) if record else "", revision)

    def _of_part(self, part_number: str) -> tuple[ReleaseEntry, ...]:
        """Return the releases of a part as the register was read, the earliest first."""
        assert self._register is not None
        return self._known.get(part_number, ())

    def line(self, judgement: Judgement, content: str) -> str:
        """Add a release of such a content; return its line. Nothing is added for the same bytes."""
        entry = replace(judgement.entry, content=content)
        last = next(reversed(self._of_part(entry.part_number)), None)
        alike = last is not None and (last.name, last.content) == (entry.name, entry.content)
        if last is not None and alike and last.change != "withdrawn":
            return _text(last)
        self._added.append(entry)
        return _text(entry)

    def marked_line(self, release: PartEntry, content: str, water: str, day: datetime) -> str:
        """Add the next issue of a release that was marked; return its line.

        Its evidence is none that a part can come to, so that losing the mark is a change, too.
        """
        known = [e for e in self._of_part(release.part_number) if e.revision == release.revision]
        if not known:
            return ""
        entry = replace(
            known[-1],
            issue=release.issue + 1,
            released=day.astimezone(UTC).date().isoformat(),
            change="evidence",
            water=water,
            content=content,
            evidence=hashlib.sha256(f"marked {content}".encode()).hexdigest()[:_EVIDENCE_DIGITS],
        )
        self._added.append(entry)
        return _text(entry)

    def withdraw(self, releases: Iterable[PartEntry], day: datetime) -> None:
        """Add that parts were withdrawn on a day."""
        from vent_family.release.entry import ReleaseEntry

        for release in releases:
            self._added.append(
                ReleaseEntry(
                    release.part_number,
                    release.revision,
                    release.issue,
                    day.astimezone(UTC).date().isoformat(),
                    "withdrawn",
                )
            )

    def written(self) -> tuple[Problem, ...]:
        """Write the register, if there is anything to add, and return why that cannot be done.

        The library has been switched by then: it is published, and its manifest has the lines.
        """
        try:
            if self._added or self._lost:
                if self._lock is not None:
                    self._lock.require()
                self._register.appended(*self._added).write(self._path)
        except LostError:
            return (
                Problem(
                    "register.lock.lost",
                    "the library is published, but another run took its register of releases while"
                    " this one stood still: nothing was added to it",
                    file=str(self._path),
                    suggestion="publish again; that run adds what the register lacks",
                ),
            )
        except OSError as error:
            return (
                Problem(
                    "register.file.unwritable",
                    "the library is published, but its register of releases cannot be written:"
                    f" {error.strerror or error}",
                    file=str(self._path),
                    suggestion="free the place; the next run adds what the register lacks",
                ),
            )
        return ()


def _lost(path: Path, manifest: Manifest) -> list[str]:
    """Return the lines of a library's parts that its register does not hold."""
    try:
        there = set(path.read_text(encoding="utf-8").splitlines())
    except (OSError, UnicodeDecodeError):
        there = set()
    entries = (*manifest.parts, *(a.release for a in manifest.archive))
    return [e.line for e in entries if e.line and e.line not in there]


def _text(entry: ReleaseEntry) -> str:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="").writerow(entry.cells())
    return stream.getvalue()


def history_of(judgement: Judgement, last: PartEntry | None, before: Before) -> list[HistoryEntry]:
    """Return the history of a part with a new release, the newest first.

    What older releases changed is known from the last one in the library; of others the register
    says that they were.
    """
    told = judgement.told
    now = HistoryEntry(
        revision=judgement.entry.revision,
        issue=judgement.entry.issue,
        released=judgement.entry.released,
        change=told.change,
        changes=list(told.changes),
    )
    known = {(h.revision, h.issue): h for h in (last.history if last else [])}
    for entry in before.entries:
        if entry.change not in ("bytes", "withdrawn"):
            known.setdefault(
                (entry.revision, entry.issue),
                HistoryEntry(
                    revision=entry.revision,
                    issue=entry.issue,
                    released=entry.released,
                    change=entry.change,
                    changes=[],
                ),
            )
    known.pop((now.revision, now.issue), None)
    older = sorted(known.values(), key=lambda h: (revision_order(h.revision), h.issue))
    return [now, *reversed(older)]

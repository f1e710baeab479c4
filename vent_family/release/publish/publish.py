"""From a catalogue to a published library: one run, from the lock to the rename of the index."""

from __future__ import annotations

import secrets
import shutil
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vent_family.base.lock import BEAT_S, STILL_S, Holder, Lock, held_lock
from vent_family.base.problems import Problem
from vent_family.base.rates import Rates
from vent_family.catalog.reader import CatalogFile, SourcedRow
from vent_family.release.bar import (
    CURRENT,
    DEFAULT_BAR,
    DO_NOT_FIT,
    NOT_ANEW,
    STANDING,
    PublishIf,
)
from vent_family.release.jobs import Job, RowOutcome, left_out
from vent_family.release.pool import ROW_LIMIT_S, run_jobs
from vent_family.release.publish.keys import common_key, digest
from vent_family.release.publish.layout import Layout, part_folder, prepared
from vent_family.release.publish.ledger import placed
from vent_family.release.publish.manifest import (
    ArchivedEntry,
    FileEntry,
    HistoryEntry,
    Manifest,
    PartEntry,
    UnpublishedEntry,
    read_current,
)
from vent_family.release.publish.pages import pages_made_by
from vent_family.release.publish.plan import Planned, leaving, planned
from vent_family.release.publish.releases import Releases, history_of, register_kept
from vent_family.release.publish.signing import Signer
from vent_family.release.publish.sweep import KEEP_DAYS, Removed, clear_staging, swept
from vent_family.release.publish.switch import entry_page, switched
from vent_family.release.registered import registered_here
from vent_family.release.written import content_hash, hashed, written_files

if TYPE_CHECKING:
    from vent_family.release.discipline import Before

Runner = Callable[[Sequence[Job], int, Callable[[RowOutcome], None], float], None]
"""Runs jobs with so many workers, tells each outcome, and gives a row up after a time, s."""


def in_processes(
    jobs: Sequence[Job], workers: int, on_done: Callable[[RowOutcome], None], limit_s: float
) -> None:
    """Run jobs in processes of this machine, a single one too, so that a crash costs its row only.

    A row that takes longer than ``limit_s`` (s) is given up.
    """
    run_jobs(jobs, workers, on_done, limit_s=limit_s, apart=True)


@dataclass(frozen=True, slots=True)
class Order:
    """What a run is asked.

    Attributes
    ----------
    catalog, catalog_path
        the catalogue, read, and where it lies
    register
        file of the register of releases
    rows
        the rows that the run is about; others keep what is published of them
    out
        the library's folder
    rates
        the shop's
    stamp
        the time that files, manifest and index state
    publish_if
        worst predicted outcome in water that is published
    workers
        number of processes
    limit_s
        a row that takes longer is given up, s
    rebuild
        make all rows, changed or not
    prune
        withdraw parts whose row is gone
    keep_days
        how long old generations stay, days
    pinned
        folders of releases that stay whatever becomes of them, because projects are drawn with them
    still_s, beat_s
        when another publisher's lock counts as left behind, and how often one's own is written, s
    signer
        signs the manifest; ``None``: it is not signed
    runner
        runs the jobs: in processes of this machine, or elsewhere
    """

    catalog: CatalogFile
    catalog_path: Path
    register: Path
    rows: tuple[SourcedRow, ...]
    out: Path
    rates: Rates
    stamp: datetime
    publish_if: PublishIf = DEFAULT_BAR
    workers: int = 1
    limit_s: float = ROW_LIMIT_S
    rebuild: bool = False
    prune: bool = False
    keep_days: float = KEEP_DAYS
    pinned: tuple[str, ...] = ()
    still_s: float = STILL_S
    beat_s: float = BEAT_S
    signer: Signer | None = None
    runner: Runner = in_processes


@dataclass(frozen=True, slots=True)
class Told:
    """Who is told what while a run goes on."""

    stale: Callable[[Holder], None] = lambda holder: None
    plan: Callable[[Sequence[Planned]], None] = lambda rows: None
    done: Callable[[RowOutcome], None] = lambda outcome: None


@dataclass(frozen=True, slots=True)
class Published:
    """What came of a run.

    ``generation`` is the current one, ``switched`` whether it is new. ``orphans`` are parts whose
    row is gone and that were not withdrawn; ``notes`` what people should know besides; ``problems``
    what went wrong though the library was published; ``pages_s`` how long pages and switch took, s.
    """

    generation: str
    switched: bool
    outcomes: tuple[RowOutcome, ...]
    orphans: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    swept: Removed = field(default_factory=Removed)
    pages_s: float = 0.0


def publish_catalog(order: Order, told: Told = Told()) -> Published:
    """Publish a catalogue: make what changed, and switch the library over to it in one rename.

    Raises
    ------
    InputError
        if the folder holds something else than a library
    HeldError
        if another publisher is at work
    RegisterHeldError
        if one into another folder is, with the same register of releases
    LostError
        if another one took over because this process stood still
    OSError
        if the disk refuses
    """
    layout = prepared(order.out)
    with held_lock(
        layout.lock, still_s=order.still_s, beat_s=order.beat_s, on_stale=told.stale
    ) as lock:
        clear_staging(layout)
        with register_kept(
            order.register, still_s=order.still_s, beat_s=order.beat_s, on_stale=told.stale
        ) as kept:
            return _Run(order, told, layout, lock, kept).run()


class _Run:
    """One run, under the lock."""

    def __init__(
        self, order: Order, told: Told, layout: Layout, lock: Lock, kept: Lock | None
    ) -> None:
        self.order, self.told, self.layout, self.lock = order, told, layout, lock
        self.staging = layout.staging / secrets.token_hex(8)
        self.manifest, damage = read_current(layout)
        self.notes = [f"{damage}: all parts are made anew"] if damage else []
        self.made: dict[str, PartEntry] = {}
        self.releases = Releases(order.register, self.manifest, kept)
        self.notes += self.releases.notes
        self.stamp = order.stamp.isoformat(timespec="seconds")

    def run(self) -> Published:
        """Do everything that a run does; the lock is held."""
        order = self.order
        common = common_key(order.rates.fingerprint, registered_here())
        plan = planned(
            order.rows, self.manifest, common, order.publish_if, self.layout, rebuild=order.rebuild
        )
        self.told.plan(plan)
        keys = {p.part_number: p.key for p in plan}
        self.staging.mkdir()
        try:
            outcomes = self._build(plan, keys)
            manifest, gone, orphans = self._next(outcomes, keys, common)
            pages_s = 0.0
            same = self.manifest is not None and manifest.content == self.manifest.content
            if same:
                assert self.manifest is not None
                manifest = self.manifest
                entry_page(self.layout, manifest)
            else:
                begin = time.perf_counter()
                manifest = switched(self.layout, manifest, self.staging, self.lock, order.signer)
                pages_s = time.perf_counter() - begin
            problems = self.releases.written()
            cleaned = swept(self.layout, manifest, datetime.now(UTC), order.keep_days, order.pinned)
        finally:
            shutil.rmtree(self.staging, ignore_errors=True)
        found = sorted([*outcomes, *gone], key=lambda o: o.row_number)
        return Published(
            manifest.generation,
            not same,
            tuple(found),
            orphans,
            tuple(self.notes),
            problems,
            cleaned,
            pages_s,
        )

    def _build(self, plan: Sequence[Planned], keys: dict[str, dict[str, str]]) -> list[RowOutcome]:
        """Return what became of each planned row; what was made is in place, though not named."""
        jobs = [
            Job(
                p.source,
                self.order.catalog.path_name,
                str(self.staging / p.part_number) if p.source.row.status == "released" else None,
                self.order.stamp,
                p.bar,
                self.order.rates,
                self._before(p) if p.source.row.status == "released" else None,
            )
            for p in plan
            if p.reasons
        ]
        adopted: dict[str, RowOutcome] = {}

        def done(outcome: RowOutcome) -> None:
            adopted[outcome.part_number] = self._adopted(outcome, keys[outcome.part_number])
            self.told.done(adopted[outcome.part_number])

        self.order.runner(jobs, self.order.workers, done, self.order.limit_s)
        outcomes = (adopted[p.part_number] if p.as_before is None else p.as_before for p in plan)
        placed_in = self.order.catalog.placed
        return [replace(o, problems=tuple(placed_in(o.problems))) for o in outcomes]

    def _adopted(self, outcome: RowOutcome, made_from: dict[str, str]) -> RowOutcome:
        """Put in place what a job staged, and return its outcome with the folder in the library."""
        number = outcome.part_number
        staged = self.staging / number
        if outcome.outcome == "below bar":
            return self._marked(outcome)
        if outcome.outcome != "written":
            return replace(outcome, folder="")
        facts, judgement = outcome.facts or {}, outcome.judgement
        assert judgement is not None, "what is written for the library is judged"
        entry, last = judgement.entry, self._released(number)
        release = self._place(staged, number, revision=entry.revision, issue=entry.issue)
        before = self.releases.before(number)
        self.made[number] = PartEntry(
            **release,
            line=self.releases.line(judgement, release["content"]),
            history=history_of(judgement, last, before),
            made=self.stamp,
            made_from=digest(made_from),
            key=made_from,
            row_hash=made_from["row"],
            publish_if=self.order.publish_if,
            water_predicted=outcome.water,
            standing=str(facts.get(STANDING, CURRENT)),
            facts=facts,
        )
        return replace(outcome, folder=release["folder"])

    def _place(self, staged: Path, number: str, *, revision: str, issue: int) -> dict[str, Any]:
        """Put a staged release in place; return what its entry says of place and files."""
        files = written_files(staged)
        content = content_hash(files)
        folder = part_folder(number, revision, issue, content)
        placed(self.layout, staged, folder, files)
        return {
            "part_number": number,
            "revision": revision,
            "issue": issue,
            "folder": folder,
            "content": content,
            "files": [FileEntry.of(f) for f in files],
        }

    def _marked(self, outcome: RowOutcome) -> RowOutcome:
        """Publish the last release again, marked as one not to be fitted; there may be none.

        One of another design was not judged: it stays as it is.
        """
        from vent_family.release.publish.marked import marked_copy

        last = self._released(outcome.part_number)
        if last is None:
            return replace(outcome, folder="", marked=False)
        if not outcome.marked:
            told = tuple(replace(p, message=f"{p.message}; {NOT_ANEW}") for p in outcome.problems)
            marked = last.standing != CURRENT
            return replace(outcome, folder=last.folder, problems=told, marked=marked)
        standing = f"{DO_NOT_FIT}: {outcome.message}"
        if last.standing == standing:
            return replace(outcome, folder=last.folder)
        staged = self.staging / f"{outcome.part_number}.marked"
        issue = last.issue + 1
        marked_copy(
            self.layout.at(last.folder), staged, outcome.part_number, outcome.message, issue
        )
        placed_now = self._place(staged, last.part_number, revision=last.revision, issue=issue)
        self.made[last.part_number] = last.model_copy(
            update={
                **placed_now,
                "line": self.releases.marked_line(
                    last, placed_now["content"], outcome.water, self.order.stamp
                ),
                "history": [self._marked_entry(last, standing), *last.history],
                "made": self.stamp,
                "standing": standing,
                "water_predicted": outcome.water,
                "facts": {**last.facts, "standing": standing, "issue": issue},
            }
        )
        return replace(outcome, folder=placed_now["folder"])

    def _marked_entry(self, last: PartEntry, standing: str) -> HistoryEntry:
        return HistoryEntry(
            revision=last.revision,
            issue=last.issue + 1,
            released=self.order.stamp.date().isoformat(),
            change="evidence",
            changes=[standing],
        )

    def _before(self, planned_row: Planned) -> Before:
        """Return what a row's release is judged by."""
        number = planned_row.part_number
        last = self._released(number) or self._archived_last(number)
        if last is None:
            return self.releases.before(number)
        record = self.layout.at(last.folder) / f"{number}.json"
        return self.releases.before(number, record, last.revision)

    def _archived_last(self, number: str) -> PartEntry | None:
        """Return the last release of a part that was withdrawn."""
        archive = self.manifest.archive if self.manifest else []
        gone = [a for a in archive if a.release.part_number == number and a.why == "withdrawn"]
        return max(gone, key=lambda a: a.since).release if gone else None

    def _released(self, number: str) -> PartEntry | None:
        parts = self.manifest.parts if self.manifest else []
        return next((r for r in parts if r.part_number == number), None)

    def _next(
        self,
        outcomes: Sequence[RowOutcome],
        keys: dict[str, dict[str, str]],
        common: dict[str, str],
    ) -> tuple[Manifest, list[RowOutcome], tuple[str, ...]]:
        """Return the manifest to come, rows that were withdrawn, and parts whose row is gone."""
        order, before = self.order, self.manifest
        withdrawn, orphans, sure = leaving(before, order.catalog, order.rows)
        prune = order.prune and sure and len(order.rows) == len(order.catalog.rows)
        if order.prune and not prune and orphans:
            self.notes.append(
                "nothing was pruned: "
                + ("the run was about some rows only" if sure else "a row's part number is unknown")
            )
        leave = {r.part_number: r for r in [*withdrawn, *(orphans if prune else [])]}
        parts = {r.part_number: r for r in before.parts} if before else {}
        archive = {a.release.folder: a for a in before.archive} if before else {}
        for number, release in self.made.items():
            last = parts.get(number)
            if last is not None and last.revision != release.revision:
                archive[last.folder] = self._archived(last, "superseded")
            parts[number] = release
            # What was withdrawn and comes back under its revision is no longer archived.
            for folder, old in list(archive.items()):
                if (old.release.part_number, old.release.revision) == (number, release.revision):
                    del archive[folder]
        self.releases.withdraw(leave.values(), order.stamp)
        for number, release in leave.items():
            archive[release.folder] = self._archived(parts.pop(number), "withdrawn")
        place = {s.row.part_number: i for i, s in enumerate(order.catalog.rows)}
        kept = sorted(
            parts.values(), key=lambda r: (place.get(r.part_number, len(place)), r.part_number)
        )
        manifest = Manifest.of(
            made=self.order.stamp,
            catalogue=FileEntry.of(hashed(order.catalog_path, order.catalog.path_name)),
            publish_if=order.publish_if,
            signed_by=order.signer.public if order.signer else "",
            shop=order.rates.as_dict(),
            key=common,
            parts=kept,
            archive=sorted(
                archive.values(), key=lambda a: (a.release.part_number, a.release.folder)
            ),
            unpublished=self._unpublished(outcomes, keys),
            problems=[p.as_dict() for p in order.catalog.problems],
            site_made_by=pages_made_by(),
        )
        gone = [left_out(source, source.row.part_number in leave) for source in order.rows]
        left = () if prune else tuple(r.part_number for r in orphans)
        return manifest, [o for o in gone if o is not None], left

    def _archived(self, release: PartEntry, why: Any) -> ArchivedEntry:
        return ArchivedEntry(release=release, why=why, since=self.stamp)

    def _unpublished(
        self, outcomes: Sequence[RowOutcome], keys: dict[str, dict[str, str]]
    ) -> list[UnpublishedEntry]:
        """Return rows of which nothing was published and that would come to the same again."""
        rows = {s.row.part_number for s in self.order.catalog.rows}
        tried = {o.part_number for o in outcomes}
        kept = self.manifest.unpublished if self.manifest else []
        found = [u for u in kept if u.part_number in rows - tried]
        for o in outcomes:
            if o.outcome in ("failed", "below bar", "checked") and o.lasting:
                found.append(
                    UnpublishedEntry(
                        part_number=o.part_number,
                        row=o.row_number,
                        status=o.status,
                        outcome=o.outcome,
                        message=o.message,
                        water_predicted=o.water,
                        made_from=digest(keys[o.part_number]),
                        key=keys[o.part_number],
                        problems=[p.as_dict() for p in o.problems],
                    )
                )
        return sorted(found, key=lambda u: u.part_number)

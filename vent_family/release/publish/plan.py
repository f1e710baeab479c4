"""What a run has to do: which rows are made, and why; which are as they were."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.problems import told_problem
from vent_family.catalog.hashing import changed_cells, recorded_cells, told_cells
from vent_family.catalog.reader import CatalogFile, SourcedRow
from vent_family.release.bar import CURRENT, PublishIf
from vent_family.release.jobs import RowOutcome
from vent_family.release.publish.keys import Key, digest, key, reasons
from vent_family.release.publish.layout import Layout, read_json
from vent_family.release.publish.manifest import Manifest, PartEntry, UnpublishedEntry

ASKED_ANEW: Final = "asked for by --rebuild"


@dataclass(frozen=True, slots=True)
class Planned:
    """One row of a run: what its part is made from, and why it is made; no reason: it stays.

    ``as_before`` is what became of the row the last time, where that holds still.
    """

    source: SourcedRow
    bar: PublishIf
    key: dict[str, str]
    reasons: tuple[str, ...]
    as_before: RowOutcome | None = None

    @property
    def part_number(self) -> str:
        """The row's part number."""
        return self.source.row.part_number


def planned(
    rows: Sequence[SourcedRow],
    manifest: Manifest | None,
    common: Key,
    publish_if: PublishIf,
    layout: Layout,
    *,
    rebuild: bool = False,
) -> list[Planned]:
    """Return what is to be done for each row that is not retired.

    Parameters
    ----------
    rows
        the rows that the run is about
    manifest
        what is published; ``None`` for an empty library
    common
        what all parts are made from
    publish_if
        the bar for released rows; drafts are told, not refused
    layout
        where the library lies
    rebuild
        make all rows, changed or not
    """
    released = {r.part_number: r for r in manifest.parts} if manifest else {}
    tried = {t.part_number: t for t in manifest.unpublished} if manifest else {}
    found = []
    for source in rows:
        row = source.row
        if row.status == "retired":
            continue
        bar: PublishIf = "any" if row.status == "draft" else publish_if
        made_from = key(source.row_hash, common, bar)
        last = tried.get(row.part_number)
        release = released.get(row.part_number) if row.status == "released" else None
        why, before = _why(source, made_from, last, release, layout)
        if rebuild and not why:
            why, before = [ASKED_ANEW], None
        found.append(Planned(source, bar, made_from, tuple(why), before))
    return found


def _why(
    source: SourcedRow,
    now: Mapping[str, str],
    last: UnpublishedEntry | None,
    release: PartEntry | None,
    layout: Layout,
) -> tuple[list[str], RowOutcome | None]:
    """Return why a row is made, and what became of it before where it need not be."""
    made_from = digest(now)
    if release is not None and release.made_from == made_from and release.standing == CURRENT:
        # Also where the row was tried otherwise meanwhile, came to nothing, and was set back.
        broken = _broken(release, layout)
        if broken:
            return [f"{broken} is missing or altered"], None
        return [], _as_released(source, release)
    if last is not None and last.status == source.row.status:
        if last.made_from == made_from:
            return [], _as_tried(source, last, release)
        return reasons(last.key, now), None
    if release is None:
        return reasons(None, now), None
    if release.made_from == made_from:
        return ["its release is marked as not to be fitted"], None
    return reasons(release.key, now, _cells(source, release, layout)), None


def _as_released(source: SourcedRow, release: PartEntry) -> RowOutcome:
    return RowOutcome(
        release.part_number,
        source.row_number,
        source.row.status,
        "unchanged",
        water=release.water_predicted,
        folder=release.folder,
        facts=dict(release.facts),
    )


def _as_tried(source: SourcedRow, last: UnpublishedEntry, release: PartEntry | None) -> RowOutcome:
    # The row may have moved in its file since.
    problems = tuple(
        replace(told_problem(p), row=source.row_number, cell="") for p in last.problems
    )
    return RowOutcome(
        last.part_number,
        source.row_number,
        last.status,
        last.outcome,  # type: ignore[arg-type]
        last.message,
        water=last.water_predicted,
        folder=release.folder if release and last.outcome == "below bar" else "",
        problems=problems,
        marked=release is not None and release.standing != CURRENT,
    )


def _broken(release: PartEntry, layout: Layout) -> str:
    """Return the name of a release's file that is not there or has another size; else nothing."""
    # One look at the folder: a library of a thousand parts has tens of thousands of files.
    try:
        with os.scandir(layout.at(release.folder)) as there:
            sizes = {entry.name: entry.stat().st_size for entry in there}
    except OSError:
        sizes = {}
    return next((f.name for f in release.files if sizes.get(f.name) != f.size_bytes), "")


def _cells(source: SourcedRow, release: PartEntry, layout: Layout) -> list[str]:
    """Return which cells of a row changed since its release, in words."""
    record = read_json(layout.at(release.folder) / f"{release.part_number}.json") or {}
    now = told_cells(source.row, source.attached)
    return [
        f"{name} {was} -> {is_now}"
        for name, was, is_now in changed_cells(recorded_cells(record), now)
    ]


def leaving(
    manifest: Manifest | None, file: CatalogFile, rows: Iterable[SourcedRow]
) -> tuple[list[PartEntry], list[PartEntry], bool]:
    """Return releases whose row is no longer released, those whose row is gone, and whether all
    rows of the file could be told by their part number.

    A row with a fault is there still: its last release stays.
    """
    if manifest is None:
        return [], [], True
    status = {s.row.part_number: s.row.status for s in rows}
    in_file = {s.row.part_number for s in (*file.rows, *file.withheld)}
    faulty = {p.part_number for p in file.problems}
    withdrawn = [r for r in manifest.parts if status.get(r.part_number, "released") != "released"]
    gone = [r for r in manifest.parts if r.part_number not in in_file | faulty]
    sure = all(p.part_number for p in file.problems if p.row is not None)
    return withdrawn, gone, sure

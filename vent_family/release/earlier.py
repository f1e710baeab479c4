"""What is to be released, held against what was released before, before a file is written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from vent_family.evidence.context import PartContext
from vent_family.evidence.water.kind import WATER
from vent_family.files.json import as_written
from vent_family.geometry.fingerprint import Fingerprint, fingerprint
from vent_family.release.discipline import (
    Before,
    Earlier,
    EarlierRecord,
    IssueTold,
    Judgement,
    classified,
    released_under,
    same_design,
    stated_changes,
)
from vent_family.release.entry import entry_of
from vent_family.release.figures import evidence_hash, figures
from vent_family.release.record import PartRecord, ReleaseRecord, make_record, record_type


def fingerprints(context: PartContext) -> tuple[tuple[str, Fingerprint], ...]:
    """Return the fingerprints of what is delivered: the vent as made, and what goes with it."""
    solids = context.solids
    bodies = [("vent", solids.vent), *solids.companions()]
    return tuple((body, fingerprint(solid)) for body, solid in bodies)


def judgement_of(
    context: PartContext, before: Before, *, row_hash: str, time_stamp: datetime
) -> Judgement:
    """Return what a release of a part would be.

    Raises
    ------
    RevisionError
        if the geometry changed under the same revision, or a revision is taken up again that
        another one followed
    """
    # Without names of files and triangles, which are no figures; and as the file will hold it, or
    # a number that lies between two roundings would differ from itself.
    stamp = time_stamp.isoformat(timespec="seconds")
    record = make_record(context, row_hash=row_hash, time_stamp=stamp, triangles=0, files=[])
    found = figures(as_written(record.model_dump(mode="json")), record_type())
    now = replace(
        entry_of(context.spec, row_hash, time_stamp.astimezone(UTC).date().isoformat()),
        geometry=fingerprints(context),
        evidence=evidence_hash(found),
        water=context.of(WATER).outcome,
    )
    return classified(now, found, Earlier(before.entries, _earlier_record(before.record)))


def is_released_design(context: PartContext, before: Before, row_hash: str) -> bool:
    """Return whether a part is of the design that stands in the library, whatever its revision.

    A design of which the register knows nothing is another one.
    """
    released = released_under(before.entries, before.revision)
    if not released:
        return False
    now = entry_of(context.spec, row_hash, "")
    # Solids are measured only where the sizes leave it open.
    if stated_changes(released[-1], now):
        now = replace(now, geometry=fingerprints(context))
    return same_design(released[-1], now)


def _earlier_record(path: str) -> EarlierRecord | None:
    """Return a record of the library; ``None`` if there is none that can be read."""
    if not path:
        return None
    try:
        record = json.loads(Path(path).read_text(encoding="utf-8"))
        identity = record["identity"]
        return EarlierRecord(
            revision=str(identity["revision"]),
            issue=int(identity.get("issue") or 0),
            figures=figures(record, record_type()),
            told=_told(record.get("release")),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _told(release: Mapping[str, Any] | None) -> IssueTold | None:
    if release is None:
        return None
    return IssueTold(release["change"], release["before"], tuple(release["changes"]))


def released_record(record: PartRecord, judgement: Judgement) -> PartRecord:
    """Return a part's record as that of a release: revision, issue, and what it changed."""
    entry, told = judgement.entry, judgement.told
    identity = record.identity.model_copy(update={"issue": entry.issue})
    release = ReleaseRecord(
        change=told.change,
        before=told.before,
        changes=list(told.changes),
        fit=entry.fit.text(),
        design=entry.design.text(),
        designed_volume_mm3=entry.designed_volume_mm3 or 0.0,
        geometry={body: solid.text() for body, solid in entry.geometry},
        evidence=entry.evidence,
    )
    return record.model_copy(update={"identity": identity, "release": release})

"""Worker processes know the forms, families and kinds of evidence of the process they work for."""

from __future__ import annotations

from datetime import UTC, datetime

from tests.helpers.families import fourth_family, row_of
from tests.release.toy import PAINT
from vent_family.catalog.rows import SourcedRow
from vent_family.evidence.kinds import KINDS
from vent_family.release.jobs import Job, RowOutcome
from vent_family.release.pool import run_jobs
from vent_family.release.registered import Registered, registered_here
from vent_family.spec.resolve import resolve

STAMP = datetime(2026, 1, 2, tzinfo=UTC)


def resolved(job: Job) -> RowOutcome:
    """Return in a worker what it makes of a row, and the kinds of evidence it knows."""
    row = job.source.row
    words = f"{resolve(row).opening.text()}; {', '.join(type(k).__name__ for k in KINDS)}"
    return RowOutcome(row.part_number, job.source.row_number, row.status, "checked", words)


def test_nothing_is_added_by_itself() -> None:
    assert registered_here() == Registered()


def test_workers_know_what_was_registered() -> None:
    with fourth_family(), KINDS.registered(PAINT):
        here = registered_here()
        assert [family.name for family, _ in here.families] == ["octagonal"]
        assert here.kinds == (PAINT,)
        rows = [row_of("octagonal", part_number=f"O{i}", size=f"{90 + i}x80") for i in range(2)]
        jobs = [Job(SourcedRow(i, row, ""), "", None, STAMP) for i, row in enumerate(rows)]
        found = run_jobs(jobs, 2, lambda outcome: None, resolved)
    for width, outcome in zip((90, 91), found, strict=True):
        assert outcome.message.startswith(f"octagon {width} x 80 mm, corners cut by 16 mm; ")
        assert type(PAINT).__name__ in outcome.message
    assert registered_here() == Registered()

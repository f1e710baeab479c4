"""Libraries of a few bytes whose records say what pins are judged by."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.release.publish import quick
from tests.release.releases import DESIGN, FIT, SOLID, resized
from vent_family.release.jobs import Job, RowOutcome
from vent_family.release.publish.publish import Published
from vent_family.release.written import written_files

LATER = datetime(2026, 5, 6, 7, 8, 9, tzinfo=UTC)


def made(job: Job) -> RowOutcome:
    """Write the files of the quick job, with a record as publishing writes them, most left out."""
    outcome = quick.made(job)
    if outcome.outcome != "written" or outcome.judgement is None:
        return outcome
    folder, number, told = Path(outcome.folder), outcome.part_number, outcome.judgement.told
    entry = outcome.judgement.entry
    wider = job.source.row.description == "wider"
    record = {
        "identity": {
            "part_number": number,
            "revision": entry.revision,
            "issue": entry.issue,
            "row_hash": job.source.row_hash,
        },
        "catalogue": {},
        "standing": "current",
        "material": {"name": "ASA"},
        "water": {"outcome": "holds"},
        "files": [],
        "release": {
            "change": told.change,
            "before": told.before,
            "changes": list(told.changes),
            "fit": (resized(FIT, "panel", "2 mm") if wider else FIT).text(),
            "design": DESIGN.text(),
            "designed_volume_mm3": 14289.7408,
            "geometry": {"vent": SOLID.text()},
            "evidence": entry.evidence,
        },
    }
    (folder / f"{number}.json").write_text(json.dumps(record), encoding="utf-8")
    return replace(outcome, files=written_files(folder))


def here(
    jobs: Sequence[Job], workers: int, on_done: Callable[[RowOutcome], None], limit_s: float
) -> None:
    """Run the jobs in this process."""
    for job in jobs:
        on_done(made(job))


def publish(place: Path, *lines: str, **changed: Any) -> Published:
    """Publish a catalogue of lines into the library of a place."""
    catalog = quick.catalogue(place, *lines)
    result = quick.run(catalog, place / "out", runner=here, **changed)
    assert not result.problems
    return result


def edited(library: Path, relative: str, change: Callable[[dict[str, Any]], None]) -> None:
    """Change the data of a JSON file."""
    path = library / relative
    data = json.loads(path.read_text(encoding="utf-8"))
    change(data)
    path.write_text(json.dumps(data), encoding="utf-8")

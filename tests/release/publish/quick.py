"""Libraries published with a quick job in place of the real one: files of a few bytes."""

from __future__ import annotations

import hashlib
import json
import os
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.release.releases import FIT, release, resized
from vent_family.base.problems import Problem
from vent_family.base.rates import demo_rates
from vent_family.catalog.reader import read_catalog
from vent_family.release.discipline import Earlier, RevisionError, classified
from vent_family.release.jobs import Job, RowOutcome
from vent_family.release.pool import side_by_side
from vent_family.release.publish.publish import Order, Published, Told, publish_catalog
from vent_family.release.register import register_path
from vent_family.release.written import written_files

HEAD = "part_number,family,size,status,revision,description,slat_form,exposure\n"
STAMP = datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC)


def line(number: str, status: str = "released", revision: str = "A", words: str = "") -> str:
    return f"{number},rectangular,40x40,{status},{revision},{words},folded,dry\n"


def catalogue(folder: Path, *lines: str) -> Path:
    path = folder / "catalog.csv"
    path.write_text(HEAD + "".join(lines), encoding="utf-8")
    return path


def made(job: Job) -> RowOutcome:
    """Write three small files for a row; a description says what goes wrong, or how slowly."""
    row = job.source.row
    words = row.description or ""
    outcome = RowOutcome(row.part_number, job.source.row_number, row.status, "written")
    if words == "crash":
        os.abort()
    if words == "hang":
        time.sleep(40.0)
    if words == "fails":
        return replace(outcome, outcome="failed", message="no such vent")
    if words.startswith("leaks"):
        # As with a part of the design that was released, or of another one.
        return replace(
            outcome,
            outcome="below bar",
            message="predicted to let in rain",
            water="fails",
            problems=(Problem("release.water.bar", "not published", row=outcome.row_number),),
            marked=words == "leaks",
        )
    if job.target is None:
        return replace(outcome, outcome="checked")
    assert job.before is not None
    now = release(
        row.part_number,
        revision=row.revision or "A",
        row=job.source.row_hash,
        evidence=hashlib.sha256(words.encode()).hexdigest()[:16],
        released=job.time_stamp.date().isoformat(),
        fit=resized(FIT, "panel", "2 mm") if words == "wider" else FIT,
    )
    try:
        judgement = classified(now, {}, Earlier(job.before.entries))
    except RevisionError as error:
        return replace(outcome, outcome="failed", problems=(error.problem,), lasting=False)
    target = Path(job.target)
    target.mkdir()
    for ending in (".step", ".stl", ".json"):
        if words.startswith("slow"):
            time.sleep(0.05)
        data = {
            "identity": {"issue": judgement.entry.issue},
            "catalogue": row.model_dump(mode="json", exclude_none=True),
            "own": dict(job.source.attached.own),
            "files": [],
            "words": words,
        }
        (target / f"{row.part_number}{ending}").write_text(json.dumps(data), encoding="utf-8")
    facts = {"revision": row.revision or "A", "family": row.family, "size": row.size}
    return replace(
        outcome,
        files=written_files(target),
        facts=facts,
        folder=job.target,
        judgement=judgement,
    )


def here(
    jobs: Sequence[Job], workers: int, on_done: Callable[[RowOutcome], None], limit_s: float
) -> None:
    """Run quick jobs in this process."""
    for job in jobs:
        on_done(made(job))


def lost(job: Job, why: str) -> RowOutcome:
    row = job.source.row
    return RowOutcome(
        row.part_number, job.source.row_number, row.status, "failed", why, lasting=False
    )


def apart(
    jobs: Sequence[Job], workers: int, on_done: Callable[[RowOutcome], None], limit_s: float
) -> None:
    """Run quick jobs in processes of their own."""
    side_by_side(jobs, workers, on_done, made, lost, limit_s=limit_s, apart=True)


def order(catalog: Path, out: Path, **changed: Any) -> Order:
    file = read_catalog(catalog)
    asked: dict[str, Any] = {
        "catalog": file,
        "catalog_path": catalog,
        "register": register_path(catalog),
        "rows": file.rows,
        "out": out,
        "rates": demo_rates(),
        "stamp": STAMP,
        "runner": here,
        "still_s": 1.0,
        "beat_s": 0.1,
    }
    return Order(**asked | changed)


def run(catalog: Path, out: Path, **changed: Any) -> Published:
    return publish_catalog(order(catalog, out, **changed), Told())


if __name__ == "__main__":
    # A publisher of its own, to be killed: catalogue, library, number of workers.
    done = run(Path(sys.argv[1]), Path(sys.argv[2]), workers=int(sys.argv[3]), runner=apart)
    print(done.generation, flush=True)

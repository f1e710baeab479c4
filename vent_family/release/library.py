"""Build the whole catalogue: rows in, file paths out, in parallel processes.

Processes rather than threads, because the CAD kernel holds the interpreter's lock. A row that
fails, or even takes its process down, costs only itself.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import signal
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, Literal

from vent_family.base.problems import InputError, Problem, located
from vent_family.catalog.model import CatalogRow
from vent_family.catalog.reader import CatalogFile, SourcedRow
from vent_family.spec.resolve import resolve

INDEX_NAME: Final = "library.json"
SCHEMA_NAME: Final = "part.schema.json"
DRAFTS: Final = "_drafts"
"""Begins with a character no part number can begin with, so no part can take its place."""

Outcome = Literal["written", "checked", "failed", "withdrawn", "skipped"]


@dataclass(frozen=True, slots=True)
class Job:
    """One row to build: the source and where its folder goes (``None``: build and check only)."""

    source: SourcedRow
    file_name: str
    target: str | None
    time_stamp: datetime


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """What became of one row."""

    part_number: str
    row_number: int
    status: str
    outcome: Outcome
    message: str = ""
    folder: str = ""
    files: tuple[tuple[str, int], ...] = ()
    seconds: float = 0.0
    facts: dict[str, Any] | None = None
    problems: tuple[Problem, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return plain data for ``--json``."""
        return {
            "part_number": self.part_number,
            "row": self.row_number,
            "status": self.status,
            "outcome": self.outcome,
            "message": self.message,
            "folder": self.folder,
            "files": [{"name": n, "size_bytes": b} for n, b in self.files],
            "seconds": round(self.seconds, 3),
            "facts": self.facts,
            "problems": [p.as_dict() for p in self.problems],
        }


def build_time() -> datetime:
    """Return the time stamp of a build: ``SOURCE_DATE_EPOCH`` if set, else now; to the second."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdigit():
        return datetime.fromtimestamp(int(epoch), UTC)
    return datetime.now(UTC).replace(microsecond=0)


def plan(
    catalog: CatalogFile, rows: Sequence[SourcedRow], out: Path, *, drafts: bool, stamp: datetime
) -> list[Job]:
    """Return the jobs of a build: released rows are published, drafts built and checked.

    With ``drafts`` the files of draft rows are written too, below their own folder.
    """
    jobs = []
    for source in rows:
        row = source.row
        if row.status == "retired":
            continue
        target: Path | None = out / row.part_number
        if row.status == "draft":
            target = out / DRAFTS / row.part_number if drafts else None
        jobs.append(Job(source, catalog.path_name, str(target) if target else None, stamp))
    return jobs


def withdraw(rows: Sequence[SourcedRow], out: Path) -> list[RowOutcome]:
    """Take parts that are not released (any more) out of the published folder."""
    outcomes = []
    for source in rows:
        row = source.row
        folder = out / row.part_number
        gone = row.status != "released" and folder.is_dir()
        if gone:
            shutil.rmtree(folder)
        if row.status == "retired":
            text = "taken out of the library" if gone else "retired, not built"
            outcomes.append(
                RowOutcome(
                    row.part_number,
                    source.row_number,
                    row.status,
                    "withdrawn" if gone else "skipped",
                    text,
                )
            )
    return outcomes


def build_row(job: Job) -> RowOutcome:
    """Build one row; every fault becomes an outcome, none an exception."""
    begin = time.perf_counter()
    row = job.source.row
    outcome = RowOutcome(row.part_number, job.source.row_number, row.status, "failed")
    try:
        outcome = _build(job, outcome)
    except InputError as error:
        problems = located(error.problems, job.file_name, job.source.row_number)
        outcome = replace(
            outcome,
            message="; ".join(p.message for p in problems),
            problems=tuple(problems),
        )
    except Exception as error:
        text = f"{type(error).__name__}: {error}"
        outcome = _failed(outcome, job, text)
    return replace(outcome, seconds=time.perf_counter() - begin)


def _build(job: Job, outcome: RowOutcome) -> RowOutcome:
    # Imported here: the kernel takes a second to load, and planning a build does not need it.
    from vent_family.release.examine import CheckFailedError, check_part
    from vent_family.release.part import release_part
    from vent_family.release.record import index_facts

    spec = resolve(job.source.row)
    try:
        if job.target is None:
            check_part(spec)
            return replace(outcome, outcome="checked", message="draft: checked, not published")
        released = release_part(
            spec, Path(job.target), row_hash=job.source.row_hash, time_stamp=job.time_stamp
        )
    except CheckFailedError as error:
        return _failed(outcome, job, f"check failed: {error}")
    weak = [c.name for c in released.checks if c.verdict != "pass"]
    return replace(
        outcome,
        outcome="written",
        message=f"weak, see the record: {', '.join(weak)}" if weak else "",
        folder=job.target,
        files=tuple((f.name, f.size_bytes) for f in released.files),
        facts=dict(index_facts(released.record)),
    )


def _failed(outcome: RowOutcome, job: Job, text: str) -> RowOutcome:
    problem = Problem(
        f"the part could not be built: {text}",
        file=job.file_name,
        row=job.source.row_number,
        part_number=outcome.part_number,
        suggestion="this is a fault of the program, not of the row; the last good files were kept",
    )
    return replace(outcome, message=text, problems=(problem,))


def run_jobs(
    jobs: Sequence[Job],
    workers: int,
    on_done: Callable[[RowOutcome], None],
    work: Callable[[Job], RowOutcome] = build_row,
) -> list[RowOutcome]:
    """Run all jobs, in this process for one worker, else in spawned ones; order as given.

    A process that dies takes the pool with it; its jobs are then run one by one, each in a
    process of its own, so that only the job that kills its process is lost.
    """
    if workers <= 1 or len(jobs) <= 1:
        outcomes = []
        for job in jobs:
            outcome = work(job)
            on_done(outcome)
            outcomes.append(outcome)
        return outcomes
    done: dict[int, RowOutcome] = {}
    with _pool(workers) as pool:
        futures = {pool.submit(work, job): i for i, job in enumerate(jobs)}
        for future in as_completed(futures):
            result = _result(future)
            if result is not None:
                done[futures[future]] = result
                on_done(result)
    for i, job in enumerate(jobs):
        if i not in done:
            done[i] = _alone(job, work)
            on_done(done[i])
    return [done[i] for i in range(len(jobs))]


@contextmanager
def _pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(max_workers=workers, mp_context=context, initializer=_quiet)
    try:
        yield pool
    except BaseException:
        # Interrupted: drop what waits and end the workers at once; staged files are removed by
        # the next run's recovery. A second interrupt must not stop that.
        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGINT, signal.SIG_IGN)
        workers_now = list((getattr(pool, "_processes", None) or {}).values())
        pool.shutdown(wait=False, cancel_futures=True)
        for process in workers_now:
            process.terminate()
        raise
    pool.shutdown()


def _quiet() -> None:
    """Leave interrupts to the parent, which ends its workers itself."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _result(future: Future[RowOutcome]) -> RowOutcome | None:
    try:
        return future.result()
    except BrokenProcessPool:
        return None


def _alone(job: Job, work: Callable[[Job], RowOutcome]) -> RowOutcome:
    with _pool(1) as pool:
        outcome = _result(pool.submit(work, job))
    if outcome is not None:
        return outcome
    row = job.source.row
    lost = RowOutcome(row.part_number, job.source.row_number, row.status, "failed")
    return _failed(lost, job, "the geometry kernel crashed on this part")


def write_index(
    out: Path, catalog_rows: Sequence[CatalogRow], outcomes: Sequence[RowOutcome], stamp: datetime
) -> None:
    """Write the library's index, every published part with its key facts, and the schema.

    Parts that were not built in this run keep their entry, as long as their folder is there.
    """
    from vent_family.files.json import write_json
    from vent_family.release.record import record_type

    path = out / INDEX_NAME
    parts = {p["part_number"]: p for p in _read_index(path)}
    for outcome in outcomes:
        if outcome.outcome == "written" and outcome.status == "released":
            parts[outcome.part_number] = {
                "part_number": outcome.part_number,
                "built": stamp.isoformat(timespec="seconds"),
                "files": [name for name, _ in outcome.files],
                **(outcome.facts or {}),
            }
    order = {row.part_number: i for i, row in enumerate(catalog_rows)}
    kept = [p for n, p in parts.items() if (out / n).is_dir()]
    kept.sort(key=lambda p: (order.get(p["part_number"], len(order)), p["part_number"]))
    write_json(path, {"schema_version": "1.0", "parts": kept})
    write_json(out / SCHEMA_NAME, record_type().model_json_schema())


def _read_index(path: Path) -> list[dict[str, Any]]:
    try:
        return list(json.loads(path.read_text(encoding="utf-8"))["parts"])
    except (OSError, ValueError, KeyError, TypeError):
        # A missing or damaged index is made anew from this run.
        return []

"""Run jobs side by side.

Processes rather than threads, because the CAD kernel holds the interpreter's lock. A job that
takes its process down costs only itself.
"""

from __future__ import annotations

import multiprocessing
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager

from vent_family.release.jobs import Job, RowOutcome, build_row, failed
from vent_family.release.registered import Registered, register_again, registered_here


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
    pool = ProcessPoolExecutor(
        max_workers=workers,
        mp_context=context,
        initializer=_start,
        initargs=(registered_here(),),
    )
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


def _start(registered: Registered) -> None:
    """Begin a worker: interrupts are the parent's, and what it has registered is known here."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    register_again(registered)


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
    return failed(lost, job, "the geometry kernel crashed on this part")

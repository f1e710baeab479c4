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
from typing import TypeVar

from vent_family.release.jobs import Job, RowOutcome, build_row, lost_row
from vent_family.release.registered import Registered, register_again, registered_here

Given = TypeVar("Given")
Made = TypeVar("Made")


def run_jobs(
    jobs: Sequence[Job],
    workers: int,
    on_done: Callable[[RowOutcome], None],
    work: Callable[[Job], RowOutcome] = build_row,
) -> list[RowOutcome]:
    """Build all rows, as :func:`side_by_side`."""
    return side_by_side(jobs, workers, on_done, work, lost_row)


def side_by_side(
    jobs: Sequence[Given],
    workers: int,
    on_done: Callable[[Made], None],
    work: Callable[[Given], Made],
    lost: Callable[[Given], Made],
) -> list[Made]:
    """Run all jobs, in this process for one worker, else in spawned ones; order as given.

    A process that dies takes the pool with it; its jobs are then run one by one, each in a
    process of its own, so that only the job that kills its process is lost.

    Parameters
    ----------
    jobs
        what is to be done; pickled for other processes, as their results are
    workers
        number of processes
    on_done
        told of every result as it comes, in this process
    work
        does one job; a function that can be imported
    lost
        says what became of a job that took its process down
    """
    if workers <= 1 or len(jobs) <= 1:
        outcomes = []
        for job in jobs:
            outcome = work(job)
            on_done(outcome)
            outcomes.append(outcome)
        return outcomes
    done: dict[int, Made] = {}
    with _pool(workers) as pool:
        futures = {pool.submit(work, job): i for i, job in enumerate(jobs)}
        for future in as_completed(futures):
            result = _result(future)
            if result is not None:
                done[futures[future]] = result
                on_done(result)
    for i, job in enumerate(jobs):
        if i not in done:
            done[i] = _alone(job, work, lost)
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


def _result(future: Future[Made]) -> Made | None:
    try:
        return future.result()
    except BrokenProcessPool:
        return None


def _alone(job: Given, work: Callable[[Given], Made], lost: Callable[[Given], Made]) -> Made:
    with _pool(1) as pool:
        found = _result(pool.submit(work, job))
    return lost(job) if found is None else found

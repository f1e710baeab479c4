"""Run jobs side by side.

Processes rather than threads, because the CAD kernel holds the interpreter's lock. A job that
takes its process down, or does not end, costs only itself; workers end with their parent.
"""

from __future__ import annotations

import ctypes
import gc
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, as_completed
from contextlib import contextmanager, suppress
from functools import partial
from typing import Final, TypeVar

from pebble import ProcessExpired, ProcessPool

from vent_family.release.jobs import (
    CRASHED,
    Job,
    RowOutcome,
    build_row,
    front_mm2,
    lost_row,
    too_long,
)
from vent_family.release.registered import Registered, register_again, registered_here

Given = TypeVar("Given")
Made = TypeVar("Made")
ROW_LIMIT_S: Final = 1800.0
"""A row that takes longer is given up, s: thirty times what the largest takes alone on a core."""
JOBS_PER_PROCESS: Final = 30
"""A worker is replaced after so many jobs: what libraries keep in memory goes with it."""
_WATCH_S: Final = 0.5
_PR_SET_PDEATHSIG: Final = 1
"""From the Linux header ``prctl.h``: the signal that a process gets when its parent dies."""


def run_jobs(
    jobs: Sequence[Job],
    workers: int,
    on_done: Callable[[RowOutcome], None],
    work: Callable[[Job], RowOutcome] = build_row,
    *,
    limit_s: float = ROW_LIMIT_S,
    apart: bool = False,
) -> list[RowOutcome]:
    """Build all rows, as :func:`side_by_side`; side by side, the largest begin first."""
    return side_by_side(
        jobs,
        workers,
        on_done,
        partial(_done, work),
        lost_row,
        limit_s=limit_s,
        apart=apart,
        weight=front_mm2,
    )


def side_by_side(
    jobs: Sequence[Given],
    workers: int,
    on_done: Callable[[Made], None],
    work: Callable[[Given], Made],
    lost: Callable[[Given, str], Made],
    *,
    limit_s: float = ROW_LIMIT_S,
    apart: bool = False,
    weight: Callable[[Given], float] | None = None,
    forked: bool = False,
) -> list[Made]:
    """Run all jobs in spawned processes; order as given. A single job runs in this process.

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
        says what became of a job that took its process down or was given up, and why
    limit_s
        a job that takes longer is given up with its process, s
    apart
        a single job is run in a process of its own, too
    weight
        about how much work a job is (1): the heaviest begin first, so that in the end no process
        works on a long one while the others have nothing to do; in order if ``None``
    forked
        whether processes are copies of this one, with all that it has loaded, where that is safe
        (:func:`may_fork`)
    """
    if len(jobs) <= 1 and not apart:
        outcomes = []
        for job in jobs:
            outcomes.append(work(job))
            on_done(outcomes[-1])
        return outcomes
    done: dict[int, Made] = {}
    order = list(range(len(jobs)))
    if weight is not None and workers > 1:
        order.sort(key=lambda i: weight(jobs[i]), reverse=True)
    with worker_pool(min(workers, len(jobs)), forked=forked) as pool:
        futures: dict[Future[Made], int] = {
            pool.schedule(work, args=(jobs[i],), timeout=limit_s): i for i in order
        }
        for future in as_completed(futures):
            i = futures[future]
            done[i] = _result(future, jobs[i], lost, limit_s)
            on_done(done[i])
    return [done[i] for i in range(len(jobs))]


def run_in(
    pool: ProcessPool,
    jobs: Sequence[Given],
    work: Callable[[Given], Made],
    lost: Callable[[Given, str], Made],
    *,
    limit_s: float = ROW_LIMIT_S,
) -> list[Made]:
    """Run all jobs in a pool that stays open; order as given.

    Parameters
    ----------
    pool
        the pool (:func:`worker_pool`)
    jobs
        what is to be done; pickled for other processes, as their results are
    work
        does one job; a function that can be imported
    lost
        says what became of a job that took its process down or was given up, and why
    limit_s
        a job that takes longer is given up with its process, s
    """
    futures = [pool.schedule(work, args=(job,), timeout=limit_s) for job in jobs]
    return [_result(f, job, lost, limit_s) for f, job in zip(futures, jobs, strict=True)]


def _done(work: Callable[[Given], Made], job: Given) -> Made:
    """Do a job.

    Libraries and what else a worker's first job has loaded stay: they are not searched for garbage
    again, which would take a twentieth of the time.
    """
    try:
        return work(job)
    finally:
        if multiprocessing.parent_process() is not None and not gc.get_freeze_count():
            gc.collect()
            gc.freeze()


def _result(
    future: Future[Made], job: Given, lost: Callable[[Given, str], Made], limit_s: float
) -> Made:
    try:
        return future.result()
    except TimeoutError:
        return lost(job, too_long(limit_s))
    except ProcessExpired:
        return lost(job, CRASHED)


def may_fork() -> bool:
    """Tell whether this process may be copied: nothing else runs in it, and the system is Linux.

    A copy holds no other thread, but what that had locked stays locked in it.
    """
    return sys.platform == "linux" and threading.active_count() == 1


@contextmanager
def worker_pool(
    workers: int, *, forked: bool = False, jobs_each: int = JOBS_PER_PROCESS
) -> Iterator[ProcessPool]:
    """Have worker processes; when left they end, at once where it was by an exception.

    Parameters
    ----------
    workers
        number of processes
    forked
        whether they are copies of this one, where that is safe (:func:`may_fork`)
    jobs_each
        a worker is replaced after so many jobs
    """
    start = "fork" if forked and may_fork() else "spawn"
    pool = ProcessPool(
        max_workers=max(1, workers),
        max_tasks=jobs_each,
        initializer=_start,
        # A copy of this process knows what is registered.
        initargs=(registered_here() if start == "spawn" else None, os.getpid()),
        context=multiprocessing.get_context(start),
    )
    try:
        yield pool
        pool.close()  # type: ignore[no-untyped-call]
    except BaseException:
        # Interrupted: drop what waits and end the workers at once; what they staged is removed by
        # the next run. A second interrupt must not stop that.
        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGINT, signal.SIG_IGN)
        pool.stop()  # type: ignore[no-untyped-call]
        raise
    finally:
        pool.join()


def _start(registered: Registered | None, parent: int) -> None:
    """Begin a worker: interrupts are the parent's, and what it has registered is known here.

    The worker ends when its parent does, however that ends.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    end_with(parent)
    if registered is not None:
        register_again(registered)


def end_with(parent: int) -> None:
    """Have this process end when its parent, of the number ``parent``, does."""
    if sys.platform == "linux":
        # Asked of the system, because code of the kernel may keep the interpreter for minutes.
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    threading.Thread(target=_watch, args=(parent,), daemon=True).start()


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(_WATCH_S)
    os._exit(1)

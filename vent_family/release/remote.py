"""Rows built by the workers of a Dask scheduler, on this machine or others.

Each row runs in a process of its own beside the worker, so that a crash or a row given up costs
that row and not the worker. Workers share no disk with the publisher: what was released before goes
out with the job, the files come back as bytes. A worker that is lost has its row done by another.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from vent_family.base.atomic import scratch_folder, write_bytes
from vent_family.base.problems import InputError, Problem
from vent_family.release.jobs import CRASHED, Job, RowOutcome, build_row, lost_row, too_long
from vent_family.release.pool import end_with
from vent_family.release.registered import Registered, register_again, registered_here

if TYPE_CHECKING:
    from distributed import Client

Work = Callable[[Job], RowOutcome]
_RECORD: Final = "record.json"


@dataclass(frozen=True, slots=True)
class Parcel:
    """A job on its way: with the record that its release is judged by, and how it is done.

    ``limit_s`` is how long it may take, s.
    """

    job: Job
    record: bytes
    work: Work
    registered: Registered
    limit_s: float


@dataclass(frozen=True, slots=True)
class Delivered:
    """What came of a job: its outcome, and the bytes of its files by name."""

    outcome: RowOutcome
    files: Mapping[str, bytes]


def on_scheduler(
    address: str, work: Work = build_row
) -> Callable[[Sequence[Job], int, Callable[[RowOutcome], None], float], None]:
    """Return what runs jobs on the workers of a Dask scheduler; their number is the cluster's.

    Parameters
    ----------
    address
        where the scheduler listens, as tcp://host:8786
    work
        does one job; a function that workers can import

    Raises
    ------
    InputError
        if Dask distributed is not installed
    """
    require_distributed(address)

    def run(
        jobs: Sequence[Job], workers: int, on_done: Callable[[RowOutcome], None], limit_s: float
    ) -> None:
        if jobs:
            _run(address, work, jobs, on_done, limit_s)

    return run


def _run(
    address: str,
    work: Work,
    jobs: Sequence[Job],
    on_done: Callable[[RowOutcome], None],
    limit_s: float,
) -> None:
    from distributed import as_completed

    with connected(address) as client:
        here = registered_here()
        futures: dict[Any, Job] = {
            client.submit(done_apart, _parcel(job, work, here, limit_s), pure=False, retries=0): job
            for job in jobs
        }
        try:
            for future in as_completed(futures, loop=client.loop):
                job = futures[future]
                if future.status == "finished":
                    on_done(_unpacked(future.result(), job))
                else:
                    # Its worker was lost more often than the scheduler allows.
                    on_done(lost_row(job, CRASHED))
        except BaseException:
            client.cancel(list(futures))
            raise


def require_distributed(address: str) -> None:
    """Refuse to go to the scheduler of an address without the library that knows how.

    Raises
    ------
    InputError
        if Dask distributed is not installed
    """
    try:
        import distributed  # noqa: F401
    except ImportError:
        raise _refused(
            "remote.library.missing",
            "Dask distributed is not installed",
            address,
            "install it: pip install 'vent-family[dask]'",
        ) from None


@contextmanager
def connected(address: str) -> Iterator[Client]:
    """Have a connection to a scheduler.

    Parameters
    ----------
    address
        where it listens, as tcp://host:8786

    Raises
    ------
    InputError
        if it does not answer, or Dask distributed is not installed
    """
    require_distributed(address)
    from distributed import Client

    try:
        client = Client(address, timeout="20s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise _refused(
            "remote.scheduler.silent",
            f"no scheduler answers: {error}",
            address,
            "start one with dask scheduler, and workers with dask worker ADDRESS",
        ) from None
    with client:
        yield client


def _refused(code: str, message: str, address: str, suggestion: str) -> InputError:
    return InputError(
        [
            Problem(
                code,
                message,
                column="--scheduler",
                value=address,
                place="option",
                suggestion=suggestion,
            )
        ]
    )


def _parcel(job: Job, work: Work, registered: Registered, limit_s: float) -> Parcel:
    record = b""
    if job.before is not None and job.before.record:
        try:
            record = Path(job.before.record).read_bytes()
        except OSError:
            record = b""
    return Parcel(job, record, work, registered, limit_s)


def _unpacked(delivered: Delivered, job: Job) -> RowOutcome:
    """Write the files of a job where they were wanted, and return its outcome."""
    if job.target is None or not delivered.files:
        return delivered.outcome
    target = Path(job.target)
    target.mkdir()
    for name, data in delivered.files.items():
        write_bytes(target / Path(name).name, data)
    return replace(delivered.outcome, folder=job.target)


def done_apart(parcel: Parcel) -> Delivered:
    """Do a job in a process of its own, on a worker; a crash or too long a time is its outcome."""
    command = [sys.executable, "-m", "vent_family.release.remote"]
    try:
        done = subprocess.run(
            command, input=pickle.dumps(parcel), capture_output=True, timeout=parcel.limit_s
        )
        if done.returncode == 0:
            delivered = pickle.loads(done.stdout)
            if isinstance(delivered, Delivered):
                return delivered
        why = CRASHED
    except subprocess.TimeoutExpired:
        why = too_long(parcel.limit_s)
    return Delivered(lost_row(parcel.job, why), {})


def done_here(parcel: Parcel) -> Delivered:
    """Do a job in a temporary folder of this machine, and return its files as bytes."""
    register_again(parcel.registered)
    with scratch_folder() as folder:
        job = parcel.job
        if job.before is not None:
            record = ""
            if parcel.record:
                write_bytes(folder / _RECORD, parcel.record)
                record = str(folder / _RECORD)
            job = replace(job, before=replace(job.before, record=record))
        if job.target is not None:
            job = replace(job, target=str(folder / Path(job.target).name))
        outcome = parcel.work(job)
        files = {}
        if job.target is not None and Path(job.target).is_dir():
            files = {f.name: f.read_bytes() for f in sorted(Path(job.target).iterdir())}
        return Delivered(outcome, files)


def main() -> None:
    """Do the job that comes in on the standard input; the result goes out on the output."""
    end_with(os.getppid())
    parcel = pickle.load(sys.stdin.buffer)
    out = sys.stdout.buffer
    # Whatever libraries print must not come between.
    sys.stdout = sys.stderr
    out.write(pickle.dumps(done_here(parcel)))
    out.flush()


if __name__ == "__main__":
    # As a module of its name, or its classes would be others than those that were sent.
    from vent_family.release.remote import main as start

    start()

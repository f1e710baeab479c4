"""One writer at a time in a folder: a lock that says who holds it, and whose holder beats.

A lock is a small file with host, process and a count that its holder raises every few seconds.
A holder that died leaves the file behind; it is taken once it has not been written for a stated
time, by the clock of the disk itself, since clocks of two machines may differ. Reading, taking and
beating happen under a lock of the operating system that is held for a moment only.
"""

from __future__ import annotations

import json
import os
import secrets
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from filelock import FileLock, Timeout

from vent_family.base.atomic import write_bytes

STILL_S: Final = 20.0
"""A lock that its holder has not written for so long is taken, s."""
BEAT_S: Final = 2.0
"""A holder writes its lock so often, s."""
_GUARD_S: Final = 10.0


@dataclass(frozen=True, slots=True)
class Holder:
    """Who holds a lock: host, process number, since when, and how often it has beaten.

    ``token`` tells apart two holders of the same number.
    """

    host: str
    process: int
    since: str
    token: str
    beat: int = 0

    def text(self) -> str:
        """Return the holder in a few words."""
        return f"process {self.process} on {self.host}, since {self.since}"


class HeldError(RuntimeError):
    """Another writer is at work; nothing was done. ``holder`` is the other one."""

    def __init__(self, holder: Holder) -> None:
        self.holder = holder
        super().__init__(f"held by {holder.text()}")


class LostError(RuntimeError):
    """The lock was taken by another writer, because this one stood still for too long."""


class Lock:
    """A lock that is held; made by :func:`held_lock`."""

    def __init__(self, path: Path, holder: Holder) -> None:
        self._path = path
        self._holder = holder
        self._ended = threading.Event()

    def require(self) -> None:
        """Make sure that the lock is held still; to be asked before what cannot be undone.

        Raises
        ------
        LostError
            if another writer has taken it
        OSError
            if the folder cannot be read
        """
        with _guard(self._path):
            self._own()

    def _own(self) -> None:
        found = _read(self._path)
        if found is None or found.token != self._holder.token:
            raise LostError("another writer took the lock while this one stood still")

    def _beat(self, every_s: float) -> None:
        while not self._ended.wait(every_s):
            # A full disk or a moment without the share costs a beat, not the run.
            with suppress(OSError, Timeout), _guard(self._path):
                try:
                    self._own()
                except LostError:
                    return
                self._holder = replace(self._holder, beat=self._holder.beat + 1)
                _write(self._path, self._holder)

    def _release(self) -> None:
        self._ended.set()
        with suppress(OSError, Timeout, LostError), _guard(self._path):
            self._own()
            self._path.unlink()


@contextmanager
def held_lock(
    path: Path,
    *,
    still_s: float = STILL_S,
    beat_s: float = BEAT_S,
    on_stale: Callable[[Holder], None] = lambda holder: None,
) -> Iterator[Lock]:
    """Hold the lock in the file ``path`` while the block runs.

    Parameters
    ----------
    path
        the lock's file; its folder exists
    still_s
        how long a lock must not have been written before it is taken, s
    beat_s
        how often this holder writes, s
    on_stale
        told of a holder whose lock is taken because it stood still

    Raises
    ------
    HeldError
        if another holder beats
    OSError
        if the folder cannot be written
    """
    lock = _taken(path, still_s, beat_s, on_stale)
    beating = threading.Thread(target=lock._beat, args=(beat_s,), daemon=True)
    beating.start()
    try:
        yield lock
    finally:
        lock._release()
        beating.join()


def _taken(path: Path, still_s: float, beat_s: float, on_stale: Callable[[Holder], None]) -> Lock:
    begun = datetime.now(UTC).isoformat(timespec="seconds")
    mine = Holder(socket.gethostname(), os.getpid(), begun, secrets.token_hex(8))
    first: Holder | None = None
    while True:
        with _guard(path):
            other = _read(path)
            old = other is not None and _age_s(path) >= still_s
            if other is None or old:
                _write(path, mine)
                if other is not None:
                    on_stale(other)
                return Lock(path, mine)
        if first is not None and other != first:
            raise HeldError(other)
        first = other
        time.sleep(min(1.5 * beat_s, still_s / 2.0))


@contextmanager
def _guard(path: Path) -> Iterator[None]:
    """Keep all others from the lock's file for a moment.

    Raises
    ------
    OSError
        if the disk knows no locks, or the folder cannot be written
    """
    try:
        with FileLock(path.with_name(f"{path.name}.guard"), timeout=_GUARD_S):
            yield
    except NotImplementedError as error:
        raise OSError(f"the disk knows no locks: {error}") from error


def _read(path: Path) -> Holder | None:
    try:
        found = Holder(**json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, TypeError):
        # Damaged: nobody can tell whose it is, so it counts as one that stands still.
        return Holder("unknown", 0, "unknown", "")
    return found


def _write(path: Path, holder: Holder) -> None:
    write_bytes(path, json.dumps(asdict(holder)).encode("ascii"))


def _age_s(path: Path) -> float:
    """Return how long ago a file was written, s, by the clock of the disk that it lies on."""
    fresh = path.with_name(f"{path.name}.clock")
    write_bytes(fresh, b"")
    now = fresh.stat().st_mtime
    fresh.unlink(missing_ok=True)
    try:
        return now - path.stat().st_mtime
    except FileNotFoundError:
        return 0.0

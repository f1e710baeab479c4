"""One writer at a time; a lock that is left behind is taken, one that beats is not."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from vent_family.base.lock import HeldError, Holder, LostError, held_lock

KEEPER = """
import sys, time
from pathlib import Path
from vent_family.base.lock import held_lock
with held_lock(Path(sys.argv[1]), still_s=1.0, beat_s=0.1):
    print("held", flush=True)
    time.sleep(60)
"""


def keeper(path: Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", KEEPER, str(path)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "held\n"
    return process


def test_a_lock_that_beats_is_not_taken_and_says_whose_it_is(tmp_path: Path) -> None:
    process = keeper(tmp_path / "lock")
    try:
        with pytest.raises(HeldError) as raised, held_lock(tmp_path / "lock", still_s=1.0):
            pass
        assert raised.value.holder.process == process.pid
        assert str(process.pid) in str(raised.value)
    finally:
        process.kill()
        process.wait()


def test_a_lock_left_behind_is_taken_and_told(tmp_path: Path) -> None:
    process = keeper(tmp_path / "lock")
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    told: list[Holder] = []
    with held_lock(tmp_path / "lock", still_s=1.0, beat_s=0.1, on_stale=told.append):
        pass
    assert [h.process for h in told] == [process.pid]
    assert not (tmp_path / "lock").exists()


def test_a_holder_that_stood_still_learns_that_it_lost(tmp_path: Path) -> None:
    with held_lock(tmp_path / "lock", beat_s=60.0) as lock:
        lock.require()
        old = time.time() - 3600.0
        os.utime(tmp_path / "lock", (old, old))
        with held_lock(tmp_path / "lock", still_s=10.0), pytest.raises(LostError):
            lock.require()


def test_of_many_that_come_at_once_one_is_let_in(tmp_path: Path) -> None:
    """Also where a lock lies there that was left behind, which all of them find."""
    left = {"host": "h", "process": 1, "since": "", "token": "t", "beat": 3}
    (tmp_path / "lock").write_text(json.dumps(left), encoding="ascii")
    old = time.time() - 3600.0
    os.utime(tmp_path / "lock", (old, old))
    inside, most, refused = 0, 0, 0
    count = threading.Lock()

    def enter() -> None:
        nonlocal inside, most, refused
        try:
            with held_lock(tmp_path / "lock", still_s=5.0, beat_s=0.05):
                with count:
                    inside += 1
                    most = max(most, inside)
                time.sleep(0.5)
                with count:
                    inside -= 1
        except HeldError:
            with count:
                refused += 1

    threads = [threading.Thread(target=enter) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most == 1
    assert refused >= 1


def test_a_damaged_lock_counts_as_left_behind(tmp_path: Path) -> None:
    (tmp_path / "lock").write_bytes(b"\0\0")
    with held_lock(tmp_path / "lock", still_s=0.3, beat_s=0.1):
        pass

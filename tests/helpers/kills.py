"""Killing a publisher at some moment, and what its library must look like afterwards."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal

from vent_family.release.publish.verify import verify_library

ROOT = Path(__file__).parents[2]
Victim = Literal["parent", "worker", "group"]
NO_LIMIT_S = 60.0


def started(catalog: Path, out: Path, workers: int = 2) -> subprocess.Popen[str]:
    """Start a publisher of quick jobs as the leader of a process group."""
    return subprocess.Popen(
        [sys.executable, "-m", "tests.release.publish.quick", str(catalog), str(out), str(workers)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )


def children(pid: int) -> list[int]:
    """Return the processes that a process has started, by the system's own table."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            found.append(int(stat.parent.name))
    return found


def alive(pid: int) -> bool:
    """Tell whether a process runs still; one that waits to be collected does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def staged(out: Path) -> Iterator[Path]:
    """Yield what lies in the staging folder now."""
    folder = out / ".vent-family" / "staging"
    if folder.is_dir():
        yield from (p for p in folder.rglob("*") if p.is_file())


def kill_at(process: subprocess.Popen[str], victim: Victim, moment_s: float) -> list[int]:
    """Kill with SIGKILL after a time, s, and return the workers that ran then."""
    time.sleep(moment_s)
    workers = children(process.pid)
    if victim == "parent":
        process.kill()
    elif victim == "group":
        os.killpg(process.pid, signal.SIGKILL)
    elif workers:
        os.kill(workers[-1], signal.SIGKILL)
    process.wait(NO_LIMIT_S)
    return workers


def published(out: Path) -> dict[str, str]:
    """Return the folder of every published part; nothing where nothing is published yet."""
    try:
        index = json.loads((out / "library.json").read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    return {p["part_number"]: p["folder"] for p in index["parts"]}


def require_whole(out: Path, old: dict[str, str], parts: int) -> str:
    """Require that a library is the old one or a new one, whole; return which.

    Parameters
    ----------
    out
        the library
    old
        what was published before the run
    parts
        number of parts that the new one has
    """
    now = published(out)
    if now:
        assert not verify_library(out).findings
    if now == old:
        return "old"
    assert len(now) == parts, now
    return "new"


CHANGES = frozenset(
    {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.truncate", "shutil.rmtree"}
)
"""Audit events of the interpreter by which a disk is changed, besides opening to write."""


def killed_at_change(work: Callable[[], object], number: int) -> bool:
    """Do work in a forked process that kills itself before it changes the disk the nth time.

    Returns whether it came to that. Heartbeats change the disk, too, so the count is not the same
    from run to run by one or two.
    """
    pid = os.fork()
    if pid == 0:
        seen = 0

        def watch(event: str, given: tuple[object, ...]) -> None:
            nonlocal seen
            opened = event == "open" and isinstance(given[1], str) and given[1][0] in "wxa"
            if opened or event in CHANGES:
                seen += 1
                if seen == number:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(watch)
        try:
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == -signal.SIGKILL

"""Disks that are full or read-only: the library stays as it was, and the command says why."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.helpers.kills import published, require_whole
from tests.release.publish.quick import catalogue, line, made, run
from vent_family.release.jobs import Job, RowOutcome
from vent_family.release.publish.verify import verify_library

PARTS = 3


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 8 MB of its own, in memory."""
    place = tmp_path / "disk"
    place.mkdir()
    asked = ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(place)]
    if subprocess.run(asked, capture_output=True).returncode:
        pytest.skip("this machine lets nobody mount a disk in memory")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def lines(words: str) -> list[str]:
    return [line(f"A-{i}", words=words) for i in range(PARTS)]


@pytest.mark.parametrize("left_kb", [12, 40, 120, 400, 600, 700])
def test_a_full_disk_leaves_the_library_as_it_was(tmp_path: Path, disk: Path, left_kb: int) -> None:
    """Filled up so far that the run ends somewhere else each time: part, pages, manifest, index."""
    out = disk / "out"
    run(catalogue(tmp_path, *lines("")), out)
    old = published(out)
    room = os.statvfs(disk)
    free = room.f_bavail * room.f_frsize
    (disk / "ballast").write_bytes(b"\0" * (free - 1024 * left_kb))
    path = catalogue(tmp_path, *lines("new words"))
    with pytest.raises(OSError, match="No space"):
        run(path, out)
    assert require_whole(out, old, PARTS) == "old"
    (disk / "ballast").unlink()
    run(path, out)
    assert require_whole(out, old, PARTS) == "new"


def test_a_row_that_meets_a_full_disk_is_tried_again(tmp_path: Path, disk: Path) -> None:
    """What a worker could not write is its row's error, and no outcome to be kept."""

    def full(job: Job) -> RowOutcome:
        row = job.source.row
        return RowOutcome(row.part_number, 2, "released", "failed", "No space", lasting=False)

    def runner(jobs: object, workers: int, on_done: object, limit_s: float) -> None:
        for number, job in enumerate(jobs):  # type: ignore[arg-type,var-annotated]
            on_done(full(job) if number == 1 else made(job))  # type: ignore[operator]

    path = catalogue(tmp_path, *lines(""))
    run(path, disk / "out", runner=runner)
    assert list(published(disk / "out")) == ["A-0", "A-2"]
    run(path, disk / "out")
    assert list(published(disk / "out")) == ["A-0", "A-1", "A-2"]


def test_a_read_only_library_is_told_and_left_alone(tmp_path: Path, disk: Path) -> None:
    run(catalogue(tmp_path, *lines("")), disk / "out")
    old = published(disk / "out")
    remount = ["mount", "-o", "remount,ro", str(disk)]
    if subprocess.run(remount, capture_output=True).returncode:
        pytest.skip("this machine lets nobody make a disk read-only")
    with pytest.raises(OSError, match="Read-only"):
        run(catalogue(tmp_path, *lines("new words")), disk / "out")
    assert published(disk / "out") == old
    assert not verify_library(disk / "out").findings

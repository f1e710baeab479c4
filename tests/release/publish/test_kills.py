"""A publisher that is killed leaves the old library or the new one, and nobody at work."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest

from tests.helpers.kills import (
    Victim,
    alive,
    kill_at,
    killed_at_change,
    published,
    require_whole,
    started,
)
from tests.release.publish.quick import apart, catalogue, line, run
from vent_family.base.lock import HeldError

PARTS = 6


def lines(words: str) -> list[str]:
    return [line(f"A-{i}", words=words) for i in range(PARTS)]


@pytest.mark.parametrize(("victim", "moment_s"), [("parent", 3.0), ("worker", 3.2), ("group", 3.4)])
def test_a_kill_leaves_a_whole_library(tmp_path: Path, victim: Victim, moment_s: float) -> None:
    out = tmp_path / "out"
    run(catalogue(tmp_path, *lines("")), out)
    old = published(out)
    path = catalogue(tmp_path, *lines("slow and new"))
    workers = kill_at(started(path, out), victim, moment_s)
    deadline = time.monotonic() + 20.0
    while any(alive(w) for w in workers) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(alive(w) for w in workers), "a worker outlived its parent"
    require_whole(out, old, PARTS)
    run(path, out)
    assert require_whole(out, old, PARTS) == "new"


def test_of_two_publishers_one_is_refused_and_the_library_is_whole(tmp_path: Path) -> None:
    out = tmp_path / "out"
    path = catalogue(tmp_path, *lines("slow"))
    refused = []

    def publisher() -> None:
        try:
            run(path, out, runner=apart, still_s=30.0)
        except HeldError as error:
            refused.append(error.holder)

    threads = [threading.Thread(target=publisher) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(refused) <= 1, "one of them got in"
    assert require_whole(out, {}, PARTS) == "new"


def test_a_kill_before_any_change_of_the_disk_leaves_a_whole_library(tmp_path: Path) -> None:
    """Every seventh change of one run: staging, placing, manifest, index, removal of the old."""
    out = tmp_path / "out"
    run(catalogue(tmp_path, *lines("")), out)
    seen = {"old": 0, "new": 0}
    number, words = 1, 0
    while True:
        words += 1
        path = catalogue(tmp_path, *lines(f"words {words}"))
        old = published(out)

        def publish(path: Path = path) -> None:
            run(path, out, keep_days=0.0, still_s=0.2)

        killed = killed_at_change(publish, number)
        seen[require_whole(out, old, PARTS)] += 1
        if not killed:
            break
        run(path, out, keep_days=0.0, still_s=0.2)
        assert require_whole(out, old, PARTS) == "new"
        number += 7
    assert seen["old"] >= 5
    assert seen["new"] >= 2, "killed after the index was renamed, too"
    left = {p.name for p in (out / "parts").glob("*/*")}
    assert left == {Path(folder).name for folder in published(out).values()}

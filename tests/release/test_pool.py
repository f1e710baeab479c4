"""In what order jobs begin side by side, and what a worker keeps."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from typing import Any

import pytest

from tests.helpers.rows import row
from vent_family.catalog.reader import SourcedRow
from vent_family.release import pool
from vent_family.release.jobs import Job, build_time, front_mm2


class Pool:
    """Does at once what is scheduled, and notes it."""

    def __init__(self) -> None:
        self.begun: list[int] = []

    def schedule(self, work: Any, args: tuple[int], timeout: float) -> Future[int]:
        self.begun.append(args[0])
        future: Future[int] = Future()
        future.set_result(work(args[0]))
        return future


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Return the jobs in the order in which they are scheduled."""
    made = Pool()

    @contextmanager
    def only(_: int, *, forked: bool) -> Iterator[Pool]:
        yield made

    monkeypatch.setattr(pool, "worker_pool", only)
    return made.begun


def done(jobs: list[int], workers: int, weight: Any) -> list[int]:
    return pool.side_by_side(
        jobs, workers, lambda _: None, lambda n: 10 * n, lambda n, why: n, weight=weight
    )


def test_the_heaviest_begin_first_and_results_come_in_order(begun: list[int]) -> None:
    assert done([3, 9, 1, 7], 2, float) == [30, 90, 10, 70]
    assert begun == [9, 7, 3, 1]


def test_without_weights_or_helpers_jobs_begin_in_order(begun: list[int]) -> None:
    assert done([3, 9, 1], 2, None) == [30, 90, 10]
    assert done([3, 9, 1], 1, float) == [30, 90, 10]
    assert begun == 2 * [3, 9, 1]


def weight_of(**cells: Any) -> float:
    source = SourcedRow(2, row(part_number="A", **cells), "0" * 16)
    return front_mm2(Job(source, "x.csv", None, build_time()))


def test_a_row_weighs_by_its_front() -> None:
    assert weight_of(size="100x80") == 8000.0
    # Heads of these threads are 66 to 134 mm wide.
    head = weight_of(family="round", size="M32x1.5", head_diameter_mm=66.5)
    assert head == 66.5**2
    assert 100.0**2 < weight_of(family="round", size="M63x1.5") < 150.0**2


def test_what_a_worker_has_loaded_is_searched_for_garbage_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    collected = []
    monkeypatch.setattr(gc, "collect", lambda: collected.append(1))
    assert gc.get_freeze_count() == 0
    assert pool._done(str, 0) == "0"
    assert not collected
    monkeypatch.setattr(pool.multiprocessing, "parent_process", lambda: 1)
    try:
        assert [pool._done(str, n) for n in (1, 2, 3)] == ["1", "2", "3"]
        assert gc.get_freeze_count() > 1000
        assert len(collected) == 1
    finally:
        gc.unfreeze()

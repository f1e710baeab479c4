"""Many draws: the same whatever processes do them, kept where they are broken off."""

from __future__ import annotations

import signal

import numpy as np
import pytest

from tests.proposing.robust.cases import blown, closed
from vent_family.proposing.robust.draws import DrawEffort, draw_all, places_of

FEW = DrawEffort(draws=40, wet=4, seed=3, workers=1)


def test_processes_change_nothing() -> None:
    case = blown("dripping")
    alone, whole = draw_all(case, FEW)
    aside, _ = draw_all(case, DrawEffort(FEW.draws, FEW.wet, FEW.seed, workers=2))
    assert whole
    assert aside == alone
    assert [d.number for d in alone] == list(range(40))
    assert [d.wetted is not None for d in alone] == [n < 4 for n in range(40)]
    assert all(d.cooled is not None for d in alone)


def test_a_greater_effort_begins_with_the_draws_of_a_smaller_one() -> None:
    case = closed()
    few, many = places_of(case, DrawEffort(draws=10)), places_of(case, DrawEffort(draws=50))
    assert np.array_equal(many[:10], few)
    assert not np.array_equal(places_of(case, DrawEffort(draws=10, seed=2)), few)
    assert 0.0 <= many.min() < 0.05
    assert 0.95 < many.max() < 1.0


def test_progress_counts_up_to_all_of_them() -> None:
    told: list[tuple[int, int]] = []
    draw_all(closed(), DrawEffort(draws=300, workers=1), lambda done, of: told.append((done, of)))
    assert [done for done, _ in told] == [96, 192, 288, 300]
    assert {of for _, of in told} == {300}


@pytest.mark.parametrize("workers", [1, 2])
def test_broken_off_it_keeps_what_was_done(workers: int) -> None:
    def broken(done: int, _: int) -> None:
        if done >= 192:
            raise KeyboardInterrupt

    heard = signal.getsignal(signal.SIGINT)
    draws, whole = draw_all(closed(), DrawEffort(draws=400, workers=workers), broken)
    assert not whole
    assert len(draws) == 192
    assert signal.getsignal(signal.SIGINT) is heard

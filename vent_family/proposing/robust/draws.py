"""Many draws in processes: seeded, told of as they come, and kept as far as they came.

The first draws have their water judged as well; the others, that cost a tenth, only their cabinet.
Which values a draw has follows from the seed and its number alone, so that neither the number of
processes nor the order in which they finish changes an answer.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.proposing.robust.case import Case
from vent_family.proposing.robust.drawn import OneDraw, drawn
from vent_family.release.pool import side_by_side

SEED: Final = 1
DRY_DRAWS: Final = 1024
"""Draws whose cabinet is worked out."""
WET_DRAWS: Final = 256
"""Of these, draws whose water is judged, too."""
_WET_JOB: Final = 8
_DRY_JOB: Final = 96
"""Draws that one process does at a time: a few seconds' work of either kind."""

Progress = Callable[[int, int], None]
"""Told how many draws are done, and of how many."""


@dataclass(frozen=True, slots=True)
class DrawEffort:
    """How many draws, from which ``seed``, in how many processes.

    ``wet`` of the ``draws`` have their water judged; ``workers`` processes do it.
    """

    draws: int = DRY_DRAWS
    wet: int = WET_DRAWS
    seed: int = SEED
    workers: int = 2


@dataclass(frozen=True)
class _Job:
    """Some draws of a case, by number, and whether their water is judged."""

    case: Case
    numbers: tuple[int, ...]
    places: FloatArray
    wet: bool


def places_of(case: Case, effort: DrawEffort) -> FloatArray:
    """Return the places (1) of all draws in their inputs' ranges, (draws, inputs).

    A greater effort begins with the draws of a smaller one.
    """
    rng = np.random.default_rng(effort.seed)
    return rng.random((_count(case, effort), len(case.inputs)))


def draw_all(
    case: Case, effort: DrawEffort, on_progress: Progress | None = None
) -> tuple[tuple[OneDraw, ...], bool]:
    """Return the draws, in the order of their numbers, and whether all of them were done.

    Interrupted from the keyboard, it returns those that are done.
    """
    jobs = _jobs(case, effort)
    total = sum(len(job.numbers) for job in jobs)
    done: dict[int, OneDraw] = {}

    def keep(draws: tuple[OneDraw, ...]) -> None:
        done.update((draw.number, draw) for draw in draws)
        if on_progress is not None:
            on_progress(len(done), total)

    whole, on_interrupt = True, signal.getsignal(signal.SIGINT)
    try:
        if effort.workers > 1:
            side_by_side(jobs, effort.workers, keep, _work, _lost, forked=True)
        else:
            for job in jobs:
                keep(_work(job))
    except KeyboardInterrupt:
        whole = False
        if threading.current_thread() is threading.main_thread():
            # The pool hears no second interrupt while it ends; who goes on afterwards does.
            signal.signal(signal.SIGINT, on_interrupt)
    return tuple(done[n] for n in sorted(done)), whole


def _count(case: Case, effort: DrawEffort) -> int:
    """Return how many draws there are: without a cabinet only those whose water is judged."""
    wet = effort.wet if case.conditions.exposures else 0
    return max(wet, effort.draws if case.question is not None else 0)


def _jobs(case: Case, effort: DrawEffort) -> Sequence[_Job]:
    """Return all jobs, those with water first: they take longest."""
    places = places_of(case, effort)
    wet = effort.wet if case.conditions.exposures else 0
    jobs = []
    for first, last, step, is_wet in (
        (0, min(wet, len(places)), _WET_JOB, True),
        (min(wet, len(places)), len(places), _DRY_JOB, False),
    ):
        for start in range(first, last, step):
            numbers = tuple(range(start, min(start + step, last)))
            jobs.append(_Job(case, numbers, places[numbers[0] : numbers[-1] + 1], is_wet))
    return jobs


def _work(job: _Job) -> tuple[OneDraw, ...]:
    return tuple(
        drawn(job.case, n, job.case.values(row), wet=job.wet)
        for n, row in zip(job.numbers, job.places, strict=True)
    )


def _lost(job: _Job, why: str) -> tuple[OneDraw, ...]:
    return tuple(OneDraw(n, lost=why) for n in job.numbers)

"""Who judges candidates: this process, or several that stay open for a whole search."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Final, TypeVar

from shapely.errors import GEOSException

from vent_family.base.problems import InputError
from vent_family.catalog.model import CatalogRow
from vent_family.proposing.confirm import Confirmed, confirm_all
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import SEARCHED, Candidate, Rung, climbed, judged_row, lack_at
from vent_family.release.pool import run_in, worker_pool
from vent_family.spec.prospects import certainly_refused

if TYPE_CHECKING:
    from pebble import ProcessPool

Given = TypeVar("Given")
Made = TypeVar("Made")
FAILED: Final = "a model fails"
"""Begins the reason of a candidate of which a model makes nothing."""
_SHARES: Final = 3
"""Shares of the work for each process: rows take unlike times."""
_JOBS_EACH: Final = 2000
"""A worker is replaced after so many shares: they build no solids, and leave little behind."""


@dataclass(frozen=True)
class Crew:
    """Judges candidates of one enquiry; with a ``pool`` side by side, the answers in order.

    What is judged never depends on how many judge it.
    """

    enquiry: Enquiry
    pool: ProcessPool | None = None
    workers: int = 1

    def sift(self, rows: Sequence[CatalogRow]) -> list[bool]:
        """Return which rows certainly break a rule."""
        return self._shared(rows, _sift, _unsifted)

    def judge(self, rows: Sequence[CatalogRow]) -> list[Candidate]:
        """Return how far rows come, up to the strength rung."""
        return self._shared(rows, partial(_judge, self.enquiry), _lost_rows)

    def wet(self, candidates: Sequence[Candidate]) -> list[Candidate]:
        """Return candidates that met the first drops."""
        return self._shared(candidates, partial(_climb, self.enquiry, False), _lost)

    def to_the_end(self, candidates: Sequence[Candidate]) -> list[Candidate]:
        """Return candidates that were taken up the whole ladder."""
        return self._shared(candidates, partial(_climb, self.enquiry, True), _lost)

    def confirm(self, candidates: Sequence[Candidate]) -> list[Confirmed]:
        """Return candidates on their solids."""
        return self._shared(candidates, partial(confirm_all, self.enquiry), _unconfirmed)

    def _shared(
        self,
        jobs: Sequence[Given],
        work: Callable[[Sequence[Given]], list[Made]],
        lost: Callable[[Sequence[Given], str], list[Made]],
    ) -> list[Made]:
        if self.pool is None:
            return _interruptible(partial(work, jobs))
        count = max(1, min(len(jobs), _SHARES * self.workers))
        shares = [jobs[i::count] for i in range(count)]
        found = run_in(self.pool, shares, work, lost)
        placed: dict[int, Made] = {}
        for i, share in enumerate(found):
            placed |= {i + count * k: candidate for k, candidate in enumerate(share)}
        return [placed[i] for i in range(len(jobs))]


def _interruptible(work: Callable[[], list[Made]]) -> list[Made]:
    """Return what work of this process gives.

    A compiled function that is interrupted says so by an error of its own: the interrupt comes out.
    """
    try:
        return work()
    except SystemError as error:
        cause = error.__cause__ or error.__context__
        if isinstance(cause, KeyboardInterrupt):
            raise cause from None
        raise


@contextmanager
def crew_of(enquiry: Enquiry, workers: int = 1) -> Iterator[Crew]:
    """Have a crew for a enquiry, of so many processes; of one, this process judges itself."""
    there = (
        worker_pool(workers, forked=True, jobs_each=_JOBS_EACH)
        if workers > 1
        else nullcontext(None)
    )
    with there as pool:
        yield Crew(enquiry, pool, workers)


def _sift(rows: Sequence[CatalogRow]) -> list[bool]:
    refused, _ = certainly_refused(rows)
    return [bool(bad) for bad in refused]


def _unsifted(rows: Sequence[CatalogRow], why: str) -> list[bool]:
    return [True] * len(rows)


def _judge(enquiry: Enquiry, rows: Sequence[CatalogRow]) -> list[Candidate]:
    return [
        _guarded(partial(judged_row, row, enquiry), Candidate(row, "rules", 0.0)) for row in rows
    ]


def _climb(enquiry: Enquiry, whole: bool, candidates: Sequence[Candidate]) -> list[Candidate]:
    last: Rung = "full" if whole else SEARCHED
    return [_guarded(partial(climbed, c, enquiry, last), c) for c in candidates]


def _guarded(step: Callable[[], Candidate], before: Candidate) -> Candidate:
    """Return what a step up makes of a candidate; where a model fails, one that breaks a rule.

    Of thousands of rows some are unlike any that was ever drawn: one never ends a search.
    """
    try:
        return step()
    except (ArithmeticError, GEOSException, InputError, LookupError, ValueError) as error:
        return replace(before, lack=lack_at("rules", 1e3), reason=f"{FAILED}: {error}")


def _lost_rows(rows: Sequence[CatalogRow], why: str) -> list[Candidate]:
    """Return rows whose process went down as ones that break a rule: the search goes on."""
    return [Candidate(row, "rules", lack_at("rules", 1e3), reason=why) for row in rows]


def _lost(candidates: Sequence[Candidate], why: str) -> list[Candidate]:
    return [replace(c, lack=lack_at("rules", 1e3), reason=why) for c in candidates]


def _unconfirmed(candidates: Sequence[Candidate], why: str) -> list[Confirmed]:
    return [Confirmed(c, (), (why,)) for c in candidates]

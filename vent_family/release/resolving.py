"""The rows of a large catalogue resolved side by side; those of a small one when asked for.

Processes take half a second to start: that pays from some hundred rows on. Where they may be copies
of this one, it has loaded by then what they need, by resolving a row of each family itself.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Sequence
from typing import Final

from vent_family.base.problems import InputError
from vent_family.catalog.reader import SourcedRow
from vent_family.release.pool import may_fork, side_by_side
from vent_family.spec.resolve import resolve
from vent_family.spec.resolved import MANY, Packed, ResolvedRows

_SHARES: Final = 8
"""Shares of the rows for each process: refused rows take far longer than sound ones."""
Outcomes = list[Packed | InputError]


def resolve_all(rows: ResolvedRows, workers: int | None = None, many: int = MANY) -> None:
    """Resolve all rows in as many processes as there are cores, if there are many rows.

    Parameters
    ----------
    rows
        the rows; what is found is kept in them
    workers
        number of processes; that of the cores if ``None``
    many
        from so many rows on
    """
    sources = rows.file.rows
    count = workers or os.cpu_count() or 1
    if count < 2 or len(sources) < many:
        return
    forked = may_fork()
    if forked:
        first = {source.row.family: source for source in reversed(sources)}
        for source in first.values():
            rows.take(source, _outcomes([source])[0])
        sources = tuple(source for source in sources if first[source.row.family] is not source)
    shares = [sources[i :: count * _SHARES] for i in range(count * _SHARES)]
    found = side_by_side(shares, count, lambda _: None, _outcomes, _lost, forked=forked)
    for share, outcomes in zip(shares, found, strict=True):
        for source, outcome in zip(share, outcomes, strict=False):
            rows.take(source, outcome)


def _outcomes(sources: Sequence[SourcedRow]) -> Outcomes:
    """Return the vent of each row, packed, or what keeps it from being one."""
    found: Outcomes = []
    # Looking for rings of objects that wait to be freed takes a tenth of the time, and a share of
    # the rows leaves few of them.
    gc.disable()
    try:
        for source in sources:
            try:
                found.append(Packed.of(resolve(source.row, source.attached)))
            except InputError as error:
                found.append(error)
    finally:
        gc.enable()
    return found


def _lost(sources: Sequence[SourcedRow], why: str) -> Outcomes:
    """Return nothing for rows whose process went down: they are resolved when asked for."""
    return []

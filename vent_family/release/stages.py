"""How long the stages of making a part take."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator, Mapping, MutableMapping
from contextlib import contextmanager

Seconds = MutableMapping[str, float]
"""Time that each stage took, s."""


@contextmanager
def timed(stages: Seconds | None, name: str) -> Iterator[None]:
    """Add the time that a block takes, s, to a stage; nothing is timed without ``stages``."""
    begin = time.perf_counter()
    try:
        yield
    finally:
        if stages is not None:
            stages[name] = stages.get(name, 0.0) + time.perf_counter() - begin


def all_stages(parts: Iterator[Mapping[str, float]]) -> dict[str, float]:
    """Return the time of each stage, s, over several ``parts``, of which each gives its own in s.

    Examples
    --------
    >>> all_stages(iter([{"files": 1.0}, {"files": 2.0, "sheets": 0.5}]))
    {'files': 3.0, 'sheets': 0.5}
    """
    total: Counter[str] = Counter()
    for stages in parts:
        for name, seconds in stages.items():
            total[name] += seconds  # type: ignore[assignment]
    return dict(total)

"""How far a search has come is shown without hindering it."""

from __future__ import annotations

import io
from dataclasses import replace

from rich.console import Console

from tests.proposing.test_told import GOOD
from vent_family.front.cli.searching import search_shown
from vent_family.proposing.search import Found
from vent_family.release.pool import may_fork


def shown(*, terminal: bool) -> tuple[str, bool]:
    """Return what is written at a step, and whether workers may be copies of this process then."""
    met = Found()
    met.keep([GOOD, replace(GOOD, row=GOOD.row.model_copy(update={"pitch_mm": 9.0}), lack=1.0)])
    out, before = io.StringIO(), may_fork()
    with search_shown(Console(file=out, force_terminal=terminal, width=100)) as step:
        step("search", 3, 24, met)
        there = may_fork() == before
    return out.getvalue(), there


def test_every_step_tells_rows_and_the_best_price_and_begins_no_thread() -> None:
    text, there = shown(terminal=True)
    assert "search" in text
    assert "2 rows, 1 do it, from 1.23" in text
    assert there


def test_nothing_is_shown_where_nobody_looks_on() -> None:
    assert shown(terminal=False) == ("", True)

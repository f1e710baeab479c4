"""How far a search has come, shown where somebody looks on."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from rich.console import Console
from rich.live import Live
from rich.progress_bar import ProgressBar
from rich.table import Table

if TYPE_CHECKING:
    from vent_family.proposing.search import Found

_WIDTH: Final = 20
"""Letters that the bar is wide."""


@contextmanager
def search_shown(
    console: Console | None = None,
) -> Iterator[Callable[[str, int, int, Found], None]]:
    """Show what a search does, how far it has come, and what it has met; yield what is told it."""
    console = console or Console(stderr=True)
    if not console.is_terminal:
        yield lambda what, at, of, found: None
        return
    began = time.monotonic()
    # Drawn at every step and by this thread alone: beside a thread of the display's own, worker
    # processes could not be copies of this one, and each would load everything anew.
    with Live(console=console, transient=True, auto_refresh=False) as shown:

        def step(what: str, at: int, of: int, found: Found) -> None:
            line = Table.grid(padding=(0, 1))
            bar = ProgressBar(total=max(of, 1), completed=at, width=_WIDTH)
            line.add_row(what, bar, met_words(found), f"{time.monotonic() - began:.0f} s")
            shown.update(line, refresh=True)

        yield step


def met_words(found: Found) -> str:
    """Return what a search has met so far, in a few words.

    Examples
    --------
    >>> from vent_family.proposing.search import Found
    >>> met_words(Found())
    'no rows yet'
    """
    if not found.met:
        return "no rows yet"
    prices = [c.figures.price for c in found.done if c.figures.price is not None]
    best = f", from {min(prices):.2f}" if prices else ""
    return f"{len(found.met):,} rows, {len(found.done):,} do it{best}"

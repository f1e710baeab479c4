"""A catalogue watched: whenever it is saved, the row that is looked at is read again."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from vent_family.base.problems import InputError, Problem
from vent_family.base.rates import Rates
from vent_family.front.view.shown import ShownPart, Wanted
from vent_family.front.view.stages import stages
from vent_family.geometry.primitives import GeometryError
from vent_family.spec.vent import VentSpec

_SETTLE_MS: Final = 150
"""So long a folder must be quiet before a file in it counts as saved."""
_STEP_MS: Final = 50
_TABLES: Final = frozenset({".csv", ".xlsx", ".ods"})
"""Endings of the files that a row follows from: catalogue and fan curves."""

Stamp = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Watched:
    """What is told of a row: a stage that was drawn, or what is wrong with it.

    ``since_s`` is the time since the file was saved, s; ``None`` for what was there at first.
    """

    shown: ShownPart | None
    since_s: float | None
    problems: tuple[Problem, ...] = ()


def saves(catalog: Path) -> Iterator[None]:
    """Yield at once, and whenever a table in the catalogue's folder was saved; never end.

    The folder is watched, since spreadsheets put a new file in the old one's place.

    Raises
    ------
    OSError
        if the folder cannot be watched
    """
    # Imported here: it comes with an extra.
    from watchfiles import watch

    def is_table(_: object, path: str) -> bool:
        return Path(path).suffix.lower() in _TABLES

    yield
    for _ in watch(
        catalog.resolve().parent,
        watch_filter=is_table,
        debounce=_SETTLE_MS,
        step=_STEP_MS,
        recursive=False,
    ):
        yield


def followed(
    catalog: Path,
    read: Callable[[], VentSpec],
    wanted: Wanted,
    draw: Callable[[ShownPart], None],
    changes: Iterable[None],
    rates: Rates | None = None,
) -> Iterator[Watched]:
    """Yield what is told of a row at every change that concerns it; its stages are drawn.

    What is broken is told once, and what was drawn last stays. A catalogue that is saved again
    while a stage is made is read again before the next one is.

    Parameters
    ----------
    catalog
        The catalogue's file.
    read
        Returns the row resolved, as the file has it now; ``InputError`` where it is broken.
    wanted
        What is to be shown.
    draw
        Draws a stage; ``InputError`` where it cannot.
    changes
        Yields whenever something may have changed.
    rates
        Rates of the shop; those of the demo table without.
    """
    last: VentSpec | tuple[Problem, ...] | None = None
    for count, _ in enumerate(changes):
        stamp = _stamp(catalog)
        # What was there at first was saved whenever that was.
        saved = stamp if count else None
        try:
            now: VentSpec | tuple[Problem, ...] = read()
        except InputError as error:
            now = error.problems
        if now == last:
            continue
        last = now
        if isinstance(now, tuple):
            yield Watched(None, _since_s(saved), now)
            continue
        try:
            for shown in stages(now, wanted, rates):
                draw(shown)
                yield Watched(shown, _since_s(saved))
                if _stamp(catalog) != stamp:
                    break
        except InputError as error:
            yield Watched(None, _since_s(saved), error.problems)
        except GeometryError as error:
            yield Watched(None, _since_s(saved), (unbuilt(now, error),))


def unbuilt(spec: VentSpec, error: GeometryError) -> Problem:
    """Return what to say where the kernel makes no solid of a row."""
    return Problem(
        "view.solid.none",
        f"no solid could be made: {error}",
        part_number=spec.part_number,
        suggestion="change the row's measures a little; check tells what breaks a rule",
    )


def _stamp(path: Path) -> Stamp | None:
    """Return what changes when a file is saved, ``None`` where there is no such file."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _since_s(stamp: Stamp | None) -> float | None:
    """Return how long ago a file was saved, s."""
    return None if stamp is None else max(0.0, time.time() - stamp[0] * 1e-9)

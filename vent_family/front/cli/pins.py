"""``vent-family pins``: what became of the releases that a project is drawn with."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer
from rich.console import Console

from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    EXIT_UNREADABLE,
    JsonOption,
    print_answer,
    print_problems,
    told,
)

if TYPE_CHECKING:
    from vent_family.release.pinned.news import PinNews

_MOST: Final = 8
"""Changes of one part that are listed where not all are asked for."""


def pins(
    lock_file: Annotated[
        Path, typer.Argument(metavar="LOCKFILE", help="The lock file.", show_default=False)
    ],
    library: Annotated[Path, typer.Option("--library", help="The library's folder.")] = Path(
        "exports"
    ),
    every: Annotated[bool, typer.Option("--all", help="List every change.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Tell what became of the releases that a lock file names.

    Parts that are no longer predicted to hold come first, then those that were withdrawn, then
    changes of what other parts must fit. Every file of a pinned release is compared with its hash.

    The exit code is 0 where all pins are the current releases, 1 where something is to be told, 2
    where file or library cannot be read, or the library does not hold a pinned release as it was.
    """
    from vent_family.release.pinned.lockfile import read_pins
    from vent_family.release.pinned.news import pins_report
    from vent_family.release.pinned.shelf import Shelf

    with told(as_json):
        pinned = read_pins(lock_file)
        shelf = Shelf(library)
        report = pins_report(shelf, pinned.values())
    if as_json:
        data = {
            "lock_file": str(lock_file),
            "library": str(library),
            "generation": shelf.manifest.generation,
            "pinned": len(pinned),
            "news": [n.as_dict() for n in report.news],
            "problems": [p.as_dict() for p in report.problems],
        }
        print_answer("pins", data)
    else:
        console = Console(soft_wrap=True)
        for one in report.news:
            for line in _lines(one, _MOST if not every else len(one.changes)):
                console.print(line, markup=False, highlight=False)
        print_problems(list(report.problems))
        console.print(f"{len(pinned)} pinned, {len(report.news)} with news.", highlight=False)
    if report.problems:
        raise typer.Exit(EXIT_UNREADABLE)
    raise typer.Exit(EXIT_FAILED if report.news else EXIT_OK)


def _lines(found: PinNews, most: int) -> list[str]:
    """Return what became of a pin, as lines."""
    lines = [found.sentence(), *(f"    {words}" for words in found.changes[:most])]
    if len(found.changes) > most:
        lines.append(f"    and {len(found.changes) - most} changes more: --all lists them")
    return lines

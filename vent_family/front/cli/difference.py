"""``vent-family difference``: what differs between two libraries, or a library and a catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer
from rich.console import Console

from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    JsonOption,
    print_answer,
    print_problems,
    read,
    told,
)
from vent_family.spec.resolved import ResolvedRows

if TYPE_CHECKING:
    from vent_family.base.problems import Problem
    from vent_family.release.difference import PartDifference, State

_MOST: Final = 8
"""Figures of one part that are listed where not all are asked for."""

StateArgument = Annotated[
    Path, typer.Argument(help="A library's folder, or a catalogue.", show_default=False)
]


def difference(
    before: StateArgument,
    now: StateArgument,
    every: Annotated[bool, typer.Option("--all", help="List every figure that changed.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Tell what changed from one library to another, or between a library and a catalogue.

    Changed parts come first: those whose fit changed (opening, datum, thread, envelope, panel,
    material), then other geometry, verdicts that got worse, and figures. Then parts that are new,
    and those that are gone. Of a catalogue only released rows count, and only what rows alone say
    is compared.

    The exit code is 0 where nothing differs, 1 where something does, 2 where one of the two cannot
    be read.
    """
    from vent_family.release.difference import library_differences

    old, problems = _states(before, as_json)
    new, more = _states(now, as_json)
    found = library_differences(old, new)
    unread = [*problems, *more]
    if as_json:
        data = {
            "before": str(before),
            "now": str(now),
            "differences": [d.as_dict() for d in found],
            "problems": [p.as_dict() for p in unread],
        }
        print_answer("difference", data)
    else:
        console = Console(soft_wrap=True)
        for one in found:
            for line in _lines(one, _MOST if not every else len(one.figures)):
                console.print(line, markup=False, highlight=False)
        print_problems(unread)
        counts = {kind: sum(d.kind == kind for d in found) for kind in _KINDS}
        words = ", ".join(f"{count} {kind}" for kind, count in counts.items())
        console.print(f"{words}; {len(new)} parts now.", highlight=False)
    raise typer.Exit(EXIT_FAILED if found or unread else EXIT_OK)


_KINDS: Final = ("changed", "added", "retired")


def _states(path: Path, as_json: bool) -> tuple[Mapping[str, State], list[Problem]]:
    """Return the parts of a library's folder or of a catalogue, and what is wrong with its rows."""
    from vent_family.release.states import catalogue_states, library_states

    with told(as_json):
        if path.is_dir():
            return library_states(path), []
        rows = ResolvedRows(read(path, as_json))
        return catalogue_states(rows), rows.problems()


def _lines(found: PartDifference, most: int) -> list[str]:
    """Return what became of a part, as lines."""
    arrow = " -> ".join(label for label in (found.before, found.now) if label)
    lines = [f"{found.kind} {found.part_number} {arrow}"]
    figures = found.figures[:most]
    for head, told_words in (
        ("note", found.notes),
        ("fit", found.fit),
        ("geometry", found.geometry),
        ("got worse", found.worse),
        ("figure", figures),
        ("cell", found.cells),
    ):
        lines += [f"    {head}: {words}" for words in told_words]
    if len(found.figures) > len(figures):
        lines.append(f"    and {len(found.figures) - len(figures)} figures more: --all lists them")
    return lines

"""Parts shown by ``vent-family show``: in a viewer, as a picture, once or at every save."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import typer
from rich.console import Console

from vent_family.base.problems import InputError, Problem
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    found_row,
    loaded,
    print_problems,
    rates,
    refuse,
    writing,
)
from vent_family.spec.resolved import ResolvedRows

if TYPE_CHECKING:
    from vent_family.front.view.shown import ShownPart, Wanted
    from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class ViewAsked:
    """What is asked to be shown, and where."""

    view: bool
    picture: Path | None
    section: bool
    assembly: bool
    evidence: bool
    watch: bool
    port: int | None
    shop: Path | None

    @property
    def anything(self) -> bool:
        """Whether anything is to be drawn."""
        return self.view or self.picture is not None

    def problem(self, as_json: bool) -> Problem | None:
        """Return why these options do not go together, ``None`` if they do."""
        more = {
            "section": self.section,
            "assembly": self.assembly,
            "evidence": self.evidence,
            "watch": self.watch,
        }
        if not self.anything and any(more.values()):
            return Problem(
                "view.option.idle",
                "says how a part is drawn, and none is",
                column=next(name for name, given in more.items() if given),
                suggestion="add --view or --picture FILE.png",
                place="option",
            )
        if self.port is not None and not self.view:
            return Problem(
                "view.option.idle",
                "says where a viewer listens, and none is asked for",
                column="port",
                suggestion="add --view",
                place="option",
            )
        if self.watch and as_json:
            return Problem(
                "view.watch.json",
                "watching tells what happens in words",
                column="watch",
                suggestion="leave out --json",
                place="option",
            )
        return None


def draw_once(asked: ViewAsked, spec: VentSpec, as_json: bool) -> None:
    """Draw a part as it is asked for, or say why not and end."""
    from vent_family.front.view.stages import stages
    from vent_family.front.view.watch import unbuilt
    from vent_family.geometry.primitives import GeometryError

    own = rates(asked.shop, as_json)
    draw = _drawing(asked, as_json)
    try:
        # What is quick comes first; without a viewer only the last is looked at.
        last = None
        for last in stages(spec, _wanted(asked), own):
            if asked.view:
                draw(last)
    except InputError as error:
        refuse(list(error.problems), as_json)
    except GeometryError as error:
        refuse(unbuilt(spec, error), as_json, EXIT_FAILED)
    assert last is not None
    if asked.picture is not None:
        _write(asked.picture, last, as_json)
    if not as_json:
        _tell_legend(last)


def watch(asked: ViewAsked, catalog: Path, part: str) -> NoReturn:
    """Draw a part whenever its row is saved, until interrupted."""
    from vent_family.front.view.viewer import missing_package
    from vent_family.front.view.watch import followed, saves

    problem = missing_package("watchfiles")
    if problem is not None:
        refuse(problem, False)
    own = rates(asked.shop, False)
    drawing = _drawing(asked, False)
    good = True
    legend: tuple[str, ...] = ()

    def read() -> VentSpec:
        rows = ResolvedRows(loaded(catalog))
        return rows.spec(found_row(rows.file, part))

    def draw(shown: ShownPart) -> None:
        drawing(shown)
        if asked.picture is not None:
            _write(asked.picture, shown, False)

    console = Console(soft_wrap=True)
    try:
        for told in followed(catalog, read, _wanted(asked), draw, saves(catalog), own):
            good = told.shown is not None
            print_problems(list(told.problems))
            if told.shown is None:
                continue
            words = f"{told.shown.part_number}: {told.shown.stage}"
            if told.since_s is not None:
                words += f", {told.since_s:.1f} s after it was saved"
            console.print(words, markup=False, highlight=False)
            if told.shown.legend != legend:
                legend = told.shown.legend
                _tell_legend(told.shown)
    except KeyboardInterrupt:
        # Nobody ends a watch otherwise: it is done, unless what was saved last is broken.
        raise typer.Exit(EXIT_OK if good else EXIT_FAILED) from None
    except OSError as error:
        message = f"the folder cannot be watched: {error.strerror or error}"
        refuse(Problem("view.watch.folder", message, file=str(catalog.parent)), False)
    raise typer.Exit(EXIT_FAILED)


def _wanted(asked: ViewAsked) -> Wanted:
    from vent_family.front.view.shown import Wanted

    return Wanted(asked.section, asked.assembly, asked.evidence)


def _drawing(asked: ViewAsked, as_json: bool) -> Callable[[ShownPart], None]:
    """Return what draws in the viewer, if one is asked for; without one that runs, say so and end.

    Section and solid are each seen as they are meant when they first appear.
    """
    if not asked.view:
        return lambda shown: None
    from vent_family.front.view.viewer import missing_package, running_port, send

    # Before its fourth version the first stood alone.
    problem = missing_package("ocp_vscode", "ocp_viewer_core")
    if problem is not None:
        refuse(problem, as_json)
    try:
        port = running_port(asked.port)
    except InputError as error:
        refuse(list(error.problems), as_json)
    sent: list[str] = []

    def draw(shown: ShownPart) -> None:
        send(shown, port, first=shown.stage != "evidence" and shown.stage not in sent)
        sent.append(shown.stage)

    return draw


def _write(path: Path, shown: ShownPart, as_json: bool) -> None:
    from vent_family.base.atomic import write_bytes
    from vent_family.front.view.picture import picture

    data = picture(shown)
    with writing("the picture", path, "choose another place", as_json):
        write_bytes(path, data)


def _tell_legend(shown: ShownPart) -> None:
    """Print what the colours mean."""
    console = Console(soft_wrap=True)
    for line in (*shown.legend, *shown.notes):
        console.print(line, markup=False, highlight=False)

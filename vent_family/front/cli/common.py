"""What the commands share: options, reading and selecting rows, telling and refusing."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, NoReturn

import typer
from rich.console import Console

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.near import no_such_row
from vent_family.catalog.reader import CatalogFile, SourcedRow, read_catalog
from vent_family.front.answers import stamped
from vent_family.release.bar import PublishIf
from vent_family.spec.resolved import ResolvedRows

if TYPE_CHECKING:
    from vent_family.base.rates import Rates
    from vent_family.spec.vent import VentSpec

ONE_LINE: ContextVar[bool] = ContextVar("ONE_LINE", default=False)
"""Whether the command line that runs asks for a whole answer on every line (--json-lines)."""
REFUSAL: Final = "refusal"
"""Name of the answer of a command that is refused or interrupted."""
NOTHING_HALF: Final = "nothing is half-written"
EXIT_OK = 0
EXIT_FAILED = 1
EXIT_UNREADABLE = 2
EXIT_BUSY = 3
EXIT_INTERRUPTED = 130
EXIT_CODES: Final = {
    EXIT_OK: "all that was asked for is done, and nothing is wrong",
    EXIT_FAILED: "some rows were not made, or what was asked about does not hold; the rest is done",
    EXIT_UNREADABLE: "nothing was done: command line, catalogue, shop's table or folder cannot be"
    " used",
    EXIT_BUSY: "nothing was done: another run is publishing into the folder, or with its register",
    EXIT_INTERRUPTED: "interrupted: what was published before is as it was",
}
"""What each exit code means, of every command."""

CatalogOption = Annotated[
    Path,
    typer.Option("--catalog", "-c", help="The catalogue: CSV, .xlsx or .ods.", show_default=True),
]
OnlyOption = Annotated[
    list[str] | None,
    typer.Option("--only", "-o", help="Part numbers to take, with * and ?; may be repeated."),
]
ShopOption = Annotated[
    Path | None,
    typer.Option("--shop", help="Your table of rates, TOML; the demo rates are invented."),
]
PublishIfOption = Annotated[
    PublishIf,
    typer.Option("--publish-if", help="Worst predicted outcome in water that is published."),
]
RegisterOption = Annotated[
    Path | None,
    typer.Option("--register", help="The register of releases; beside the catalogue if blank."),
]
JobsOption = Annotated[
    int | None,
    typer.Option("--jobs", "-j", min=1, max=64, help="Processes; all cores if blank."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for machines.")]


Advance = Callable[[], None]
"""Counts one job as done."""


class Refused(typer.Exit):
    """A command that ends because of ``problems``, which were told."""

    def __init__(self, problems: Sequence[Problem], code: int) -> None:
        super().__init__(code)
        self.problems = tuple(problems)


def renamed(old: str, new: str) -> Any:
    """Return a hidden option that refuses its old name and tells the new one.

    Raises
    ------
    typer.BadParameter
        by the option, once it is given
    """

    def refuse_old(value: str | None) -> None:
        if value is not None:
            raise typer.BadParameter(f"this option is called {new} now")

    return typer.Option(old, hidden=True, callback=refuse_old)


@contextmanager
def told(as_json: bool, code: int = EXIT_UNREADABLE) -> Iterator[None]:
    """Tell the problems of an input and end."""
    try:
        yield
    except InputError as error:
        refuse(list(error.problems), as_json, code)


@contextmanager
def asked(as_json: bool, code: int = EXIT_UNREADABLE) -> Iterator[None]:
    """Tell the problems of what a command was given and end; those of no row are its options'."""
    try:
        yield
    except InputError as error:
        found = [
            p if p.file or p.part_number else replace(p, place="option") for p in error.problems
        ]
        refuse(found, as_json, code)


@contextmanager
def writing(what: str, place: Path, suggestion: str, as_json: bool) -> Iterator[None]:
    """Say why something cannot be written, and end."""
    try:
        yield
    except OSError as error:
        message = f"{what} cannot be written: {error.strerror or error}"
        refuse(Problem("file.unwritable", message, file=str(place), suggestion=suggestion), as_json)


@contextmanager
def solving(part_number: str, suggestion: str, as_json: bool) -> Iterator[None]:
    """Say that a flow could not be solved, and end."""
    try:
        yield
    except FloatingPointError as error:
        message = f"the flow between the slats could not be solved: {error}"
        problem = Problem(
            "air.flow.unsolved", message, part_number=part_number, suggestion=suggestion
        )
        refuse(problem, as_json, code=EXIT_FAILED)


@contextmanager
def progress(words: str, total: int, *, transient: bool) -> Iterator[tuple[Console, Advance]]:
    """Show how many of so many jobs are done; yield where to print meanwhile, and what counts one.

    A ``transient`` bar goes when all is done.
    """
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn(words), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=transient) as shown:
        bar = shown.add_task("", total=total)
        yield shown.console, lambda: shown.advance(bar)


def read(path: Path, as_json: bool) -> CatalogFile:
    """Return the catalogue in a file, or say why it cannot be read and end."""
    with told(as_json):
        return loaded(path)


def loaded(path: Path) -> CatalogFile:
    """Return the catalogue in a file.

    Raises
    ------
    InputError
        if the file cannot be read
    """
    file = read_catalog(path)
    if file.withheld:
        # Imported here: the air model takes a while to load, and sound files need none.
        from vent_family.evidence.air.withdrawn import with_computed

        return with_computed(file)
    return file


def rates(path: Path | None, as_json: bool) -> Rates:
    """Return the rates of a file, the demo rates without one."""
    from vent_family.base.rates import rates_of

    with told(as_json):
        return rates_of(path)


def rates_to_make(path: Path | None, as_json: bool) -> Rates:
    """Return the rates by which parts are made; a table too coarse for any part is refused."""
    from vent_family.base.shop import design_problems

    own = rates(path, as_json)
    coarse = design_problems(own.shop, str(path))
    if coarse:
        refuse(coarse, as_json)
    return own


def selected(file: CatalogFile, patterns: list[str] | None, as_json: bool) -> list[SourcedRow]:
    """Return the rows whose part number matches a pattern; a pattern must match something."""
    if not patterns:
        return list(file.rows)
    numbers = [s.row.part_number for s in file.rows]
    for pattern in patterns:
        if not any(fnmatchcase(n.lower(), pattern.lower()) for n in numbers):
            refuse(_no_match(file, pattern), as_json)
    return [
        s
        for s in file.rows
        if any(fnmatchcase(s.row.part_number.lower(), p.lower()) for p in patterns)
    ]


def one(file: CatalogFile, part: str, as_json: bool) -> SourcedRow:
    """Return the row of a part number, or say why there is none and end."""
    with told(as_json):
        return found_row(file, part)


def found_row(file: CatalogFile, part: str) -> SourcedRow:
    """Return the row of a part number.

    Raises
    ------
    InputError
        if no good row has it
    """
    for source in file.rows:
        if source.row.part_number.lower() == part.lower():
            return source
    raise InputError(_no_match(file, part))


def resolved(rows: ResolvedRows, part: str, as_json: bool) -> VentSpec:
    """Return the resolved row of a part number, or say why there is none and end."""
    source = one(rows.file, part, as_json)
    with told(as_json, EXIT_FAILED):
        return rows.spec(source)


def _no_match(file: CatalogFile, pattern: str) -> list[Problem]:
    """Return why a part number finds nothing: the row's own problems, or near misses."""
    own = [p for p in file.problems if p.part_number.lower() == pattern.lower()]
    if own:
        return own
    return [no_such_row(pattern, [s.row.part_number for s in file.rows], file.path_name)]


def refuse(
    problems: Problem | list[Problem], as_json: bool, code: int = EXIT_UNREADABLE
) -> NoReturn:
    """Say what is wrong and end with a non-zero exit code.

    Raises
    ------
    Refused
        always, with the problems
    """
    found = [problems] if isinstance(problems, Problem) else problems
    if as_json:
        print_answer(REFUSAL, refusal_answer(found))
    else:
        print_problems(found)
    raise Refused(found, code)


def refusal_answer(problems: Sequence[Problem]) -> dict[str, Any]:
    """Return what a refused command answers machines."""
    return {"problems": [p.as_dict() for p in problems]}


def print_problems(problems: list[Problem]) -> None:
    """Print one sentence per problem to the error stream."""
    console = Console(stderr=True, soft_wrap=True)
    for problem in problems:
        console.print(problem.sentence(), markup=False, highlight=False)


def interrupted(words: str, as_json: bool) -> NoReturn:
    """Say that a command was interrupted, and what is left of its work; end."""
    refuse(interruption(words), as_json, EXIT_INTERRUPTED)


def interruption(words: str) -> Problem:
    """Return that a command was interrupted, and what is left of its work, as a problem."""
    return Problem("command.interrupted", f"interrupted: {words}")


def print_answer(name: str, data: dict[str, Any]) -> None:
    """Print a command's answer for machines, with the schema it follows."""
    print_json(stamped(name, data))


def print_json(data: dict[str, Any]) -> None:
    """Print data for machines, on one line where each line is to be whole."""
    print(json.dumps(data, indent=None if ONE_LINE.get() else 2, ensure_ascii=False))

"""``vent-family propose``: from what a vent must do to rows that do it."""

from __future__ import annotations

import os
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from vent_family.base.problems import InputError, Problem
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_INTERRUPTED,
    EXIT_OK,
    CatalogOption,
    JobsOption,
    JsonOption,
    ShopOption,
    interrupted,
    print_answer,
    print_problems,
    rates_to_make,
    read,
    told,
    writing,
)
from vent_family.front.cli.searching import search_shown

if TYPE_CHECKING:
    from vent_family.catalog.reader import CatalogFile
    from vent_family.proposing.added import Added
    from vent_family.proposing.answer import RequirementAnswer
    from vent_family.proposing.robust.answer import Robustness


def propose_vents(
    requirement: Annotated[
        Path, typer.Argument(help="What the vent must do: a TOML file.", show_default=False)
    ],
    catalog: CatalogOption = Path("catalog.csv"),
    append: Annotated[
        bool, typer.Option("--append", help="Add an option to the catalogue, as a draft.")
    ] = False,
    option: Annotated[
        int, typer.Option("--option", min=1, help="Number of the option to add.")
    ] = 1,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for pictures (SVG and PNG).")
    ] = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="Try fewer rows, for a first look.")
    ] = False,
    seed: Annotated[
        int, typer.Option("--seed", min=0, help="Where chance begins; the same gives the same.")
    ] = 1,
    shop: ShopOption = None,
    jobs: JobsOption = None,
    robust: Annotated[
        bool,
        typer.Option(
            "--robust",
            help="Also with what chance the option holds, where print, fan, water and weather"
            " vary; a minute or two.",
        ),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Propose vents for a requirement: parts that do it already, and new rows from the search.

    Ctrl-C ends the search; the best so far is told.
    """
    from vent_family.proposing.answer import QUICK, answer_requirement
    from vent_family.proposing.enquiry import enquiry_of
    from vent_family.proposing.requirement import read_requirement
    from vent_family.proposing.run import USUAL
    from vent_family.release.saved_row import state_of

    file = read(catalog, as_json)
    own = rates_to_make(shop, as_json)
    with told(as_json):
        asked = read_requirement(requirement)
        job = enquiry_of(asked, catalog.parent, own, str(requirement))
        before = state_of(catalog)
    with writing("the pictures", out or Path(), "choose another folder with --out", as_json):
        if out is not None:
            out.mkdir(parents=True, exist_ok=True)
    try:
        with search_shown() as step, told(as_json):
            answer = answer_requirement(
                job,
                rows=[source.row for source in file.rows],
                depth=QUICK if quick else USUAL,
                seed=seed,
                workers=jobs or os.cpu_count() or 1,
                told=step,
            )
    except KeyboardInterrupt:
        interrupted("nothing was found so far, and nothing is written", as_json)
    problems: list[Problem] = []
    row = None
    if append:
        try:
            row = _append(answer, option, file, catalog, before, requirement.stem)
        except InputError as error:
            problems += error.problems
    surely = _robustness(answer, option, seed, jobs) if robust else None
    files = _drawn(answer, out, as_json)
    if surely is not None and out is not None:
        files += _drawn_robust(surely, out, as_json)
    _tell(answer, row, files, problems, surely, as_json)
    if answer.interrupted:
        raise typer.Exit(EXIT_INTERRUPTED)
    raise typer.Exit(EXIT_FAILED if problems or not answer.anything else EXIT_OK)


def _robustness(
    answer: RequirementAnswer, number: int, seed: int, jobs: int | None
) -> Robustness | None:
    """Return how surely an option holds; ``None`` where there is none, or nothing is asked."""
    from vent_family.proposing.robust.case import case_of
    from vent_family.proposing.robust.draws import DrawEffort
    from vent_family.proposing.robust.robust import robustness
    from vent_family.spec.resolve import resolve

    options, job = answer.proposal.options, answer.proposal.enquiry
    if answer.interrupted or number > len(options):
        return None
    row = options[number - 1].row
    effort = DrawEffort(seed=seed, workers=jobs or os.cpu_count() or 1)
    found = robustness(case_of(resolve(row, job.attached(row)), job), effort)
    return None if found is None else replace(found, part_number=f"Option {number}")


def _drawn_robust(found: Robustness, out: Path, as_json: bool) -> list[str]:
    """Draw how surely an option holds; return what the pictures are called."""
    from vent_family.files.figure import write_figure
    from vent_family.proposing.robust.pictures import robustness_figure

    with writing("the pictures", out, "choose another folder with --out", as_json):
        paths = write_figure(out, "robust", robustness_figure(found), dpi=130, salt="robust")
        return sorted(path.name for path in paths)


def _append(
    answer: RequirementAnswer, number: int, file: CatalogFile, catalog: Path, before: str, stem: str
) -> Added:
    """Add an option to the catalogue.

    Raises
    ------
    InputError
        where there is no such option, or the catalogue cannot take it
    """
    from vent_family.proposing.added import added, row_to_add

    options = answer.proposal.options
    if answer.interrupted or number > len(options):
        why = "the search was interrupted" if answer.interrupted else f"there are {len(options)}"
        message = f"option {number} is not added to the catalogue: {why}"
        raise InputError([Problem("propose.option.none", message, file=catalog.name)])
    name = answer.proposal.enquiry.asked.name or stem
    row = row_to_add(options[number - 1].row, file, catalog, name)
    try:
        return added(catalog, row, before)
    except OSError as error:
        message = f"the row cannot be written: {error.strerror or error}"
        raise InputError([Problem("file.unwritable", message, file=catalog.name)]) from None


def _drawn(answer: RequirementAnswer, out: Path | None, as_json: bool) -> list[str]:
    """Draw the pictures of an answer; return what they are called."""
    if out is None or not answer.proposal.options:
        return []
    from vent_family.proposing.pictures import write_pictures

    with writing("the pictures", out, "choose another folder with --out", as_json):
        return [path.name for path in write_pictures(answer, out)]


def _tell(
    answer: RequirementAnswer,
    row: Added | None,
    files: list[str],
    problems: list[Problem],
    surely: Robustness | None,
    as_json: bool,
) -> None:
    from vent_family.proposing.told import proposal_told
    from vent_family.proposing.words import added_lines, proposal_lines

    found = proposal_told(answer)
    if as_json:
        more: dict[str, Any] = {
            "added": None if row is None else asdict(row),
            "files": files,
            "robust": None if surely is None else surely.as_dict(),
            "problems": [p.as_dict() for p in problems],
        }
        print_answer("propose", asdict(found) | more)
        return
    console = Console(soft_wrap=True)
    for line in (
        *proposal_lines(found),
        *([] if surely is None else surely.sentences()),
        *added_lines(row),
        *([f"Drawn: {', '.join(files)}."] if files else []),
    ):
        console.print(line, highlight=False, markup=False)
    print_problems(problems)

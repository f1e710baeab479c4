"""What rows cost, each as a job of its own."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vent_family.base.problems import InputError, Problem, located
from vent_family.base.rates import Rates
from vent_family.catalog.reader import SourcedRow
from vent_family.release.jobs import CRASHED, PROGRAM, not_built
from vent_family.spec.resolve import resolve

if TYPE_CHECKING:
    from vent_family.evidence.ways.answer import CostAnswer


@dataclass(frozen=True, slots=True)
class CostJob:
    """One row to price; ``pictures`` is the folder for its picture, ``None`` for none."""

    source: SourcedRow
    file_name: str
    rates: Rates
    pictures: str | None = None


@dataclass(frozen=True, slots=True)
class CostOutcome:
    """What a row costs, or its problems."""

    part_number: str
    answer: CostAnswer | None
    problems: tuple[Problem, ...] = ()


def cost_row(job: CostJob) -> CostOutcome:
    """Price one row; a row that cannot be built becomes problems.

    Raises
    ------
    OSError
        if its picture cannot be written
    """
    # Imported here: the kernel takes a second to load, and the parent process does not need it.
    from vent_family.evidence.context import PartContext
    from vent_family.evidence.ways.answer import cost_answer
    from vent_family.evidence.ways.kind import BOTH_WAYS
    from vent_family.release.pictures import write_drawn

    number = job.source.row.part_number
    try:
        context = PartContext(resolve(job.source.row, job.source.attached), job.rates)
        answer = cost_answer(context)
    except InputError as error:
        found = located(error.problems, job.file_name, job.source.row_number)
        return CostOutcome(number, None, tuple(found))
    except Exception as error:  # one row's fault never costs the others
        return _fault(job, "release.part.error", f"{type(error).__name__}: {error}")
    if job.pictures is not None:
        for stem, picture in BOTH_WAYS.figures(context).items():
            write_drawn(Path(job.pictures), f"{number}-{stem}", picture.drawn)
    return CostOutcome(number, answer)


def lost_cost(job: CostJob, why: str = CRASHED) -> CostOutcome:
    """Return the outcome of a row that took its process down or was given up."""
    code = "release.part.crashed" if why == CRASHED else "release.part.unended"
    return _fault(job, code, why)


def _fault(job: CostJob, code: str, text: str) -> CostOutcome:
    problem = not_built(code, job.source, job.file_name, text, PROGRAM)
    return CostOutcome(job.source.row.part_number, None, (problem,))

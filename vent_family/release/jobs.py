"""One row, one job: what is to be built, and what became of it."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from vent_family.base.problems import InputError, Problem, located
from vent_family.catalog.reader import CatalogFile, SourcedRow
from vent_family.release.bar import (
    DEFAULT_BAR,
    BelowBarError,
    PublishIf,
    below_bar_problem,
    mark,
    why,
)
from vent_family.release.written import WrittenFile
from vent_family.spec.families import FAMILIES
from vent_family.spec.resolve import resolve

if TYPE_CHECKING:
    from vent_family.base.rates import Rates
    from vent_family.evidence.water.report import Reported
    from vent_family.release.discipline import Before, Judgement

CRASHED: Final = "the geometry kernel crashed on this part"
PROGRAM: Final = "this is a fault of the program, not of the row"
UNPRINTABLE: Final = (
    "it does not print with this table of the shop: change the table or the row; print-check --shop"
    " shows where"
)
_NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")
_HEAD_OVER_THREAD: Final = 2.2
"""About how much wider a head is than its thread."""
DRAFTS: Final = "_drafts"
"""Begins with a character no part number can begin with, so no part can take its place."""

Outcome = Literal["written", "unchanged", "checked", "failed", "below bar", "withdrawn", "skipped"]
"""``below bar``: predicted to let in water that its row says it meets, so not published.
``unchanged``: published before from the same row, code and tables."""


@dataclass(frozen=True, slots=True)
class Job:
    """One row to build: the source and where its folder goes (``None``: build and check only).

    ``publish_if`` is the worst predicted outcome in water that is still published; ``rates`` are
    the shop's, the demo's for ``None``. ``before`` is what was released of the part until now;
    ``None`` for files that are no release. ``for_people``: with pictures, drawings and sheets,
    which a release has always.
    """

    source: SourcedRow
    file_name: str
    target: str | None
    time_stamp: datetime
    publish_if: PublishIf = DEFAULT_BAR
    rates: Rates | None = None
    before: Before | None = None
    for_people: bool = False


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """What became of one row; ``seconds`` is the time it took, s, ``stages`` that of each stage, s.

    ``water`` is the worst predicted outcome of its exposures, empty where it came to none;
    ``judgement`` is what the release changes, ``None`` for what is no release. ``marked``: the
    part's last release stays as one that is not to be fitted. ``lasting``: tried again with nothing
    changed, the row would come to the same.
    """

    part_number: str
    row_number: int
    status: str
    outcome: Outcome
    message: str = ""
    water: str = ""
    folder: str = ""
    files: tuple[WrittenFile, ...] = ()
    seconds: float = 0.0
    facts: dict[str, Any] | None = None
    problems: tuple[Problem, ...] = ()
    judgement: Judgement | None = None
    marked: bool = False
    lasting: bool = True
    stages: dict[str, float] | None = None

    @property
    def is_amiss(self) -> bool:
        """Whether a row that was to be made was not, for a fault of its own or of the program."""
        return self.outcome in ("failed", "below bar")

    def as_dict(self) -> dict[str, Any]:
        """Return plain data for ``--json``."""
        return {
            "part_number": self.part_number,
            "row": self.row_number,
            "status": self.status,
            "outcome": self.outcome,
            "water_predicted": self.water,
            "message": self.message,
            "folder": self.folder,
            "files": [f.as_dict() for f in self.files],
            "seconds": round(self.seconds, 3),
            "stages_s": {k: round(v, 3) for k, v in (self.stages or {}).items()},
            "facts": self.facts,
            "release": self.judgement.as_dict() if self.judgement else None,
            "problems": [p.as_dict() for p in self.problems],
        }


def build_time() -> datetime:
    """Return the time stamp of a build: ``SOURCE_DATE_EPOCH`` if set, else now; to the second.

    Raises
    ------
    InputError
        if the variable is set to anything but seconds of the years 1970 to 9999
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "").strip()
    if not epoch:
        return datetime.now(UTC).replace(microsecond=0)
    try:
        seconds = int(epoch) if epoch.isascii() and epoch.isdigit() else -1
        if seconds >= 0:
            return datetime.fromtimestamp(seconds, UTC)
    except (ValueError, OverflowError, OSError):
        pass  # more digits than a year has, or than int() reads
    raise InputError(
        [
            Problem(
                "time.stamp.unread",
                "this is no time stamp",
                column="SOURCE_DATE_EPOCH",
                value=epoch[:24],
                place="variable",
                allowed="whole seconds since 1970, up to the year 9999",
                suggestion="set it to seconds, or unset it for the time of day",
            )
        ]
    )


def jobs_of(
    catalog: CatalogFile,
    rows: Sequence[SourcedRow],
    out: Path,
    *,
    drafts: bool,
    stamp: datetime,
    publish_if: PublishIf = DEFAULT_BAR,
    rates: Rates | None = None,
    for_people: bool = False,
) -> list[Job]:
    """Return the jobs of a build: released rows are published, drafts built and checked.

    With ``drafts`` the files of draft rows are written too, below their own folder. Drafts are told
    what is predicted, not refused.
    """
    jobs = []
    for source in rows:
        row = source.row
        if row.status == "retired":
            continue
        target: Path | None = out / row.part_number
        bar = publish_if
        if row.status == "draft":
            target = out / DRAFTS / row.part_number if drafts else None
            bar = "any"
        place = str(target) if target else None
        jobs.append(Job(source, catalog.path_name, place, stamp, bar, rates, for_people=for_people))
    return jobs


def left_out(source: SourcedRow, withdrawn: bool = False) -> RowOutcome | None:
    """Return the outcome of a row that is not built; ``None`` for one that is.

    ``withdrawn``: its part leaves the library. That the release of what is a draft now left it
    stands in the archive; the row is told as a draft.
    """
    row = source.row
    if row.status == "draft" or (row.status != "retired" and not withdrawn):
        return None
    number = source.row_number
    if withdrawn:
        text = "withdrawn into the archive"
        return RowOutcome(row.part_number, number, row.status, "withdrawn", text)
    return RowOutcome(row.part_number, number, row.status, "skipped", "retired, not built")


def build_row(job: Job) -> RowOutcome:
    """Build one row; every fault becomes an outcome, none an exception."""
    begin = time.perf_counter()
    row = job.source.row
    outcome = RowOutcome(row.part_number, job.source.row_number, row.status, "failed")
    try:
        outcome = _build(job, outcome)
    except InputError as error:
        problems = located(error.problems, job.file_name, job.source.row_number)
        outcome = replace(
            outcome,
            message="; ".join(p.message for p in problems),
            problems=tuple(problems),
        )
    except Exception as error:
        # Memory, disk or a fault of chance: the next run tries again.
        text = f"{type(error).__name__}: {error}"
        outcome = replace(failed(outcome, job, "release.part.error", text), lasting=False)
    return replace(outcome, seconds=time.perf_counter() - begin)


def front_mm2(job: Job) -> float:
    """Return about what a row's front measures (mm2), by which rows take longer or shorter.

    Examples
    --------
    >>> from vent_family.catalog.reader import parse_catalog
    >>> text = "part_number,family,size,status\\nA,rectangular,80x60,draft\\n"
    >>> front_mm2(Job(parse_catalog(text).rows[0], "catalog.csv", None, build_time()))
    4800.0
    """
    row = job.source.row
    first, second = (float(n) for n in _NUMBER.findall(row.size)[:2])
    if FAMILIES[row.family].size == "thread":
        return (row.head_diameter_mm or _HEAD_OVER_THREAD * first) ** 2
    return first * second


def too_long(limit_s: float) -> str:
    """Return the words for a row that was given up after a time, s.

    Examples
    --------
    >>> too_long(90.0)
    'it was given up after 90 s'
    """
    return f"it was given up after {limit_s:g} s"


def lost_row(job: Job, why: str = CRASHED) -> RowOutcome:
    """Return the outcome of a row that took its process down or was given up."""
    row = job.source.row
    outcome = RowOutcome(row.part_number, job.source.row_number, row.status, "failed")
    code = "release.part.crashed" if why == CRASHED else "release.part.unended"
    return replace(failed(outcome, job, code, why), lasting=False)


def _build(job: Job, outcome: RowOutcome) -> RowOutcome:
    # Imported here: the kernel takes a second to load, and planning a build does not need it.
    from vent_family.evidence.air.drive import drive_of
    from vent_family.evidence.water.kind import WATER
    from vent_family.release.discipline import RevisionError
    from vent_family.release.examine import CheckFailedError, examined
    from vent_family.release.part import release_part
    from vent_family.release.record import index_facts

    spec = resolve(job.source.row, job.source.attached)
    # A fan without a curve is refused before anything is built.
    drive_of(spec)
    try:
        if job.target is None:
            report = examined(spec, job.rates).of(WATER)
            text = f"draft: checked, not published; {prediction(report.outcome, report.exposures)}"
            return replace(outcome, outcome="checked", message=text, water=report.outcome)
        released = release_part(
            spec,
            Path(job.target),
            row_hash=job.source.row_hash,
            time_stamp=job.time_stamp,
            publish_if=job.publish_if,
            rates=job.rates,
            before=job.before,
            for_people=job.for_people,
        )
    except RevisionError as error:
        problem = replace(error.problem, file=job.file_name, row=job.source.row_number)
        return replace(outcome, message=error.problem.message, problems=(problem,), lasting=False)
    except CheckFailedError as error:
        shops = all(check.of_table for check in error.failures)
        text, advice = f"check failed: {error}", UNPRINTABLE if shops else PROGRAM
        return failed(outcome, job, "release.check.failed", text, advice)
    except BelowBarError as error:
        return _below_bar(outcome, job, error)
    notes = [c.name for c in released.checks if c.verdict != "pass"]
    message = f"weak, see the record: {', '.join(notes)}" if notes else ""
    if released.judgement is not None:
        message = "; ".join(filter(None, (released.judgement.text(), message)))
    if released.water.outcome == "fails":
        message = "; ".join(filter(None, (prediction("fails", released.water.exposures), message)))
    return replace(
        outcome,
        outcome="written",
        message=message,
        water=released.water.outcome,
        folder=job.target,
        files=released.files,
        facts=dict(index_facts(released.record)),
        judgement=released.judgement,
        stages=dict(released.stages),
    )


def _below_bar(outcome: RowOutcome, job: Job, error: BelowBarError) -> RowOutcome:
    """Return the outcome of a part that is not published for what water is predicted to do.

    A release from before stays, marked; ``folder`` is empty where there is none. In a library that
    is done by who publishes: ``marked`` says then that the release before was of the very design
    that was judged.
    """
    assert job.target is not None
    row = job.source.row
    stays = mark(Path(job.target), row.part_number, str(error))
    problem = below_bar_problem(
        error.exposures,
        file=job.file_name,
        row=job.source.row_number,
        part_number=row.part_number,
        value=row.exposure or "",
    )
    return replace(
        outcome,
        outcome="below bar",
        message=str(error),
        water=error.outcome,
        folder=job.target if stays else "",
        problems=(problem,),
        marked=stays or error.released_before,
    )


def prediction(outcome: str, exposures: Sequence[Reported]) -> str:
    """Return in a few words what water is predicted to do to a part."""
    if outcome == "not checked":
        return "no water named, none predicted"
    limiting = [e for e in exposures if e.verdict.outcome == outcome]
    if outcome == "holds":
        return "predicted to hold the water it meets"
    return why(limiting)


def failed(
    outcome: RowOutcome, job: Job, code: str, text: str, advice: str = PROGRAM
) -> RowOutcome:
    """Return the outcome of a job that failed, with the sentence that says so and what to do."""
    problem = not_built(
        code, job.source, job.file_name, text, f"{advice}; the last good files were kept"
    )
    return replace(outcome, message=text, problems=(problem,))


def not_built(code: str, source: SourcedRow, file_name: str, text: str, suggestion: str) -> Problem:
    """Return the sentence that a row's part could not be built, why, and what to do."""
    return Problem(
        code,
        f"the part could not be built: {text}",
        file=file_name,
        row=source.row_number,
        part_number=source.row.part_number,
        suggestion=suggestion,
    )

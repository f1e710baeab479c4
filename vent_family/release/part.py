"""Build, check and write one part: the work of one catalogue row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from vent_family.base.atomic import staged_folder
from vent_family.base.rates import Rates
from vent_family.evidence.context import PartContext
from vent_family.evidence.result import CheckResult
from vent_family.evidence.water.kind import WATER
from vent_family.evidence.water.report import WaterReport
from vent_family.files.threemf import ThreeMfError
from vent_family.release.bar import DEFAULT_BAR, BelowBarError, PublishIf, require_clears
from vent_family.release.contents import Contents
from vent_family.release.discipline import Before, Judgement
from vent_family.release.earlier import is_released_design, judgement_of
from vent_family.release.examine import CheckFailedError, examined
from vent_family.release.plan import planned_files
from vent_family.release.readback import require_read_back
from vent_family.release.record import PartRecord
from vent_family.release.stages import Seconds, timed
from vent_family.release.written import WrittenFile, written_files
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class ReleasedPart:
    """What came of releasing one part; ``judgement`` is ``None`` for files that are no release.

    ``stages`` are the seconds that evidence and each kind of file took.
    """

    record: PartRecord
    checks: tuple[CheckResult, ...]
    files: tuple[WrittenFile, ...]
    water: WaterReport
    judgement: Judgement | None = None
    stages: Mapping[str, float] = field(default_factory=dict)


def release_part(
    spec: VentSpec,
    target: Path,
    *,
    row_hash: str,
    time_stamp: datetime,
    publish_if: PublishIf = DEFAULT_BAR,
    rates: Rates | None = None,
    before: Before | None = None,
    for_people: bool = False,
) -> ReleasedPart:
    """Build, check and write one part into the folder ``target``, whole or not at all.

    The files are written as planned and read back before the folder takes its place. ``rates`` are
    the shop's, by default the demo's. With ``before``, what was released of the part until now, it
    is judged what this release changes; without, the files say that they are no release.
    Pictures, drawings and sheets are written for releases, and where they are asked
    ``for_people``.

    Raises
    ------
    BelowBarError
        if water that the row says it meets is predicted to get in, by the bar ``publish_if``
    CheckFailedError
        if the solid or one of its companions fails a check, or a written file does not read back
    RevisionError
        if the geometry changed and the revision did not, or went back
    OSError
        if the files cannot be written
    """
    stages: Seconds = {}
    with timed(stages, "evidence"):
        context = examined(spec, rates)
        try:
            require_clears(context, publish_if)
        except BelowBarError as error:
            again = before is not None and is_released_design(context, before, row_hash)
            raise BelowBarError(error.outcome, error.exposures, released_before=again) from None
        judgement = None
        if before is not None:
            # With the figures that no check asks for: nothing of the evidence is left after it.
            judgement = judgement_of(context, before, row_hash=row_hash, time_stamp=time_stamp)
    with staged_folder(target) as folder:
        record = write_files(
            context,
            folder,
            row_hash,
            time_stamp,
            judgement,
            for_people=for_people,
            stages=stages,
        )
        files = written_files(folder)
    return ReleasedPart(record, context.checks(), files, context.of(WATER), judgement, stages)


def write_files(
    context: PartContext,
    folder: Path,
    row_hash: str,
    time_stamp: datetime,
    judgement: Judgement | None = None,
    *,
    for_people: bool = False,
    stages: Seconds | None = None,
) -> PartRecord:
    """Write all planned files of a part into ``folder``, read them back, and return its record.

    ``judgement`` says what the release changes; without, the files are no release. Pictures,
    drawings and sheets are written for releases, and where they are asked ``for_people``. The
    seconds that each stage takes are added to ``stages``.

    Raises
    ------
    CheckFailedError
        if a written file does not read back
    OSError
        if the files cannot be written
    """
    wanted = planned_files(context, for_people=for_people or judgement is not None)
    planned = {f"{context.spec.part_number}{f.ending}": f for f in wanted}
    contents = Contents(context, tuple(planned), row_hash, time_stamp, judgement)
    try:
        for name, file in planned.items():
            with timed(stages, file.stage):
                file.write(contents, folder / name)
    except ThreeMfError as error:
        failure = CheckResult("files read back", "fail", str(error))
        raise CheckFailedError((failure,)) from error
    with timed(stages, "read back"):
        require_read_back(folder, contents)
    return contents.record

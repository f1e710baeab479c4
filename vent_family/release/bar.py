"""The bar a part's predicted behaviour in water must clear to be published, and what marks those
that do not: a release that stays from before is told to be no longer predicted to hold."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import Problem
from vent_family.evidence.outcomes import VERBS

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext
    from vent_family.evidence.water.report import Reported

PublishIf = Literal["holds", "marginal", "any"]
"""The worst predicted outcome that is still published."""

DEFAULT_BAR: Final[PublishIf] = "marginal"
STANDING: Final = "standing"
"""Field of the record, and entry of the index, that says whether the part may be fitted."""
CURRENT: Final = "current"
"""What stands there for a part that may be fitted."""
DO_NOT_FIT: Final = "no longer predicted to hold, do not fit"
NOT_ANEW: Final = "the last release, of another design, stays as it is and was not judged anew"
_ADMITTED: Final[dict[str, tuple[str, ...]]] = {
    "holds": ("holds",),
    "marginal": ("holds", "marginal"),
    "any": ("holds", "marginal", "fails"),
}


class BelowBarError(RuntimeError):
    """A part is predicted to let in water that its row says it meets; nothing was published.

    ``outcome`` is the worst predicted one, ``exposures`` those below the bar; ``released_before``:
    the part is of the design that was released before.
    """

    def __init__(
        self, outcome: str, exposures: Sequence[Reported], *, released_before: bool = False
    ) -> None:
        self.outcome = outcome
        self.exposures = tuple(exposures)
        self.released_before = released_before
        super().__init__(why(exposures))


def clears(outcome: str, bar: PublishIf) -> bool:
    """Tell whether a predicted outcome clears a bar; a row that meets no water clears any.

    Examples
    --------
    >>> clears("marginal", "marginal"), clears("marginal", "holds"), clears("fails", "any")
    (True, False, True)
    """
    return outcome == "not checked" or outcome in _ADMITTED[bar]


def below(exposures: Sequence[Reported], bar: PublishIf) -> list[Reported]:
    """Return the exposures whose predicted outcome does not clear a bar."""
    return [e for e in exposures if not clears(e.verdict.outcome, bar)]


def why(exposures: Sequence[Reported]) -> str:
    """Return what is predicted under each exposure, in one line."""
    return "; ".join(
        f"predicted to {VERBS[e.verdict.outcome]} {e.name}: {e.verdict.reason}" for e in exposures
    )


def remedy(exposures: Sequence[Reported]) -> str:
    """Return what would mend each exposure, in one line."""
    changes = [f"for {e.name}: {e.verdict.change}" for e in exposures if e.verdict.change]
    changes.append("or name in exposure only the water that the vent meets")
    return "; ".join(changes)


def below_bar_problem(
    exposures: Sequence[Reported], *, file: str, row: int | None, part_number: str, value: str
) -> Problem:
    """Return the problem of a released row whose part does not clear the bar."""
    return Problem(
        "release.water.bar",
        f"not published: {why(exposures)}",
        file=file,
        row=row,
        part_number=part_number,
        column="exposure",
        value=value,
        suggestion=remedy(exposures),
    )


def require_clears(context: PartContext, bar: PublishIf) -> None:
    """Refuse a part whose predicted behaviour in water does not clear the bar.

    Raises
    ------
    BelowBarError
        if an exposure of its row does not
    """
    from vent_family.evidence.water.kind import WATER

    report = context.of(WATER)
    if not clears(report.outcome, bar):
        raise BelowBarError(report.outcome, below(report.exposures, bar))


def mark(folder: Path, part_number: str, reasons: str) -> bool:
    """Mark a release that stays on disk as one not to be fitted, in its record and report.

    Other files stay byte for byte. Returns whether there was a release to mark.

    Raises
    ------
    OSError
        if the files cannot be written
    """
    from vent_family.files.json import write_json

    path = folder / f"{part_number}.json"
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        record = None
    if isinstance(record, dict):
        write_json(path, record | {STANDING: f"{DO_NOT_FIT}: {reasons}"})
    report = folder / f"{part_number}-print.md"
    warning = f"**{DO_NOT_FIT[0].upper()}{DO_NOT_FIT[1:]}.** "
    if report.is_file():
        text = report.read_text(encoding="utf-8")
        if text.startswith(warning):
            text = text.split("\n\n", 1)[1]
        write_bytes(report, f"{warning}{reasons}\n\n{text}".encode())
    return folder.is_dir()

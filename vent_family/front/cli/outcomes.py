"""How the outcomes of rows are shown: words, a closing table, what comes before everything else."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table

from vent_family.base.problems import Problem
from vent_family.front.cli.common import EXIT_FAILED, EXIT_OK
from vent_family.release.bar import DO_NOT_FIT, NOT_ANEW, PublishIf
from vent_family.release.jobs import RowOutcome


def word(outcome: RowOutcome) -> str:
    """Return what became of a row, in capitals where it was not written for a fault."""
    return outcome.outcome.upper() if outcome.is_amiss else outcome.outcome


def warnings(outcomes: Sequence[RowOutcome], publish_if: PublishIf) -> list[str]:
    """Return what comes before everything else: parts on disk that must not be fitted."""
    below = [o for o in outcomes if o.outcome == "below bar"]
    marked = [o.part_number for o in below if o.marked]
    lines = []
    if marked:
        lines.append(f"{', '.join(marked)}: {DO_NOT_FIT}; the last release stays, marked so")
    bar = f"not published; the bar is: publish if {publish_if} (--publish-if), and water is"
    bar += " predicted to get in"
    other = [o.part_number for o in below if o.folder and not o.marked]
    if other:
        lines.append(f"{', '.join(other)}: {bar}; {NOT_ANEW}")
    new = [o.part_number for o in below if not o.folder]
    if new:
        lines.append(f"{', '.join(new)}: {bar}")
    return lines


def outcome_table(outcomes: Sequence[RowOutcome], title: str) -> Table:
    """Return the closing table of a run."""
    table = Table(title=title, caption="area: smallest open area; mass: as printed")
    for name in ("row", "part", "result", "water"):
        table.add_column(name, no_wrap=True)
    for name in ("area mm2", "margin mm", "mass g", "s"):
        table.add_column(name, justify="right")
    for o in outcomes:
        facts = o.facts or {}
        table.add_row(
            str(o.row_number),
            o.part_number,
            word(o),
            o.water,
            _cell(facts.get("smallest_open_area_mm2"), 0),
            _cell(facts.get("sight_margin_mm"), 2),
            _cell(facts.get("printed_mass_g"), 1),
            f"{o.seconds:.1f}" if o.seconds else "",
        )
    return table


def row_lines(outcomes: Sequence[RowOutcome]) -> list[str]:
    """Return what is to be said of rows that were made or checked, in one line each."""
    return [
        f"{o.part_number}: {o.message}"
        for o in outcomes
        if o.outcome in ("written", "checked") and o.message
    ]


def told_faults(problems: Sequence[Problem], outcomes: Sequence[RowOutcome]) -> list[Problem]:
    """Return what is wrong with the catalogue, then with rows that were not made."""
    return [*problems, *(p for o in outcomes if o.is_amiss for p in o.problems)]


def exit_code(problems: Sequence[Problem], outcomes: Sequence[RowOutcome]) -> int:
    """Return the exit code of a run: whether the catalogue or any of its rows is amiss."""
    return EXIT_FAILED if problems or any(o.is_amiss for o in outcomes) else EXIT_OK


def _cell(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"

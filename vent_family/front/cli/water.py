"""Command line: ``vent-family water``, and the lines that ``check --water`` adds."""

from __future__ import annotations

import json
from pathlib import Path

from rich.console import Console
from rich.table import Table

from vent_family.catalog.reader import SourcedRow
from vent_family.evidence.water.airfield import potential_flow
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import Conditions, checked_conditions, conditions_of
from vent_family.evidence.water.report import CAUTION, WaterReport
from vent_family.evidence.water.solved_air import solved_flow
from vent_family.evidence.water.verdict import plain, plain_range
from vent_family.release.water_files import write_water_pictures
from vent_family.spec.resolve import resolve

_STYLE = {"holds": "green", "marginal": "yellow", "fails": "red", "not checked": "dim"}


def chosen_conditions(
    source: SourcedRow,
    file_name: str,
    exposure: str | None,
    face_velocity_m_s: float | None,
    depression_pa: float | None,
    tilt_deg: float | None,
) -> Conditions:
    """Return the row's conditions with the options of the command line in their place.

    Raises
    ------
    InputError
        naming file, row and part
    """
    own = conditions_of(source.row)
    return checked_conditions(
        "/".join(own.exposures) or "dry" if exposure is None else exposure,
        own.face_velocity_m_s if face_velocity_m_s is None else face_velocity_m_s,
        own.depression_pa if depression_pa is None else depression_pa,
        own.tilt_deg if tilt_deg is None else tilt_deg,
        part_number=source.row.part_number,
        file=file_name,
        row=source.row_number,
    )


def water_report(
    source: SourcedRow,
    conditions: Conditions,
    pictures: Path | None = None,
    *,
    solved: bool = False,
) -> WaterReport:
    """Assess one row, and write its pictures where a folder is given.

    ``solved`` lets the drops fly in the solved flow instead of potential flow; the pictures keep
    potential flow. Raises ``InputError`` for rows that cannot be built, ``OSError`` for an
    unwritable folder.
    """
    spec = resolve(source.row)
    report = assess(spec, conditions, source=solved_flow if solved else potential_flow)
    if pictures is not None:
        pictures.mkdir(parents=True, exist_ok=True)
        write_water_pictures(pictures, spec, report)
    return report


def as_json(report: WaterReport) -> str:
    """Return a report as JSON text."""
    return json.dumps({"part_number": report.part_number} | report.as_dict(), indent=2)


def print_report(report: WaterReport, console: Console) -> None:
    """Print a report for people."""
    c, sight = report.conditions, report.sight
    console.print(
        f"{report.part_number}: face velocity {c.face_velocity_m_s:g} m/s, depression"
        f" {c.depression_pa:g} Pa, tilt {c.tilt_deg:g} deg",
        highlight=False,
    )
    facts = [
        f"straight lines miss by {sight.margin_mm:.2f} mm"
        if sight.margin_mm >= 0
        else f"OPEN to straight lines by {-sight.margin_mm:.2f} mm",
        f"largest sphere {report.access.sphere_mm:.1f} mm",
        f"air blows in through the drain above {report.blow_in_pa:.0f} Pa",
    ]
    facts += [
        f"half of the mist of {1000 * cut.d50_mm:.0f} micrometres is caught at"
        f" {cut.face_velocity_m_s:g} m/s"
        for cut in report.cut_sizes
        if cut.d50_mm is not None and cut.face_velocity_m_s == c.face_velocity_m_s
    ]
    for fact in facts:
        console.print(f"  {fact}", highlight=False)
    table = Table()
    for name in ("exposure", "predicted", "limited by"):
        table.add_column(name, no_wrap=True)
    for name in ("arrives L", "passes mL", "sill margin mm"):
        table.add_column(name, justify="right")
    for e in report.exposures:
        table.add_row(
            e.name,
            f"[{_STYLE[e.verdict.outcome]}]{e.verdict.outcome}[/]",
            e.verdict.mechanism,
            plain(e.arriving_l),
            plain_range(1000.0 * e.passed_l.low, 1000.0 * e.passed_l.high),
            # Below the sill's top there is no level left to state: the pool runs over.
            f"{e.drainage.margin_mm:.1f}" if e.drainage.margin_mm >= 0.0 else "overflows",
        )
    if report.exposures:
        console.print(table)
    for sentence in report.sentences():
        console.print(sentence, highlight=False, soft_wrap=True)
    console.print(report.upside_down.reason, soft_wrap=True, highlight=False)
    console.print(CAUTION, highlight=False, soft_wrap=True)

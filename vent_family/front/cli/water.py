"""``vent-family water``: whether water gets into one row."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer
from rich import box
from rich.console import Console
from rich.table import Table

from vent_family.base.said import said
from vent_family.front.cli.common import (
    EXIT_FAILED,
    CatalogOption,
    JsonOption,
    one,
    print_answer,
    read,
    renamed,
    resolved,
    solving,
    told,
    writing,
)
from vent_family.spec.resolved import ResolvedRows

if TYPE_CHECKING:
    from vent_family.evidence.water.report import WaterReport

_STYLE: Final = {"holds": "green", "marginal": "yellow", "fails": "red", "not checked": "dim"}


def water(
    part: Annotated[str, typer.Argument(help="Part number.")],
    catalog: CatalogOption = Path("catalog.csv"),
    exposure: Annotated[
        str | None, typer.Option("--exposure", "-e", help="Water, in place of the row's.")
    ] = None,
    face_velocity: Annotated[
        float | None,
        typer.Option("--face-velocity", help="m/s over the open face, in place of a fan."),
    ] = None,
    fan: Annotated[
        Path | None, typer.Option("--fan", help="Fan curve, CSV, or the name of a packaged one.")
    ] = None,
    place: Annotated[
        str | None,
        typer.Option(
            "--fan-position", help="intake: fan moves outside air in; outlet: inside air."
        ),
    ] = None,
    direction: Annotated[
        str | None,
        typer.Option("--air-direction", help="in: the vent draws air in; out: it lets air out."),
    ] = None,
    vents: Annotated[
        int | None, typer.Option("--vents", help="Vents like this one that share the fan.")
    ] = None,
    opposite: Annotated[
        str | None,
        typer.Option("--opposite-vent", help="Part number of the vents on the other side."),
    ] = None,
    openings: Annotated[
        str | None,
        typer.Option(
            "--other-openings", help="sheltered, same_side or lee_side: where they lie in the wind."
        ),
    ] = None,
    extra_depression: Annotated[
        float | None,
        typer.Option("--extra-depression", help="Pa that something else sucks besides."),
    ] = None,
    old_depression: Annotated[str | None, renamed("--depression", "--extra-depression")] = None,
    tilt: Annotated[
        float | None, typer.Option("--tilt", help="Degrees, positive: face looks up.")
    ] = None,
    roll: Annotated[
        float | None,
        typer.Option("--roll", help="Degrees, positive: clockwise as seen from outside."),
    ] = None,
    pictures: Annotated[
        Path | None, typer.Option("--pictures", help="Folder for pictures (SVG and PNG).")
    ] = None,
    sweep: Annotated[
        bool, typer.Option("--sweep", help="Every lean and roll, and how far it holds (slow).")
    ] = False,
    solved_air: Annotated[
        bool, typer.Option("--solved-air", help="Drops fly in the solved flow, wakes included.")
    ] = False,
    sensitive: Annotated[
        bool,
        typer.Option("--sensitivity", help="Tell which assumptions move the verdict most."),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Predict whether water gets in: straight paths, drops, splash and drainage of one row."""
    from vent_family.evidence.air.drive import OtherAir
    from vent_family.evidence.air.fan_files import read_fan
    from vent_family.evidence.air.resistance import vent_air
    from vent_family.evidence.water.airfield import potential_flow
    from vent_family.evidence.water.assess import assess
    from vent_family.evidence.water.conditions import chosen_conditions
    from vent_family.evidence.water.pictures import pictures as drawn
    from vent_family.evidence.water.sensitivity import sensitivity
    from vent_family.evidence.water.solved_air import solved_flow
    from vent_family.release.pictures import write_drawn

    rows = ResolvedRows(read(catalog, as_json))
    source = one(rows.file, part, as_json)
    spec = resolved(rows, part, as_json)
    with told(as_json):
        curve = None if fan is None else read_fan(fan)
    far = None if opposite is None else vent_air(resolved(rows, opposite, as_json))
    with told(as_json, EXIT_FAILED):
        conditions = chosen_conditions(
            spec,
            exposure,
            tilt,
            OtherAir(
                fan=curve,
                fan_position=place,
                air_direction=direction,
                vents_in_parallel=vents,
                opposite=far,
                face_velocity_m_s=face_velocity,
                extra_depression_pa=extra_depression,
                other_openings=openings,
            ),
            roll_deg=roll,
            file=rows.file.path_name,
            row_number=source.row_number,
        )
    flow = solved_flow if solved_air else potential_flow
    with solving(spec.part_number, "leave --solved-air out: potential flow always works", as_json):
        report = assess(spec, conditions, source=flow, sweep=sweep)
        effects = sensitivity(spec, conditions, source=flow) if sensitive else ()
    if pictures is not None:
        advice = "choose another folder with --pictures"
        with writing("the pictures", pictures, advice, as_json):
            pictures.mkdir(parents=True, exist_ok=True)
            for stem, figure in drawn(spec.section, report).items():
                write_drawn(pictures, f"{spec.part_number}-{stem}", figure)
    if as_json:
        left_out = [e.name for e in report.jets]
        told_effects = (
            {"sensitivity": [e.as_dict() for e in effects], "sensitivity_left_out": left_out}
            if sensitive
            else {}
        )
        print_answer("water", {"part_number": report.part_number} | report.as_dict() | told_effects)
    else:
        print_report(report, Console())
        for effect in effects:
            for line in effect.sentences():
                Console().print(line, highlight=False, soft_wrap=True)
        for jet in report.jets if sensitive else ():
            Console().print(
                f"{jet.name}: left out of --sensitivity, because a full jet is judged under all its"
                " assumptions at once; the range above is their effect.",
                highlight=False,
                soft_wrap=True,
            )


def print_report(report: WaterReport, console: Console) -> None:
    """Print a report for people."""
    from vent_family.evidence.water.report import CAUTION
    from vent_family.evidence.water.trough_words import trough_words

    c, sight = report.conditions, report.sight
    console.print(
        f"{report.part_number}: {c.driven_by}; without wind {c.air.words()}; tilt {c.tilt_deg:g}"
        f" deg, roll {c.roll_deg:g} deg",
        soft_wrap=True,
        highlight=False,
    )
    for warning in c.air.warnings:
        console.print(f"Warning: {warning}.", highlight=False, soft_wrap=True)
    facts = [
        f"straight lines miss by {said(sight.margin_mm)} mm"
        if sight.margin_mm >= 0
        else f"OPEN to straight lines by {-sight.margin_mm:.2f} mm",
        "none passes beside the fitted body"
        if sight.beside_body_mm2 == 0.0
        else f"OPEN beside the fitted body, {sight.beside_body_mm2:.3g} mm2",
        f"largest sphere {said(report.access.sphere_mm)} mm",
        f"suction lifts water over the sill above {report.overflow_depression_pa:.0f} Pa",
    ]
    facts += [
        f"half of the mist of {1000 * cut.d50_mm:.0f} micrometres is caught at"
        f" {cut.face_velocity_m_s:.2g} m/s"
        for cut in report.cut_sizes
        if cut.d50_mm is not None and cut.face_velocity_m_s == c.air.face_velocity_m_s
    ]
    for fact in facts:
        console.print(f"  {fact}", highlight=False)
    if report.drops:
        console.print(_drops_table(report))
    if report.jets:
        console.print(_jets_table(report))
    for sentence in report.sentences():
        console.print(sentence, highlight=False, soft_wrap=True)
    for sentence in report.joint_sentences():
        console.print(sentence, highlight=False, soft_wrap=True)
    for e in report.drops:
        for text in trough_words(e):
            console.print(text, highlight=False, soft_wrap=True)
    for text in _films(report):
        console.print(text, soft_wrap=True, highlight=False)
    if report.mountings is not None:
        console.print(report.mountings.sentence(), soft_wrap=True, highlight=False)
    console.print(report.upside_down.reason, soft_wrap=True, highlight=False)
    console.print(CAUTION, highlight=False, soft_wrap=True)


def _films(report: WaterReport) -> list[str]:
    """Return where the film on the ribs ends, once for exposures of which the same is said."""
    from vent_family.evidence.water.house import TOLERANCE

    names: dict[str, list[str]] = {}
    for e in report.drops:
        names.setdefault(e.rib_film_tilted.sentence(), []).append(e.name)
    lean = f"at {TOLERANCE.now:g} degrees more of lean and roll"
    return [f"{', '.join(exposed)}: {lean} {film}" for film, exposed in names.items()]


def _drops_table(report: WaterReport) -> Table:
    """Return the exposures that come as drops."""
    from vent_family.evidence.water.verdict import plain, plain_range

    table = _predictions("arrives\nL", "passes\nmL", "sill above\npool mm")
    for e in report.drops:
        table.add_row(
            e.name,
            f"[{_STYLE[e.verdict.outcome]}]{e.verdict.outcome}[/]",
            e.verdict.mechanism,
            plain(e.arriving_l),
            plain_range(1000.0 * e.passed_l.low, 1000.0 * e.passed_l.high),
            # Below the sill's top there is no level left to state: the pool runs over.
            f"{e.drainage.margin_mm:.1f}" if e.drainage.margin_mm >= 0.0 else "overflows",
        )
    return table


def _jets_table(report: WaterReport) -> Table:
    """Return the exposures to a full jet: shares of it, and one bay's water."""
    table = _predictions("inside\nmean %", "worst\naim %", "to bay\nL/min", "drains\nL/min")
    for e in report.jets:
        mean, worst = e.inside_share, e.worst_inside_share
        table.add_row(
            e.name,
            f"[{_STYLE[e.verdict.outcome]}]{e.verdict.outcome}[/]",
            e.verdict.mechanism,
            f"{100.0 * mean.low:.2g} to {100.0 * mean.high:.2g}",
            f"{100.0 * worst.high:.2g}",
            f"{e.worst_inflow_l_min:.1f}",
            f"{e.capacity_l_min:.1f}",
        )
    return table


def _predictions(*numbers: str) -> Table:
    """Return an empty table of predictions with these columns of numbers.

    Lean enough for 80 characters; should it get wider, words are wrapped and no number is cut.
    """
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for name in ("exposure", "predicted"):
        table.add_column(name, no_wrap=True, vertical="bottom")
    table.add_column("limited by", vertical="bottom")
    for name in numbers:
        table.add_column(name, justify="right", no_wrap=True)
    return table

"""``vent-family air``: one question about a cabinet, its answer as data, tables and pictures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.table import Table

from vent_family.base.limits import WALL_U_DEFAULT
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JsonOption,
    print_json,
    read,
    renamed,
    resolved,
    solving,
    told,
    writing,
)
from vent_family.spec.resolved import ResolvedRows

if TYPE_CHECKING:
    from vent_family.evidence.air.cabinet import Cooling
    from vent_family.evidence.air.sizing import Answer, Question
    from vent_family.spec.vent import VentSpec


def air(
    part: Annotated[str, typer.Argument(help="Part number of the vent the air enters by.")],
    heat: Annotated[float, typer.Option("--heat", help="Heat lost inside the cabinet, W.")],
    limit: Annotated[float, typer.Option("--limit", help="Highest air temperature inside, degC.")],
    fan: Annotated[
        Path | None, typer.Option("--fan", help="Fan curve, CSV, or the name of a packaged one.")
    ] = None,
    ambient: Annotated[float, typer.Option("--ambient", help="Outside temperature, degC.")] = 25.0,
    altitude: Annotated[float, typer.Option("--altitude", help="Height above sea, m.")] = 0.0,
    walls: Annotated[
        float,
        typer.Option(
            "--walls",
            help="Heat the walls pass, W/K; 0 for none. Painted steel in still air:"
            f" {WALL_U_DEFAULT.value:g} W/m2K times the area.",
        ),
    ] = 0.0,
    fans: Annotated[int, typer.Option("--fans", help="Fans side by side.")] = 1,
    series: Annotated[int, typer.Option("--fans-in-series", help="Fans one behind the other.")] = 1,
    place: Annotated[
        str,
        typer.Option(
            "--fan-position", help="intake: fan moves outside air in; outlet: inside air."
        ),
    ] = "intake",
    vents: Annotated[int, typer.Option("--vents", min=1, help="Vents the air enters by.")] = 1,
    outlet: Annotated[
        str | None, typer.Option("--outlet", help="Part number of the vents the air leaves by.")
    ] = None,
    outlets: Annotated[
        int | None, typer.Option("--outlets", min=1, help="How many of them; as many if blank.")
    ] = None,
    guard: Annotated[
        float, typer.Option("--guard", help="Loss coefficient of a guard on the inlet.")
    ] = 0.0,
    filter_loss: Annotated[
        float, typer.Option("--filter", help="Filter on the inlet: Pa per m/s in the opening.")
    ] = 0.0,
    counter: Annotated[
        float, typer.Option("--back-pressure", help="Pressure against the fan, such as wind, Pa.")
    ] = 0.0,
    old_series: Annotated[str | None, renamed("--series", "--fans-in-series")] = None,
    old_place: Annotated[str | None, renamed("--place", "--fan-position")] = None,
    old_counter: Annotated[str | None, renamed("--counter", "--back-pressure")] = None,
    draught: Annotated[
        float | None,
        typer.Option("--draught", help="No fan: height between low and high vent, m."),
    ] = None,
    catalog: CatalogOption = Path("catalog.csv"),
    out: Annotated[Path, typer.Option("--out", help="Where the curves go.")] = Path("exports/_air"),
    field: Annotated[
        bool, typer.Option("--field", help="Solve and draw the flow between the slats too.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Predict flow and temperature of a cabinet with this vent, and draw the curves."""
    from vent_family.evidence.air.cabinet import Cabinet
    from vent_family.evidence.air.fan_files import read_fans
    from vent_family.evidence.air.sizing import answer, question_of

    rows = ResolvedRows(read(catalog, as_json))
    with told(as_json):
        cabinet = Cabinet(heat, ambient, limit, altitude, walls)
        group = read_fans(fan, fans, series) if fan else None
    spec = resolved(rows, part, as_json)
    leave = resolved(rows, outlet, as_json) if outlet else None
    with told(as_json):
        found = answer(
            question_of(
                spec,
                cabinet,
                outlet=leave,
                among=rows.specs(),
                fan=group,
                place=place,
                inlets=vents,
                outlets=outlets,
                guard_k=guard,
                filter_pa_s_m=filter_loss,
                counter_pa=counter,
                draught_height_m=draught,
            )
        )
    simpler = "leave --field out; the prediction does not need it"
    with (
        solving(spec.part_number, simpler, as_json),
        writing("the curves", out, "choose another folder with --out", as_json),
    ):
        paths = _draw(found, out, spec, field=field)
    if as_json:
        print_json(found.as_dict() | {"files": [str(p) for p in paths]})
    else:
        show(found, Console())
        Console().print("Curves: " + ", ".join(str(p) for p in paths), soft_wrap=True)
    raise typer.Exit(EXIT_OK if found.holds else EXIT_FAILED)


def _draw(found: Answer, folder: Path, spec: VentSpec, *, field: bool) -> list[Path]:
    """Write the figures of an answer; return the paths."""
    # Imported here: the plotting library takes a while to load, and a refusal need not wait.
    from vent_family.evidence.air.pictures import answer_figures
    from vent_family.files.figure import write_figure

    figures = answer_figures(found, spec, field=field)
    folder.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for name, figure in figures.items():
        stem = f"{spec.part_number}-{name}"
        paths += sorted(write_figure(folder, stem, figure, dpi=130, salt=stem))
    return paths


def show(found: Answer, console: Console) -> None:
    """Print the answer as tables."""
    from vent_family.evidence.air.sizing import CAUTION

    q, cooling = found.question, found.cooling
    table = Table(title=f"{q.inlet.part_number}: air", show_header=False)
    table.add_column("what")
    table.add_column("value", justify="right")
    summary = found.summary
    for i, area in enumerate(q.inlet.areas):
        label = "open areas, smallest first" if i == 0 else ""
        table.add_row(label, f"{area.name} {area.area_mm2:.0f} mm2")
    table.add_row("K on the opening, in / out", f"{summary.k_in:.1f} / {summary.k_out:.1f}")
    table.add_row("discharge coefficient, in", f"{summary.discharge_in:.3f}")
    for point in summary.flows:
        table.add_row(
            f"flow at {point.pressure_pa:g} Pa, in / out",
            f"{point.flow_in_m3_h:.1f} / {point.flow_out_m3_h:.1f} m3/h",
        )
    table.add_section()
    cabinet = q.cabinet
    table.add_row("heat", f"{cabinet.heat_w:g} W")
    table.add_row("ambient, limit", f"{cabinet.ambient_c:g} degC, {cabinet.limit_c:g} degC")
    table.add_row(
        "air density", f"{cabinet.outside.density_kg_m3:.3f} kg/m3 at {cabinet.altitude_m:g} m"
    )
    table.add_row("air flow needed", f"{found.required_m3_s * 3600.0:.1f} m3/h")
    table.add_section()
    if cooling is None:
        table.add_row("operating point", "none")
    else:
        _cooling_rows(table, cooling, q)
    table.add_section()
    fewest, small = found.fewest, found.smallest
    table.add_row(
        f"{q.inlet.part_number} needed per side",
        str(fewest.count) if fewest.count else "none will do",
    )
    table.add_row(
        f"smallest vent, {q.inlets} per side",
        small.vent.part_number if small.vent else "none will do",
    )
    console.print(table)
    if cooling is not None:
        _shares(found, cooling, console)
        verdict = "holds" if cooling.holds else "DOES NOT HOLD"
        console.print(
            f"Predicted: {cooling.inside_c:.1f} degC inside, limit {cabinet.limit_c:g} degC:"
            f" {verdict}, margin {cooling.margin_k:+.1f} K.",
            highlight=False,
        )
        for warning in cooling.warnings:
            console.print(f"Warning: {warning}.", highlight=False, soft_wrap=True)
    else:
        console.print(f"No operating point: {found.failure}.", highlight=False, soft_wrap=True)
    for sizing in (fewest, small):
        if sizing.reason:
            console.print(f"Sizing: {sizing.reason}.", highlight=False, soft_wrap=True)
    console.print(CAUTION, highlight=False)


def _cooling_rows(table: Table, cooling: Cooling, q: Question) -> None:
    point = cooling.point
    if point is not None:
        assert q.fan is not None
        table.add_row("fan", q.fan.name)
        table.add_row(
            "operating point", f"{point.flow_m3_s * 3600.0:.1f} m3/h at {point.pressure_pa:.1f} Pa"
        )
        table.add_row(
            "over inlet, outlet", " Pa, ".join(f"{p:.1f}" for p in point.drops_pa) + " Pa"
        )
    if cooling.draught_pa:
        table.add_row("draught", f"{cooling.draught_pa:.3f} Pa")
    table.add_row("air flow (outside air)", f"{cooling.flow_m3_s * 3600.0:.1f} m3/h")
    table.add_row(
        "heat by air, by walls", f"{cooling.heat_air_w:.0f} W, {cooling.heat_wall_w:.0f} W"
    )
    table.add_row("rise, inside", f"{cooling.rise_k:.1f} K, {cooling.inside_c:.1f} degC")
    table.add_row("margin to the limit", f"{cooling.margin_k:+.1f} K")


def _shares(found: Answer, cooling: Cooling, console: Console) -> None:
    """Print the pressure drop of both vents term by term."""
    if cooling.mass_kg_s <= 0:
        return
    table = Table(title="Pressure drop, term by term")
    table.add_column("term")
    columns = []
    outside = found.question.cabinet.outside
    for group in found.system.groups:
        air = outside if group.direction == "in" else outside.at(cooling.inside_c)
        loss = group.vent.loss(
            cooling.mass_kg_s / air.density_kg_m3 / group.count, air, group.direction
        )
        way = "in" if group.direction == "in" else "out"
        table.add_column(f"{group.count} x {group.vent.part_number}, {way}", justify="right")
        columns.append(loss)
    names = list(dict.fromkeys(n for loss in columns for n in loss.terms_pa))
    for name in names:
        cells = [
            _share(loss.terms_pa[name][0], loss.drop_pa[0]) if name in loss.terms_pa else ""
            for loss in columns
        ]
        table.add_row(name, *cells)
    table.add_row("total", *(f"{loss.drop_pa[0]:.2f} Pa" for loss in columns), end_section=True)
    table.add_row("velocity between slats", *(f"{loss.gap_m_s[0]:.2f} m/s" for loss in columns))
    table.add_row("passage Reynolds number", *(f"{loss.re[0]:.0f}" for loss in columns))
    table.add_row("share by the drain", *(f"{100 * loss.drain_share[0]:.0f} %" for loss in columns))
    console.print(table)


def _share(part_pa: float, whole_pa: float) -> str:
    return f"{part_pa:.2f} Pa ({100 * part_pa / whole_pa:.0f} %)"

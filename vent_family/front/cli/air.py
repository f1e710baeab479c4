"""``vent-family air``: one question about a cabinet, its answer as data, tables and pictures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from vent_family.base.limits import SUN, WALL_U_DEFAULT
from vent_family.base.problems import Problem
from vent_family.base.sun import ABSORPTANCE
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JsonOption,
    asked,
    print_answer,
    read,
    refuse,
    renamed,
    resolved,
    solving,
    writing,
)
from vent_family.spec.resolved import ResolvedRows

if TYPE_CHECKING:
    from vent_family.evidence.air.answer import Answer
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
    sunlit: Annotated[
        float | None,
        typer.Option("--sunlit", help="Area of the cabinet that the sun sees, m2; none: shade."),
    ] = None,
    colour: Annotated[
        str | None,
        typer.Option(
            "--colour",
            help=f"Colour of the cabinet, with --sunlit: {', '.join(ABSORPTANCE)};"
            " light_grey if blank.",
        ),
    ] = None,
    absorptance: Annotated[
        float | None,
        typer.Option("--absorptance", help="Share of the sun it takes up, in place of a colour."),
    ] = None,
    irradiance: Annotated[
        float | None,
        typer.Option(
            "--irradiance", help=f"Sun on a surface that faces it, W/m2; {SUN.value:g} if blank."
        ),
    ] = None,
    fans: Annotated[int, typer.Option("--fans", help="Fans side by side.")] = 1,
    series: Annotated[int, typer.Option("--fans-in-series", help="Fans one behind the other.")] = 1,
    place: Annotated[
        str | None,
        typer.Option(
            "--fan-position",
            help="intake: fan moves outside air in; outlet: inside air; intake if blank.",
        ),
    ] = None,
    vents: Annotated[int, typer.Option("--vents", help="Vents the air enters by.")] = 1,
    outlet: Annotated[
        str | None, typer.Option("--outlet", help="Part number of the vents the air leaves by.")
    ] = None,
    outlets: Annotated[
        int | None, typer.Option("--outlets", help="How many of them; as many if blank.")
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
    out: Annotated[Path, typer.Option("--out", help="Where the curves go.")] = Path("built/_air"),
    field: Annotated[
        bool, typer.Option("--field", help="Solve and draw the flow between the slats too.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Predict flow and temperature of a cabinet with this vent, and draw the curves."""
    from vent_family.evidence.air.answer import answer
    from vent_family.evidence.air.cabinet import Cabinet, sunlit_of
    from vent_family.evidence.air.fan_files import read_fans
    from vent_family.evidence.air.question import question_of
    from vent_family.front.cli.air_told import show

    rows = ResolvedRows(read(catalog, as_json))
    with asked(as_json):
        sun = sunlit_of(sunlit, colour, absorptance, irradiance)
        cabinet = Cabinet(heat, ambient, limit, altitude, walls, sun)
        group = read_fans(fan, fans, series)
    spec = resolved(rows, part, as_json)
    leave = resolved(rows, outlet, as_json) if outlet else None
    with asked(as_json):
        question = question_of(
            spec,
            cabinet,
            outlet=leave,
            among=rows.specs(family=spec.family, status="released"),
            fan=group,
            place=place,
            inlets=vents,
            outlets=outlets,
            guard_k=guard,
            filter_pa_s_m=filter_loss,
            counter_pa=counter,
            draught_height_m=draught,
        )
        if field and question.mode == "closed":
            refuse(_no_flow(), as_json)
        found = answer(question)
    simpler = "leave --field out; the prediction does not need it"
    with (
        solving(spec.part_number, simpler, as_json),
        writing("the curves", out, "choose another folder with --out", as_json),
    ):
        paths = _draw(found, out, spec, field=field)
    if as_json:
        print_answer("air", found.as_dict() | {"files": [str(p) for p in paths]})
    else:
        show(found, Console())
        Console().print("Curves: " + ", ".join(str(p) for p in paths), soft_wrap=True)
    raise typer.Exit(EXIT_OK if found.holds else EXIT_FAILED)


def _no_flow() -> Problem:
    return Problem(
        "air.field.still",
        "no air moves in a closed cabinet: there is no flow to draw",
        column="field",
        place="option",
        suggestion="leave --field out, or give a fan or a draught",
    )


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

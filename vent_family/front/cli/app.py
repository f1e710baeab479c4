"""Command line: ``vent-family build``, ``check``, ``show`` and one command per kind of evidence."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, NoReturn

import typer
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from vent_family.base.limits import WALL_U_DEFAULT
from vent_family.base.problems import InputError, Problem
from vent_family.base.shop import Shop, demo_shop, read_shop
from vent_family.base.version import VERSION
from vent_family.catalog.reader import CatalogFile, SourcedRow, read_catalog
from vent_family.release.library import (
    Job,
    RowOutcome,
    build_time,
    check_rows,
    located,
    plan,
    run_jobs,
    withdraw,
    write_index,
)
from vent_family.spec.vent import VentSpec

if TYPE_CHECKING:
    from vent_family.evidence.water.report import WaterReport

EXIT_OK = 0
EXIT_FAILED = 1
EXIT_UNREADABLE = 2
EXIT_INTERRUPTED = 130

app = typer.Typer(
    name="vent-family",
    help="Build and check a catalogue of 3D-printed vent inserts.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

CatalogOption = Annotated[
    Path, typer.Option("--catalog", "-c", help="The catalogue, a CSV file.", show_default=True)
]
OnlyOption = Annotated[
    list[str] | None,
    typer.Option("--only", "-o", help="Part numbers to take, with * and ?; may be repeated."),
]
ShopOption = Annotated[
    Path | None,
    typer.Option("--shop", help="Your table of rates, TOML; the demo rates are invented."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for machines.")]


def _version(value: bool) -> None:
    if value:
        print(f"vent-family {VERSION}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Build and check a catalogue of 3D-printed vent inserts."""


@app.command()
def check(
    catalog: CatalogOption = Path("catalog.csv"),
    only: OnlyOption = None,
    water: Annotated[
        bool, typer.Option("--water", help="Also predict each row's behaviour in water.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Validate the catalogue, rules between columns included, without building geometry.

    What --water predicts is told, not judged: it does not change the exit code.
    """
    file = _read(catalog, as_json)
    file = replace(file, rows=tuple(_selected(file, only, as_json)))
    problems = check_rows(file)
    reports = _water_reports(file, problems) if water else []
    if as_json:
        data: dict[str, Any] = {
            "rows": len(file.rows),
            "problems": [p.as_dict() for p in problems],
        }
        if water:
            data["water"] = [{"part_number": r.part_number} | r.as_dict() for r in reports]
        _print_json(data)
    else:
        for report in reports:
            for sentence in report.sentences() or ["not checked: the row says dry"]:
                Console(soft_wrap=True).print(f"{report.part_number}: {sentence}", highlight=False)
        _print_problems(problems)
        console = Console(stderr=bool(problems))
        rows = f"{len(file.rows)} readable rows"
        console.print(f"{rows}, {len(problems)} problems." if problems else f"{rows}, no problems.")
    raise typer.Exit(EXIT_FAILED if problems else EXIT_OK)


@app.command()
def build(
    catalog: CatalogOption = Path("catalog.csv"),
    out: Annotated[Path, typer.Option("--out", help="Where the files go.")] = Path("exports"),
    only: OnlyOption = None,
    jobs: Annotated[
        int | None,
        typer.Option("--jobs", "-j", min=1, max=64, help="Processes; all cores if blank."),
    ] = None,
    drafts: Annotated[
        bool, typer.Option("--drafts", help="Write files of draft rows too, in _drafts/.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Build every row: check it, and publish the files of released rows."""
    file = _read(catalog, as_json)
    rows = _selected(file, only, as_json)
    _prepare(out, as_json)
    stamp = build_time()
    work = plan(file, rows, out, drafts=drafts, stamp=stamp)
    workers = min(jobs or os.cpu_count() or 1, max(1, len(work)))
    advice = "choose another folder with --out, or free the disk"
    try:
        with _writing("the export folder", out, advice, as_json):
            outcomes = withdraw(rows, out) + _run(work, workers, quiet=as_json)
            write_index(out, [s.row for s in file.rows], outcomes, stamp)
    except KeyboardInterrupt:
        text = "interrupted: finished parts were kept, no file is half-written; build again"
        Console(stderr=True).print(text)
        raise typer.Exit(EXIT_INTERRUPTED) from None
    outcomes.sort(key=lambda o: o.row_number)
    failed = [o for o in outcomes if o.outcome == "failed"]
    if as_json:
        _print_json(
            {
                "time_stamp": stamp.isoformat(timespec="seconds"),
                "parts": [o.as_dict() for o in outcomes],
                "problems": [p.as_dict() for p in file.problems],
            }
        )
    else:
        Console().print(_table(outcomes))
        for o in outcomes:
            if o.outcome == "written" and o.message:
                print(f"{o.part_number}: {o.message}")
        _print_problems([*file.problems, *(p for o in failed for p in o.problems)])
    raise typer.Exit(EXIT_FAILED if failed or file.problems else EXIT_OK)


@app.command()
def show(
    part: Annotated[str, typer.Argument(help="Part number.")],
    catalog: CatalogOption = Path("catalog.csv"),
    as_json: JsonOption = False,
) -> None:
    """Show what a row resolves to: stack, margins, opening; or why it cannot be built."""
    from vent_family.spec.summary import summary

    spec = _resolved(_read(catalog, as_json), part, as_json)
    facts = summary(spec)
    if as_json:
        _print_json(facts)
        return
    table = Table(title=f"{spec.part_number}  {spec.description}", show_header=False)
    table.add_column("what")
    table.add_column("value")
    for key, value in facts.items():
        table.add_row(key, f"{value:.2f}" if isinstance(value, float) else str(value))
    Console().print(table)


@app.command("print")
def print_part(
    part: Annotated[str, typer.Argument(help="Part number.")],
    catalog: CatalogOption = Path("catalog.csv"),
    shop: ShopOption = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", help="Write the picture of bridges here, a PNG.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Will it print, hold and pay: bridges, overhangs, walls, orientations, strength, cost."""
    from vent_family.evidence.result import passed
    from vent_family.release.printing import write_print_picture
    from vent_family.release.prints import markdown, printed_part

    file = _read(catalog, as_json)
    source = _one(file, part, as_json)
    rates = _rates(shop, as_json)
    with _told(as_json, file, source):
        spec, found = printed_part(source.row, rates, str(shop) if shop else None)
    verdicts = (*found.checks, *found.advice)
    if picture is not None:
        with _writing("the file", picture, "choose another place", as_json):
            write_print_picture(picture, spec, found.report)
    if as_json:
        _print_json(
            {
                "part_number": spec.part_number,
                "printing": found.record.model_dump(mode="json"),
                "checks": [c.as_dict() for c in verdicts],
            }
        )
    else:
        from rich.markdown import Markdown

        Console().print(Markdown(markdown(spec, found)))
    raise typer.Exit(EXIT_OK if passed(verdicts) else EXIT_FAILED)


@app.command()
def cost(
    catalog: CatalogOption = Path("catalog.csv"),
    only: OnlyOption = None,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Print time, plate, price at 1 to 10,000 parts and break-even of every row."""
    from vent_family.release.prints import cost_row

    file = _read(catalog, as_json)
    rates = _rates(shop, as_json)
    rows = [s for s in _selected(file, only, as_json) if s.row.status != "retired"]
    table, problems = [], list(file.problems)
    for source in rows:
        try:
            table.append(cost_row(source.row, rates))
        except InputError as error:
            problems += located(error.problems, file.path_name, source.row_number)
    if as_json:
        _print_json({"parts": table, "problems": [p.as_dict() for p in problems]})
    else:
        # Plain and tight: every number must be whole on a terminal of 80 columns.
        title = f"Price per part, {rates.currency}"
        shown = Table(title=title, box=SIMPLE_HEAD, pad_edge=False, padding=(0, 0))
        for name in table[0] if table else ():
            justify: Literal["left", "right"] = "left" if name == "part" else "right"
            shown.add_column(name, justify=justify, no_wrap=name == "part")
        for line in table:
            shown.add_row(*(_short(v) for v in line.values()))
        Console().print(shown)
        _print_problems(problems)
    raise typer.Exit(EXIT_FAILED if problems else EXIT_OK)


@app.command()
def water(
    part: Annotated[str, typer.Argument(help="Part number.")],
    catalog: CatalogOption = Path("catalog.csv"),
    exposure: Annotated[
        str | None, typer.Option("--exposure", "-e", help="Water, in place of the row's.")
    ] = None,
    face_velocity: Annotated[
        float | None, typer.Option("--face-velocity", help="m/s over the open face.")
    ] = None,
    depression: Annotated[
        float | None, typer.Option("--depression", help="Pa inside below outside.")
    ] = None,
    tilt: Annotated[
        float | None, typer.Option("--tilt", help="Degrees, positive: face looks up.")
    ] = None,
    pictures: Annotated[
        Path | None, typer.Option("--pictures", help="Folder for pictures (SVG and PNG).")
    ] = None,
    solved_air: Annotated[
        bool, typer.Option("--solved-air", help="Drops fly in the solved flow, wakes included.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Predict whether water gets in: straight paths, drops, splash and drainage of one row."""
    from vent_family.front.cli import water as cli_water

    file = _read(catalog, as_json)
    source = _one(file, part, as_json)
    simpler = "leave --solved-air out: potential flow always works"
    place = pictures or Path()
    with (
        _told(as_json, file, source),
        _solving(source.row.part_number, simpler, as_json),
        _writing("the pictures", place, "choose another folder with --pictures", as_json),
    ):
        conditions = cli_water.chosen_conditions(
            source, file.path_name, exposure, face_velocity, depression, tilt
        )
        report = cli_water.water_report(source, conditions, pictures, solved=solved_air)
    if as_json:
        print(cli_water.as_json(report))
    else:
        cli_water.print_report(report, Console())


@app.command()
def air(
    part: Annotated[str, typer.Argument(help="Part number of the vent the air enters by.")],
    heat: Annotated[float, typer.Option("--heat", help="Heat lost inside the cabinet, W.")],
    limit: Annotated[float, typer.Option("--limit", help="Highest air temperature inside, degC.")],
    fan: Annotated[Path | None, typer.Option("--fan", help="Fan curve, CSV.")] = None,
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
    series: Annotated[int, typer.Option("--series", help="Fans one behind the other.")] = 1,
    place: Annotated[
        str, typer.Option("--place", help="intake: fan moves outside air in; outlet: inside air.")
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
        float, typer.Option("--counter", help="Pressure against the fan, such as wind, Pa.")
    ] = 0.0,
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
    from vent_family.front.cli import air as cli_air

    file = _read(catalog, as_json)
    with _told(as_json):
        cabinet = Cabinet(heat, ambient, limit, altitude, walls)
        _ = cabinet.outside
        group = cli_air.read_fans(fan, fans, series) if fan else None
        extras = cli_air.extras_of(guard, filter_loss)
        place_word = cli_air.place_of(place, group is not None, draught)
    spec = _resolved(file, part, as_json)
    inlet = cli_air.vent_of(spec, extras)
    leave = cli_air.vent_of(_resolved(file, outlet, as_json)) if outlet else None
    with _told(as_json):
        found = cli_air.answer(
            cli_air.Question(
                inlet=inlet,
                outlet=leave or cli_air.vent_of(spec),
                candidates=cli_air.candidates([s.row for s in file.rows], spec.family, extras),
                cabinet=cabinet,
                fan=group,
                place=place_word,
                inlets=vents,
                outlets=outlets or vents,
                counter_pa=counter,
                draught_height_m=draught,
            )
        )
    simpler = "leave --field out; the prediction does not need it"
    with (
        _solving(spec.part_number, simpler, as_json),
        _writing("the curves", out, "choose another folder with --out", as_json),
    ):
        paths = cli_air.draw(found, out, spec, field=field)
    if as_json:
        _print_json(cli_air.as_data(found) | {"files": [str(p) for p in paths]})
    else:
        cli_air.show(found, Console())
        Console().print("Curves: " + ", ".join(str(p) for p in paths), soft_wrap=True)
    held = found.cooling is not None and found.cooling.holds
    raise typer.Exit(EXIT_OK if held else EXIT_FAILED)


@app.command()
def columns() -> None:
    """Print every catalogue column with its unit, families and allowed values (Markdown)."""
    from vent_family.catalog.reference import column_reference

    print(column_reference())


@app.command()
def schema() -> None:
    """Print the JSON schema of the part records."""
    from vent_family.release.record import PartRecord

    _print_json(PartRecord.model_json_schema())


def _water_reports(file: CatalogFile, problems: list[Problem]) -> list[WaterReport]:
    """Return the water reports of all rows without problems that are not retired."""
    from vent_family.evidence.water.conditions import conditions_of
    from vent_family.front.cli.water import water_report

    bad = {p.row for p in problems}
    return [
        water_report(source, conditions_of(source.row))
        for source in file.rows
        if source.row_number not in bad and source.row.status != "retired"
    ]


@contextmanager
def _told(
    as_json: bool, file: CatalogFile | None = None, source: SourcedRow | None = None
) -> Iterator[None]:
    """Tell the problems of an input and end; with a row, the problems are placed in it."""
    try:
        yield
    except InputError as error:
        if file is None or source is None:
            _refuse(list(error.problems), as_json)
        problems = located(error.problems, file.path_name, source.row_number)
        _refuse(problems, as_json, code=EXIT_FAILED)


@contextmanager
def _writing(what: str, place: Path, suggestion: str, as_json: bool) -> Iterator[None]:
    """Say why something cannot be written, and end."""
    try:
        yield
    except OSError as error:
        message = f"{what} cannot be written: {error.strerror or error}"
        _refuse(Problem(message, file=str(place), suggestion=suggestion), as_json)


@contextmanager
def _solving(part_number: str, suggestion: str, as_json: bool) -> Iterator[None]:
    """Say that a flow could not be solved, and end."""
    try:
        yield
    except FloatingPointError as error:
        message = f"the flow between the slats could not be solved: {error}"
        problem = Problem(message, part_number=part_number, suggestion=suggestion)
        _refuse(problem, as_json, code=EXIT_FAILED)


def _read(path: Path, as_json: bool) -> CatalogFile:
    with _told(as_json):
        return read_catalog(path)


def _rates(path: Path | None, as_json: bool) -> Shop:
    """Return the rates of a file, the demo rates without one."""
    with _told(as_json):
        return demo_shop() if path is None else read_shop(path)


def _selected(file: CatalogFile, patterns: list[str] | None, as_json: bool) -> list[SourcedRow]:
    """Return the rows whose part number matches a pattern; a pattern must match something."""
    if not patterns:
        return list(file.rows)
    numbers = [s.row.part_number for s in file.rows]
    for pattern in patterns:
        if not any(fnmatchcase(n.lower(), pattern.lower()) for n in numbers):
            _refuse(_no_match(file, pattern), as_json)
    return [
        s
        for s in file.rows
        if any(fnmatchcase(s.row.part_number.lower(), p.lower()) for p in patterns)
    ]


def _one(file: CatalogFile, part: str, as_json: bool) -> SourcedRow:
    for source in file.rows:
        if source.row.part_number.lower() == part.lower():
            return source
    _refuse(_no_match(file, part), as_json)


def _resolved(file: CatalogFile, part: str, as_json: bool) -> VentSpec:
    """Return the resolved row of a part number, or say why there is none and end."""
    from vent_family.spec.resolve import resolve

    source = _one(file, part, as_json)
    with _told(as_json, file, source):
        return resolve(source.row)


def _no_match(file: CatalogFile, pattern: str) -> list[Problem]:
    """Return why a part number finds nothing: the row's own problems, or near misses."""
    from difflib import get_close_matches

    own = [p for p in file.problems if p.part_number.lower() == pattern.lower()]
    if own:
        return own
    near = get_close_matches(pattern, [s.row.part_number for s in file.rows], 3, 0.5)
    return [
        Problem(
            "no row has this part number",
            file=file.path_name,
            column="part_number",
            value=pattern,
            suggestion=f"did you mean {', '.join(near)}?" if near else "check the catalogue",
        )
    ]


def _prepare(out: Path, as_json: bool) -> None:
    """Make the export folder and clear what a killed run left in it."""
    from vent_family.base.atomic import recover
    from vent_family.release.library import DRAFTS

    try:
        out.mkdir(parents=True, exist_ok=True)
        recover(out)
        recover(out / DRAFTS)
    except OSError as error:
        _refuse(
            Problem(
                f"the export folder cannot be used: {error.strerror or error}",
                file=str(out),
                suggestion="choose another folder with --out",
            ),
            as_json,
        )


def _run(work: list[Job], workers: int, *, quiet: bool) -> list[RowOutcome]:
    """Run the jobs with a progress bar on the terminal."""
    if quiet:
        return run_jobs(work, workers, lambda outcome: None)
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        console=Console(stderr=True),
    ) as progress:
        task = progress.add_task("building", total=len(work))

        def on_done(outcome: RowOutcome) -> None:
            word = "FAILED" if outcome.outcome == "failed" else outcome.outcome
            progress.console.print(f"{outcome.part_number}: {word}", highlight=False)
            progress.advance(task)

        return run_jobs(work, workers, on_done)


def _table(outcomes: list[RowOutcome]) -> Table:
    """Return the closing table of a build."""
    table = Table(title="Catalogue build", caption="area: smallest open area, and where it is")
    for name in ("row", "part", "result"):
        table.add_column(name, no_wrap=True)
    table.add_column("area mm2", justify="right")
    table.add_column("at", no_wrap=True)
    for name in ("margin mm", "mass g", "kB", "s"):
        table.add_column(name, justify="right")
    for o in outcomes:
        facts = o.facts or {}
        table.add_row(
            str(o.row_number),
            o.part_number,
            o.outcome.upper() if o.outcome == "failed" else o.outcome,
            _cell(facts.get("smallest_open_area_mm2"), 0),
            facts.get("smallest_open_area", ""),
            _cell(facts.get("sight_margin_mm"), 2),
            _cell(facts.get("mass_g"), 1),
            f"{sum(b for _, b in o.files) / 1000:.0f}" if o.files else "",
            f"{o.seconds:.1f}" if o.seconds else "",
        )
    return table


def _short(value: str | int | float | None) -> str:
    """Return a number with three or four digits, other things as they are."""
    if isinstance(value, float):
        return f"{value:.2f}" if value < 10.0 else f"{value:.1f}"
    return "" if value is None else str(value)


def _cell(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"


def _print_problems(problems: list[Problem]) -> None:
    console = Console(stderr=True, soft_wrap=True)
    for problem in problems:
        console.print(problem.sentence(), markup=False, highlight=False)


def _refuse(
    problems: Problem | list[Problem], as_json: bool, code: int = EXIT_UNREADABLE
) -> NoReturn:
    """Say what is wrong and end with a non-zero exit code."""
    found = [problems] if isinstance(problems, Problem) else problems
    if as_json:
        _print_json({"problems": [p.as_dict() for p in found]})
    else:
        _print_problems(found)
    raise typer.Exit(code)


def _print_json(data: dict[str, Any]) -> None:
    print(json.dumps(data, indent=2, ensure_ascii=False))


def main() -> None:
    """Run the command line."""
    app()


if __name__ == "__main__":
    main()

"""``vent-family print-check`` and ``cost``: what comes off the printer, and what it costs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from vent_family.base.problems import InputError
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JsonOption,
    OnlyOption,
    ShopOption,
    one,
    print_json,
    print_problems,
    rates,
    read,
    resolved,
    selected,
    writing,
)
from vent_family.spec.resolved import ResolvedRows


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
    from vent_family.base.atomic import write_bytes
    from vent_family.evidence.context import PartContext
    from vent_family.evidence.printing.kind import PRINTING
    from vent_family.evidence.result import passed
    from vent_family.release.record import section_of
    from vent_family.release.report import report_checks, report_text

    rows = ResolvedRows(read(catalog, as_json))
    one(rows.file, part, as_json)
    own = rates(shop, as_json)
    spec = resolved(rows, part, as_json)
    context = PartContext(spec, own)
    verdicts = report_checks(context)
    if picture is not None:
        with writing("the file", picture, "choose another place", as_json):
            write_bytes(picture, PRINTING.scene(context).png())
    if as_json:
        print_json(
            {
                "part_number": spec.part_number,
                "shop": own.as_dict(),
                "printing": section_of(context, "printing").model_dump(mode="json"),
                "checks": [c.as_dict() for c in verdicts],
            }
        )
    else:
        from rich.markdown import Markdown

        Console().print(Markdown(report_text(context, section=PRINTING.section)))
    raise typer.Exit(EXIT_OK if passed(verdicts) else EXIT_FAILED)


def cost(
    catalog: CatalogOption = Path("catalog.csv"),
    only: OnlyOption = None,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Print time, plate, price at 1 to 10,000 parts and break-even of every row."""
    from vent_family.base.shop import design_problems
    from vent_family.evidence.context import PartContext
    from vent_family.evidence.cost.kind import cost_line_of

    file = read(catalog, as_json)
    own = rates(shop, as_json)
    rows = ResolvedRows(file)
    table, problems = [], [*file.problems, *design_problems(own.shop, str(shop or "shop.toml"))]
    for source in selected(file, only, as_json):
        if source.row.status == "retired":
            continue
        try:
            context = PartContext(rows.spec(source), own)
            table.append(cost_line_of(context))
        except InputError as error:
            problems += error.problems
    if as_json:
        lines = [line.as_dict() for line in table]
        print_json({"parts": lines, "problems": [p.as_dict() for p in problems]})
    else:
        # Plain and tight: every number must be whole on a terminal of 80 columns.
        title = f"Price per part, {own.shop.currency}"
        shown = Table(title=title, box=SIMPLE_HEAD, pad_edge=False, padding=(0, 0))
        for name in table[0].as_dict() if table else ():
            justify: Literal["left", "right"] = "left" if name == "part" else "right"
            shown.add_column(name, justify=justify, no_wrap=name == "part")
        for line in table:
            shown.add_row(*(_short(v) for v in line.as_dict().values()))
        Console().print(shown)
        print_problems(problems)
    raise typer.Exit(EXIT_FAILED if problems else EXIT_OK)


def _short(value: str | int | float | None) -> str:
    """Return a number with three or four digits, other things as they are."""
    if isinstance(value, float):
        return f"{value:.2f}" if value < 10.0 else f"{value:.1f}"
    return "" if value is None else str(value)

"""``vent-family show``, ``columns``, ``codes``, ``schema``: what is known, nothing computed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from vent_family.base.problems import Problem
from vent_family.front.answers import RECORD, schema_named, schema_names
from vent_family.front.cli.common import (
    CatalogOption,
    JsonOption,
    ShopOption,
    print_answer,
    print_json,
    read,
    refuse,
    resolved,
)
from vent_family.spec.resolved import ResolvedRows


def show(
    part: Annotated[str, typer.Argument(help="Part number.")],
    catalog: CatalogOption = Path("catalog.csv"),
    view: Annotated[
        bool, typer.Option("--view", help="Show the part in the viewer that runs.")
    ] = False,
    picture: Annotated[
        Path | None, typer.Option("--picture", help="Draw the same as a picture here, a PNG.")
    ] = None,
    section: Annotated[bool, typer.Option("--section", help="Cut it open in a bay.")] = False,
    assembly: Annotated[
        bool, typer.Option("--assembly", help="With panel, gasket, locknut, screen and fan.")
    ] = False,
    evidence: Annotated[
        bool,
        typer.Option(
            "--evidence", help="With sight line, water, bridges and weak places as curves."
        ),
    ] = False,
    watch: Annotated[
        bool, typer.Option("--watch", help="Draw it again whenever the catalogue is saved.")
    ] = False,
    port: Annotated[
        int | None,
        typer.Option("--port", min=1, max=65535, help="Where the viewer listens, if several run."),
    ] = None,
    shop: ShopOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what a row resolves to: stack, margins, opening; or why it cannot be built."""
    from vent_family.front.cli import view as drawn
    from vent_family.spec.summary import summary

    asked = drawn.ViewAsked(view, picture, section, assembly, evidence, watch, port, shop)
    problem = asked.problem(as_json)
    if problem is not None:
        refuse(problem, as_json)
    if watch:
        drawn.watch(asked, catalog, part)
    spec = resolved(ResolvedRows(read(catalog, as_json)), part, as_json)
    facts = summary(spec)
    if as_json:
        if asked.anything:
            drawn.draw_once(asked, spec, as_json)
        told = {"part_number": spec.part_number, "description": spec.description}
        print_answer("show", told | {"facts": facts})
        return
    table = Table(title=Text(f"{spec.part_number}  {spec.description}"), show_header=False)
    table.add_column("what")
    table.add_column("value")
    for key, value in facts.items():
        table.add_row(key, Text(f"{value:.2f}" if isinstance(value, float) else str(value)))
    Console().print(table)
    if asked.anything:
        drawn.draw_once(asked, spec, as_json)


def columns(as_json: JsonOption = False) -> None:
    """Print every catalogue column with its unit, families and allowed values (Markdown)."""
    from vent_family.catalog.reference import (
        OWN_COLUMNS,
        column_reference,
        told_columns,
        told_own_columns,
    )

    if as_json:
        print_answer("columns", {"columns": told_columns(), "own": told_own_columns()})
    else:
        print(column_reference())
        print(OWN_COLUMNS)


def codes(as_json: JsonOption = False) -> None:
    """Print the code of every problem with its meaning (Markdown)."""
    from vent_family.base.codes import CODES

    if as_json:
        told = [{"code": code, "meaning": meaning} for code, meaning in CODES.items()]
        print_answer("codes", {"codes": told})
        return
    print("| Code | Meaning |\n| --- | --- |")
    for code, meaning in CODES.items():
        print(f"| `{code}` | {meaning} |")


def schema(
    name: Annotated[
        str, typer.Argument(help="An answer, as check or build; part: the record of a part.")
    ] = RECORD,
    as_json: JsonOption = False,
) -> None:
    """Print the JSON schema of a part's record, or of what a command answers with --json."""
    names = schema_names()
    if name not in names:
        problem = Problem(
            "schema.unknown",
            "there is no schema of this name",
            column="name",
            value=name,
            allowed=", ".join(names),
            place="option",
        )
        refuse(problem, as_json)
    print_json(schema_named(name))

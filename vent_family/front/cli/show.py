"""``vent-family show``, ``columns``, ``codes``, ``schema``: what is known, nothing computed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from vent_family.front.cli.common import CatalogOption, JsonOption, print_json, read, resolved
from vent_family.spec.resolved import ResolvedRows


def show(
    part: Annotated[str, typer.Argument(help="Part number.")],
    catalog: CatalogOption = Path("catalog.csv"),
    as_json: JsonOption = False,
) -> None:
    """Show what a row resolves to: stack, margins, opening; or why it cannot be built."""
    from vent_family.spec.summary import summary

    spec = resolved(ResolvedRows(read(catalog, as_json)), part, as_json)
    facts = summary(spec)
    if as_json:
        print_json(facts)
        return
    table = Table(title=Text(f"{spec.part_number}  {spec.description}"), show_header=False)
    table.add_column("what")
    table.add_column("value")
    for key, value in facts.items():
        table.add_row(key, Text(f"{value:.2f}" if isinstance(value, float) else str(value)))
    Console().print(table)


def columns() -> None:
    """Print every catalogue column with its unit, families and allowed values (Markdown)."""
    from vent_family.catalog.reference import column_reference

    print(column_reference())


def codes() -> None:
    """Print the code of every problem with its meaning (Markdown)."""
    from vent_family.base.codes import CODES

    print("| Code | Meaning |\n| --- | --- |")
    for code, meaning in CODES.items():
        print(f"| `{code}` | {meaning} |")


def schema() -> None:
    """Print the JSON schema of the part records."""
    from vent_family.release.record import record_type

    print_json(record_type().model_json_schema())

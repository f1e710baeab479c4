"""``vent-family print-check``: what comes off the printer."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JsonOption,
    ShopOption,
    one,
    print_answer,
    rates,
    read,
    resolved,
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
    verdicts = report_checks(context, PRINTING.section)
    if picture is not None:
        with writing("the file", picture, "choose another place", as_json):
            write_bytes(picture, PRINTING.scene(context).png())
    if as_json:
        print_answer(
            "print-check",
            {
                "part_number": spec.part_number,
                "shop": own.as_dict(),
                "printing": section_of(context, PRINTING.section).model_dump(mode="json"),
                "checks": [c.as_dict() for c in verdicts],
            },
        )
    else:
        from rich.markdown import Markdown

        Console().print(Markdown(report_text(context, section=PRINTING.section)))
    raise typer.Exit(EXIT_OK if passed(verdicts) else EXIT_FAILED)

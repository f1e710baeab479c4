"""``vent-family sweep``: one requirement with entries varied, as a table of what would do each."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.columns import decimal
from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_INTERRUPTED,
    EXIT_OK,
    CatalogOption,
    JobsOption,
    JsonOption,
    ShopOption,
    interrupted,
    print_answer,
    progress,
    rates,
    read,
    told,
    writing,
)

if TYPE_CHECKING:
    from vent_family.proposing.sweep import SweptRequirement


def sweep_requirement(
    requirement: Annotated[Path, typer.Argument(help="What the vent must do, TOML.")],
    vary: Annotated[
        list[str],
        typer.Option(
            "--vary",
            help="Entry and values: cabinet.heat_w=50:250:50 (first:last:step) or"
            " opening.size=80x60,100x80; may be repeated.",
        ),
    ],
    catalog: CatalogOption = Path("catalog.csv"),
    shop: ShopOption = None,
    jobs: JobsOption = None,
    scheduler: Annotated[
        str | None,
        typer.Option("--scheduler", help="Search on a Dask scheduler's workers: its address."),
    ] = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="Try fewer rows for each, for a first look.")
    ] = False,
    seed: Annotated[int, typer.Option("--seed", min=0, help="From which all chance follows.")] = 1,
    out: Annotated[Path | None, typer.Option("--out", help="A CSV file for the table.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Search for a requirement with every pairing of some entries' values; no solid is built."""
    from vent_family.proposing.answer import QUICK
    from vent_family.proposing.requirement import read_requirement
    from vent_family.proposing.run import USUAL
    from vent_family.proposing.sweep import swept_all, variations

    own = rates(shop, as_json)
    with told(as_json):
        varied = dict(map(_varied, vary))
        asked = read_requirement(requirement)
    file = read(catalog, as_json)
    rows = [s.row for s in file.rows if s.row.status != "retired"]
    with told(as_json):
        wanted = variations(
            asked,
            varied,
            folder=catalog.parent,
            rates=own,
            rows=rows,
            depth=QUICK if quick else USUAL,
            seed=seed,
        )
        workers = min(jobs or os.cpu_count() or 1, len(wanted))
        found: list[SweptRequirement] = []
        broken_off = False
        try:
            with progress("searching", len(wanted), transient=True) as (_, advance):

                def one_more(one: SweptRequirement) -> None:
                    found.append(one)
                    advance()

                found[:] = swept_all(wanted, workers=workers, scheduler=scheduler, told=one_more)
        except KeyboardInterrupt:
            broken_off = True
    if not found:
        interrupted("no table was written", as_json)
    # Broken off, they stand as they came.
    places = {one.values: i for i, one in enumerate(wanted)}
    found.sort(key=lambda one: places[one.values])
    if out is not None:
        with writing("the table", out, "choose another file with --out", as_json):
            write_bytes(out, sweep_csv(found).encode())
    if as_json:
        data = {
            "currency": own.shop.currency,
            "swept": [one.as_dict() for one in found],
            "interrupted": broken_off,
        }
        print_answer("sweep", data)
    else:
        Console().print(_table(found, own.shop.currency))
        if broken_off:
            Console().print(f"Interrupted: {len(found)} of {len(wanted)} were searched.")
    if broken_off:
        raise typer.Exit(EXIT_INTERRUPTED)
    raise typer.Exit(EXIT_OK if all(one.best for one in found) else EXIT_FAILED)


def _varied(text: str) -> tuple[str, list[Any]]:
    """Return an entry and its values, as ``--vary`` states them.

    Raises
    ------
    InputError
        where it states none

    Examples
    --------
    >>> _varied("cabinet.heat_w=50:150:50"), _varied("opening.size=80x60,100x80")
    (('cabinet.heat_w', [50, 100, 150]), ('opening.size', ['80x60', '100x80']))
    """
    entry, equals, values = text.partition("=")
    given = [value.strip() for value in values.split(",") if value.strip()]
    if not entry.strip() or not equals or not given:
        raise InputError([_unread(text)])
    found: list[Any] = []
    for value in given:
        parts = value.split(":")
        if len(parts) == 1:
            found.append(_value(value))
            continue
        numbers = [_value(part) for part in parts]
        if len(parts) != 3 or any(isinstance(n, str) for n in numbers):
            raise InputError([_unread(text)])
        first, last, step = numbers
        if step <= 0 or last < first:
            raise InputError([_unread(text)])
        count = int((last - first) / step + 1e-9)
        found += [_value(f"{first + step * i:.10g}") for i in range(count + 1)]
    return entry.strip(), found


def _value(text: str) -> Any:
    """Return a number where a text is one."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def _unread(text: str) -> Problem:
    return Problem(
        "requirement.sweep.unread",
        "it says not which entry takes which values",
        column="--vary",
        place="option",
        value=text,
        allowed="ENTRY=value,value or ENTRY=first:last:step, as cabinet.heat_w=50:250:50",
        suggestion="correct it",
    )


def _told(one: SweptRequirement) -> list[str]:
    """Return the figures of the cheapest row as cells; blank where there is none."""
    from vent_family.proposing.search import AIMS

    if "cheapest" not in one.best:
        return [""] * len(AIMS)
    aims, _ = one.best["cheapest"]
    return [f"{aims[0]:.2f}", *(f"{value:.3g}" for value in aims[1:])]


def sweep_csv(found: Sequence[SweptRequirement]) -> str:
    """Return a sweep as CSV: entries, figures of the cheapest row, and its cells."""
    from vent_family.proposing.search import AIMS

    columns = list(dict.fromkeys(c for one in found for c in _cells(one)))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    entries = [name for name, _ in found[0].values] if found else []
    writer.writerow([*entries, *AIMS, *columns, "problem"])
    for one in found:
        cells = _cells(one)
        values = [decimal(v) if isinstance(v, float) else v for _, v in one.values]
        why = one.problem or ("" if one.best else "nothing that was tried does it")
        writer.writerow([*values, *_told(one), *(cells.get(c, "") for c in columns), why])
    return out.getvalue()


def _cells(one: SweptRequirement) -> dict[str, str]:
    if "cheapest" not in one.best:
        return {}
    cells = dict(one.best["cheapest"][1])
    return {n: v for n, v in cells.items() if n not in ("part_number", "status")}


def _table(found: Sequence[SweptRequirement], currency: str) -> Table:
    shown = Table(
        title="Cheapest row for each",
        caption="predicted, no solid built: propose the one you want before it is drawn",
        box=SIMPLE_HEAD,
        pad_edge=False,
        padding=(0, 1),
    )
    for name, _ in found[0].values if found else ():
        shown.add_column(name.rpartition(".")[2], justify="right")
    for name in (currency, "warmer, K", "deep, mm", "passes, mL"):
        shown.add_column(name, justify="right")
    shown.add_column("form, banks, opening")
    for one in found:
        cells = _cells(one)
        words = ", ".join(
            cells[n] for n in ("slat_form", "bank_count", "family", "size") if n in cells
        )
        shown.add_row(
            *(str(v) for _, v in one.values),
            *_told(one),
            words or one.problem or "nothing that was tried does it",
        )
    return shown

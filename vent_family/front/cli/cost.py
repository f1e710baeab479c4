"""``vent-family cost``: prices, days and what limits them, and the other ways to make a part."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from vent_family.front.cli.common import (
    EXIT_FAILED,
    EXIT_OK,
    CatalogOption,
    JobsOption,
    JsonOption,
    OnlyOption,
    ShopOption,
    interrupted,
    one,
    print_answer,
    print_problems,
    progress,
    rates,
    read,
    selected,
    writing,
)
from vent_family.release.costs import CostJob, CostOutcome, cost_row, lost_cost
from vent_family.release.pool import side_by_side

if TYPE_CHECKING:
    from vent_family.evidence.ways.answer import CostAnswer


def cost(
    part: Annotated[
        str | None, typer.Argument(help="Part number, for all about one; blank: a table.")
    ] = None,
    catalog: CatalogOption = Path("catalog.csv"),
    only: OnlyOption = None,
    shop: ShopOption = None,
    jobs: JobsOption = None,
    pictures: Annotated[
        Path | None, typer.Option("--pictures", help="Folder for pictures (SVG and PNG).")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Price and days in orders of 1 to 10,000, both ways to print, moulding and cut plates."""
    from vent_family.base.shop import design_problems

    file = read(catalog, as_json)
    rows = selected(file, only, as_json) if part is None else [one(file, part, as_json)]
    own = rates(shop, as_json)
    folder = None if pictures is None else str(pictures)
    work = [
        CostJob(source, file.path_name, own, folder)
        for source in rows
        if part is not None or source.row.status != "retired"
    ]
    workers = min(jobs or os.cpu_count() or 1, max(1, len(work)))
    advice = "choose another folder with --pictures"
    try:
        with writing("the pictures", pictures or Path(), advice, as_json):
            if pictures is not None:
                pictures.mkdir(parents=True, exist_ok=True)
            outcomes = _run(work, workers)
    except KeyboardInterrupt:
        interrupted("nothing was priced", as_json)
    answers = [o.answer for o in outcomes if o.answer is not None]
    problems = [p for o in outcomes for p in o.problems]
    problems += design_problems(own.shop, str(shop or "shop.toml"))
    if part is None:
        problems = [*file.problems, *problems]
    if as_json:
        told = [a.model_dump(mode="json") for a in answers]
        print_answer(
            "cost",
            {
                "shop": own.as_dict(),
                "parts": told,
                "problems": [p.as_dict() for p in problems],
            },
        )
    else:
        if part is None:
            Console().print(_table(answers, own.shop.currency))
        for answer in answers if part is not None else ():
            _print(answer, own.source, Console())
        print_problems(problems)
    raise typer.Exit(EXIT_FAILED if problems else EXIT_OK)


def _run(work: list[CostJob], workers: int) -> list[CostOutcome]:
    """Price all rows, with a progress bar where somebody looks on."""
    if not Console(stderr=True).is_terminal:
        return side_by_side(work, workers, lambda _: None, cost_row, lost_cost)
    with progress("pricing", len(work), transient=True) as (_, advance):
        return side_by_side(work, workers, lambda _: advance(), cost_row, lost_cost)


def _table(answers: list[CostAnswer], currency: str) -> Table:
    """Return one line per part; plain and tight, every number whole on 80 columns."""
    shown = Table(
        title=f"Price per part, {currency}",
        caption="tool and cut plates: compared at cost, without margin",
        box=SIMPLE_HEAD,
        pad_edge=False,
        padding=(0, 0),
    )
    shown.add_column("part", no_wrap=True)
    sizes = next(([o.parts for o in a.cost.orders] for a in answers if a.cost is not None), [])
    heads = ("grams", "hours", "on a plate", *(f"{n:,}" for n in sizes))
    for name in (*heads, "tool pays from", "cut plates"):
        shown.add_column(name, justify="right")
    for a in answers:
        cells = [a.part_number, _short(a.printed_mass_g), _short(a.time_s / 3600.0)]
        if a.cost is None:
            shown.add_row(*cells, "does not fit")
            continue
        even = a.cost.moulding.break_even_parts
        shown.add_row(
            *cells,
            str(a.cost.parts_per_plate),
            *(f"{o.price:.2f}" for o in a.cost.orders),
            "never" if even is None else str(even),
            f"{a.cost.cut_stack_piece:.2f}",
        )
    return shown


def _print(answer: CostAnswer, source: str, console: Console) -> None:
    """Print all about one part for people."""
    way = answer.print_orientation.replace("_", " ")
    head = (
        f"{answer.part_number} {answer.revision}: {answer.material}, printed {way},"
        f" {answer.printed_mass_g:.1f} g, {answer.time_s / 3600.0:.1f} h alone on the plate."
        f" Rates: {source}."
    )
    console.print(head, highlight=False, soft_wrap=True)
    if answer.cost is None:
        console.print("It does not fit on the bed.", highlight=False)
    else:
        shown = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1))
        for name in ("order", "on a plate", f"price {answer.currency}", "time"):
            shown.add_column(name, justify="right", no_wrap=True)
        shown.add_column("most of the cost; what the time hangs on")
        for order, limits in zip(answer.cost.orders, answer.limits, strict=True):
            shown.add_row(
                f"{order.parts:,}",
                str(order.parts_per_plate),
                f"{order.price:.2f}",
                _lasting(order.days),
                limits,
            )
        console.print(shown)
    for sentence in answer.told:
        console.print(sentence, highlight=False, soft_wrap=True, markup=False)


def _lasting(days: float) -> str:
    """Return how long an order prints: hours below a day.

    Examples
    --------
    >>> _lasting(0.04), _lasting(0.99), _lasting(1.0)
    ('1.0 h', '23.8 h', '1.0 days')
    """
    return f"{24.0 * days:.1f} h" if days < 1.0 else f"{days:.1f} days"


def _short(value: float) -> str:
    """Return a number with three or four digits."""
    return f"{value:.2f}" if value < 10.0 else f"{value:.1f}"

"""Print checks of catalogue rows, for front ends: nothing is released."""

from __future__ import annotations

from vent_family.base.shop import Shop
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.printing.chapters import report_text
from vent_family.geometry.vent import build_solids
from vent_family.mesh.vent import meshes_of
from vent_family.release.printing import Printing, check_printing
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec


def printed_part(
    row: CatalogRow, shop: Shop, rates: str | None = None
) -> tuple[VentSpec, Printing]:
    """Build a row's solids and return its print check.

    Raises :class:`~vent_family.base.problems.InputError` if the row breaks a rule.
    """
    spec = resolve(row)
    meshes = meshes_of(build_solids(spec))
    if rates is None:
        return spec, check_printing(spec, meshes, shop)
    return spec, check_printing(spec, meshes, shop, rates)


def markdown(spec: VentSpec, found: Printing) -> str:
    """Return the print report without its picture."""
    text = report_text(spec, found.record, (*found.checks, *found.advice))
    return "\n".join(line for line in text.splitlines() if not line.startswith("!["))


def cost_row(row: CatalogRow, shop: Shop) -> dict[str, str | int | float | None]:
    """Return one line of the cost table; blank where the part does not fit on the bed."""
    spec, found = printed_part(row, shop)
    line: dict[str, str | int | float | None] = {
        "part": spec.part_number,
        "grams": round(found.report.vent.mass_g, 1),
        "hours": round(found.report.time_s / 3600.0, 1),
    }
    cost = found.cost
    line["on a plate"] = cost.plate.parts if cost else None
    for i, parts in enumerate((1, 100, 1000, 10000)):
        line[f"{parts:,}"] = f"{cost.orders[i].price:.2f}" if cost else None
    even = cost.others.mould_break_even if cost else None
    line["tool pays from"] = round(even) if even is not None else None
    line["cut plates"] = f"{cost.others.stack_cost:.2f}" if cost else None
    return line

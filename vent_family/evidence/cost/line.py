"""One line of the cost table: what one part weighs, takes and costs."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.evidence.cost.part import PartCost
from vent_family.evidence.cost.sheet import ORDERS
from vent_family.evidence.printing.report import PrintReport


@dataclass(frozen=True, slots=True)
class CostLine:
    """Costs of one part, in the currency of the rates; ``None`` where it does not fit on the bed.

    ``mass_g`` in grams, ``time_h`` in hours for one part, ``prices`` as pairs of order size and
    price of one part, money, ``tool_pays_from`` the number of parts from which a moulding tool is
    cheaper, ``cut_plates`` what a hand-assembled stack of cut plates costs, money.
    """

    part_number: str
    mass_g: float
    time_h: float
    parts_on_plate: int | None
    prices: tuple[tuple[int, float | None], ...]
    tool_pays_from: int | None
    cut_plates: float | None


def cost_line(part_number: str, report: PrintReport, cost: PartCost | None) -> CostLine:
    """Return the line of a part from its print report and its costs."""
    return CostLine(
        part_number=part_number,
        mass_g=report.vent.mass_g,
        time_h=report.time_s / 3600.0,
        parts_on_plate=cost.printed.plate.parts if cost else None,
        prices=tuple(
            (n, cost.printed.orders[i].price if cost else None) for i, n in enumerate(ORDERS)
        ),
        tool_pays_from=cost.tool_pays_from if cost else None,
        cut_plates=cost.stack.cost if cost else None,
    )

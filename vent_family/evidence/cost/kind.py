"""Cost as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vent_family.evidence.cost.mould.moulding import moulding_of
from vent_family.evidence.cost.mould.record import moulding_lines
from vent_family.evidence.cost.part import PartCost, part_cost
from vent_family.evidence.cost.record import (
    CostRecord,
    CostSection,
    OrderRecord,
    cost_section,
    cut_words,
)
from vent_family.evidence.facts import table
from vent_family.evidence.kind import Kind
from vent_family.evidence.printing.kind import PRINTING
from vent_family.mesh.vent import printed_beside

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class Cost(Kind[PartCost | None]):
    """What the part costs by the shop's rates; nothing where it does not fit on the bed."""

    name = "cost"
    section = "printing"
    record_type = CostSection
    heading = "Cost"

    def compute(self, context: PartContext) -> PartCost | None:
        """Return plate, orders and the other ways to make the part."""
        meshes, shop = context.meshes, context.rates.shop
        moulding = moulding_of(context.spec, meshes[""], printed_beside(meshes), shop)
        return part_cost(context.of(PRINTING), moulding, shop)

    def record(self, context: PartContext) -> CostSection:
        """Return the costs."""
        return cost_section(context.of(self))

    def chapter(self, context: PartContext) -> list[str]:
        """Return the table of orders, its formulas, and the other ways."""
        return cost_lines(cost_section(context.of(self)).cost, context.rates.source)


def cost_lines(cost: CostRecord | None, source: str) -> list[str]:
    """Return the cost part of the report, formulas shown, and where the rates come from."""
    if cost is None:
        return ["Not computed: the part does not fit on the bed of the table of rates."]
    return [
        f"Rates: {source}. {cost.parts_fit} fit on a plate; of large orders cost least"
        f" {cost.parts_per_plate} on a plate, {cost.plate_time_s / 3600.0:.1f} h a plate,"
        f" {100.0 * cost.scrap_share:.1f} % thrown away.{_beside(cost)} Per good part,"
        f" {cost.currency}:",
        "",
        *table(cost.orders, OrderRecord),
        "",
        "- material = mass x (1 + waste) x price per kg",
        "- machine = hours per plate x machine-hour rate / parts per plate",
        "- labour = rate x (minutes per plate / parts per plate + minutes per part"
        " + minutes per order / parts in the order); fewer per plate where the machine clears it",
        "- scrap = (what is spent on every part printed) x s / (1 - s); s = 1 - (1 - s_0) x"
        " exp(-failures per machine hour x hours per plate): a plate that fails loses all its"
        " parts, and of the others a share s_0 does not pass",
        "- price = cost x (1 + margin)",
        "",
        *moulding_lines(cost.moulding),
        "",
        f"{cut_words(cost)} Neither needs a tool; a stack costs the same at any number.",
    ]


def _beside(cost: CostRecord) -> str:
    """Return a sentence on the plates of each body printed beside the vent, if there are any."""
    told = [
        f" Its {body.body.replace('-', ' ')} of {body.mass_g:.1f} g is printed on plates of its"
        f" own: {body.per_plate} on each, {body.plate_time_s / 3600.0:.1f} h,"
        f" {100.0 * body.scrap_share:.1f} % thrown away."
        for body in cost.beside
    ]
    return "".join(told) + (" What all bodies cost is added up." if told else "")


COST = Cost()

"""All that a product manager asks about the price of one part, in plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.cost.kind import COST
from vent_family.evidence.cost.mould.record import MouldingRecord
from vent_family.evidence.cost.record import CostRecord, cost_section, cut_words
from vent_family.evidence.facts import Fact
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.ways.kind import BOTH_WAYS
from vent_family.evidence.ways.record import WayRecord

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext


class CostAnswer(Frozen):
    """Orders, what limits them, both ways to print and the other ways to make one part."""

    part_number: Annotated[str, Fact("part number")]
    revision: Annotated[str, Fact("revision letter")]
    material: Annotated[str, Fact("material")]
    print_orientation: Annotated[str, Fact("the row's own way to print")]
    currency: Annotated[str, Fact("money of all costs and prices")]
    printed_mass_g: Annotated[float, Fact("mass of one vent", "g")]
    time_s: Annotated[float, Fact("one part alone on the plate", "s")]
    cost: Annotated[CostRecord | None, Fact("null: it does not fit on the bed")]
    limits: Annotated[list[str], Fact("what limits each order, in words")]
    ways: Annotated[list[WayRecord], Fact("printed face down and upright")]
    told: Annotated[list[str], Fact("the other ways to print and make it, in sentences")]


def cost_answer(context: PartContext) -> CostAnswer:
    """Return what a part costs in every order, and what else it could be."""
    spec, report, cost = context.spec, context.of(PRINTING), context.of(COST)
    told = BOTH_WAYS.sentences(context)
    record = cost_section(cost).cost
    if record is not None:
        told += [moulded_words(record.moulding, record.currency), cut_words(record)]
    return CostAnswer(
        part_number=spec.part_number,
        revision=spec.revision,
        material=spec.material.name,
        print_orientation=spec.print_orientation,
        currency=context.rates.shop.currency,
        printed_mass_g=report.vent.mass_g,
        time_s=report.time_s,
        cost=record,
        limits=[order.limits() for order in cost.printed.orders] if cost else [],
        ways=BOTH_WAYS.record(context).ways,
        told=told,
    )


def moulded_words(made: MouldingRecord, currency: str) -> str:
    """Return in one or two sentences how the part is moulded, for what, and when that pays."""
    count = sum(p.count for p in made.pieces)
    names = ", ".join(f"{p.count} {p.name}" if p.count > 1 else p.name for p in made.pieces)
    tools = "one tool for all" if made.one_tool else "a tool for each"
    words = (
        f"Moulded in {count} piece{'s' if count > 1 else ''} ({names}): {tools},"
        f" {made.tool:,.0f} {currency}; then {made.piece:.2f} a part"
    )
    if made.joints:
        words += f", {made.joints} seam{'s' if made.joints > 1 else ''} to keep tight"
    even = made.break_even_parts
    return f"{words}. " + ("It never pays." if even is None else f"It pays from {even:,} parts on.")

"""What a part costs, as it stands in the record."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.cost.mould.record import MouldingRecord, moulding_record
from vent_family.evidence.cost.part import PartCost
from vent_family.evidence.cost.sheet import TOLD_ORDER, OrderCost
from vent_family.evidence.facts import Fact, TableColumn


class OrderRecord(Frozen):
    """Cost and price per good part in an order of so many, in ``currency``; days to print it."""

    parts: Annotated[int, Fact("parts in the order", column=TableColumn("order"))]
    parts_per_plate: Annotated[
        int, Fact("vents on a plate that cost least", column=TableColumn("on a plate"))
    ]
    plate_time_s: Annotated[float, Fact("time of such a plate", "s")]
    rounds: Annotated[int, Fact("plates one after the other on the busiest machine")]
    material: Annotated[float, Fact("material", "money", column=TableColumn("material", ".2f"))]
    machine: Annotated[float, Fact("machine hours", "money", column=TableColumn("machine", ".2f"))]
    labour: Annotated[float, Fact("labour", "money", column=TableColumn("labour", ".2f"))]
    scrap: Annotated[
        float, Fact("parts printed in vain", "money", column=TableColumn("scrap", ".2f"))
    ]
    cost: Annotated[float, Fact("sum of these", "money", column=TableColumn("cost", ".2f"))]
    price: Annotated[float, Fact("cost and margin", "money", column=TableColumn("price", ".2f"))]
    days: Annotated[float, Fact("days to print the order", "d", column=TableColumn("days", ".1f"))]


class BesideRecord(Frozen):
    """A body printed beside the vent, on full plates of its own."""

    body: Annotated[str, Fact("what it is")]
    mass_g: Annotated[float, Fact("mass of one as printed", "g")]
    per_plate: Annotated[int, Fact("on a full plate of their own")]
    plate_time_s: Annotated[float, Fact("time of such a plate", "s")]
    scrap_share: Annotated[float, Fact("share of them thrown away", "1")]


class CostRecord(Frozen):
    """What the part costs, by the shop's rates."""

    currency: Annotated[str, Fact("money of all costs and prices")]
    parts_fit: Annotated[int, Fact("parts that fit on a plate")]
    parts_per_plate: Annotated[int, Fact("parts on a plate that cost least, in large orders")]
    plate_time_s: Annotated[float, Fact("time of such a plate", "s")]
    scrap_share: Annotated[float, Fact("share of the parts of a full plate thrown away", "1")]
    beside: Annotated[list[BesideRecord], Fact("locknut and screen's frame, where it has them")]
    orders: Annotated[list[OrderRecord], Fact("per good part, by size of the order")]
    moulding: Annotated[MouldingRecord, Fact("the part moulded, in as many pieces as it takes")]
    cut_stack_piece: Annotated[float, Fact("plates cut from sheet, stacked by hand", "money")]
    cut_stack_plates: Annotated[int, Fact("plates in such a stack")]


class CostSection(Frozen):
    """The cost of parts that fit on the bed."""

    cost: Annotated[CostRecord | None, Fact("null: the part does not fit on the bed")]


def cut_words(cost: CostRecord) -> str:
    """Return in one sentence what a stack of cut plates costs against a printed part."""
    printed = next(o.cost for o in cost.orders if o.parts == TOLD_ORDER)
    stack = "dearer" if cost.cut_stack_piece > printed else "cheaper"
    return (
        f"As {cost.cut_stack_plates} plates cut from sheet and stacked by hand:"
        f" {cost.cut_stack_piece:.2f} {cost.currency} without margin, {stack} than {printed:.2f}"
        f" printed at {TOLD_ORDER:,}."
    )


def order_record(order: OrderCost) -> OrderRecord:
    """Return an order as it stands in the record."""
    return OrderRecord(
        parts=order.parts,
        parts_per_plate=order.plate.parts,
        plate_time_s=order.plate.seconds,
        rounds=order.rounds,
        material=order.material,
        machine=order.machine,
        labour=order.labour,
        scrap=order.scrap,
        cost=order.cost,
        price=order.price,
        days=order.days,
    )


def cost_section(cost: PartCost | None) -> CostSection:
    """Return what the record says of a part's cost."""
    if cost is None:
        return CostSection(cost=None)
    printed = cost.printed
    own, *others = printed.plates
    return CostSection(
        cost=CostRecord(
            currency=printed.currency,
            parts_fit=own.plate.fit,
            parts_per_plate=own.plate.parts,
            plate_time_s=own.plate.seconds,
            scrap_share=own.scrap_share,
            beside=[
                BesideRecord(
                    body=other.body,
                    mass_g=body.mass_g,
                    per_plate=other.plate.parts,
                    plate_time_s=other.plate.seconds,
                    scrap_share=other.scrap_share,
                )
                for other, body in zip(others, printed.bodies[1:], strict=True)
            ],
            orders=[order_record(o) for o in printed.orders],
            moulding=moulding_record(cost.moulding, cost.tool_pays_from),
            cut_stack_piece=cost.stack.cost,
            cut_stack_plates=cost.stack.plates,
        )
    )

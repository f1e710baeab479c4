"""The cost of one vent with its locknut, from its print report."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from vent_family.base.shop import Shop
from vent_family.evidence.cost.mould.moulding import Moulding
from vent_family.evidence.cost.sheet import (
    ORDERS,
    CutPlates,
    OrderCost,
    PartToPrint,
    Plate,
    cut_plates,
    order_cost,
    parts_per_plate,
    plate_of,
)
from vent_family.evidence.printing.report import PrintReport
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, eq=False)
class PartCost:
    """Full plate, orders of :data:`ORDERS` sizes, and the other ways to make the part.

    ``tool_pays_from`` is the number of parts from which moulding is cheaper than printing, ``None``
    if it never is.
    """

    currency: str
    plate: Plate
    orders: tuple[OrderCost, ...]
    moulding: Moulding
    tool_pays_from: int | None
    stack: CutPlates


def part_cost(report: PrintReport, moulding: Moulding, shop: Shop) -> PartCost | None:
    """Return what a vent costs, its locknut printed beside it; None if it does not fit the bed.

    Moulding is set against what printing costs in an order of as many parts, both without margin.
    """
    part = part_to_print(report, shop)
    if parts_per_plate(part.size_mm, shop) == 0:
        return None
    orders = tuple(order_cost(part, count, shop) for count in ORDERS)
    return PartCost(
        currency=shop.currency,
        plate=plate_of(part, max(ORDERS), shop),
        orders=orders,
        moulding=moulding,
        tool_pays_from=moulding.break_even_parts(lambda n: order_cost(part, n, shop).cost),
        stack=_stack(report.spec, shop),
    )


def part_to_print(report: PrintReport, shop: Shop) -> PartToPrint:
    """Return vent and locknut as one thing to print, the nut standing beside the vent."""
    vent, nut = report.vent, report.locknut
    size, work, mass = vent.size_mm, vent.times.work_s, vent.mass_g
    if nut is not None:
        gap = shop.machine.part_gap_mm
        size = (size[0] + gap + nut.size_mm[0], max(size[1], nut.size_mm[1]), size[2])
        # The nut's layers are finer; its work is spread over the vent's layers of that height.
        shared = np.zeros(len(work))
        row = np.searchsorted(vent.layers.tops_mm, nut.layers.middles_mm)
        np.add.at(shared, np.minimum(row, len(work) - 1), nut.times.work_s)
        work = work + shared
        mass += nut.mass_g
    pushed_off = nut is None and report.spec.print_orientation == "upright"
    return PartToPrint(size, work, mass, report.spec.material.name, pushed_off)


def _stack(spec: VentSpec, shop: Shop) -> CutPlates:
    """Return the stack of cut plates, every slat a plate as wide as the cavity."""
    width, cover = 2.0 * spec.body.half_width_mm, spec.body.cover
    slats = spec.section.slats
    # A folded or inclined slat is cut flat: its area in section over its thickness.
    thickness = spec.section.stack.thickness_mm
    heights = [Polygon(s.outline).area / thickness for s in slats]
    height = sum(heights) / len(heights)
    return cut_plates(
        shop,
        slats=len(slats),
        slat_area_mm2=width * height,
        slat_outline_mm=2.0 * (width + height),
        frame_area_mm2=cover.area_mm2,
        frame_outline_mm=cover.outline_mm,
    )

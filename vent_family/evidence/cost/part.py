"""The cost of one vent with what is printed beside it, from its print report."""

from __future__ import annotations

from dataclasses import dataclass

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
    scrap_share,
)
from vent_family.evidence.printing.report import PrintReport
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class OwnPlate:
    """A full plate of one body, and the share thrown away on it (1); the vent's name is empty."""

    body: str
    plate: Plate
    scrap_share: float


@dataclass(frozen=True, eq=False)
class PrintedCost:
    """What a part costs printed: its bodies, full plates, and orders of :data:`ORDERS` sizes.

    ``plates`` are those of vents and of what is printed beside them, in this order.
    """

    currency: str
    bodies: tuple[PartToPrint, ...]
    plates: tuple[OwnPlate, ...]
    orders: tuple[OrderCost, ...]

    @property
    def plate(self) -> Plate:
        """A full plate of vents."""
        return self.plates[0].plate


@dataclass(frozen=True, eq=False)
class PartCost:
    """What a part costs printed, and the other ways to make it.

    ``tool_pays_from`` is the number of parts from which on moulding is no dearer than printing,
    ``None`` if there is none within the life of the tools.
    """

    printed: PrintedCost
    moulding: Moulding
    tool_pays_from: int | None
    stack: CutPlates


def part_cost(report: PrintReport, moulding: Moulding, shop: Shop) -> PartCost | None:
    """Return what a vent costs with what goes with it; None if a body does not fit the bed.

    Moulding is set against what printing costs in an order of as many parts, both without margin.
    """
    printed = printed_cost(report, shop)
    if printed is None:
        return None
    bodies = printed.bodies
    pays_from = moulding.break_even_parts(
        lambda n: order_cost(bodies, n, shop).cost, [shop.material.bulk_from_parts]
    )
    return PartCost(
        printed=printed,
        moulding=moulding,
        tool_pays_from=pays_from,
        stack=_stack(report.spec, shop),
    )


def printed_cost(report: PrintReport, shop: Shop) -> PrintedCost | None:
    """Return what a vent costs printed, with what goes with it; None if a body does not fit."""
    bodies = bodies_to_print(report)
    if any(parts_per_plate(body.size_mm, shop) == 0 for body in bodies):
        return None
    full = [plate_of(body, max(ORDERS), shop) for body in bodies]
    plates = tuple(
        OwnPlate(name, plate, scrap_share(plate.seconds / 3600.0, shop))
        for name, plate in zip(("", *report.beside), full, strict=True)
    )
    return PrintedCost(
        currency=shop.currency,
        bodies=bodies,
        plates=plates,
        orders=tuple(order_cost(bodies, count, shop) for count in ORDERS),
    )


def bodies_to_print(report: PrintReport) -> tuple[PartToPrint, ...]:
    """Return the vent and what is printed beside it, each to be printed on its own plates."""
    upright = report.spec.print_orientation == "upright"
    vent = PartToPrint.of(report.vent, pushed_off=upright)
    return (vent, *(PartToPrint.of(body) for body in report.beside.values()))


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

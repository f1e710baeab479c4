"""What a vent will cost printed, foretold before any solid of it is built.

Mass, time and plates come from foretold layers (:mod:`vent_family.evidence.printing.foretold`), the
money from the same cost sheet that built parts are priced with.
"""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.base.shop import Shop
from vent_family.evidence.cost.sheet import PartToPrint, order_cost, parts_per_plate
from vent_family.evidence.printing.foretold import foretold_beside, foretold_vent
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class ForetoldPrice:
    """What a vent will cost and weigh printed, with what is printed beside it in the cost.

    ``mass_g`` is that of the vent alone; ``price`` and ``cost``, without margin, are money per good
    part. A plate holds ``parts_fit`` vents; ``parts_per_plate`` of them cost least and print for
    ``plate_time_s``. These are ``None``, and ``fits_bed`` False, where a body is too large for the
    bed.
    """

    mass_g: float
    currency: str
    fits_bed: bool
    price: float | None = None
    cost: float | None = None
    plate_time_s: float | None = None
    parts_fit: int | None = None
    parts_per_plate: int | None = None


def foretold_price(spec: VentSpec, shop: Shop, quantity: int) -> ForetoldPrice:
    """Return what a vent will cost in an order of so many.

    Raises
    ------
    ValueError
        for an order of less than one part

    Examples
    --------
    >>> from vent_family.base.shop import demo_shop
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="A", family="rectangular", size="40x40", status="draft")
    >>> one, many = (foretold_price(resolve(row), demo_shop(), n) for n in (1, 1000))
    >>> one.price > 10.0 * many.price, one.mass_g == many.mass_g, many.parts_per_plate
    (True, True, 20)
    """
    if quantity < 1:
        raise ValueError("an order is of one part or more")
    vent = foretold_vent(spec, shop)
    bodies = [PartToPrint.of(vent, pushed_off=spec.print_orientation == "upright")]
    bodies += [PartToPrint.of(body) for body in foretold_beside(spec, shop).values()]
    if any(parts_per_plate(body.size_mm, shop) == 0 for body in bodies):
        return ForetoldPrice(vent.mass_g, shop.currency, fits_bed=False)
    order = order_cost(bodies, quantity, shop)
    return ForetoldPrice(
        mass_g=vent.mass_g,
        currency=shop.currency,
        fits_bed=True,
        price=order.price,
        cost=order.cost,
        plate_time_s=order.plate.seconds,
        parts_fit=order.plate.fit,
        parts_per_plate=order.plate.parts,
    )

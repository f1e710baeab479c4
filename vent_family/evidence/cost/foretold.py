"""What a vent will cost printed, foretold before any solid of it is built.

Mass, time and plates come from foretold layers (:mod:`vent_family.evidence.printing.foretold`), the
money from the same cost sheet that built parts are priced with.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vent_family.base.shop import Shop
from vent_family.evidence.cost.sheet import (
    Laid,
    OrderCost,
    PartToPrint,
    order_cost,
    parts_per_plate,
)
from vent_family.evidence.printing.foretold import foretold_beside, foretold_vent
from vent_family.evidence.printing.rough import rough_vent
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
    vent = foretold_vent(spec, shop)
    order = _order(spec, vent, shop, quantity)
    if order is None:
        return ForetoldPrice(vent.mass_g, shop.currency, fits_bed=False)
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


_LEAST: Final = 0.93
_MOST: Final = 1.04
"""A part's price over that of its rough layers: the least and the greatest that are reckoned with.
Measured from 0.957 to 1.028 on 259 parts (``tests/benchmarks/bench_foretold.py --quick``)."""


@dataclass(frozen=True, slots=True)
class PriceBand:
    """What a vent will cost, money per good part.

    No less than ``low``, no more than ``high`` and most likely about ``mean``, all money.
    """

    low: float
    mean: float
    high: float


def quick_price(spec: VentSpec, shop: Shop, quantity: int) -> PriceBand | None:
    """Return between what prices a vent will lie; None if a body is too large for the bed.

    Its layers are reckoned roughly (:mod:`vent_family.evidence.printing.rough`), twenty times as
    fast as :func:`foretold_price` cuts and fills them.

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
    >>> band = quick_price(resolve(row), demo_shop(), 1000)
    >>> band.low < foretold_price(resolve(row), demo_shop(), 1000).price < band.high
    True
    """
    order = _order(spec, rough_vent(spec, shop), shop, quantity)
    if order is None:
        return None
    return PriceBand(_LEAST * order.price, order.price, _MOST * order.price)


def _order(spec: VentSpec, vent: Laid, shop: Shop, quantity: int) -> OrderCost | None:
    """Return what an order of a vent costs, with what is printed beside it; None if none fits."""
    if quantity < 1:
        raise ValueError("an order is of one part or more")
    bodies = [PartToPrint.of(vent, pushed_off=spec.print_orientation == "upright")]
    bodies += [PartToPrint.of(body) for body in foretold_beside(spec, shop).values()]
    if any(parts_per_plate(body.size_mm, shop) == 0 for body in bodies):
        return None
    return order_cost(bodies, quantity, shop)

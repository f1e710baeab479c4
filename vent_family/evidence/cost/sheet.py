"""The cost sheet of one part. Every formula is in a docstring, every rate in ``shop.toml``."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any, Final

from vent_family.base.arrays import FloatArray
from vent_family.base.shop import Shop
from vent_family.evidence.cost.clearing import hours_for, plate_minutes
from vent_family.evidence.printing.time import plate_seconds

ORDERS: Final = (1, 100, 1_000, 10_000)
"""Order sizes that are priced."""


@dataclass(frozen=True, eq=False)
class PartToPrint:
    """What the cost of a part depends on; mass is that of the finished part without waste.

    ``size_mm`` is its box on the bed, ``work_s`` (n,) the seconds of every layer, ``pushed_off``
    whether a machine can clear the bed of it without a hand.
    """

    size_mm: tuple[float, float, float]
    work_s: FloatArray
    mass_g: float
    material: str
    pushed_off: bool = False


@dataclass(frozen=True, slots=True)
class Plate:
    """How many parts lie on a plate; it prints for ``seconds``, s."""

    parts: int
    seconds: float


@dataclass(frozen=True, slots=True)
class OrderCost:
    """Cost and price per good part in an order.

    ``material``, ``machine``, ``labour``, ``scrap`` in money add up to ``cost``; ``cost`` and
    ``price`` in money. ``days`` is how long the order prints, days.
    """

    parts: int
    material: float
    machine: float
    labour: float
    scrap: float
    cost: float
    price: float
    days: float

    def as_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        return asdict(self)


def parts_per_plate(size_mm: tuple[float, float, float], shop: Shop) -> int:
    """Return how many boxes fit on the bed in rows, the part either way round; 0 if none fits.

    n = floor((X + g) / (x + g)) * floor((Y + g) / (y + g)), the better of (x, y) and (y, x).

    Examples
    --------
    On 300 x 300 mm with gaps of 5 mm: floor(305 / 85) x floor(305 / 65) = 3 x 4; a part taller than
    the machine does not fit:

    >>> from vent_family.base.shop import demo_shop
    >>> parts_per_plate((80.0, 60.0, 20.0), demo_shop())
    12
    >>> parts_per_plate((80.0, 60.0, 301.0), demo_shop())
    0
    """
    bed, g = shop.machine, shop.machine.part_gap_mm
    x, y, z = size_mm
    if z > bed.bed_z_mm:
        return 0

    def rows(a: float, b: float) -> int:
        return math.floor((bed.bed_x_mm + g) / (a + g)) * math.floor((bed.bed_y_mm + g) / (b + g))

    return max(rows(x, y), rows(y, x))


def plate_of(part: PartToPrint, count: int, shop: Shop) -> Plate:
    """Return the plate for so many parts (at least one), as full as the order and bed allow.

    Examples
    --------
    A hundred layers of 10 s, four parts at a time: 100 x (40 + 0.5) + 420 s; a plate holds 12:

    >>> import numpy as np
    >>> from vent_family.base.shop import demo_shop
    >>> part = PartToPrint((80.0, 60.0, 20.0), np.full(100, 10.0), 50.0, "ASA")
    >>> plate_of(part, 4, demo_shop())
    Plate(parts=4, seconds=4470.0)
    >>> plate_of(part, 100, demo_shop()).parts
    12
    """
    fit = parts_per_plate(part.size_mm, shop)
    parts = max(1, min(fit, count))
    return Plate(parts, plate_seconds(part.work_s, parts, shop.process))


def order_cost(part: PartToPrint, count: int, shop: Shop) -> OrderCost:
    """Return the cost per good part of an order of ``count`` parts.

    With n parts on a plate that prints for t, N parts in the order:

    - material = m (1 + waste) p_kg / 1000
    - machine = t / 3600 r_m / n
    - labour = r_l / 60 (plate / n + part + order / N)
    - scrap: printing and handling are paid for scrapped parts too, x s / (1 - s)
    - cost = their sum; price = cost (1 + margin)
    - days: every machine does ceil(plates / machines) plates, counted with scrap, and waits
      between them as :func:`hours_for` says

    Examples
    --------
    One part of 50 g in a hundred layers of 10 s: material 50 x 1.04 x 19 / 1000; machine
    1470 s x 0.55 / 3600; labour 26 / 60 x (3 + 0.25 + 25); scrap (0.988 + 0.2246 + 1.4083) x 3 /
    97; price a quarter more than their sum:

    >>> import numpy as np
    >>> from vent_family.base.shop import demo_shop
    >>> part = PartToPrint((80.0, 60.0, 20.0), np.full(100, 10.0), 50.0, "ASA")
    >>> one = order_cost(part, 1, demo_shop())
    >>> round(one.material, 3), round(one.machine, 4), round(one.labour, 4), round(one.scrap, 4)
    (0.988, 0.2246, 12.2417, 0.0811)
    >>> round(one.cost, 4), round(one.price, 4)
    (13.5353, 16.9191)
    """
    plate = plate_of(part, count, shop)
    per_kg = shop.material.per_kg(part.material, count)
    material = part.mass_g * (1.0 + shop.material.waste) * per_kg / 1000.0
    machine = plate.seconds / 3600.0 * shop.machine.hour_rate / plate.parts
    minute = shop.labour.hour_rate / 60.0
    repeated = minute * (plate_minutes(part.pushed_off, shop) / plate.parts + shop.labour.part_min)
    once = minute * shop.labour.order_min / count
    s = shop.labour.scrap
    scrap = (material + machine + repeated) * s / (1.0 - s)
    cost = material + machine + repeated + once + scrap
    plates = math.ceil(count / (1.0 - s) / plate.parts)
    rounds = math.ceil(plates / shop.machine.machines)
    days = hours_for(rounds, plate.seconds / 3600.0, part.pushed_off, shop) / 24.0
    return OrderCost(
        parts=count,
        material=material,
        machine=machine,
        labour=repeated + once,
        scrap=scrap,
        cost=cost,
        price=cost * (1.0 + shop.price.margin),
        days=days,
    )


@dataclass(frozen=True, slots=True)
class CutPlates:
    """The same part as plates cut from sheet and stacked by hand; ``cost`` in money.

    It needs no tool, so it is dearer or cheaper than printing at any number.
    """

    cost: float
    plates: int


def cut_plates(
    shop: Shop,
    *,
    slats: int,
    slat_area_mm2: float,
    slat_outline_mm: float,
    frame_area_mm2: float,
    frame_outline_mm: float,
) -> CutPlates:
    """Return what hand assembly of cut plates costs.

    Every slat is a plate, besides two frame plates, each cut along its outline and put in by hand:
    sheet area + cut length + minutes at the labour rate + glue and spacers.

    Parameters
    ----------
    shop
        rates
    slats
        number of slats
    slat_area_mm2, slat_outline_mm
        a slat's area, mm2, and the length of its outline, mm
    frame_area_mm2, frame_outline_mm
        the same of a frame plate

    Examples
    --------
    Twelve plates: 0.0136 m2 x 14 + 2.36 m x 0.35 + 9 min x 26 / 60 + 0.80:

    >>> from vent_family.base.shop import demo_shop
    >>> found = cut_plates(
    ...     demo_shop(),
    ...     slats=10,
    ...     slat_area_mm2=400.0,
    ...     slat_outline_mm=180.0,
    ...     frame_area_mm2=4800.0,
    ...     frame_outline_mm=280.0,
    ... )
    >>> round(found.cost, 4), found.plates
    (5.7164, 12)
    """
    stack = shop.cut_stack
    area = slats * slat_area_mm2 + 2.0 * frame_area_mm2
    cut = slats * slat_outline_mm + 2.0 * frame_outline_mm
    plates = slats + 2
    minutes = plates * stack.assembly_min_per_plate
    cost = (
        area * 1e-6 * stack.sheet_per_m2
        + cut * 1e-3 * stack.cut_per_m
        + minutes * shop.labour.hour_rate / 60.0
        + stack.glue_and_spacers
    )
    return CutPlates(cost, plates)

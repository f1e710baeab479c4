"""The cost sheet of one part. Every formula is in a docstring, every rate in ``shop.toml``."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from vent_family.base.arrays import FloatArray
from vent_family.base.materials import Material
from vent_family.base.shop import Shop
from vent_family.evidence.cost.clearing import hours_for, plate_minutes
from vent_family.evidence.printing.time import LayerTimes, plate_seconds

ORDERS: Final = (1, 100, 1_000, 10_000)
"""Order sizes that are priced."""
TOLD_ORDER: Final = 1_000
"""The one of them at which ways to make a part are compared in one sentence."""


class Laid(Protocol):
    """A body in layers, as found on its mesh or foretold."""

    @property
    def material(self) -> Material:
        """What it is printed of."""
        ...

    @property
    def size_mm(self) -> tuple[float, float, float]:
        """Its box on the bed."""
        ...

    @property
    def times(self) -> LayerTimes:
        """What each layer takes."""
        ...

    @property
    def mass_g(self) -> float:
        """Mass of the plastic laid."""
        ...


@dataclass(frozen=True, eq=False)
class PartToPrint:
    """What the cost of a body depends on; its mass is that of the plastic laid, without waste.

    ``size_mm`` is its box on the bed, ``work_s`` (n,) the seconds of every layer, ``pushed_off``
    whether a machine can clear the bed of it without a hand.
    """

    size_mm: tuple[float, float, float]
    work_s: FloatArray
    mass_g: float
    material: str
    pushed_off: bool = False

    @staticmethod
    def of(body: Laid, *, pushed_off: bool = False) -> PartToPrint:
        """Return what the cost of a body in layers depends on."""
        times, name = body.times.work_s, body.material.name
        return PartToPrint(body.size_mm, times, body.mass_g, name, pushed_off)


@dataclass(frozen=True, slots=True)
class Plate:
    """How many parts lie on a plate, of how many that fit; it prints for ``seconds``, s."""

    parts: int
    seconds: float
    fit: int


@dataclass(frozen=True, slots=True)
class OrderCost:
    """Cost and price per good part in an order.

    ``material``, ``machine``, ``labour``, ``scrap`` in money add up to ``cost``; ``cost`` and
    ``price`` in money. ``plate`` is that of the vents; the busiest machine does ``rounds`` plates
    one after the other, and ``days`` is how long the order prints, days.
    """

    parts: int
    plate: Plate
    rounds: int
    material: float
    machine: float
    labour: float
    scrap: float
    cost: float
    price: float
    days: float

    def limits(self) -> str:
        """Return in words what most of the cost goes to and what the days hang on."""
        costs = {
            "material": self.material,
            "machine hours": self.machine,
            "labour": self.labour,
            "scrap": self.scrap,
        }
        most = max(costs, key=costs.__getitem__)
        words = f"{100.0 * costs[most] / self.cost:.0f} % {most}"
        hours = self.plate.seconds / 3600.0
        if self.rounds == 1:
            return f"{words}; one plate of {hours:.1f} h"
        waits = " that waits for a hand" if self.days * 24.0 > 1.05 * self.rounds * hours else ""
        return f"{words}; {self.rounds} plates of {hours:.1f} h on each machine{waits}"


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
    """Return the plate for so many parts (at least one) on which a good part costs least.

    A fuller plate shares its work and its start among more parts, but prints longer, and all of it
    is lost when it fails.

    Examples
    --------
    A hundred layers of 10 s, four parts at a time: 100 x (40 + 0.5) + 420 s; a plate holds 12. If
    it fails once in ten hours, a dozen, which take 3.5 h, are too many for one plate:

    >>> import numpy as np
    >>> from vent_family.base.shop import demo_shop
    >>> part = PartToPrint((80.0, 60.0, 20.0), np.full(100, 10.0), 50.0, "ASA")
    >>> plate_of(part, 4, demo_shop())
    Plate(parts=4, seconds=4470.0, fit=12)
    >>> plate_of(part, 100, demo_shop()).parts
    12
    >>> frail = demo_shop().machine.model_copy(update={"failures_per_h": 0.1})
    >>> plate_of(part, 100, demo_shop().model_copy(update={"machine": frail})).parts
    6
    """
    fit = parts_per_plate(part.size_mm, shop)
    plates = (
        Plate(parts, plate_seconds(part.work_s, parts, shop.process), fit)
        for parts in range(1, max(1, min(fit, count)) + 1)
    )
    return min(plates, key=lambda plate: body_cost(part, plate, count, shop).cost)


@dataclass(frozen=True, slots=True)
class BodyCost:
    """Cost of one good body, without what is paid once an order.

    ``material``, ``machine``, ``labour`` and ``scrap`` in money; ``scrap_share`` is the share of
    the bodies thrown away, 1.
    """

    material: float
    machine: float
    labour: float
    scrap: float
    scrap_share: float

    @property
    def cost(self) -> float:
        """All of it, money."""
        return self.material + self.machine + self.labour + self.scrap


def body_cost(part: PartToPrint, plate: Plate, count: int, shop: Shop) -> BodyCost:
    """Return what one good body costs that is printed on such plates for so many parts."""
    hours = plate.seconds / 3600.0
    per_kg = shop.material.per_kg(part.material, count)
    plastic = part.mass_g * (1.0 + shop.material.waste) * per_kg / 1000.0
    run = hours * shop.machine.hour_rate / plate.parts
    minutes = plate_minutes(part.pushed_off, shop) / plate.parts + shop.labour.part_min
    hands = minutes * shop.labour.hour_rate / 60.0
    s = scrap_share(hours, shop)
    return BodyCost(plastic, run, hands, (plastic + run + hands) * s / (1.0 - s), s)


SCRAP_MAX: Final = 0.99
"""Largest share of scrap that is reckoned with: a shop that loses more does not go on."""


def scrap_share(plate_h: float, shop: Shop) -> float:
    """Return the share of parts thrown away that are printed on plates of ``plate_h`` hours.

    s = 1 - (1 - s_0) exp(-f t): of parts that came off the bed s_0 do not pass, and plates fail at
    f per machine hour, at any hour alike. A plate that fails loses all its parts and is paid whole,
    since nobody stands beside it; s is at most :data:`SCRAP_MAX`.

    Examples
    --------
    0.02 of the parts and 0.002 plates an hour: 1 - 0.98 exp(-0.05) for a plate of 25 h:

    >>> from vent_family.base.shop import demo_shop
    >>> [round(scrap_share(h, demo_shop()), 4) for h in (0.0, 25.0)]
    [0.02, 0.0678]
    """
    good = (1.0 - shop.labour.scrap_base) * math.exp(-shop.machine.failures_per_h * plate_h)
    return min(1.0 - good, SCRAP_MAX)


def order_cost(bodies: Sequence[PartToPrint], count: int, shop: Shop) -> OrderCost:
    """Return the cost per good part of an order of ``count`` parts.

    A part is one body or several, as a vent and its locknut; each is printed on plates of its own.
    With n bodies on a plate that prints for t, n as :func:`plate_of` chooses it, N parts in the
    order, summed over the bodies:

    - material = m (1 + waste) p_kg / 1000
    - machine = t / 3600 r_m / n
    - labour = r_l / 60 (plate / n + part), and r_l / 60 order / N once
    - scrap: printing and handling are paid for scrapped bodies too, x s / (1 - s), s by
      :func:`scrap_share`
    - cost = their sum; price = cost (1 + margin)
    - days: every machine does ceil(plates / machines) plates of their mean time, counted with
      scrap, and waits between them as :func:`hours_for` says; no less than the longest plate

    Examples
    --------
    One part of 50 g in a hundred layers of 10 s: material 50 x 1.04 x 19 / 1000; machine
    1470 s x 0.55 / 3600; labour 26 / 60 x (3 + 0.25 + 25); scrap (0.988 + 0.2246 + 1.4083) x s /
    (1 - s), s = 1 - 0.98 exp(-0.002 x 1470 / 3600); price a quarter more than their sum:

    >>> import numpy as np
    >>> from vent_family.base.shop import demo_shop
    >>> part = PartToPrint((80.0, 60.0, 20.0), np.full(100, 10.0), 50.0, "ASA")
    >>> one = order_cost((part,), 1, demo_shop())
    >>> round(one.material, 3), round(one.machine, 4), round(one.labour, 4), round(one.scrap, 4)
    (0.988, 0.2246, 12.2417, 0.0557)
    >>> round(one.cost, 4), round(one.price, 4)
    (13.5099, 16.8874)
    """
    material = machine = scrap = 0.0
    labour = shop.labour.hour_rate / 60.0 * shop.labour.order_min / count
    plates: list[tuple[int, float]] = []
    first = plate_of(bodies[0], count, shop)
    for body in bodies:
        plate = first if body is bodies[0] else plate_of(body, count, shop)
        each = body_cost(body, plate, count, shop)
        material, machine = material + each.material, machine + each.machine
        labour, scrap = labour + each.labour, scrap + each.scrap
        printed = count / (1.0 - each.scrap_share)
        plates.append((math.ceil(printed / plate.parts), plate.seconds / 3600.0))
    cost = material + machine + labour + scrap
    rounds = math.ceil(sum(n for n, _ in plates) / shop.machine.machines)
    return OrderCost(
        parts=count,
        plate=first,
        rounds=rounds,
        material=material,
        machine=machine,
        labour=labour,
        scrap=scrap,
        cost=cost,
        price=cost * (1.0 + shop.price.margin),
        days=_hours(plates, rounds, all(b.pushed_off for b in bodies), shop) / 24.0,
    )


def _hours(plates: Sequence[tuple[int, float]], rounds: int, pushed_off: bool, shop: Shop) -> float:
    """Return the hours until all plates are done, from their numbers and hours each."""
    number = sum(n for n, _ in plates)
    mean = sum(n * hours for n, hours in plates) / number
    return max(hours_for(rounds, mean, pushed_off, shop), *(hours for _, hours in plates))


@dataclass(frozen=True, slots=True)
class CutPlates:
    """The same part as plates cut from sheet and stacked by hand; ``cost`` in money.

    It needs no tool and costs the same at any number.
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

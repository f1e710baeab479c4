"""A vent moulded: its pieces, their tools, and what a part costs in any number."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.shop import Shop
from vent_family.evidence.cost.mould.draw import Draw, Undercut
from vent_family.evidence.cost.mould.pieces import Split, split_part
from vent_family.evidence.cost.mould.price import (
    base_cost,
    cavity_hours,
    cycle_s,
    resin_cost,
    shot_cost,
)
from vent_family.evidence.cost.mould.shape import PieceShape
from vent_family.mesh.vent import PRINTED_BESIDE
from vent_family.spec.vent import VentSpec

JUDGED_AT: Final = 10_000
"""Parts at which one tool for all pieces and tools of their own are compared."""


@dataclass(frozen=True, slots=True)
class MouldedPiece:
    """One piece of a moulded part.

    ``count`` of them go into a part. ``mass_g`` is that of one, g, ``wall_mm`` its thickest wall,
    mm, ``cycle_s`` the time of its shot, s, with a tool of its own. ``cavity`` is what its cavity
    costs, money, ``cost`` resin and machine of one, money, scrap included.
    """

    name: str
    count: int
    draw: Draw
    size_mm: tuple[float, float, float]
    mass_g: float
    wall_mm: float
    cycle_s: float
    cavity: float
    cost: float


@dataclass(frozen=True, slots=True)
class Moulding:
    """A part moulded by a contract moulder, in the currency of the rates.

    ``pieces`` are what it takes, ``undercuts`` why, by way of opening. ``family`` says that one
    tool moulds all pieces in one shot. ``tool`` is what all tools cost, money, ``setup`` what is
    paid for each order, money, ``assembly`` what it takes to put one part together, money;
    ``piece`` is what one assembled part costs, money, without tools and setup. A set of tools
    lasts ``life_parts`` parts.
    """

    undercuts: tuple[Undercut, ...]
    pieces: tuple[MouldedPiece, ...]
    family: bool
    tool: float
    setup: float
    assembly: float
    piece: float
    life_parts: int

    @property
    def piece_count(self) -> int:
        """Moulded pieces in one part."""
        return sum(p.count for p in self.pieces)

    @property
    def joint_count(self) -> int:
        """Pieces that are put into another one and fastened; what is beside is fitted in use."""
        return sum(p.count for p in self.pieces if p.name not in PRINTED_BESIDE) - 1

    def cost_per_part(self, parts: int) -> float:
        """Return what one of so many parts costs, money, tools and one order's setup included."""
        tools = math.ceil(parts / self.life_parts)
        return self.piece + (self.tool * tools + self.setup) / parts

    def break_even_parts(
        self, print_cost: Callable[[int], float], discounts_from: Sequence[int] = ()
    ) -> int | None:
        """Return from how many parts on moulding is no dearer than printing; None if never.

        From there on it is so in an order of any size within the life of the tools.

        Parameters
        ----------
        print_cost
            cost of one printed part in an order of so many, money
        discounts_from
            orders from which printing is cheaper at one stroke; between them a mould that pays goes
            on to pay

        Examples
        --------
        A tool of 11,750 and 250 of setup; printed 5.00 a part and 40 an order, moulded 1.00:

        >>> made = Moulding((), (), True, 11_750.0, 250.0, 0.0, 1.0, 500_000)
        >>> made.break_even_parts(lambda n: 5.0 + 40.0 / n)
        2990
        >>> made.break_even_parts(lambda n: 0.9) is None
        True

        Printed for 4.00 from 3,000 parts on, moulding does not pay until 4,000:

        >>> made.break_even_parts(lambda n: 4.0 if n >= 3000 else 5.01, [3000])
        4000
        """

        def pays(parts: int) -> bool:
            return self.cost_per_part(parts) <= print_cost(parts)

        high = self.life_parts
        if not pays(high):
            return None
        # From large orders down to small ones; ``high`` always pays.
        for least in sorted({1, *(n for n in discounts_from if n <= high)}, reverse=True):
            low = least - 1
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (low, middle) if pays(middle) else (middle, high)
            if high > least:
                break
        return high


def moulding_of(
    spec: VentSpec,
    vent: tuple[FloatArray, IntArray],
    beside: Mapping[str, tuple[FloatArray, IntArray]],
    shop: Shop,
) -> Moulding:
    """Return how a vent is moulded and what that costs.

    ``vent`` is a mesh in use position, ``beside`` are the meshes of locknut and screen's frame by
    name: vertices (n, 3) in mm, triangles (m, 3).
    """
    rates = shop.mould
    found = split_part(spec, vent, beside, nominal_mm=rates.nominal_wall_mm, ring_mm=rates.ring_mm)
    return priced(found, spec.material.name, spec.material.density_g_cm3, shop)


def priced(found: Split, material: str, density_g_cm3: float, shop: Shop) -> Moulding:
    """Return what the pieces cost: with one tool for all or one for each, as is cheaper.

    - piece = (resin + machine of its shot) / (1 - scrap)
    - part = all pieces + joints x minutes at the labour rate
    - tools = plates + cavities; equal pieces share one cavity in tools of their own, and have one
      each in a tool for all, whose shot takes as long as its slowest piece

    Parameters
    ----------
    found
        the pieces and why there are so many
    material, density_g_cm3
        name of the material and its density, g/cm3
    shop
        rates
    """
    ways = [_priced(found, material, density_g_cm3, shop, family=f) for f in (False, True)]
    return min(ways, key=lambda way: way.cost_per_part(JUDGED_AT))


def _priced(
    found: Split, material: str, density_g_cm3: float, shop: Shop, *, family: bool
) -> Moulding:
    rates, resin = shop.mould, shop.mould.resin.of(material)
    shapes = found.pieces
    good = 1.0 / (1.0 - rates.scrap)
    times = [cycle_s(p, resin, rates.press) for p in shapes]
    cavities = [cavity_hours(p, rates.tool) * rates.tool.hour_rate for p in shapes]
    shadow = sum(p.shadow_mm2 * p.count for p in shapes)
    together = shot_cost(max(times), shadow, rates.press)
    pieces = []
    for shape, seconds, cavity in zip(shapes, times, cavities, strict=True):
        if family:
            machine = together * shape.shadow_mm2 / shadow
        else:
            machine = shot_cost(seconds, shape.shadow_mm2, rates.press)
        cost = good * (resin_cost(shape, density_g_cm3, resin, rates) + machine)
        mass = shape.volume_mm3 * density_g_cm3 * 1e-3
        pieces.append(
            MouldedPiece(
                name=shape.name,
                count=shape.count,
                draw=shape.draw,
                size_mm=shape.size_mm,
                mass_g=mass,
                wall_mm=shape.wall_mm,
                cycle_s=seconds,
                cavity=cavity,
                cost=cost,
            )
        )
    made = Moulding(
        undercuts=found.undercuts,
        pieces=tuple(pieces),
        family=family,
        tool=_tools(shapes, cavities, shop, family=family),
        setup=rates.setup * (1 if family else len(shapes)),
        assembly=0.0,
        piece=0.0,
        life_parts=max(1, rates.tool.life_shots // (1 if family else _most(shapes))),
    )
    assembly = made.joint_count * rates.joint_min * shop.labour.hour_rate / 60.0
    piece = sum(p.cost * p.count for p in pieces) + assembly
    return replace(made, assembly=assembly, piece=piece)


def _most(shapes: tuple[PieceShape, ...]) -> int:
    """Return how often the most frequent piece is moulded for one part."""
    return max(p.count for p in shapes)


def _tools(
    shapes: tuple[PieceShape, ...], cavities: list[float], shop: Shop, *, family: bool
) -> float:
    """Return the price of all tools: one for each piece, or one for all side by side."""
    tool = shop.mould.tool
    if not family:
        return sum(cavities) + sum(base_cost(*p.size_mm, tool) for p in shapes)
    # Side by side with half a border between them, about as wide as high.
    gap = tool.border_mm / 2.0
    area = sum((p.size_mm[0] + gap) * (p.size_mm[1] + gap) * p.count for p in shapes)
    side = math.sqrt(area)
    depth = max(p.size_mm[2] for p in shapes)
    return base_cost(side, side, depth, tool) + sum(
        c * math.pow(p.count, 0.7) for c, p in zip(cavities, shapes, strict=True)
    )

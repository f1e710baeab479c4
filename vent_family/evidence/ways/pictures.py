"""What a part costs by the size of the order: printed, moulded, cut from sheet; as a figure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import matplotlib

matplotlib.use("Agg")

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from vent_family.base.shop import Shop
from vent_family.evidence.cost.part import PartCost
from vent_family.evidence.cost.sheet import order_cost
from vent_family.evidence.palette import BLUE, GREEN, INK, RED, SKY
from vent_family.evidence.ways.compare import PrintWay

PARTS_SHOWN: Final = 100_000
"""The picture reaches at least to an order of so many parts."""
_BEYOND: Final = 3.0
"""And this many times beyond the order from which moulding pays."""
_POINTS: Final = 90
_LINE: Final = 0.045
"""Height of a label, share of the picture's."""


@dataclass(frozen=True, eq=False)
class CostCurve:
    """Cost of one part, without margin, in orders of different sizes; ``cost`` in money.

    A ``tooled`` one begins with all of the tool's price, which the picture need not reach up to.
    """

    label: str
    colour: str
    style: str
    parts: tuple[int, ...]
    cost: tuple[float, ...]
    tooled: bool = False


def cost_curves(
    cost: PartCost, own: PrintWay, other: PrintWay, shop: Shop
) -> tuple[CostCurve, ...]:
    """Return the curves of a part: printed both ways, moulded, cut from sheet."""
    top = max(PARTS_SHOWN, math.ceil(_BEYOND * (cost.tool_pays_from or 0)))
    # Filament gets cheaper from one part to the next: both belong to the curve.
    bulk = shop.material.bulk_from_parts
    at = {*np.geomspace(1, top, _POINTS).round().astype(int).tolist(), max(1, bulk - 1), bulk}
    parts = tuple(sorted(n for n in at if n <= top))
    found = [
        CostCurve(
            f"printed {_name(own)}",
            BLUE,
            "-",
            parts,
            tuple(order_cost(cost.printed.bodies, n, shop).cost for n in parts),
        )
    ]
    if other.made is not None and other.made.cost is not None:
        bodies = other.made.cost.bodies
        costs = tuple(order_cost(bodies, n, shop).cost for n in parts)
        words = f"printed {_name(other)}" + (f",\n{other.change}" if other.change else "")
        found.append(CostCurve(words, SKY, "--", parts, costs))
    count = cost.moulding.piece_count
    moulded = tuple(cost.moulding.cost_per_part(n) for n in parts)
    words = f"moulded, {count} piece{'s' if count > 1 else ''}"
    found.append(CostCurve(words, RED, "-", parts, moulded, tooled=True))
    stack = (cost.stack.cost,) * len(parts)
    words = f"{cost.stack.plates} cut plates, by hand"
    found.append(CostCurve(words, GREEN, "-.", parts, stack))
    return tuple(found)


def _name(way: PrintWay) -> str:
    return way.print_orientation.replace("_", " ")


def cost_figure(
    title: str, currency: str, curves: Sequence[CostCurve], pays_from: int | None
) -> Figure:
    """Return the curves on logarithmic axes, the order from which moulding pays marked."""
    figure = Figure(figsize=(9.4, 5.2), layout="constrained")
    axes = figure.subplots()
    for curve in curves:
        axes.plot(curve.parts, curve.cost, curve.style, color=curve.colour, linewidth=2.2)
    top = curves[0].parts[-1]
    low = min(min(c.cost) for c in curves)
    high = 4.0 * max(c.cost[0] for c in curves if not c.tooled)
    axes.set(xscale="log", yscale="log", xlim=(1, top), ylim=(0.75 * low, max(high, 30.0 * low)))
    label_orders(axes, title, f"cost of one part, without margin, {currency}")
    _labels(axes, curves)
    _break_even(axes, curves[0], pays_from)
    return figure


def label_orders(axes: Axes, title: str, money: str) -> None:
    """Label logarithmic axes: orders by their size, and in ``money``'s words what is paid."""
    axes.set_xlabel("parts in the order")
    axes.set_ylabel(money)
    axes.set_title(title, fontsize=11, loc="left")
    axes.xaxis.set_major_formatter(FuncFormatter(lambda n, _: f"{n:,.0f}"))
    axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda n, _: f"{n:g}"))
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.grid(visible=True, which="major", color="#e3e3e3", linewidth=0.8)
    axes.spines[["top", "right"]].set_visible(False)


def _labels(axes: Axes, curves: Sequence[CostCurve]) -> None:
    """Write each curve's name at its right end, moved apart where ends lie close."""
    low, high = (math.log(end) for end in axes.get_ylim())
    floor = 0.0
    for curve in sorted(curves, key=lambda c: c.cost[-1]):
        height = (math.log(curve.cost[-1]) - low) / (high - low)
        lines = curve.label.count("\n") + 1
        place = max(height, floor + 0.5 * _LINE * lines)
        floor = place + 0.5 * _LINE * lines
        axes.annotate(
            curve.label,
            (curve.parts[-1], curve.cost[-1]),
            xytext=(1.015, place),
            textcoords="axes fraction",
            color=curve.colour,
            va="center",
            fontsize=10,
            annotation_clip=False,
        )


def _break_even(axes: Axes, printed: CostCurve, pays_from: int | None) -> None:
    """Mark the order from which moulding is cheaper than printing, or say that there is none."""
    if pays_from is None:
        axes.text(
            0.985, 0.97, "moulding never pays", transform=axes.transAxes, ha="right", va="top",
            color=INK,
        )  # fmt: skip
        return
    cost = float(np.interp(math.log(pays_from), np.log(printed.parts), printed.cost))
    axes.axvline(pays_from, color=INK, linestyle=":", linewidth=1.2)
    axes.plot([pays_from], [cost], "o", color=INK, markersize=7, zorder=5)
    # Left of the mark and below all curves there is room, unless it stands at the very left.
    left = pays_from > math.pow(printed.parts[-1], 0.4)
    axes.annotate(
        f"moulding pays from {pays_from:,} parts",
        (pays_from, axes.get_ylim()[0]),
        xytext=(-6 if left else 6, 6),
        textcoords="offset points",
        ha="right" if left else "left",
        va="bottom",
        color=INK,
    )

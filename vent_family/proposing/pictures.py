"""A proposal in two pictures: what is traded for what, and prices by the size of the order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import matplotlib

matplotlib.use("Agg")

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox

from vent_family.evidence.palette import BLUE, GREEN, INK, ORANGE, PINK, RED, SKY
from vent_family.evidence.ways.pictures import label_orders
from vent_family.files.figure import write_figure
from vent_family.proposing.answer import RequirementAnswer
from vent_family.proposing.figures import NONE_PASSES_ML
from vent_family.proposing.ladder import RUNGS, Candidate, Figures
from vent_family.proposing.told import prices_told
from vent_family.release.cautions import CAUTION

TRADED: Final = "trade-off"
PRICES: Final = "prices"
"""Names of the pictures' files."""
DPI: Final = 150.0
_ORDERS_MOST: Final = 10_000
_POINTS: Final = 60
_COLOURS: Final = (RED, BLUE, GREEN, ORANGE, PINK, SKY)
_STYLES: Final = ("-", "--", "-.", ":", "-", "--")
_LINE: Final = 0.05
"""Height of a label at the end of a curve, share of the picture's."""
_RINGS: Final = (14.0, 24.0, 36.0, 50.0, 66.0, 84.0)
"""Distances from its point, at which a label is tried, points of 1/72 inch."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A row in the picture: where it stands, and what water passes, mL.

    ``x`` is in the unit of the axis, ``price`` in money.
    """

    label: str
    x: float
    price: float
    passed_ml: float


def write_pictures(answer: RequirementAnswer, folder: Path) -> list[Path]:
    """Write the pictures of an answer that has options, as SVG and PNG; return their paths.

    Raises
    ------
    OSError
        if the folder cannot be written
    """
    paths = write_figure(folder, TRADED, trade_figure(answer), dpi=DPI)
    if any(option.bodies for option in answer.proposal.options):
        paths += write_figure(folder, PRICES, price_figure(answer), dpi=DPI)
    return paths


def trade_figure(answer: RequirementAnswer) -> Figure:
    """Return price against warmth, or depth where no cabinet is asked about; water as colour."""
    enquiry, found = answer.proposal.enquiry, answer.proposal.front.found
    warm = enquiry.cabinet is not None
    rows = _spots([c for c in found.done if c.rung != RUNGS[-1]], warm)
    chosen = {o.row for o in answer.proposal.options}
    front = _spots([c for c in answer.proposal.front.candidates if c.row not in chosen], warm)
    options = [
        spot
        for i, o in enumerate(answer.proposal.options, start=1)
        for spot in _spots([o.candidate], warm, str(i))
    ]
    known = [
        spot
        for k in answer.known
        if k.does_it
        for spot in _spots([k.candidate], warm, k.row.part_number)
    ]
    figure = Figure(figsize=(9.4, 6.0), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots()
    spots = [*rows, *front, *options, *known]
    wettest = max((s.passed_ml for s in spots), default=0.0)
    wet = wettest >= NONE_PASSES_ML
    shade: dict[str, Any] = {"vmin": 0.0, "vmax": wettest, "cmap": "cividis_r"} if wet else {}
    for some, size, marker, edge, words in (
        (
            rows,
            16.0,
            "o",
            "none",
            f"does it by {'the first drops and ' * enquiry.wet}a quick price",
        ),
        (front, 34.0, "o", INK, "met all drops" if enquiry.wet else "taken to the end"),
        (options, 60.0, "D", RED, "proposed, at the price of its solid"),
        (known, 55.0, "s", BLUE, "in the catalogue already"),
    ):
        if some:
            points = axes.scatter(
                [s.x for s in some], [s.price for s in some], s=size, marker=marker,
                c=[s.passed_ml for s in some] if wet else SKY, edgecolors=edge,
                linewidths=1.4 if edge in (RED, BLUE) else 0.6,
                alpha=0.55 if edge == "none" else 1.0, label=words, zorder=3, **shade,
            )  # fmt: skip
    if wet:
        figure.colorbar(points, ax=axes, label="water that passes at most, mL", pad=0.01)
    axes.set_xlabel("inside above the outside, K" if warm else "depth, front to back, mm")
    shop, quantity = enquiry.rates.shop, enquiry.asked.order.quantity
    axes.set_ylabel(f"price of one in an order of {quantity:,}, {shop.currency}")
    title = enquiry.asked.name or "Proposal"
    best = (f"{i} {', '.join(o.titles)}" for i, o in enumerate(answer.proposal.options, start=1))
    axes.set_title(f"{title}\n{'; '.join(best)}", fontsize=11, loc="left")
    axes.margins(0.12)
    axes.grid(visible=True, color="#e3e3e3", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(fontsize=8, frameon=False, loc="upper left", bbox_to_anchor=(0.0, -0.1), ncols=2)
    caution_below(figure)
    _label(figure, axes, [*options, *known], [*front, *options, *known])
    return figure


def _spots(candidates: Sequence[Candidate], warm: bool, label: str = "") -> list[Spot]:
    """Return where rows stand; those of which something is not known are left out."""
    found = []
    for candidate in candidates:
        figures: Figures = candidate.figures
        x = figures.rise_k if warm else figures.depth_mm
        if x is not None and figures.price is not None:
            found.append(Spot(label, x, figures.price, figures.passed_ml or 0.0))
    return found


def _label(figure: Figure, axes: Axes, named: Sequence[Spot], spots: Sequence[Spot]) -> None:
    """Write labels beside their points, where neither points nor other labels lie."""
    figure.draw_without_rendering()  # the layout must stand before places are compared
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    scale = figure.dpi / 72.0
    places = [axes.transData.transform((s.x, s.price)) for s in spots]
    half = 6.0 * scale
    taken = [Bbox.from_bounds(x - half, y - half, 2 * half, 2 * half) for x, y in places]
    inside = axes.get_window_extent(renderer)
    for spot in named:
        text = axes.annotate(
            spot.label, (spot.x, spot.price), xytext=(0, 0), textcoords="offset points",
            ha="center", va="center", fontsize=10, color=INK, zorder=5,
            arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.6, "shrinkB": 4.0},
        )  # fmt: skip
        box = text.get_window_extent(renderer)
        wide, high = box.width + 4.0 * scale, box.height + 2.0 * scale
        at = axes.transData.transform((spot.x, spot.price))
        tried = [
            (r * math.cos(a) + math.copysign(wide / scale / 2.0, math.cos(a)), r * math.sin(a))
            for r in _RINGS
            for a in np.linspace(0.3, 0.3 + 2.0 * math.pi, 12, endpoint=False)
        ]
        boxes = [
            Bbox.from_bounds(
                at[0] + x * scale - wide / 2.0, at[1] + y * scale - high / 2.0, wide, high
            )
            for x, y in tried
        ]
        free = next(
            (
                i
                for i, b in enumerate(boxes)
                if not b.count_overlaps(taken) and inside.contains(*b.p0) and inside.contains(*b.p1)
            ),
            0,
        )  # fmt: skip
        text.set_position(tried[free])
        taken.append(boxes[free])


def price_figure(answer: RequirementAnswer) -> Figure:
    """Return the price of every option by the size of the order, on logarithmic axes."""
    enquiry = answer.proposal.enquiry
    sizes = np.geomspace(1, _ORDERS_MOST, _POINTS).round().astype(int).tolist()
    orders = sorted({*sizes, enquiry.asked.order.quantity})
    figure = Figure(figsize=(9.4, 5.4), layout="constrained")
    axes = figure.subplots()
    ends = []
    for i, option in enumerate(answer.proposal.options):
        curve = prices_told(option.bodies, enquiry, orders)
        if not curve:
            continue
        colour, style = _COLOURS[i % len(_COLOURS)], _STYLES[i % len(_STYLES)]
        values = [p.price for p in curve]
        axes.plot([p.parts for p in curve], values, style, color=colour, linewidth=2.0)
        ends.append((values[-1], f"{i + 1} {', '.join(option.titles)}", colour))
    quantity, shop = enquiry.asked.order.quantity, enquiry.rates.shop
    axes.set(xscale="log", yscale="log", xlim=(1, max(orders)))
    axes.axvline(quantity, color=INK, linestyle=":", linewidth=1.2)
    axes.annotate(
        f"the order: {quantity:,}", (quantity, axes.get_ylim()[1]), xytext=(-6, -4),
        textcoords="offset points", ha="right", va="top", color=INK,
    )  # fmt: skip
    title = f"{enquiry.asked.name or 'Proposal'}: prices by {enquiry.rates.source}"
    label_orders(axes, title, f"price of one part, {shop.currency}")
    _ends(axes, ends)
    caution_below(figure)
    return figure


def _ends(axes: Axes, ends: Sequence[tuple[float, str, str]]) -> None:
    """Write each curve's name at its right end, moved apart where ends lie close."""
    low, high = (math.log(end) for end in axes.get_ylim())
    floor = 0.0
    for value, label, colour in sorted(ends):
        place = max((math.log(value) - low) / (high - low), floor)
        floor = place + _LINE
        axes.text(1.015, place, label, transform=axes.transAxes, color=colour, va="center")


def caution_below(figure: Figure) -> None:
    """Write the caution below a figure."""
    figure.supxlabel(CAUTION, fontsize=6.5, color=INK)

"""Each quantity over all draws against its limit, and beside it what makes its spread."""

from __future__ import annotations

from typing import Final

import matplotlib

matplotlib.use("Agg")

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter, PercentFormatter

from vent_family.base.said import three
from vent_family.evidence.palette import BLUE, INK, RED, SKY
from vent_family.proposing.pictures import caution_below
from vent_family.proposing.robust.answer import Kind, Quantity, Robustness

SHOWN: Final = 6
"""So many inputs have a bar, if their share is at least that."""
SHARE_SHOWN: Final = 0.005
LIMIT_WORDS: Final[dict[Kind, str]] = {
    "inside temperature": "limit",
    "water that passes": "may pass",
    "margin": "none left",
}
_BINS: Final = 28
_ROW_IN: Final = 2.3
"""Height of one quantity's row, inches."""
_GRID: Final = "#e3e3e3"
_DECADES: Final = 0.7
"""From so many decades between its ends on a quantity stands on a logarithmic axis."""


def robustness_figure(found: Robustness) -> Figure:
    """Return a row for every quantity that varies: its distribution, and the largest shares."""
    shown = [q for q in found.quantities if q.high > q.low]
    rows = max(len(shown), 1)
    figure = Figure(figsize=(10.4, 0.8 + _ROW_IN * rows), layout="constrained")
    figure.suptitle(
        f"{found.part_number} holds all that is asked with a chance of {found.chance.words()}",
        fontsize=11,
        x=0.01,
        ha="left",
    )
    axes = figure.subplots(rows, 2, squeeze=False, width_ratios=(1.0, 1.15))
    for row, quantity in zip(axes, shown, strict=False):
        _distribution(row[0], quantity)
        _bars(row[1], quantity)
    explained = [panel for _, panel in axes if panel.containers]
    if explained:
        explained[0].legend(fontsize=8, frameon=False, loc="lower right")
    if not shown:
        for panel in axes[0]:
            panel.set_axis_off()
        axes[0][0].text(0.0, 0.5, "nothing varies", color=INK)
    caution_below(figure)
    return figure


def _distribution(axes: Axes, quantity: Quantity) -> None:
    """Draw the draws of a quantity, its middle and its limit."""
    values, limit = quantity.values, quantity.limit
    most = float(values.max())
    # Below a thousandth of the most, all stand in the first bar.
    least = max(float(values.min()), 1e-3 * most)
    if quantity.decades and most > 10.0**_DECADES * least:
        edges = np.geomspace(least, most * 1.001, _BINS + 1)
        values = np.maximum(values, least)
        axes.set_xscale("log")
        close = max(most, limit or 0.0) < 100.0 * least
        axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0) if close else (1.0,)))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: three(x)))
        axes.xaxis.set_minor_formatter(NullFormatter())
    else:
        edges = np.linspace(float(values.min()), most, _BINS + 1)
    axes.hist(values, edges.tolist(), weights=np.full(len(values), 1.0 / len(values)), color=SKY)
    axes.axvline(max(quantity.middle, float(edges[0])), color=BLUE, linewidth=1.6)
    if limit is not None:
        axes.axvline(limit, color=RED, linewidth=1.8)
        axes.annotate(
            LIMIT_WORDS[quantity.kind],
            (limit, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(4, -3),
            textcoords="offset points",
            va="top",
            color=RED,
            fontsize=9,
        )
    axes.set_xlabel(f"{quantity.name}, {quantity.unit}", fontsize=9)
    axes.set_ylabel("share of the draws", fontsize=9)
    axes.yaxis.set_major_formatter(PercentFormatter(1.0, decimals=0))
    _plain(axes)


def _bars(axes: Axes, quantity: Quantity) -> None:
    """Draw the largest shares of a quantity's spread, each with how sure it is."""
    if not quantity.shares:
        axes.set_axis_off()
        axes.text(
            0.0, 0.5, "what makes the spread cannot be told from so many draws", color=INK,
            fontsize=9, va="center",
        )  # fmt: skip
        return
    shares = [s for s in quantity.shares[:SHOWN] if s.total >= SHARE_SHOWN][::-1]
    at = np.arange(len(shares))
    total = [max(s.total, 0.0) for s in shares]
    axes.barh(at, total, 0.7, color=SKY, label="with what it does together with others")
    axes.barh(at, [max(s.first, 0.0) for s in shares], 0.34, color=BLUE, label="alone")
    off = [s.total_off for s in shares]
    axes.errorbar(total, at, xerr=off, fmt="none", ecolor=INK, elinewidth=1.0, capsize=2.5)
    axes.set_yticks(at, [s.name for s in shares], fontsize=9)
    axes.set_xlim(0.0, max(1.0, max(t + o for t, o in zip(total, off, strict=True))))
    axes.xaxis.set_major_formatter(PercentFormatter(1.0, decimals=0))
    explained = 100.0 * (quantity.explained or 0.0)
    axes.set_xlabel(
        f"share of the spread; the surface explains {explained:.0f} % of other draws",
        fontsize=9,
    )
    _plain(axes)


def _plain(axes: Axes) -> None:
    axes.tick_params(labelsize=9)
    axes.grid(visible=True, axis="x", color=_GRID, linewidth=0.8)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)

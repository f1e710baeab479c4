"""The picture of a printed part: two views on its bed, a table of its bridges, numbered places."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from vent_family.base.arrays import FloatArray
from vent_family.evidence.printing.report import Printed
from vent_family.evidence.printing.scene import BED_STEP_MM, ViewPixels, rendered_view, views_of
from vent_family.evidence.printing.shades import (
    DARK,
    STRANDS,
    Callout,
    bridge_table,
    callouts,
    other_kinds,
    span_bounds,
)

_DPI: Final = 100.0
_WIDTH_IN: Final = 13.0
_VIEWS_IN: Final = 6.6
"""Height of the views, at most."""
_TITLE_IN: Final = 0.42
_ROW_IN: Final = 0.27
_EDGE_IN: Final = 0.12
_DISC_IN: Final = 0.11
"""Radius of a number's disc."""
_NOTE_LETTERS: Final = 92
_SWATCH: Final = 0.92
_INK: Final = "#1a1a1f"
_FAINT: Final = "#5c6066"


@dataclass(frozen=True, eq=False)
class PrintPicture:
    """A picture that is rendered when it is asked for; ``note`` stands under the numbers."""

    printed: Printed
    title: str
    note: str = ""

    def png(self) -> bytes:
        """Render both views, draw legend and numbers around them, and return a PNG image."""
        stream = io.BytesIO()
        with mpl.rc_context({"font.size": 9.5}):
            figure = _drawn(self.printed, self.title, self.note)
            figure.savefig(stream, format="png", dpi=_DPI, metadata={"Software": None})
        return stream.getvalue()


def _drawn(printed: Printed, title: str, note: str) -> Figure:
    views = views_of(printed)
    width_mm = sum(view.size_mm[0] for view, _ in views)
    height_mm = max(view.size_mm[1] for view, _ in views)
    # Numbers stand beside the views, outside of what is drawn.
    aside = 2.0 * len(views) * (2.0 * _DISC_IN + _EDGE_IN)
    scale = min((_WIDTH_IN - aside) / width_mm, _VIEWS_IN / height_mm)
    numbered = callouts(printed)
    kinds = other_kinds(printed)
    lines = textwrap.wrap(note, _NOTE_LETTERS)
    rows = max(len(STRANDS) + 2 + len(kinds), len(numbered) + len(lines) + 1)
    low = rows * _ROW_IN + 2.0 * _EDGE_IN
    height = _TITLE_IN + height_mm * scale + low + _EDGE_IN
    figure = Figure(figsize=(_WIDTH_IN, height), facecolor="white")
    FigureCanvasAgg(figure)
    figure.text(
        _EDGE_IN / _WIDTH_IN,
        1.0 - 0.55 * _TITLE_IN / height,
        title,
        fontsize=13,
        fontweight="bold",
        color=_INK,
        va="center",
    )
    spare = (_WIDTH_IN - aside - width_mm * scale) / (2.0 * len(views))
    left = 0.0
    for view, caption in views:
        side = spare + 2.0 * _DISC_IN + _EDGE_IN
        across, up = (length * scale for length in view.size_mm)
        box = (left, low, across + 2.0 * side, height_mm * scale)
        axes = _axes(figure, box, height)
        taken = rendered_view(printed, view, scale * _DPI)
        base = 0.5 * (height_mm * scale - up)
        axes.imshow(taken.pixels, extent=(side, side + across, base, base + up), aspect="auto")
        axes.set_xlim(0.0, box[2])
        axes.set_ylim(0.0, box[3])
        axes.text(side, box[3], caption, va="top", color=_INK)
        _numbers(axes, taken, numbered, scale, (side, base), box[2])
        left += box[2]
    legend = _axes(figure, (0.0, 0.0, _WIDTH_IN, low), height)
    _legend(legend, printed, numbered, kinds, lines, low)
    return figure


def _axes(figure: Figure, box_in: tuple[float, float, float, float], height: float) -> Axes:
    """Return axes without a frame over a box of the figure, inches from its lower left corner."""
    x, y, width, tall = box_in
    axes = figure.add_axes((x / _WIDTH_IN, y / height, width / _WIDTH_IN, tall / height))
    axes.axis("off")
    return axes


def _numbers(
    axes: Axes,
    taken: ViewPixels,
    numbered: Sequence[Callout],
    scale: float,
    origin: tuple[float, float],
    width: float,
) -> None:
    """Point at the numbered places from the sides of a view."""
    if not numbered:
        return
    places = taken.view.flat_mm(np.array([c.point_mm for c in numbered])) * scale + origin
    for side, x in ((0, _EDGE_IN + _DISC_IN), (1, width - _EDGE_IN - _DISC_IN)):
        ours = [i for i, p in enumerate(places) if int(p[0] > 0.5 * width) == side]
        heights = _apart(places[ours, 1], 2.6 * _DISC_IN, axes.get_ylim())
        for i, y in zip(ours, heights, strict=True):
            _pointer(axes, numbered[i], (x, float(y)), (float(places[i, 0]), float(places[i, 1])))


def _apart(heights: FloatArray, least: float, limits: tuple[float, float]) -> FloatArray:
    """Return heights moved so that all are at least so far apart and none changes its place.

    Examples
    --------
    >>> _apart(np.array([1.0, 0.9, 3.0]), 0.5, (0.0, 4.0)).round(3).tolist()
    [1.4, 0.9, 3.0]
    """
    found = np.array(heights, dtype=np.float64)
    order = np.argsort(found, kind="stable")
    floor = limits[0] + 0.5 * least
    for i in order:
        found[i] = max(found[i], floor)
        floor = found[i] + least
    roof = limits[1] - 0.5 * least
    for i in order[::-1]:
        found[i] = min(found[i], roof)
        roof = found[i] - least
    return found


def _pointer(
    axes: Axes, callout: Callout, disc: tuple[float, float], place: tuple[float, float]
) -> None:
    for colour, thick in (("white", 2.6), (_INK, 0.9)):
        axes.plot(*zip(disc, place, strict=True), color=colour, lw=thick, zorder=4)
    axes.plot(*place, "o", ms=5.5, mfc=callout.colour, mec=_INK, mew=0.9, zorder=5)
    _disc(axes, callout, disc)


def _disc(axes: Axes, callout: Callout, place: tuple[float, float]) -> None:
    axes.plot(*place, "o", ms=2.0 * _DISC_IN * 72.0, mfc="white", mec=_INK, mew=1.1, zorder=6)
    axes.text(
        *place,
        str(callout.number),
        ha="center",
        va="center_baseline",
        fontsize=9,
        fontweight="bold",
        color=_INK,
        zorder=7,
    )


def _legend(
    axes: Axes,
    printed: Printed,
    numbered: Sequence[Callout],
    kinds: Sequence[tuple[str, str]],
    lines: Sequence[str],
    height: float,
) -> None:
    """Draw the table of bridges, the other kinds, what the numbers say, and lines under them."""
    axes.set_xlim(0.0, _WIDTH_IN)
    axes.set_ylim(0.0, height)
    top = height - _EDGE_IN
    bounds = span_bounds(printed)
    heads = [f"to {bounds[0]:g}"]
    heads += [f"{a:g} to {b:g}" for a, b in pairwise(bounds)]
    heads.append(f"over {bounds[-1]:g}")
    first, cell = 2.1, 0.72
    y = top - 0.5 * _ROW_IN
    axes.text(_EDGE_IN, y, "Bridges, number by span in mm", va="center", fontweight="bold")
    for i, head in enumerate(heads):
        axes.text(first + (i + 0.5) * cell, y - _ROW_IN, head, ha="center", va="center")
    for j, (words, row) in enumerate(zip(STRANDS, bridge_table(printed), strict=True)):
        y = top - (j + 2.5) * _ROW_IN
        axes.text(_EDGE_IN, y, words, va="center")
        for i, (colour, count) in enumerate(row):
            corner = (first + i * cell + 0.03, y - 0.5 * _SWATCH * _ROW_IN)
            size = (cell - 0.06, _SWATCH * _ROW_IN)
            faint = count == 0
            axes.add_patch(
                Rectangle(corner, *size, fc="white" if faint else colour, ec=colour, lw=1.2)
            )
            axes.text(
                first + (i + 0.5) * cell,
                y,
                str(count),
                ha="center",
                va="center_baseline",
                color=_FAINT if faint else ("white" if i >= DARK else _INK),
                fontweight="normal" if faint else "bold",
            )
    for k, (colour, words) in enumerate(kinds):
        y = top - (len(STRANDS) + 2.5 + k) * _ROW_IN
        axes.add_patch(Rectangle((_EDGE_IN, y - 0.08), 0.3, 0.16, fc=colour, ec="none"))
        axes.text(_EDGE_IN + 0.38, y, words, va="center")
    x = first + len(heads) * cell + 0.45
    for k, callout in enumerate(numbered):
        y = top - (k + 0.5) * _ROW_IN
        _disc(axes, callout, (x, y))
        axes.add_patch(Rectangle((x + 0.2, y - 0.08), 0.22, 0.16, fc=callout.colour, ec="none"))
        axes.text(x + 0.5, y, callout.words, va="center")
    for k, line in enumerate((*lines, f"Lines on the bed are {BED_STEP_MM:g} mm apart.")):
        y = top - (len(numbered) + k + 0.5) * _ROW_IN
        axes.text(x - _DISC_IN, y, line, va="center", color=_FAINT)

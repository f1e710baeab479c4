"""Pictures of a jet's branches: what ends inside, in the trough and back out."""

from __future__ import annotations

from typing import Any, Final

from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from vent_family.evidence.palette import BLUE, INK, ORANGE, RED
from vent_family.evidence.water.airfield import AirSource
from vent_family.evidence.water.drawing import draw_section
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.jets.branches import (
    Branches,
    End,
    jet_branches,
    level_aim,
    percent,
    worst_aim,
)
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.jets.verdict import direction_words
from vent_family.spec.section import Section

STYLES: Final[dict[End, dict[str, Any]]] = {
    "ends in the trough": {"color": BLUE, "linestyle": "-"},
    "thrown back out": {"color": ORANGE, "linestyle": (0, (4, 1.5))},
    "gets inside": {"color": RED, "linestyle": "-"},
}
"""Ends of water, what gets inside drawn last and on top."""
POOL: Final[dict[str, Any]] = {"color": INK, "linestyle": ":", "linewidth": 1.2, "zorder": 5}
"""Surface of the water in the trough."""
THICKEST: Final = 7.0
"""Width of the line, points, that stands for the whole jet."""


def jet_picture(
    section: Section,
    part_number: str,
    report: JetReport,
    tilt_deg: float,
    source: AirSource,
) -> Figure:
    """Return a jet's branches from the worst aim, and level at the middle of the front.

    ``tilt_deg`` is the lean. The worst aim is drawn under the assumption that makes it so, the
    other under the middling one. Water that stays on a slat counts where most of its drips end.
    """
    worst = max(share.worst_inside_share for share in report.shares)
    aims = (worst_aim(report, tilt_deg), level_aim(section, tilt_deg))
    branches = jet_branches(section, report, tilt_deg, aims, source)
    figure = Figure(figsize=(11.0, 6.6), layout="constrained")
    added = report.worst_inside_share.high > worst
    figure.suptitle(
        f"{part_number}: {EXPOSURES[report.name].title}\npredicted: {report.verdict.outcome}, up to"
        f" {100.0 * report.inside_share.high:.2g} % inside on average, up to"
        f" {100.0 * report.worst_inside_share.high:.2g} % at the worst aim; not measured"
        + ("\nThe sheets drawn are without what the free-surface solution adds" if added else ""),
        fontsize=10,
    )
    size = (1.0, 1.0)
    for axes, aim, drawn in zip(figure.subplots(1, 2), aims, branches, strict=True):
        size = draw_section(axes, section)
        if drawn.pool_mm is not None:
            level = drawn.pool_mm
            axes.plot([section.foot[0], section.brink[0]], [level, level], **POOL)
        _draw_branches(axes, drawn)
        told = ", ".join(f"{percent(share)} {end}" for end, share in drawn.shares.items())
        axes.set_title(
            f"height {aim.height_mm:.0f} mm, {direction_words(aim.elevation_deg + tilt_deg)},"
            f" assumption: {aim.assumption.name}\n{told}",
            fontsize=8,
        )
    figure.set_size_inches(11.0, min(max(5.0 * size[1] / size[0], 4.0), 10.0) + 1.4)
    handles = [Line2D([], [], linewidth=2.0, label=name, **s) for name, s in STYLES.items()]
    handles.append(Line2D([], [], label="pool at the start", **POOL))
    figure.legend(handles=handles, loc="outside lower center", ncols=4, fontsize=8, frameon=False)
    return figure


def _draw_branches(axes: Any, branches: Branches) -> None:
    """Draw all branches of a jet, as thick as their water."""
    for end, style in STYLES.items():
        runs = [run for run in branches.runs if run.end == end]
        lines = [run.path_mm for run in runs]
        widths = [THICKEST * run.share**0.5 for run in runs]
        axes.add_collection(LineCollection(lines, linewidths=widths, alpha=0.6, zorder=4, **style))

"""Pictures of the water check: straight paths, drop tracks, penetration against diameter.

Colours are those of Okabe and Ito, told apart by colour-blind readers; line styles and markers
carry the same message in grey. Functions return figures, the same for the same input.
"""

from __future__ import annotations

from typing import Any, Final

import matplotlib.ticker as ticker
import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from vent_family.evidence.palette import (
    BLUE,
    GREEN,
    INK,
    ORANGE,
    PINK,
    RED,
)
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.drawing import draw_section
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.jets.pictures import jet_picture
from vent_family.evidence.water.penetration import (
    CUT_VELOCITIES_M_S,
    MIST_MM,
    mist_penetration,
)
from vent_family.evidence.water.posture.pictures import mounting_picture
from vent_family.evidence.water.report import ExposureReport, WaterReport
from vent_family.evidence.water.sight import sight_line
from vent_family.evidence.water.tracks import Fate, Track, drop_tracks
from vent_family.spec.section import Section

FATE_STYLE: Final[dict[Fate, dict[str, Any]]] = {
    "caught": {"color": BLUE, "linestyle": "-", "linewidth": 0.9},
    "thrown back out": {"color": ORANGE, "linestyle": (0, (4, 2)), "linewidth": 0.9},
    "passed": {"color": RED, "linestyle": "-", "linewidth": 2.4},
}
CURVES: Final = (
    (BLUE, "-", "o"),
    (GREEN, "--", "s"),
    (PINK, "-.", "^"),
    (RED, ":", "D"),
)


def _sheet(section: Section, title: str) -> tuple[Figure, Any]:
    """Return a figure with the section's solids drawn, outside on the right."""
    figure = Figure(layout="constrained")
    axes = figure.add_subplot()
    wide, tall = draw_section(axes, section)
    width = 7.0
    height = min(max(width * tall / wide * 0.9, 3.6), 11.0)
    figure.set_size_inches(width, height + 1.5)
    figure.suptitle(title, fontsize=10)
    return figure, axes


def sight_picture(section: Section, part_number: str) -> Figure:
    """Return the section with the line that comes nearest to getting through, and its margin.

    Where that one lies within floor or ceiling, the nearest between slats is drawn.
    """
    sight, line = section.sight, sight_line(section)
    drawn = line.drawn
    verb = "is open by" if sight.is_open else "misses by"
    from_where = "above" if drawn.elevation_deg < 0 else "below"
    where = f"arrives {abs(drawn.elevation_deg):.0f} degrees from {from_where}"
    if drawn.margin_mm > sight.margin_mm + 0.005:
        where = f"along a wall; between slats, drawn, by {drawn.margin_mm:.2f} mm, {where}"
    figure, axes = _sheet(
        section,
        f"{part_number}: nearest straight line {verb} {abs(sight.margin_mm):.2f} mm\n({where})",
    )
    axes.plot(
        *zip(*line.ends_mm, strict=True),
        color=RED,
        linewidth=1.8,
        linestyle=(0, (6, 2)),
        zorder=5,
    )
    # The part of the line that runs through solid is what stops it.
    for stretch in line.stopped_mm:
        axes.plot(
            *zip(*stretch, strict=True),
            color=INK,
            linewidth=3.2,
            zorder=6,
            solid_capstyle="butt",
        )
    axes.annotate(
        "drain",
        (section.front_z_mm, 0.5 * sum(section.drain_mm)),
        (section.front_z_mm + 3.0, 0.5 * sum(section.drain_mm)),
        va="center",
        arrowprops={"arrowstyle": "->", "color": INK},
        fontsize=9,
    )
    axes.annotate(
        "sill",
        section.sill,
        (-34, -26),
        textcoords="offset points",
        arrowprops={"arrowstyle": "->", "color": INK},
        fontsize=9,
    )
    handles = [
        Line2D([], [], color=RED, linestyle=(0, (6, 2)), linewidth=1.8, label="nearest line"),
        Line2D([], [], color=INK, linewidth=3.2, label="stopped by solid"),
    ]
    figure.legend(handles=handles, loc="outside lower center", ncols=2, fontsize=9, frameon=False)
    return figure


def track_picture(
    section: Section,
    part_number: str,
    report: WaterReport,
    source: AirSource = potential_flow,
) -> Figure:
    """Return drop tracks of the first exposure to drops from its worst direction, coloured by fate.

    Thin tracks are secondary drops under the severe splash assumption.
    """
    first = report.drops[0]
    exposure = EXPOSURES[first.name]
    figure, axes = _sheet(
        section,
        f"{part_number}: {exposure.title}\nface velocity {first.air.face_velocity_m_s:.2g} m/s,"
        f" water {_direction(first.worst_elevation_deg)}\n{_predicted(first)}",
    )
    counts = _draw_tracks(axes, drop_tracks(section, first, report.conditions.tilt_deg, source))
    handles = [
        Line2D([], [], label=f"{fate} ({counts[fate]})", **style)
        for fate, style in FATE_STYLE.items()
    ]
    handles.append(
        Line2D([], [], color=INK, linewidth=0.4, label="thin: thrown up by the first impact")
    )
    handles.append(
        Line2D([], [], color=INK, marker="x", linestyle="", markersize=5, label="impact")
    )
    figure.legend(handles=handles, loc="outside lower center", ncols=3, fontsize=8, frameon=False)
    return figure


def _predicted(report: ExposureReport) -> str:
    verdict = report.verdict
    if verdict.outcome == "holds":
        return "predicted to hold"
    return f"predicted: {verdict.outcome}, limited by {verdict.mechanism}"


def _direction(elevation_deg: float) -> str:
    if abs(elevation_deg) < 0.5:
        return "arriving level"
    side = "above" if elevation_deg > 0 else "below"
    return f"from {abs(elevation_deg):.0f} degrees {side} the horizon"


def _draw_tracks(axes: Any, tracks: tuple[Track, ...]) -> dict[Fate, int]:
    """Draw the tracks and return how many drops had each fate."""
    counts = dict.fromkeys(FATE_STYLE, 0)
    for way in tracks:
        counts[way.fate] += 1
        style = FATE_STYLE[way.fate]
        if way.thrown_up:
            thin = style | {"linewidth": 1.6 if way.fate == "passed" else 0.4}
            axes.plot(*way.path_mm.T, zorder=3, **thin)
            continue
        axes.plot(*way.path_mm.T, zorder=4, **style)
        if way.impact:
            end = way.path_mm[-1]
            axes.plot(*end, "x", color=INK, markersize=3.5, markeredgewidth=0.8, zorder=5)
    return counts


def penetration_picture(
    section: Section, part_number: str, source: AirSource = potential_flow
) -> Figure:
    """Return the share of mist that passes against drop diameter, for several face velocities."""
    figure = Figure(figsize=(7.0, 4.6), layout="constrained")
    axes = figure.add_subplot()
    largest = 0.0
    for velocity, (colour, line, marker) in zip(CUT_VELOCITIES_M_S, CURVES, strict=True):
        d, passing = mist_penetration(section, velocity, source)
        if np.any(passing > 0.005):
            largest = max(largest, float(d[passing > 0.005].max()))
        axes.plot(
            1000.0 * d,
            100.0 * passing,
            color=colour,
            linestyle=line,
            marker=marker,
            markersize=4.5,
            markevery=2,
            label=f"{velocity:g} m/s",
        )
    axes.axhline(50.0, color=INK, linewidth=0.7, linestyle=":")
    axes.text(0.99, 51.0, "half caught", ha="right", fontsize=8, transform=_across(axes))
    axes.axhline(1.0, color=INK, linewidth=0.7, linestyle=":")
    axes.text(0.99, 2.0, "99 % caught", ha="right", fontsize=8, transform=_across(axes))
    axes.set_xscale("log")
    axes.set_xticks([3, 5, 10, 20, 50, 100, 200, 500, 1000])
    axes.xaxis.set_major_formatter(ticker.FormatStrFormatter("%g"))
    axes.xaxis.set_minor_formatter(ticker.NullFormatter())
    axes.set_xlim(1000.0 * MIST_MM[0], 1000.0 * min(MIST_MM[1], max(0.1, 2.0 * largest)))
    axes.set_ylim(-2.0, 102.0)
    axes.set_xlabel("drop diameter in micrometres")
    axes.set_ylabel("passes, % of what comes in")
    axes.set_title(f"{part_number}: drops carried in by the air, no splash", fontsize=10)
    axes.legend(title="face velocity", fontsize=9)
    axes.grid(True, which="major", linewidth=0.3)
    return figure


def _across(axes: Any) -> Any:
    """Return the transform with x in axes fractions and y in data."""
    return axes.get_yaxis_transform()


def pictures(
    section: Section, report: WaterReport, source: AirSource = potential_flow
) -> dict[str, Figure]:
    """Return every picture of a report by the stem of its file name."""
    part = report.part_number
    made = {
        "water-sight": sight_picture(section, part),
        "water-penetration": penetration_picture(section, part, source),
    }
    if report.drops:
        made["water-tracks"] = track_picture(section, part, report, source)
    for jet in report.jets:
        stem = f"water-{jet.name.replace('_', '-')}"
        made[stem] = jet_picture(section, part, jet, report.conditions.tilt_deg, source)
    if report.mountings is not None:
        made["water-mountings"] = mounting_picture(part, report.mountings)
    return made

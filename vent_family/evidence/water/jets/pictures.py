"""Pictures of a jet's branches: what ends inside, in the trough and back out."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.palette import BLUE, INK, ORANGE, RED
from vent_family.evidence.water.airfield import AirSource
from vent_family.evidence.water.drawing import draw_section
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.jets.rules import ASSUMPTIONS, MID, Assumption, rules_of
from vent_family.evidence.water.jets.sweep import Jet, jet_starts
from vent_family.evidence.water.jets.trace import Trail, follow
from vent_family.evidence.water.jets.verdict import direction_words
from vent_family.evidence.water.jets.walls import Walls, walls_of
from vent_family.evidence.water.penetration import scene_of
from vent_family.evidence.water.splash import SEVERE
from vent_family.evidence.water.transport import Drip, drip_matrix
from vent_family.spec.section import Section

STYLES: Final[dict[str, dict[str, Any]]] = {
    "ends in the trough": {"color": BLUE, "linestyle": "-"},
    "thrown back out": {"color": ORANGE, "linestyle": (0, (4, 1.5))},
    "gets inside": {"color": RED, "linestyle": "-"},
}
"""Ends of water, what gets inside drawn last and on top."""
POOL: Final[dict[str, Any]] = {"color": INK, "linestyle": ":", "linewidth": 1.2, "zorder": 5}
"""Surface of the water in the trough."""
THICKEST: Final = 7.0
"""Width of the line, points, that stands for the whole jet."""
POINTS: Final = 20_000


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
    scene = scene_of(section, report.air.face_velocity_m_s, tilt_deg, source)
    drip = drip_matrix(scene, SEVERE)
    worst = max(report.shares, key=lambda s: s.worst_inside_share)
    severest = next(a for a in ASSUMPTIONS if a.name == worst.assumption)
    elevation = report.worst_elevation_deg - tilt_deg
    middle = 0.5 * (section.window_bottom_mm + section.ceiling_mm)
    aims = ((report.worst_height_mm, elevation, severest), (middle, -tilt_deg, MID))
    exposure = EXPOSURES[report.name]
    jet = Jet(exposure.bore_mm, report.speed_m_s, ())
    figure = Figure(figsize=(11.0, 6.6), layout="constrained")
    added = report.worst_inside_share.high > worst.worst_inside_share
    figure.suptitle(
        f"{part_number}: {exposure.title}\npredicted: {report.verdict.outcome}, up to"
        f" {100.0 * report.inside_share.high:.2g} % inside on average, up to"
        f" {100.0 * report.worst_inside_share.high:.2g} % at the worst aim; not measured"
        + ("\nThe sheets drawn are without what the free-surface solution adds" if added else ""),
        fontsize=10,
    )
    size = (1.0, 1.0)
    for axes, (height, from_deg, assumption) in zip(figure.subplots(1, 2), aims, strict=True):
        size = draw_section(axes, section)
        walls = walls_of(section, 0.0 if assumption.dry else report.start_pool_mm)
        if not assumption.dry:
            level = min(section.brink[1] + report.start_pool_mm, section.sill_top_mm)
            axes.plot([section.foot[0], section.brink[0]], [level, level], **POOL)
        start = jet_starts(walls, jet, np.array([height]), np.array([from_deg]))
        shares = _draw_branches(axes, walls, jet, assumption, start, scene.gravity_m_s2, drip)
        told = ", ".join(f"{100.0 * share:.2g} % {name}" for name, share in shares.items())
        axes.set_title(
            f"height {height:.0f} mm, {direction_words(from_deg + tilt_deg)}, assumption:"
            f" {assumption.name}\n{told}",
            fontsize=8,
        )
    figure.set_size_inches(11.0, min(max(5.0 * size[1] / size[0], 4.0), 10.0) + 1.4)
    handles = [Line2D([], [], linewidth=2.0, label=name, **s) for name, s in STYLES.items()]
    handles.append(Line2D([], [], label="pool at the start", **POOL))
    figure.legend(handles=handles, loc="outside lower center", ncols=4, fontsize=8, frameon=False)
    return figure


def _draw_branches(
    axes: Any,
    walls: Walls,
    jet: Jet,
    assumption: Assumption,
    start: FloatArray,
    gravity_m_s2: tuple[float, float],
    drip: Drip,
) -> dict[str, float]:
    """Draw all branches of a jet, as thick as their water, and return the share by its end."""
    trail = Trail.of(POINTS, POINTS)
    rules = rules_of(assumption, gravity_m_s2, cut=0.004, grain=0.02, rays=24)
    seeds, columns = np.array([0.5]), walls.slats + 4
    out = follow(walls.arrays, rules, start, jet.bore_mm, seeds, columns, trail)[0]
    film = out[: walls.slats + 1]
    ends = {
        "ends in the trough": float(out[walls.trough] + film @ drip.trough),
        "thrown back out": float(out[walls.returned] + film @ drip.returns),
        "gets inside": float(out[walls.inside] + film @ drip.passes),
    }
    nodes = trail.nodes[: int(trail.tally[0])]
    leaves = trail.leaves[: int(trail.tally[1])]
    fate = _fates(walls, leaves[:, 1].astype(np.int64), drip)
    for k, name in enumerate(STYLES):
        weight = np.zeros(len(nodes))
        for node, _, water in leaves[fate == k]:
            here = int(node)
            while here >= 0:
                weight[here] += water
                here = int(nodes[here, 2])
        drawn = np.flatnonzero((weight > 0.0) & (nodes[:, 2] >= 0.0))
        before = nodes[drawn, 2].astype(np.int64)
        lines = list(np.stack([nodes[before, :2], nodes[drawn, :2]], axis=1))
        widths = THICKEST * np.sqrt(weight[drawn])
        style = STYLES[name]
        axes.add_collection(LineCollection(lines, linewidths=widths, alpha=0.6, zorder=4, **style))
        first = nodes[0, :2]
        if weight[0] > 0.0:
            way = -start[0, 4:6] / jet.speed_m_s
            axes.plot(
                *zip(first + 10.0 * way, first, strict=True),
                linewidth=THICKEST * float(np.sqrt(weight[0])),
                alpha=0.6,
                **style,
            )
    return ends


def _fates(walls: Walls, columns: IntArray, drip: Drip) -> IntArray:
    """Return for each end its place among ``STYLES``."""
    drips = np.argmax(np.stack([drip.trough, drip.returns, drip.passes], axis=1), axis=1)
    known = np.array([*drips, 0, 2, 1], dtype=np.int64)
    return np.asarray(known[columns])

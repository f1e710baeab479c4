"""The nearest straight line, drops and sheets of a jet, in the plane of one bay."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, box

from vent_family.base.arrays import FloatArray
from vent_family.evidence.curves.curve import Curves, in_plane
from vent_family.evidence.outcomes import RANK
from vent_family.evidence.palette import BLUE, INK, ORANGE, PINK, RED
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.jets.branches import (
    ENDS,
    End,
    jet_branches,
    level_aim,
    percent,
    worst_aim,
)
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.report import ExposureReport, WaterReport
from vent_family.evidence.water.sight import sight_line
from vent_family.evidence.water.tracks import FATES, Fate, drop_tracks
from vent_family.spec.section import Section

FATE_COLOURS: Final[dict[Fate, str]] = {"caught": BLUE, "thrown back out": ORANGE, "passed": RED}
END_COLOURS: Final[dict[End, str]] = {
    "ends in the trough": BLUE,
    "thrown back out": ORANGE,
    "gets inside": RED,
}
_PLAY_MM: Final = 0.02
"""Ways of drops are drawn with so many points that none is farther off."""
_AROUND_MM: Final = 12.0
"""Ways are drawn so far around the cavity."""
_LEAST_SHARE: Final = 0.002
"""Stretches of a jet with less of its water are not drawn."""


def sight_curves(section: Section, x_mm: float) -> tuple[Curves, ...]:
    """Return the nearest straight line in the plane at ``x_mm`` (mm), and where solid stops it."""
    line = sight_line(section)
    sight, drawn = section.sight, line.drawn
    side = "above" if drawn.elevation_deg < 0.0 else "below"
    arrives = f"arriving {abs(drawn.elevation_deg):.0f} degrees from {side}"
    if sight.is_open:
        words = f"widest straight path, {-sight.margin_mm:.2f} mm wide, {arrives}"
    elif drawn.margin_mm > sight.margin_mm + 0.005:
        words = (
            f"nearest straight line between slats, misses by {drawn.margin_mm:.2f} mm, {arrives}"
            f" (along a wall: by {sight.margin_mm:.2f} mm)"
        )
    else:
        words = f"nearest straight line, misses by {sight.margin_mm:.2f} mm, {arrives}"
    found = [Curves("sight line", words, PINK, (in_plane(np.array(line.ends_mm), x_mm),), True)]
    if line.stopped_mm:
        stopped = tuple(in_plane(np.array(ends), x_mm) for ends in line.stopped_mm)
        found.append(Curves("stopped", "where solid stops that line", INK, stopped, True))
    return tuple(found)


def water_curves(section: Section, report: WaterReport, x_mm: float) -> tuple[Curves, ...]:
    """Return ways of water in the plane at ``x_mm``, mm: of the row's worst exposure."""
    if not report.exposures:
        return ()
    worst = max(report.exposures, key=lambda e: RANK[e.verdict.outcome])
    tilt = report.conditions.tilt_deg
    if isinstance(worst, JetReport):
        return _jet_curves(section, worst, tilt, x_mm)
    return _drop_curves(section, worst, tilt, x_mm)


def _drop_curves(
    section: Section, report: ExposureReport, tilt_deg: float, x_mm: float
) -> tuple[Curves, ...]:
    """Return ways of drops, and how many end each way."""
    tracks = drop_tracks(section, report, tilt_deg)
    counts = Counter(way.fate for way in tracks)
    title = EXPOSURES[report.name].title
    return tuple(
        Curves(
            f"drops {fate}",
            f"{title}: {counts[fate]} drops {fate}",
            FATE_COLOURS[fate],
            tuple(
                line
                for way in tracks
                if way.fate == fate
                for line in _drawn([way.path_mm], section, x_mm)
            ),
            fate == "passed",
        )
        for fate in FATES
        if counts[fate]
    )


def _jet_curves(
    section: Section, report: JetReport, tilt_deg: float, x_mm: float
) -> tuple[Curves, ...]:
    """Return the sheets of a jet from its worst aim, and aimed level at the middle of the front."""
    aims = (worst_aim(report, tilt_deg), level_aim(section, tilt_deg))
    drawn = jet_branches(section, report, tilt_deg, aims)
    title = EXPOSURES[report.name].title
    found = []
    for end in ENDS:
        runs = [run for b in drawn for run in b.runs if run.end == end and run.share > _LEAST_SHARE]
        if runs:
            worst, level = (percent(branches.shares[end]) for branches in drawn)
            words = f"{title}: {worst} of the jet {end} at the worst aim, {level} aimed level"
            lines = _drawn([run.path_mm for run in runs], section, x_mm)
            found.append(Curves(f"jet {end}", words, END_COLOURS[end], lines, True))
    return tuple(found)


def _drawn(ways: Sequence[FloatArray], section: Section, x_mm: float) -> tuple[FloatArray, ...]:
    """Return ways (z, y) as they are drawn: near the vent only, and with fewer points.

    Those that follow each other are one.
    """
    around = box(
        section.inner_z_mm - _AROUND_MM,
        section.lowest_mm - _AROUND_MM,
        section.front_z_mm + _AROUND_MM,
        section.highest_mm + _AROUND_MM,
    )
    lines = shapely.line_merge(MultiLineString(ways)).intersection(around).simplify(_PLAY_MM)
    return tuple(
        in_plane(shapely.get_coordinates(line), x_mm)
        for line in shapely.get_parts(lines)
        if isinstance(line, LineString)
    )

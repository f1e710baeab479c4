"""Ways of single drops through a section, from where they come in to where they end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.exposures import EXPOSURES, beams
from vent_family.evidence.water.flight import AFLOAT, PASSED, RETURNED, track
from vent_family.evidence.water.penetration import START_MM, entry_heights, scene_of
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.splash import SEVERE, secondary_drops, splashes
from vent_family.spec.section import Section

Fate = Literal["caught", "thrown back out", "passed"]
FATES: Final[tuple[Fate, ...]] = ("caught", "thrown back out", "passed")
TRACK_HEIGHTS: Final = 16
"""Drops come in at so many heights."""
_LEAD_MM: Final = 10.0
"""How far in front of its entry a drop's way begins."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """The way of one drop.

    ``path_mm`` are points (z, y), mm, from outside in; ``thrown_up`` says that the drop was thrown
    up by the first impact of another one, ``impact`` that its way ends on a wall.
    """

    path_mm: FloatArray
    fate: Fate
    thrown_up: bool
    impact: bool


def drop_tracks(
    section: Section,
    report: ExposureReport,
    tilt_deg: float,
    source: AirSource = potential_flow,
) -> tuple[Track, ...]:
    """Return tracks of an exposure's drops from its worst direction.

    The drop in which half of the water lies speaks for all; what it throws up where it first
    strikes, under the severe splash assumption, follows it.

    Parameters
    ----------
    section, report
        The section, and what is reported of the exposure on it.
    tilt_deg : float
        Lean of the vent, degrees.
    source
        Where the air's flow comes from.
    """
    velocity = report.air.face_velocity_m_s
    scene = scene_of(section, velocity, tilt_deg, source)
    b = scene.boundary
    came = beams(EXPOSURES[report.name], velocity)
    beam = min(came, key=lambda x: abs(x.elevation_deg - report.worst_elevation_deg))
    mass = beam.flux_l_min_m2
    c = int(np.searchsorted(np.cumsum(mass), 0.5 * mass.sum()))
    t = np.radians(tilt_deg)
    w = beam.w_m_s[c] * np.cos(t) + beam.v_m_s[c] * np.sin(t)
    v = -beam.w_m_s[c] * np.sin(t) + beam.v_m_s[c] * np.cos(t)
    size = float(beam.diameter_mm[c])
    found: list[Track] = []

    def fate_of(edge: int) -> Fate:
        if edge in (PASSED, AFLOAT) or (edge >= 0 and b.owner[edge] == b.inside):
            return "passed"
        if edge == RETURNED or (edge >= 0 and b.owner[edge] == b.face):
            return "thrown back out"
        return "caught"

    for height in entry_heights(section, TRACK_HEIGHTS):
        z0 = section.front_z_mm + START_MM
        start = (z0, float(height), float(w), float(v))
        path, edge = track(b, scene.air, scene.gravity_m_s2, start, size)
        # The way to the vent, straight back from the entry point.
        back = np.array([[z0 - w * s, height - v * s] for s in (_LEAD_MM / max(-w, 0.1), 0.0)])
        found.append(Track(np.vstack([back, path]), fate_of(edge), False, edge >= 0))
        if edge < 0:
            continue
        step = path[-1] - path[-2]
        speed = float(np.hypot(w, v))
        way = step / max(float(np.hypot(*step)), 1e-12) * speed
        hit = (b.edges[edge : edge + 1], np.array([way[0]]), np.array([way[1]]))
        if not splashes(SEVERE, *hit, np.array([size]))[0]:
            continue
        child = secondary_drops(
            SEVERE, hit[0], path[-1:, 0], path[-1:, 1], hit[1], hit[2], np.array([size])
        )
        for k in range(child.z_mm.size):
            state = (child.z_mm[k], child.y_mm[k], child.w_m_s[k], child.v_m_s[k])
            small, end = track(b, scene.air, scene.gravity_m_s2, state, float(child.diameter_mm[k]))
            found.append(Track(np.asarray(small), fate_of(end), True, end >= 0))
    return tuple(found)

"""Mist sent through a vent, and cut sizes against face velocity."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.boundary import boundary_of
from vent_family.evidence.water.flight import gravity
from vent_family.evidence.water.report import CutSize
from vent_family.evidence.water.transport import Drops, DropScene, shoot
from vent_family.spec.section import Section

START_MM: Final = 0.5
"""Drops start this far in front of the outer plane."""
MIST_MM: Final = (0.003, 1.0)
MIST_CLASSES: Final = 32
MIST_HEIGHTS: Final = 48
CUT_VELOCITIES_M_S: Final = (0.5, 1.0, 2.0, 3.0)


def scene_of(
    section: Section,
    face_velocity_m_s: float,
    tilt_deg: float,
    source: AirSource = potential_flow,
) -> DropScene:
    """Return the scene of a section at a face velocity and mounting tilt."""
    air = source(section, face_velocity_m_s)
    return DropScene(section, boundary_of(section), air, gravity(tilt_deg))


def entry_heights(section: Section, count: int) -> FloatArray:
    """Return the middles of equal strips over the cavity's height in the outer plane, mm."""
    low, high = section.drain_mm[0], section.ceiling_mm
    return np.asarray(low + (high - low) * (np.arange(count) + 0.5) / count)


def mist_penetration(
    section: Section,
    face_velocity_m_s: float,
    source: AirSource = potential_flow,
    diameters_mm: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Return diameters (mm) and the share of each that passes when it comes in with the air.

    Every contact catches; drops that meet the outer face are not counted as having come in.
    """
    if diameters_mm is None:
        return _mist(section, face_velocity_m_s, source)
    return diameters_mm, _passing(section, face_velocity_m_s, source, diameters_mm)


@lru_cache(maxsize=64)
def _mist(
    section: Section, face_velocity_m_s: float, source: AirSource
) -> tuple[FloatArray, FloatArray]:
    """Return the usual diameters and their passing shares; pictures ask for them again."""
    d = np.geomspace(*MIST_MM, MIST_CLASSES)
    return d, _passing(section, face_velocity_m_s, source, d)


def _passing(
    section: Section, face_velocity_m_s: float, source: AirSource, d: FloatArray
) -> FloatArray:
    scene = scene_of(section, face_velocity_m_s, 0.0, source)
    heights = entry_heights(section, MIST_HEIGHTS)
    size, level = np.meshgrid(d, heights, indexing="ij")
    n = size.size
    drops = Drops(
        np.full(n, section.front_z_mm + START_MM),
        level.ravel(),
        np.full(n, -face_velocity_m_s),
        np.zeros(n),
        size.ravel(),
        np.full(n, 1.0 / heights.size),
        np.repeat(np.arange(d.size), heights.size),
    )
    fates = shoot(scene, drops, None, d.size)
    entered = np.maximum(1.0 - fates.returned, 1e-12)
    return np.asarray(fates.passed / entered)


def cut_size(
    section: Section, face_velocity_m_s: float, source: AirSource = potential_flow
) -> CutSize:
    """Return the diameters of which half and 99 % are caught at a face velocity."""
    d, passing = mist_penetration(section, face_velocity_m_s, source)
    return CutSize(face_velocity_m_s, _falls_below(d, passing, 0.5), _falls_below(d, passing, 0.01))


def _falls_below(d: FloatArray, passing: FloatArray, level: float) -> float | None:
    """Return the diameter from which on the passing share stays below a level."""
    above = np.flatnonzero(passing > level)
    if above.size == 0:
        return float(d[0])
    last = int(above[-1])
    if last == d.size - 1:
        return None
    # Linear in the logarithm of the diameter.
    a, b = passing[last], passing[last + 1]
    part = (a - level) / (a - b)
    return float(np.exp(np.log(d[last]) + part * np.log(d[last + 1] / d[last])))

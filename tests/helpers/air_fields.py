"""Plain air for drops to fly in: the same everywhere, or level with the mean of each depth."""

from __future__ import annotations

import numpy as np

from vent_family.evidence.water.airfield import CELL_MM, AirField
from vent_family.spec.section import Section


def uniform_field(w_m_s: float, v_m_s: float = 0.0) -> AirField:
    """Return the same air velocity everywhere; zero for still air."""
    return AirField(0.0, 0.0, 1.0, 1.0, np.full((1, 1), w_m_s), np.full((1, 1), v_m_s))


def plug_flow(section: Section, face_velocity_m_s: float) -> AirField:
    """Return level flow with the mean velocity of each depth, by continuity.

    Air then runs straight into slats, and small drops with it.
    """
    z0, z1 = section.inner_z_mm, section.front_z_mm
    count = int(np.ceil((z1 - z0) / CELL_MM)) + 1
    z = np.linspace(z0, z1, count)
    inside = np.clip(z, z0 + 1e-3, z1 - 1e-3)
    free = np.array([section.free_height_mm(float(s)) for s in inside])
    w = -face_velocity_m_s * section.front_height_mm / free
    return AirField(z0, 0.0, float(z[1] - z[0]), 1.0, w[:, None].copy(), np.zeros((count, 1)))

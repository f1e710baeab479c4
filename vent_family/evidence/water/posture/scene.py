"""A vent in a mounting, made ready for drops."""

from __future__ import annotations

import math
from typing import Final

from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.mounted import (
    hanging,
    mounted_boundary,
    rib_end_mm,
    rib_face,
)
from vent_family.evidence.water.posture.sideways import Sideways
from vent_family.evidence.water.transport import DropScene
from vent_family.spec.vent import VentSpec

WEIGHTLESS: Final = 1e-3
"""Gravity in the section's plane below this share of the whole counts as this much, inwards."""


def mounted_scene(
    vent: VentSpec,
    face_velocity_m_s: float,
    posture: Posture,
    source: AirSource = potential_flow,
) -> DropScene:
    """Return the scene of a vent in a mounting; ``face_velocity_m_s`` on its open face."""
    section = vent.section
    gx, gy, gz = posture.gravity_m_s2
    whole = math.hypot(gx, gy, gz)
    if math.hypot(gy, gz) < WEIGHTLESS * whole:
        gz = -WEIGHTLESS * whole
    side = None
    if posture.roll_deg != 0.0:
        end_z = rib_end_mm(vent)
        side = Sideways(
            gravity_m_s2=gx,
            bay_mm=max(b - a for a, b in vent.bays),
            face=rib_face(section, posture, end_z),
            low_mm=(end_z, section.lowest_mm),
            high_mm=(section.front_z_mm, section.highest_mm),
        )
    return DropScene(
        section,
        mounted_boundary(section, posture),
        source(section, face_velocity_m_s),
        (gz, gy),
        hanging(section, posture),
        side,
    )

"""The flight of one drop solved plainly, by a general integrator; slow, and written apart."""

from __future__ import annotations

import math

import numpy as np
import shapely
from fluids.drag import drag_sphere
from scipy.integrate import solve_ivp

from vent_family.base.constants import (
    AIR_DENSITY_KG_M3,
    AIR_VISCOSITY_PA_S,
    GRAVITY_M_S2,
    WATER_DENSITY_KG_M3,
)
from vent_family.evidence.water.airfield import AirField
from vent_family.evidence.water.boundary import Boundary
from vent_family.evidence.water.drag import flattening_factor, terminal_velocity
from vent_family.spec.section import Section


def room_of(section: Section, b: Boundary) -> shapely.Polygon:
    """Return the air of a section and the space in front of it as one polygon."""
    front = shapely.box(section.front_z_mm, b.limits[2], b.limits[1], b.limits[3])
    room = shapely.union_all([section.air, front])
    shapely.prepare(room)
    return room


def plain_flight(
    room: shapely.Polygon,
    air: AirField,
    start: np.ndarray,
    d_mm: float,
    step_mm: float = 0.2,
) -> np.ndarray:
    """Return where one drop ends: scipy's solver with an event, fluids called at every step."""
    d = d_mm * 1e-3
    flat = float(flattening_factor(np.array([d_mm]))[0])
    v_flat = float(terminal_velocity(np.array([d_mm]))[0])
    g = GRAVITY_M_S2 * (1.0 - AIR_DENSITY_KG_M3 / WATER_DENSITY_KG_M3)

    def slope(_: float, s: np.ndarray) -> list[float]:
        ua, va = air.velocity(s[0], s[1])
        rw, rv = ua - s[2], va - s[3]
        rel = max(math.hypot(rw, rv), 1e-9)
        re = AIR_DENSITY_KG_M3 * rel * d / AIR_VISCOSITY_PA_S
        grown = 1.0 + (flat - 1.0) * min(1.0, (rel / v_flat) ** 2)
        k = 0.75 * drag_sphere(re) * grown * AIR_DENSITY_KG_M3 * rel / (WATER_DENSITY_KG_M3 * d)
        return [1e3 * s[2], 1e3 * s[3], k * rw, k * rv - g]

    def clear(_: float, s: np.ndarray) -> float:
        """Return the distance to the nearest wall, negative inside a solid."""
        here = shapely.Point(s[0], s[1])
        gap = here.distance(room.boundary)
        return gap if room.contains(here) else -gap

    clear.terminal = True  # type: ignore[attr-defined]
    # A step longer than a slat's corner is wide crosses it unnoticed.
    step = 1e-3 * step_mm / max(math.hypot(start[2], start[3]), 2.0)
    done = solve_ivp(slope, (0.0, 2.0), start, events=clear, rtol=1e-6, atol=1e-6, max_step=step)
    return np.asarray(done.y[:2, -1])

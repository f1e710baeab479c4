"""The air in which drops fly: velocities on a regular grid over the section.

Any solver's field fits :class:`AirField`. The default here is potential flow through the real
section: it follows the slats and conserves the flow exactly, but knows no wakes and no boundary
layers. Plug flow by one-dimensional continuity is there for comparison.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Protocol

import numpy as np
import shapely
from scipy.ndimage import label
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from vent_family.base.arrays import BoolArray, FloatArray
from vent_family.evidence.water.multigrid import EXACT, potential
from vent_family.spec.section import Section

APPROACH_MM: Final = 8.0
"""Depth of free air in front of the outer plane that the fields cover."""
CELL_MM: Final = 0.25
"""Grid spacing; about eleven cells across the narrowest passage allowed."""
ROUGH_CELL_MM: Final = 0.5
ROUGH_WITHIN: Final = 1e-4
"""Residual over the first one with which an estimate is content."""
CELLS_MAX: Final = 150_000
"""Larger sections get a coarser grid, which errs towards more mist passing."""


class AirSource(Protocol):
    """Anything that yields an air field for a section at a face velocity.

    The face velocity (m/s, positive into the cabinet) is the air flow over the cavity's height in
    the outer plane times the width of the bays.
    """

    def __call__(self, section: Section, face_velocity_m_s: float) -> AirField:
        """Return the field."""

    def __hash__(self) -> int:
        """Return the key under which results of this source are kept."""


@dataclass(frozen=True, eq=False)
class AirField:
    """Velocities at the nodes of a regular grid.

    Node (i, j) lies at z = z0_mm + i dz_mm, y = y0_mm + j dy_mm. ``w_m_s`` (along +z, outwards)
    and ``v_m_s`` (along +y) have the shape (nz, ny). Outside the grid the nearest node counts.
    """

    z0_mm: float
    y0_mm: float
    dz_mm: float
    dy_mm: float
    w_m_s: FloatArray
    v_m_s: FloatArray

    def velocity(self, z_mm: float, y_mm: float) -> tuple[float, float]:
        """Return (w, v) in m/s at a point, interpolated linearly."""
        nz, ny = self.w_m_s.shape
        x = min(max((z_mm - self.z0_mm) / self.dz_mm, 0.0), nz - 1.0)
        y = min(max((y_mm - self.y0_mm) / self.dy_mm, 0.0), ny - 1.0)
        i, j = min(int(x), max(nz - 2, 0)), min(int(y), max(ny - 2, 0))
        a, b = x - i, y - j
        i1, j1 = min(i + 1, nz - 1), min(j + 1, ny - 1)

        def mix(f: FloatArray) -> float:
            low = f[i, j] * (1 - a) + f[i1, j] * a
            high = f[i, j1] * (1 - a) + f[i1, j1] * a
            return float(low * (1 - b) + high * b)

        return mix(self.w_m_s), mix(self.v_m_s)

    def scaled(self, factor: float) -> AirField:
        """Return the field with all velocities multiplied by ``factor`` (1)."""
        return AirField(
            self.z0_mm,
            self.y0_mm,
            self.dz_mm,
            self.dy_mm,
            self.w_m_s * factor,
            self.v_m_s * factor,
        )


def potential_flow(section: Section, face_velocity_m_s: float) -> AirField:
    """Return potential flow through the section, finite volumes on a fine grid."""
    return _unit_potential(section, CELL_MM, EXACT).scaled(face_velocity_m_s)


def rough_flow(section: Section, face_velocity_m_s: float) -> AirField:
    """Return the same on a coarser grid and less exactly, for a first estimate."""
    return _unit_potential(section, ROUGH_CELL_MM, ROUGH_WITHIN).scaled(face_velocity_m_s)


@lru_cache(maxsize=32)
def _unit_potential(section: Section, cell_mm: float, within: float) -> AirField:
    """Return the potential flow of unit face velocity, solved to a residual over the first one."""
    z0, z1 = section.inner_z_mm, section.front_z_mm + APPROACH_MM
    low, high = section.lowest_mm - APPROACH_MM, section.highest_mm + APPROACH_MM
    h = max(cell_mm, math.sqrt((z1 - z0) * (high - low) / CELLS_MAX))
    nz, ny = int(np.ceil((z1 - z0) / h)), int(np.ceil((high - low) / h))
    z = z0 + (np.arange(nz) + 0.5) * h
    y = low + (np.arange(ny) + 0.5) * h
    air = _air_region(section, z1 + 1.0, low, high)
    shapely.prepare(air)
    zz, yy = np.meshgrid(z, y, indexing="ij")
    free = shapely.contains_xy(air, zz, yy)
    free = _connected(free)
    phi = potential(free, within)

    # Flow through cell faces, towards decreasing potential.
    fz = np.zeros((nz + 1, ny))
    fz[1:-1] = np.where(free[:-1] & free[1:], phi[:-1] - phi[1:], 0.0)
    fz[0] = np.where(free[0], -2.0 * phi[0], 0.0)
    fz[-1] = np.where(free[-1], 2.0 * (phi[-1] - 1.0), 0.0)
    fy = np.zeros((nz, ny + 1))
    fy[:, 1:-1] = np.where(free[:, :-1] & free[:, 1:], phi[:, :-1] - phi[:, 1:], 0.0)
    through = -fz[0].sum() * h
    factor = section.front_height_mm / through
    w = 0.5 * (fz[:-1] + fz[1:]) * factor
    v = 0.5 * (fy[:, :-1] + fy[:, 1:]) * factor
    return AirField(z0 + h / 2, low + h / 2, h, h, w, v)


def _air_region(section: Section, z_end: float, low: float, high: float) -> Polygon:
    """Return the air of the section and in front of it."""
    solid = section.slats_solid.union(section.apron_solid)
    front = box(section.front_z_mm, low - 1.0, z_end, high + 1.0)
    return unary_union([section.room.difference(solid), front])


def _connected(free: BoolArray) -> BoolArray:
    """Return the cells joined to the outer end; closed pockets make the equations singular."""
    marks, _ = label(free)
    return np.asarray((marks == marks[-1, free.shape[1] // 2]) & free)

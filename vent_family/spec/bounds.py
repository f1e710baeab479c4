"""What a family lays out of a section before the slats are placed: floor, sill, open ends.

Coordinates as in :mod:`vent_family.spec.section`, in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from vent_family.spec.forms import Outline
from vent_family.spec.section import Point
from vent_family.spec.shelter import Shelter


@dataclass(frozen=True, slots=True)
class Throat:
    """The way from a round cavity into its neck, through a back plate with a corner of 45 degrees.

    ``plate_z_mm`` is the plate's front, ``plate_radius_mm`` the cavity's radius there; from it the
    corner widens outwards. The plate below the bore is the sill; from ``bevel_z_mm[0]`` to
    ``bevel_z_mm[1]`` the bore widens by 45 degrees.
    """

    bore_radius_mm: float
    bevel_z_mm: tuple[float, float]
    plate_z_mm: float
    plate_radius_mm: float

    def mouth(self, sense: int) -> Outline:
        """Return the bore's edge from its end in front up to the plate, mm.

        ``sense`` is the sign of its height, -1 or 1.
        """
        z0, z1 = self.bevel_z_mm
        wide = sense * (self.bore_radius_mm + z1 - z0)
        return ((z0, sense * self.bore_radius_mm), (z1, wide), (self.plate_z_mm, wide))

    def corner(self, y: float) -> Outline:
        """Return the corner from the plate to a height ``y`` above or below, mm, its end too."""
        out = abs(y) - self.plate_radius_mm
        if out <= 0.0:
            return ((self.plate_z_mm, y),)
        edge = math.copysign(self.plate_radius_mm, y)
        return ((self.plate_z_mm, edge), (self.plate_z_mm + out, y))

    def face(self, lip: Outline, foot_mm: float) -> Outline:
        """Return the face of plate and corner down to a foot at a height (mm), a lip on it.

        The lip's first and last corners are its roots; where they meet the corner, it reaches back
        as far as that.
        """
        edge = self.corner(foot_mm)[:-1]
        if not lip:
            return edge
        top, *tip, low = (
            self.corner(y)[-1] if k in (0, 3) else (z, y) for k, (z, y) in enumerate(lip)
        )
        above = tuple(p for p in edge if p[1] > top[1])
        below = tuple(p for p in edge if p[1] < low[1])
        return (*above, top, *tip, low, *below)


@dataclass(frozen=True, slots=True)
class Bounds:
    """Bottom, sill and open ends of the section, as the family lays them out.

    ``floor_front_mm`` is the floor's height at the outer plane; the floor rises inwards by
    ``slope_deg`` up to the sill's foot at ``foot_z_mm``. Behind the sill the level stays at its
    top as far as ``inner_z_mm``. With a ``throat`` the sill stands on its plate. With a ``shelter``
    this floor is the trough's, and the one below it leads out.
    """

    front_z_mm: float
    front_margin_mm: float
    floor_front_mm: float
    slope_deg: float
    drain_height_mm: float
    apron_thickness_mm: float
    ceiling_max_mm: float
    ceiling_min_mm: float
    inner_z_mm: float
    foot_z_mm: float
    sill_top_mm: float
    throat: Throat | None = None
    shelter: Shelter | None = None

    @property
    def tangent(self) -> float:
        """Tangent of the floor's slope, a ratio."""
        return math.tan(math.radians(self.slope_deg))

    def floor_mm(self, z: float) -> float:
        """Return the height (mm) of the floor at depth z (mm)."""
        if self.shelter is not None:
            return self.shelter.floor_mm(z)
        return self.floor_front_mm + (self.front_z_mm - z) * self.tangent

    @property
    def foot(self) -> Point:
        """Foot of the sill."""
        return (self.foot_z_mm, self.floor_mm(self.foot_z_mm))

    @property
    def brink(self) -> Point:
        """Outer edge of the floor."""
        if self.shelter is not None:
            return self.shelter.brink
        return (self.front_z_mm, self.floor_front_mm)

    def sill(self, top_mm: float) -> Point:
        """Return the outer edge of a sill's top of this height (mm)."""
        z = self.foot_z_mm if self.throat is None else self.throat.bevel_z_mm[0]
        return (z, top_mm)

    def sill_face(self, sill_top_mm: float) -> Outline:
        """Return the corners of the face of a sill of this height (mm)."""
        lip = () if self.shelter is None else self.shelter.sill_face(self.foot, sill_top_mm)
        if self.throat is None:
            return lip
        return (*self.throat.mouth(-1)[1:], *self.throat.face(lip, self.foot[1]))

    def lower(self, sill_top_mm: float) -> Outline:
        """Return the lower boundary (z, y) from inside out under a sill of this height (mm)."""
        return (
            (self.inner_z_mm, sill_top_mm),
            self.sill(sill_top_mm),
            *self.sill_face(sill_top_mm),
            self.foot,
            self.brink,
            *(() if self.shelter is None else self.shelter.outlet),
        )

    def upper(self, ceiling: float) -> Outline:
        """Return the upper boundary (z, y) from the inner to the outer plane, ``ceiling`` in mm."""
        end = (self.front_z_mm, ceiling)
        if self.throat is None:
            return ((self.inner_z_mm, ceiling), end)
        inner = (self.inner_z_mm, self.throat.bore_radius_mm)
        return (inner, *self.throat.mouth(1), *self.throat.corner(ceiling), end)

"""Open areas of a vent in planes across the flow, from its section and its bays."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from vent_family.spec.section import Section
from vent_family.spec.vent import RoundBody, VentSpec

EDGE_MM: Final = 1e-3
"""How far inside an end plane its area is taken."""
PLANES: Final = 9
"""Planes within a bank among which the narrowest is sought."""


@dataclass(frozen=True, slots=True)
class OpenArea:
    """One cross-section: where it lies (mm from the mounting plane) and how much is open (mm2)."""

    name: str
    z_mm: float
    area_mm2: float


def clear_plan(spec: VentSpec) -> BaseGeometry:
    """Return the plane (x, y) between walls and ribs, before floor, ceiling and slats (mm)."""
    bays = shapely.union_all([box(a, -1e4, b, 1e4) for a, b in spec.bays])
    if isinstance(spec.body, RoundBody):
        # 256 corners: area 0.02 % below the circle's.
        return bays.intersection(shapely.Point(0, 0).buffer(spec.body.inner_radius_mm, 64))
    return bays


def band_area_mm2(spec: VentSpec, low_mm: float, high_mm: float) -> float:
    """Return the clear area between two heights."""
    if high_mm <= low_mm:
        return 0.0
    return float(clear_plan(spec).intersection(box(-1e4, low_mm, 1e4, high_mm)).area)


def free_bands(section: Section, z_mm: float) -> list[tuple[float, float]]:
    """Return the open heights (low, high) of the section in the plane at ``z_mm``."""
    line = shapely.LineString([(z_mm, -1e4), (z_mm, 1e4)])
    cut = section.air.intersection(line)
    spans = [part.bounds for part in getattr(cut, "geoms", [cut]) if not part.is_empty]
    return sorted((b[1], b[3]) for b in spans if b[3] > b[1])


def area_at_mm2(spec: VentSpec, z_mm: float) -> float:
    """Return the open area in the plane at ``z_mm``."""
    return sum(band_area_mm2(spec, a, b) for a, b in free_bands(spec.section, z_mm))


def open_areas(spec: VentSpec) -> tuple[OpenArea, ...]:
    """Return the open areas of window, banks, sill and neck, smallest first.

    Planes are normal to z and take in the drain channel below the slats. ``bank n`` is the least
    area within the bank; for slanted slats ``passages of bank n`` counts the passages normal to
    the flow between the slats, where they are narrower still.
    """
    section, stack = spec.section, spec.section.stack
    front = section.stack_z_mm[1]
    found = [_plane(spec, "front window and drain", section.front_z_mm - EDGE_MM)]
    for bank in range(stack.bank_count):
        z0, z1 = stack.bank_z(bank)
        planes = [front + z0 + (z1 - z0) * (i + 0.5) / PLANES for i in range(PLANES)]
        least = min((_plane(spec, f"bank {bank + 1}", z) for z in planes), key=_area)
        found.append(least)
        if stack.form != "flat":
            low = lowest_mm(section, bank)
            below = sum(
                band_area_mm2(spec, a, min(b, low)) for a, b in free_bands(section, least.z_mm)
            )
            normal = below + (least.area_mm2 - below) / math.sqrt(2.0)
            found.append(OpenArea(f"passages of bank {bank + 1}", least.z_mm, normal))
    found.append(_plane(spec, "over the sill", foot_z_mm(section) - EDGE_MM))
    if isinstance(spec.body, RoundBody):
        bore = spec.body.bore_radius_mm
        found.append(OpenArea("neck", section.inner_z_mm, math.pi * bore**2))
    return tuple(sorted(found, key=_area))


def _plane(spec: VentSpec, name: str, z_mm: float) -> OpenArea:
    return OpenArea(name, z_mm, area_at_mm2(spec, z_mm))


def _area(plane: OpenArea) -> float:
    return plane.area_mm2


def foot_z_mm(section: Section) -> float:
    """Return z of the sill's foot."""
    return min(z for z, y in section.lower if abs(y - section.floor_inner_mm) < 1e-6)


def lowest_mm(section: Section, bank: int) -> float:
    """Return the height at which a bank's lowest slat ends, the top of the drain channel."""
    return min(y for s in section.slats if s.bank == bank for _, y in s.outline)


def face_area_mm2(spec: VentSpec) -> float:
    """Return the clear area the slats stand in, between drain channel and ceiling."""
    section = spec.section
    lowest = [lowest_mm(section, bank) for bank in range(section.stack.bank_count)]
    return band_area_mm2(spec, sum(lowest) / len(lowest), section.ceiling_mm)


def drain_area_mm2(spec: VentSpec) -> float:
    """Return the area of the drain slot in the outer plane."""
    return band_area_mm2(spec, *spec.section.drain_mm)

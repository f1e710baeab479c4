"""Open areas of a vent, cross-section by cross-section, from outside in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from shapely.geometry import LineString, Polygon, box

from vent_family.spec.section import BEYOND_MM
from vent_family.spec.vent import VentSpec

BANK_PLANES: Final = (0.1, 0.25, 0.75, 0.9)
"""Depths in a bank, as shares of it, of which the narrowest plane counts: an apron may stand before
a part of it. The middle of a folded slat is its ridge, where the flow turns."""


@dataclass(frozen=True, slots=True)
class OpenArea:
    """A named cross-section: depth z in mm and open area in mm2, normal to the local flow."""

    name: str
    z_mm: float
    area_mm2: float


@dataclass(frozen=True, slots=True)
class VentAreas:
    """All open areas of a vent, from outside in, and that of its drain slots (mm2)."""

    open: tuple[OpenArea, ...]
    drain_mm2: float


@lru_cache(maxsize=64)
def areas_of(spec: VentSpec) -> VentAreas:
    """Return all open areas of a vent.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> vent = resolve(CatalogRow(part_number="A", family="rectangular", size="80x60",
    ...                           status="draft"))
    >>> areas = areas_of(vent)
    >>> [area.name for area in areas.open]
    ['front', 'bank 1', 'bank 2', 'bank 3', 'inner']
    >>> areas.drain_mm2 == drain_area_mm2(vent)
    True
    """
    return VentAreas(open_areas(spec), drain_area_mm2(spec))


def open_areas(spec: VentSpec) -> tuple[OpenArea, ...]:
    """Return the open area of front window, banks, inner side or neck, fan annulus and screen.

    Between slanted slats the air flows obliquely, so the area normal to the flow is the area in the
    plane z = const times the cosine of the slant; a bank counts with its narrowest plane.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> vent = resolve(CatalogRow(part_number="A", family="rectangular", size="80x60",
    ...                           status="draft"))
    >>> [round(area.area_mm2) for area in open_areas(vent)]
    [3773, 1990, 1855, 1819, 3167]
    """
    section = spec.section
    front = section.front_z_mm
    slope = math.cos(math.radians(section.stack.shape.slant_deg))
    result = [OpenArea("front", front, plane_area_mm2(spec, front - 0.5))]
    for bank in range(section.stack.bank_count):
        z0, z1 = section.stack.bank_z(bank)
        planes = (section.stack_z_mm[1] + z0 + share * (z1 - z0) for share in BANK_PLANES)
        area, z = min((slope * plane_area_mm2(spec, z), z) for z in planes)
        result.append(OpenArea(f"bank {bank + 1}", z, area))
    neck = spec.body.neck
    if neck is not None:
        area = math.pi * neck.bore_radius_mm**2
        result.append(OpenArea("neck", section.inner_z_mm, area))
    else:
        z = section.inner_z_mm + 0.5
        result.append(OpenArea("inner", z, plane_area_mm2(spec, z)))
    duct = spec.fan_duct
    if duct is not None:
        result.append(OpenArea("fan annulus", duct.end_z_mm, duct.open_swept_mm2))
    screen = spec.body.screen
    if screen is not None:
        area = screen.window_mm2(section, spec.bays) * screen.mesh.open_share
        result.append(OpenArea("screen", screen.z_mm, area))
    return tuple(result)


def smallest(areas: tuple[OpenArea, ...]) -> OpenArea:
    """Return the narrowest of the cross-sections.

    Examples
    --------
    >>> smallest((OpenArea("front", 3.0, 3200.0), OpenArea("bank 1", -2.0, 1900.0))).name
    'bank 1'
    """
    return min(areas, key=lambda a: a.area_mm2)


def drain_area_mm2(spec: VentSpec) -> float:
    """Return the area of all drain slots in the outer plane (mm2).

    Examples
    --------
    Three bays and a slot of 4 mm; two ribs of 1.6 mm stand in a cavity 75.4 mm wide:

    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.spec.resolve import resolve
    >>> vent = resolve(CatalogRow(part_number="A", family="rectangular", size="80x60",
    ...                           status="draft"))
    >>> round(drain_area_mm2(vent), 1), round(4.0 * (75.4 - 2 * 1.6), 1)
    (288.8, 288.8)
    """
    low, high = spec.section.drain_mm
    ribs = _through_ribs_mm2(spec, spec.section.front_z_mm, (low, high))
    return band_area_mm2(spec, low, high) + ribs


def band_area_mm2(spec: VentSpec, low_mm: float, high_mm: float) -> float:
    """Return the clear area (mm2) between two heights (mm), ribs left out."""
    front = spec.section.front_z_mm
    return sum(_inside(spec, front, x0, x1, low_mm, high_mm) for x0, x1 in spec.bays)


def plane_area_mm2(spec: VentSpec, z: float) -> float:
    """Return the open area (mm2) in the plane at depth z (mm), drain slots included."""
    spans = _cut(spec.section.air, z)
    bays = sum(_inside(spec, z, x0, x1, y0, y1) for x0, x1 in spec.bays for y0, y1 in spans)
    return bays + _through_ribs_mm2(spec, z, (-BEYOND_MM, BEYOND_MM))


def _through_ribs_mm2(spec: VentSpec, z: float, y: tuple[float, float]) -> float:
    """Return the open area (mm2) of ribs at depth z between two heights ``y``, both in mm."""
    return sum(
        _inside(spec, z, x0, x1, max(y0, y[0]), min(y1, y[1]))
        for (x0, x1), outlines in _rib_openings(spec)
        for outline in outlines
        for y0, y1 in _cut(outline, z)
        if max(y0, y[0]) < min(y1, y[1])
    )


@lru_cache(maxsize=64)
def _rib_openings(
    spec: VentSpec,
) -> tuple[tuple[tuple[float, float], tuple[Polygon, ...]], ...]:
    """Return the openings of all ribs; every plane asks for them."""
    return spec.body.rib_openings(spec.section, spec.bays)


def _cut(shape: Polygon, z: float) -> list[tuple[float, float]]:
    """Return the heights (y) between which a shape (z, y) is cut by the line at z, mm."""
    cut = shape.intersection(LineString([(z, -BEYOND_MM), (z, BEYOND_MM)]))
    lines = getattr(cut, "geoms", [cut])
    return [(line.bounds[1], line.bounds[3]) for line in lines if not line.is_empty]


def _inside(spec: VentSpec, z: float, x0: float, x1: float, y0: float, y1: float) -> float:
    """Return the area (mm2) of a rectangle at a depth z inside the body's outline, ends in mm."""
    neck = spec.body.neck
    if neck is not None and z < neck.depths_mm[-1]:
        # The rear corner and the bore are narrower than the cavity in front.
        return float(spec.body.cavity_outline(z).intersection(box(x0, y0, x1, y1)).area)
    return spec.body.clear_area_mm2((x0, x1), (y0, y1))

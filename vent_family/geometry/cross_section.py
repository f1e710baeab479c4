"""Where a plane across the slats cuts a part, and a slice of it, without the exact solid.

The material in the plane is what the members of the body (:mod:`vent_family.spec.members`) say lies
there, within the envelope. Mark and label are left out; they are cut no deeper than a millimetre.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import cadquery as cq
import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from vent_family.geometry.primitives import prism_x
from vent_family.geometry.projection import cut_areas, half_beyond
from vent_family.geometry.vent import envelope
from vent_family.spec.members import BodyMember
from vent_family.spec.section import BEYOND_MM
from vent_family.spec.vent import VentSpec

_DEPTHS: Final = 120
"""Depths at which the cavity's outline is looked at, besides those where it changes."""
_BESIDE_MM: Final = 1e-5
_CRUMB_MM2: Final = 1e-3


def areas_cut(spec: VentSpec, x_mm: float) -> tuple[Polygon, ...]:
    """Return the areas (z, y), mm, in which the plane at ``x_mm``, mm, cuts a part.

    Raises
    ------
    GeometryError
        if the kernel makes no envelope
    """
    members = spec.body.members(spec.section, spec.bays)
    shell = unary_union(cut_areas(half_beyond(envelope(spec), x_mm), x_mm))
    cavity: BaseGeometry = Polygon()
    if any(m.inside is not None for m in members):
        cavity = _cavity(spec, x_mm, (shell.bounds[0], shell.bounds[2]))
    found = unary_union([_in_plane(m, x_mm, cavity) for m in members]).intersection(shell)
    parts = getattr(found, "geoms", [found])
    return tuple(p for p in parts if isinstance(p, Polygon) and p.area > _CRUMB_MM2)


def section_slice(spec: VentSpec, x_mm: float) -> cq.Compound:
    """Return a slice of a part: its cross-section at ``x_mm``, mm, drawn to the bay's left end.

    Raises
    ------
    GeometryError
        if the kernel makes no envelope
    """
    start = max(x0 for x0, x1 in spec.bays if x0 < x_mm < x1)
    prisms = []
    for area in areas_cut(spec, x_mm):
        holes = [_ring(hole) for hole in area.interiors]
        prisms.append(prism_x(_ring(area.exterior), start, x_mm, holes))
    return cq.Compound.makeCompound(prisms)


def _in_plane(member: BodyMember, x_mm: float, cavity: BaseGeometry) -> BaseGeometry:
    """Return what of a member lies in the plane."""
    here = unary_union(
        [s.outline for s in member.stretches if any(a < x_mm < b for a, b in s.xs_mm)]
    )
    if member.inside is None:
        return here
    return here.intersection(cavity) if member.inside else here.difference(cavity)


def _cavity(spec: VentSpec, x_mm: float, z_mm: tuple[float, float]) -> BaseGeometry:
    """Return the space between the side walls in the plane, between two depths (mm)."""
    neck = spec.body.neck
    jumps = () if neck is None else neck.depths_mm
    beside = [z + way for z in jumps for way in (-_BESIDE_MM, _BESIDE_MM)]
    upright = LineString([(x_mm, -BEYOND_MM), (x_mm, BEYOND_MM)])
    spans: list[tuple[float, float, float] | None] = []
    for z in np.unique([*np.linspace(*z_mm, _DEPTHS), *beside]):
        cut = spec.body.cavity_outline(float(z)).intersection(upright)
        spans.append(None if cut.is_empty else (float(z), cut.bounds[1], cut.bounds[3]))
    strips = []
    for before, after in pairwise(spans):
        if before is not None and after is not None:
            (z0, low0, high0), (z1, low1, high1) = before, after
            strips.append(Polygon([(z0, low0), (z1, low1), (z1, high1), (z0, high0)]))
    return unary_union(strips)


def _ring(ring: LineString) -> list[tuple[float, float]]:
    return [(float(z), float(y)) for z, y in list(ring.coords)[:-1]]

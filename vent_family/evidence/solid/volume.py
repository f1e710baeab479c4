"""Volume of a part estimated without the CAD kernel, from the section and the row's dimensions.

The kernel's own volume is compared with this: plane areas from shapely, multiplied by bay widths,
or, for round heads, integrated over x with the section clipped to the chord at each x.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.polynomial.legendre import leggauss
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from vent_family.base.limits import FIT_CLEARANCE
from vent_family.geometry.mark import mark_outlines
from vent_family.geometry.round_head import RIB_END_MM
from vent_family.spec.vent import BlockBody, Hole, RoundBody, VentSpec

_ORDER: Final = 24


def estimate_volume_mm3(spec: VentSpec) -> float:
    """Return the expected volume of the vent (mm3); a round neck counts as its thread's mean.

    Source: elementary solids and Gauss-Legendre quadrature; the mean area of a threaded neck by
    Pappus' theorem on one pitch of its profile.
    """
    if isinstance(spec.body, RoundBody):
        return _round(spec, spec.body)
    return _block(spec, spec.body)


def _marks_mm3(spec: VentSpec) -> float:
    area = 0.0
    for outline, counter in mark_outlines(spec.mark):
        area += Polygon(outline, [counter] if counter else []).area
    return float(area * spec.mark.depth_mm * (1.0 if spec.mark.raised else -1.0))


def _block(spec: VentSpec, body: BlockBody) -> float:
    w, h = body.body_mm
    left, right, bottom, top = body.cover_mm
    t, depth = body.cover_thickness_mm, -body.inner_z_mm
    volume = (left + right) * (bottom + top) * t + w * h * depth
    if body.key is not None:
        volume += body.key.width_mm * body.key.height_mm * depth
    if body.snap is not None:
        snap = body.snap
        hook = snap.hook_mm + FIT_CLEARANCE.value
        volume += 2 * h * 0.5 * hook * hook * (1.0 + math.sqrt(3.0))
        slot = snap.slot_mm * (depth - snap.root_mm) - snap.thickness_mm * snap.free_end_z_mm
        volume -= 2 * h * slot
    for hole in body.holes:
        volume -= _hole_area_mm2(hole, teardrop=body.teardrop_holes) * t
    if body.gasket is not None:
        outer, inner = body.gasket.outer_mm, body.gasket.inner_mm
        volume -= (outer[0] * outer[1] - inner[0] * inner[1]) * body.gasket.recess_mm
    air = float(spec.section.air.area)
    volume -= air * sum(x1 - x0 for x0, x1 in spec.bays)
    return float(volume + _marks_mm3(spec))


def _hole_area_mm2(hole: Hole, *, teardrop: bool) -> float:
    r = hole.diameter_mm / 2
    # A roof at 45 degrees adds a square on the radius less a quarter of the circle.
    return math.pi * r * r + (r * r * (1.0 - math.pi / 4.0) if teardrop else 0.0)


def _round(spec: VentSpec, body: RoundBody) -> float:
    r, front = body.head_radius_mm, spec.section.front_z_mm
    z0, z1 = body.cone_z_mm
    rs = body.shoulder_radius_mm
    volume = math.pi * r * r * (front - z1) + math.pi * rs * rs * z0
    volume += math.pi * (z1 - z0) * (r * r + r * rs + rs * rs) / 3.0
    d = body.flat_depth_mm
    volume -= 2.0 * _segment_mm2(r, d) * (front - z1 - body.wall_mm - d)
    # The flats run out at 45 degrees: their depth falls from d to nothing over the length d.
    nodes, weights = leggauss(_ORDER)
    run_out = sum(
        w * _segment_mm2(r, 0.5 * d * (x + 1.0)) for x, w in zip(nodes, weights, strict=True)
    )
    volume -= 2.0 * 0.5 * d * run_out
    g0, g1 = body.gasket.inner_mm[0] / 2, body.gasket.outer_mm[0] / 2
    volume -= math.pi * (g1 * g1 - g0 * g0) * body.gasket.recess_mm
    volume -= _round_cavity_mm3(spec, body)
    volume += neck_volume_mm3(body)
    return float(volume + _marks_mm3(spec))


def _segment_mm2(radius: float, depth: float) -> float:
    """Return the area of a circle's segment of the given depth."""
    chord = math.sqrt(2 * radius * depth - depth * depth)
    return radius * radius * math.acos((radius - depth) / radius) - (radius - depth) * chord


def neck_volume_mm3(body: RoundBody) -> float:
    """Return the volume of the true threaded neck (mm3), its ends' chamfers left out."""
    bore = math.pi * body.bore_radius_mm**2
    profile = body.thread.external
    rs, ws = np.array(
        [
            (profile.minor_mm / 2, profile.pitch_mm),
            (profile.minor_mm / 2, profile.pitch_mm - profile.flat_at_minor_mm),
            (profile.major_mm / 2, profile.flat_at_major_mm),
        ]
    ).T
    # Shells 2 pi r w(r) dr: full width up to the root, then narrowing linearly to the crest.
    x, weight = leggauss(_ORDER)
    radii = 0.5 * (rs[2] - rs[1]) * (x + 1.0) + rs[1]
    widths = np.interp(radii, rs[1:], ws[1:])
    tooth = float(np.sum(weight * 2 * math.pi * radii * widths) * 0.5 * (rs[2] - rs[1]))
    per_length = math.pi * rs[0] ** 2 + tooth / profile.pitch_mm
    return float((per_length - bore) * body.neck_length_mm)


def _round_cavity_mm3(spec: VentSpec, body: RoundBody) -> float:
    """Return the volume of cavity, plenum and throat between front plane and shoulder plane."""
    section, r = spec.section, body.inner_radius_mm
    foot = section.lower[-2][0]
    rib_end = foot - RIB_END_MM
    slats = unary_union([Polygon(s.outline) for s in section.slats])
    stack = section.cavity.intersection(box(rib_end, -1e4, section.front_z_mm, 1e4)).difference(
        slats
    )
    behind = section.cavity.intersection(box(0.0, -1e4, rib_end, 1e4))
    volume = 0.0
    x, weight = leggauss(_ORDER)
    for x0, x1 in spec.bays:
        # x = r sin(phi) takes the square root out of the chord, so few points are enough.
        phi0, phi1 = math.asin(max(x0 / r, -1.0)), math.asin(min(x1 / r, 1.0))
        for node, w in zip(x, weight, strict=True):
            phi = 0.5 * (phi1 - phi0) * node + 0.5 * (phi1 + phi0)
            chord = r * math.cos(phi)
            area = stack.intersection(box(-1e4, -chord, 1e4, chord)).area
            volume += 0.5 * (phi1 - phi0) * w * area * chord
    nodes, weights = leggauss(4 * _ORDER)
    for node, w in zip(nodes, weights, strict=True):
        phi = 0.5 * math.pi * node
        px = r * math.sin(phi)
        shape = behind.intersection(_throat_at(body, px, rib_end))
        volume += 0.5 * math.pi * w * shape.area * r * math.cos(phi)
    return volume


def _throat_at(body: RoundBody, x: float, rib_end: float) -> Polygon:
    """Return the outline (z, y) of bore, cone and plenum in the plane at ``x``."""
    zs = np.unique(
        np.concatenate(
            [
                np.linspace(0.0, body.throat_z_mm, 3),
                np.linspace(
                    body.throat_z_mm,
                    body.throat_z_mm + body.inner_radius_mm - body.bore_radius_mm,
                    80,
                ),
                [rib_end],
            ]
        )
    )
    radius = np.clip(
        body.bore_radius_mm + (zs - body.throat_z_mm), body.bore_radius_mm, body.inner_radius_mm
    )
    half = np.sqrt(np.clip(radius**2 - x * x, 0.0, None))
    ring = [*zip(zs, -half, strict=True), *zip(zs[::-1], half[::-1], strict=True)]
    shape = Polygon(ring)
    return shape if shape.is_valid else shape.buffer(0)

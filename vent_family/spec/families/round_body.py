"""What the body of a round vent answers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.polynomial.legendre import leggauss
from shapely.geometry import Point as Place
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import FIT_CLEARANCE
from vent_family.spec import defaults
from vent_family.spec.body import Cover, GasketSpec, Neck, Opening, PanelRange
from vent_family.spec.families.common import disc_in_box_mm2
from vent_family.spec.families.panel_ranges import clamped
from vent_family.spec.families.round_head import BRIM_MM, Head, Profile
from vent_family.spec.families.round_pieces import round_pieces
from vent_family.spec.families.round_ribs import WINDOW_CLEAR_MM, opened
from vent_family.spec.families.round_shelter import floor_spans_mm, lip_of, stepped_outside
from vent_family.spec.members import BodyMember, block, stack_members
from vent_family.spec.neck_key import NeckKey
from vent_family.spec.pieces import Pieces
from vent_family.spec.screen import ScrewScreen
from vent_family.spec.section import BEYOND_MM, Section
from vent_family.spec.thread.parts import RELIEF_LENGTH, neck_relief_diameter_mm

_MARK_EDGE_MM = 1.0
"""How far the mark stays below the head's top."""
_ORDER = 8
_ORDER_X = 48
"""Points between two ribs: where slats leave the circle the integrand has kinks."""
_SLABS = 6
"""Slabs of a cone whose volume is bounded."""
_QUARTER = 64
"""Chords of a quarter of the head's outline."""
_CHORDS = 40
"""Chords of a hyperbola, in which a plane cuts a cone."""


@dataclass(frozen=True, slots=True)
class RoundBody:
    """Body of a round vent with a threaded neck: a low head on a back plate.

    ``below_mm`` is how far the head reaches down from the axis, where it is cut flat.
    """

    head: Head
    below_mm: float
    neck: Neck
    gasket: GasketSpec
    screen: ScrewScreen | None
    key: NeckKey | None

    @property
    def fan_mount(self) -> None:
        """No fan is held by a round head."""

    @property
    def snap(self) -> None:
        """A locknut holds a round vent."""

    @property
    def half_width_mm(self) -> float:
        """From the middle to the sides, which are parallel to the spanner flats."""
        return self.head.half_width_mm

    @property
    def cover(self) -> Cover:
        """The head's disc, cut flat on both sides and below."""
        r, low = self.head.radius_mm, self.below_mm
        side = r - self.head.flat_depth_mm
        area = disc_in_box_mm2(r, (-side, side), (-low, r))
        disc = Place(0.0, 0.0).buffer(r, quad_segs=_QUARTER)
        outline = disc.intersection(box(-side, -low, side, r)).length
        return Cover((side, side, low, r), area, outline, "head_diameter_mm")

    @property
    def opening(self) -> Opening:
        """A round hole that the thread passes with clearance."""
        hole = self.neck.thread.nominal_mm + 2 * FIT_CLEARANCE.value
        words = f"round hole, diameter {hole:g} mm"
        area = math.pi * hole**2 / 4
        notch = None if self.key is None else self.key.notch_mm(hole / 2.0)
        return Opening(
            "circle", (hole, hole), area, words, notch, notch_words="at its lowest point"
        )

    @property
    def facts(self) -> dict[str, float]:
        """Head, bore and neck."""
        return {
            "head diameter mm": 2 * self.head.radius_mm,
            "bore diameter mm": 2 * self.neck.bore_radius_mm,
            "neck length mm": self.neck.length_mm,
        }

    @property
    def mark_bar_top_mm(self) -> float:
        """Just below the head's top."""
        return self.head.radius_mm - _MARK_EDGE_MM

    def mark_place_mm(self, ceiling_mm: float) -> tuple[float, float]:
        """Return a mark low in the bar, where the head is wide."""
        bar = self.mark_bar_top_mm - ceiling_mm
        height = min(defaults.MARK_HEIGHT_MM, bar * 0.6)
        return ceiling_mm + 0.25 * (bar - height), height

    def label_face(self, section: Section) -> None:
        """Return nothing: the panel covers the back plate."""

    def clear_half_width_mm(self, y_mm: float) -> float:
        """Return half the chord, or half the width between the flat sides."""
        chord = math.sqrt(max(self.head.inner_radius_mm**2 - y_mm**2, 0.0))
        return min(chord, self.half_width_mm)

    def clear_area_mm2(self, x_mm: tuple[float, float], y_mm: tuple[float, float]) -> float:
        """Return the part of the rectangle inside circle and flat sides."""
        half = self.half_width_mm
        xs = max(x_mm[0], -half), min(x_mm[1], half)
        return disc_in_box_mm2(self.head.inner_radius_mm, xs, y_mm) if xs[1] > xs[0] else 0.0

    def floor_spans_mm(
        self, bays: Sequence[tuple[float, float]]
    ) -> tuple[tuple[float, float], ...]:
        """Return the whole width: ribs end above the floor, or have notches (``bays`` in mm).

        Over a sheltered drain they stand on the floor.
        """
        if self.head.shelter is not None:
            return floor_spans_mm(bays, self.clear_half_width_mm, self.head.shelter)
        return ((bays[0][0], bays[-1][1]),)

    def rib_openings(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[tuple[tuple[float, float], tuple[Polygon, ...]], ...]:
        """Return windows, channel and notches of each rib (``bays`` in mm)."""
        ribs = [(x0, x1) for (_, x0), (x1, _) in pairwise(bays)]
        return tuple((rib, opened(self.head, section, rib)) for rib in ribs)

    def rib_end_z_mm(self, section: Section) -> float:
        """Return where the windows of the ribs begin, in the plenum; there they are only posts."""
        return section.stack_z_mm[0] - WINDOW_CLEAR_MM

    def side_outline_mm(self, front_z_mm: float) -> list[tuple[float, float]]:
        """Return brim, head, shoulder and neck."""
        thread = self.neck.thread.nominal_mm / 2
        profile = list(reversed(self.head.outer_profile))[1:-1]
        return [*((z, r) for r, z in profile), (0.0, thread), (-self.neck.length_mm, thread)]

    def cavity_outline(self, z_mm: float) -> Polygon:
        """Return the outline of bore, corner or cavity."""
        return self.head.cavity_outline(z_mm)

    def members(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[BodyMember, ...]:
        """Return the stack and the plenum within the cavity, and around it plate, wall and neck.

        Floor and ceiling are what lies within the cavity's circle below and above. ``bays`` are
        the clear x ranges between ribs, mm.
        """
        plate, front = self.head.plate_z_mm, section.front_z_mm
        around = (("back plate", (0.0, plate)), ("head wall", (plate, front)))
        return (
            *stack_members(section, bays, inside=True),
            *(BodyMember(name, (block(depth),), inside=False) for name, depth in around),
            BodyMember("neck", (block((-BEYOND_MM, 0.0)),), inside=False),
        )

    def cavity_block(self, section: Section) -> Polygon:
        """Return the section of the cavity before the plate as if both met square (z, y).

        The corner between them is the round wall's.
        """
        z, top = self.head.plate_z_mm, section.ceiling_mm
        floor = (z, section.floor_height_mm(z))
        foot, high = section.foot, section.upper[-2]
        front = section.cavity.intersection(box(z, -BEYOND_MM, BEYOND_MM, BEYOND_MM))
        corners = Polygon([floor, foot, (max(foot[0], high[0]), 0.0), high, (z, top)])
        block = unary_union([front, corners])
        if self.head.shelter is not None:
            block = block.difference(lip_of(section, self.head.shelter))
        return block.simplify(1e-7)

    def trims(self, section: Section) -> tuple[Polygon, Polygon]:
        """Return what is cut off the outside below the floor and above the ceiling (z, y)."""
        head = self.head
        z0, z1 = head.shoulder_mm, section.front_z_mm
        # Planes of thick plates may lie outside the head: then they cut nothing.
        r = head.radius_mm + head.plate_mm + 1.0
        floors = (section.floor_height_mm(0.0), section.floor_height_mm(z1))
        (low0, low1), top = head.trim_mm(floors, section.ceiling_mm)
        slope = (low1 - low0) / z1
        edge: tuple[tuple[float, float], ...] = ((z1 + 1.0, low1 + slope), (z1, low1))
        if head.shelter is not None:
            edge = stepped_outside(section, head.plate_mm, z1 + 1.0)
        if edge[-1][0] > z0:
            edge = (*edge, (z0, head.clear_of_rear_mm(low0 + slope * z0)))
        else:
            # The step is behind the shoulder: what is below the lower floor goes on to there.
            (za, ya), (zb, yb) = edge[:2]
            edge = (edge[0], (z0, ya + (yb - ya) * (z0 - za) / (zb - za)))
        bottom = min(-r, *(y for _, y in edge)) - 1.0
        below = Polygon([*edge, (z0, bottom), (z1 + 1.0, bottom)])
        below = below.intersection(box(z0, bottom, z1 + 1.0, -head.beyond_shoulder_mm))
        return below, box(z0, top, z1 - BRIM_MM, r)

    def pieces(self, section: Section, bays: Sequence[tuple[float, float]]) -> Pieces:
        """Return head and neck as drawn shapes (``bays`` in mm)."""
        return round_pieces(self, section, bays)

    def volume_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return the outer form less the cavity, both integrated over x with the section clipped.

        Gauss-Legendre quadrature between ribs; the holes through the plate are plane areas times
        their depths. ``bays`` are the clear x ranges between ribs, mm.
        """
        head = self.head
        inside = box(0.0, -BEYOND_MM, section.front_z_mm, BEYOND_MM)
        below, above = self.trims(section)
        outside = inside.difference(below).difference(above)
        volume = _twice(head.outer_profile, outside, 0.0, head.radius_mm - head.flat_depth_mm)
        air = self.cavity_block(section).difference(section.slats_solid).intersection(inside)
        for x0, x1 in bays:
            if x1 > 0.0:
                volume -= _twice(head.cavity_profile, air, max(x0, 0.0), x1)
        for (_, x0), (x1, _) in pairwise(bays):
            if x1 > 0.0:
                cut = unary_union(opened(head, section, (x0, x1))).intersection(inside)
                volume -= _twice(head.cavity_profile, cut, max(x0, 0.0), x1)
        return self._less_holes_mm3(volume) + neck_volume_mm3(self.neck)

    def panel_range(self, section: Section) -> PanelRange:
        """Return which thicknesses of cabinet wall the very same vent fits."""
        return clamped(self.neck, self.screen, self.key)

    def walls_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return the outer form at its leanest less the cavity at its widest (``bays`` in mm)."""
        head, front = self.head, section.front_z_mm
        below, above = self.trims(section)
        r, side, half = head.radius_mm, head.radius_mm - head.flat_depth_mm, head.half_width_mm
        low = -r if below.is_empty else below.bounds[3]
        shoulder, slope = (
            head.shoulder_mm,
            (r - head.rear_mm) / (head.cone_end_mm - head.shoulder_mm),
        )
        volume = 0.0
        for z0, z1 in pairwise((0.0, *_slabs(shoulder, head.cone_end_mm), front)):
            behind = head.rear_mm + slope * (z0 - shoulder) if z0 >= shoulder else 0.0
            radius = min(max(head.shoulder_radius_mm, behind), r)
            area = disc_in_box_mm2(radius, (-side, side), (low, above.bounds[1]))
            volume += (z1 - z0) * area
        rear = _slabs(head.plate_z_mm, head.plate_z_mm + head.corner_mm)
        for z0, z1 in pairwise((*rear, front)):
            floor = section.lowest_mm if section.sheltered else section.floor_height_mm(z1)
            within = ((-half, half), (floor, section.ceiling_mm))
            volume -= (z1 - z0) * disc_in_box_mm2(head.cavity_radius_mm(z1), *within)
        return self._less_holes_mm3(volume) + neck_volume_mm3(self.neck)

    def _less_holes_mm3(self, volume_mm3: float) -> float:
        """Return a volume less hole in the plate, bore and gasket's recess, with the key, mm3."""
        volume = volume_mm3
        volume -= sum((z1 - z0) * hole.area for (z0, z1), hole in self.head.rim)
        volume -= self.head.bore_mm3
        g0, g1 = self.gasket.inner_mm[0] / 2, self.gasket.outer_mm[0] / 2
        volume -= math.pi * (g1 * g1 - g0 * g0) * self.gasket.recess_mm
        if self.key is not None:
            volume += self.key.volume_mm3()
        return float(volume)


def _slabs(z0: float, z1: float) -> list[float]:
    """Return the ends of slabs (z, mm) into which a cone is cut."""
    return [z0 + (z1 - z0) * k / _SLABS for k in range(_SLABS + 1)]


_gauss: Final = lru_cache(maxsize=2)(leggauss)
"""Places and weights of Gauss-Legendre quadrature, by their number."""


def _twice(profile: Profile, outline: Polygon, x0: float, x1: float) -> float:
    """Return twice the volume of an outline (z, y) drawn from x0 to x1 within a profile."""
    radius = max(r for r, _ in profile)
    nodes, weights = _gauss(_ORDER_X)
    # x = r sin(phi) takes the square root out of the chord, so few points are enough.
    phi0, phi1 = math.asin(min(x0 / radius, 1.0)), math.asin(min(x1 / radius, 1.0))
    total, (depths, radii) = 0.0, _sampled(profile)
    for node, weight in zip(nodes, weights, strict=True):
        phi = 0.5 * (phi1 - phi0) * node + 0.5 * (phi1 + phi0)
        area = outline.intersection(_cut_at(depths, radii, radius * math.sin(phi))).area
        total += (phi1 - phi0) * weight * area * radius * math.cos(phi)
    return float(total)


@lru_cache(maxsize=16)
def _sampled(profile: Profile) -> tuple[FloatArray, FloatArray]:
    """Return depths (z) and outermost radii of a profile, mm, fine enough for any plane's cut."""
    zs = sorted({z for _, z in profile})
    parts = [np.linspace(a, b, _CHORDS) for a, b in pairwise(zs)]
    inner = [1e-9 * (part[-1] - part[0]) for part in parts]
    fine = [np.clip(p, p[0] + d, p[-1] - d) for p, d in zip(parts, inner, strict=True)]
    depths = np.concatenate(fine)
    radii = np.zeros_like(depths)
    for (r0, z0), (r1, z1) in pairwise(profile):
        low, high = min(z0, z1), max(z0, z1)
        if high > low:
            there = (low <= depths) & (depths <= high)
            along = r0 + (r1 - r0) * (depths - z0) / (z1 - z0)
            radii = np.where(there, np.maximum(radii, along), radii)
    return depths, radii


def _cut_at(depths: FloatArray, radii: FloatArray, x: float) -> Polygon:
    """Return the outline (z, y) in which the plane at ``x`` cuts a sampled solid of revolution."""
    half = np.sqrt(np.maximum(radii * radii - x * x, 0.0))
    upper = np.column_stack([depths, half])
    shape = Polygon(np.concatenate([upper, upper[::-1] * (1.0, -1.0)]))
    return shape if shape.is_valid else shape.buffer(0)


def neck_volume_mm3(neck: Neck) -> float:
    """Return the volume of the true threaded neck (mm3): plain stub, thread, chamfers at its ends.

    A plane square to the axis meets the helix at every place of its pitch once around, so it cuts
    the mean area of the profile turned about the axis (Pappus), inside a chamfer's circle, too.
    """
    profile = neck.thread.external
    root, crest = profile.minor_mm / 2, profile.major_mm / 2
    stub = neck_relief_diameter_mm(profile) / 2
    wide, narrow = profile.pitch_mm - profile.flat_at_minor_mm, profile.flat_at_major_mm
    fall = (wide - narrow) / (crest - root)

    def area(radius: float) -> float:
        """Mean area within a radius: shells 2 pi r w(r), narrowing linearly to the crest."""
        if radius <= root:
            return math.pi * radius * radius
        squares, cubes = radius**2 - root**2, radius**3 - root**3
        shells = 0.5 * (wide + fall * root) * squares - fall * cubes / 3.0
        return math.pi * root * root + 2.0 * math.pi * shells / profile.pitch_mm

    x, weights = _gauss(_ORDER)
    chamfer = 0.0
    for r0, r1 in ((stub, root), (root, crest)):
        radii = 0.5 * (r1 - r0) * (x + 1.0) + r0
        chamfer += sum(0.5 * (r1 - r0) * w * area(r) for r, w in zip(radii, weights, strict=True))
    turns = neck.length_mm - RELIEF_LENGTH.value - 2.0 * (crest - stub)
    volume = math.pi * stub * stub * RELIEF_LENGTH.value + 2.0 * chamfer + area(crest) * turns
    return float(volume - math.pi * neck.bore_radius_mm**2 * neck.length_mm)

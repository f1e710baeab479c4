"""Round vents: a head on a threaded neck, held by a locknut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar, Final

import numpy as np
from numpy.polynomial.legendre import leggauss
from shapely.geometry import Point, Polygon, box

from vent_family.base.limits import FIT_CLEARANCE, HEAD_MAX, NECK_WALL_MIN
from vent_family.base.materials import MATERIALS
from vent_family.catalog.model import CatalogRow, LocatingKey, SizeKind, StepThread
from vent_family.spec import defaults
from vent_family.spec.body import Cover, GasketSpec, Neck, Opening
from vent_family.spec.families.common import (
    bays,
    disc_in_box_mm2,
    own_columns,
    own_row,
    refuse_upright,
    spaced,
)
from vent_family.spec.layout import Bounds, Throat
from vent_family.spec.members import BodyMember, block, stack_members
from vent_family.spec.neck_key import NeckKey, neck_key
from vent_family.spec.printable import wall_behind_flats
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow, fill
from vent_family.spec.screen import ScrewScreen
from vent_family.spec.screen_rules import woven_mesh
from vent_family.spec.section import BEYOND_MM, Section
from vent_family.spec.stack import Stack
from vent_family.spec.thread.iso import ThreadSpec, thread_spec
from vent_family.spec.thread.parts import (
    locknut_size,
    neck_length_min_mm,
    neck_relief_diameter_mm,
    screen_ring_size,
)

RIB_END_MM: Final = 0.5
"""How far ribs end behind the sill's foot, so that no rib face lies in the sill's plane."""
_MARK_EDGE_MM: Final = 1.0
"""How far the mark stays below the head's top."""
_ORDER: Final = 24
_QUARTER: Final = 64
"""Chords of a quarter of a circle."""
_FLOOR_BESIDE_RIB_MM: Final = 4.0
_HEAD_GROWTH_MOST: Final = 1.2
"""A blank head diameter grows by this factor at most to hold its sill."""
_FLOOR_SHARE_MOST: Final = 0.9
"""Half-width of the floor against the cavity's radius, at most."""
# A shallow head leaves no room for the deeper stack of slats on feet, and the neck throttles.
_DEFAULTS: Final = MappingProxyType(
    {"wall_mm": 3.0, "step_thread": "helical", "slat_foot_mm": 0.0, "locating_key": "none"}
)


class RoundRow(FilledRow):
    """A row of a round vent."""

    head_diameter_mm: float | None
    """Blank: the usual head, or the least that holds its sill."""
    neck_length_mm: float | None
    """Blank: the least that reaches through panel and locknut."""
    step_thread: StepThread
    locating_key: LocatingKey
    screen_mm: float | None
    """Blank: no screen."""
    screen_wire_mm: float | None
    """Blank: the wire of a usual mesh."""


@dataclass(frozen=True, slots=True)
class RoundBody:
    """Body of a round vent with a threaded neck.

    The head is a cylinder in front, narrowed by a 45 degree cone to the shoulder that sits on the
    panel; ``cone_z_mm`` is where the outer cone begins and ends. Inside, a cone of 45 degrees
    leads from the cavity to the end of the neck's bore.
    """

    head_radius_mm: float
    inner_radius_mm: float
    wall_mm: float
    flat_depth_mm: float
    shoulder_radius_mm: float
    cone_z_mm: tuple[float, float]
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
        """Radius of the cavity."""
        return self.inner_radius_mm

    @property
    def cover(self) -> Cover:
        """The head's disc."""
        r = self.head_radius_mm
        return Cover((r, r, r, r), math.pi * r * r, 2.0 * math.pi * r, "head_diameter_mm")

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
            "head diameter mm": 2 * self.head_radius_mm,
            "bore diameter mm": 2 * self.neck.bore_radius_mm,
            "neck length mm": self.neck.length_mm,
        }

    @property
    def mark_bar_top_mm(self) -> float:
        """Just below the head's top."""
        return self.head_radius_mm - _MARK_EDGE_MM

    def mark_place_mm(self, ceiling_mm: float) -> tuple[float, float]:
        """Return a mark low in the bar, where the head is wide."""
        bar = self.mark_bar_top_mm - ceiling_mm
        height = min(defaults.MARK_HEIGHT_MM, bar * 0.6)
        return ceiling_mm + 0.25 * (bar - height), height

    def label_face(self, section: Section) -> None:
        """Return nothing: behind the sill lie plenum and neck."""

    def clear_half_width_mm(self, y_mm: float) -> float:
        """Return half the chord."""
        return math.sqrt(max(self.inner_radius_mm**2 - y_mm**2, 0.0))

    def clear_area_mm2(self, x_mm: tuple[float, float], y_mm: tuple[float, float]) -> float:
        """Return the part of the rectangle inside the circle."""
        return disc_in_box_mm2(self.inner_radius_mm, x_mm, y_mm)

    def rib_end_z_mm(self, section: Section) -> float:
        """Return where the plenum begins, just behind the sill's foot."""
        return section.foot[0] - RIB_END_MM

    def side_outline_mm(self, front_z_mm: float) -> list[tuple[float, float]]:
        """Return head, cone, shoulder and neck."""
        r, shoulder = self.head_radius_mm, self.shoulder_radius_mm
        z0, z1 = self.cone_z_mm
        thread = self.neck.thread.nominal_mm / 2
        head = [(front_z_mm, r), (z1, r), (z0, shoulder), (0.0, shoulder)]
        return [*head, (0.0, thread), (-self.neck.length_mm, thread)]

    def cavity_outline(self, z_mm: float) -> Polygon:
        """Return the circle of bore, inner cone or cavity."""
        bore = self.neck.bore_radius_mm
        radius = min(max(bore + z_mm - self.neck.bore_end_z_mm, bore), self.inner_radius_mm)
        return Point(0.0, 0.0).buffer(radius, quad_segs=_QUARTER)

    def members(
        self, section: Section, bays: Sequence[tuple[float, float]]
    ) -> tuple[BodyMember, ...]:
        """Return the stack within the cavity, and around it neck, shoulder, cone and head wall.

        Below the floor and above the ceiling the head is filled: that belongs to them. ``bays`` are
        the clear x ranges between ribs, mm.
        """
        z0, z1 = self.cone_z_mm
        around = (
            ("shoulder", (0.0, z0)),
            ("cone", (z0, z1)),
            ("head wall", (z1, section.front_z_mm)),
        )
        return (
            *stack_members(section, bays, inside=True),
            *(BodyMember(name, (block(depth),), inside=False) for name, depth in around),
            BodyMember("neck", (block((-BEYOND_MM, 0.0)),), inside=False),
        )

    def volume_mm3(self, section: Section, bays: Sequence[tuple[float, float]]) -> float:
        """Return elementary solids less the cavity, integrated over x with the section clipped.

        Gauss-Legendre quadrature; the neck counts as its thread's mean. ``bays`` are the clear
        x ranges between ribs, mm.
        """
        r, front = self.head_radius_mm, section.front_z_mm
        z0, z1 = self.cone_z_mm
        rs = self.shoulder_radius_mm
        volume = math.pi * r * r * (front - z1) + math.pi * rs * rs * z0
        volume += math.pi * (z1 - z0) * (r * r + r * rs + rs * rs) / 3.0
        d = self.flat_depth_mm
        volume -= 2.0 * _segment_mm2(r, d) * (front - z1 - self.wall_mm - d)
        # The flats run out at 45 degrees: their depth falls from d to nothing over the length d.
        nodes, weights = leggauss(_ORDER)
        run_out = sum(
            w * _segment_mm2(r, 0.5 * d * (x + 1.0)) for x, w in zip(nodes, weights, strict=True)
        )
        volume -= 2.0 * 0.5 * d * run_out
        g0, g1 = self.gasket.inner_mm[0] / 2, self.gasket.outer_mm[0] / 2
        volume -= math.pi * (g1 * g1 - g0 * g0) * self.gasket.recess_mm
        if self.key is not None:
            volume += self.key.volume_mm3()
        volume -= _cavity_mm3(self, section, bays)
        return float(volume + neck_volume_mm3(self.neck))


class Round:
    """Round vents."""

    name: ClassVar[str] = "round"
    size: ClassVar[SizeKind] = "thread"
    opening: ClassVar[str] = "circle"
    body: ClassVar[type[RoundBody]] = RoundBody
    columns: ClassVar[frozenset[str]] = own_columns(RoundRow)

    def filled(self, row: CatalogRow) -> RoundRow:
        """Return a row with its defaults."""
        return fill(row, RoundRow, _DEFAULTS)

    def check_ways(self, row: FilledRow, refusals: Refusals) -> None:
        """Refuse to print the neck hanging over the bed, or a wall too thin for the flats."""
        refuse_upright(row, refusals, "neck")
        wall_behind_flats(row, refusals, defaults.FLAT_DEPTH_MM)

    def lay_out(self, row: FilledRow, refusals: Refusals, stack: Stack) -> tuple[RoundBody, Bounds]:
        """Return body and bounds."""
        own = own_row(row, RoundRow)
        material = MATERIALS[row.material]
        thread = thread_spec(row.size, material.thread_clearance_normal_mm)
        d, slot = thread.nominal_mm, row.drain_height_mm
        land, gw = defaults.GASKET_LAND_MM, defaults.GASKET_WIDTH_MM
        shoulder, bore = d / 2 + 2 * land + gw, _bore(thread)
        gasket = GasketSpec(
            is_ring=True,
            inner_mm=(d + 2 * land, d + 2 * land),
            outer_mm=(d + 2 * (land + gw), d + 2 * (land + gw)),
            thickness_mm=defaults.GASKET_THICKNESS_MM,
            recess_mm=defaults.GASKET_RECESS_MM,
        )
        mesh = woven_mesh(own.screen_mm, own.screen_wire_mm, refusals)
        neck = _neck(own, refusals, thread, screened=mesh is not None)
        head = _head(own, refusals, stack, d, slot, shoulder, bore)
        body = RoundBody(
            head_radius_mm=head.radius,
            inner_radius_mm=head.inner,
            wall_mm=row.wall_mm,
            flat_depth_mm=defaults.FLAT_DEPTH_MM,
            shoulder_radius_mm=shoulder,
            cone_z_mm=(defaults.SHOULDER_MM, defaults.SHOULDER_MM + head.radius - shoulder),
            neck=Neck(
                bore,
                neck,
                head.throat_z,
                thread,
                own.step_thread == "helical",
                _flats(head, shoulder, row.wall_mm),
            ),
            gasket=gasket,
            screen=None if mesh is None else ScrewScreen(mesh, thread, bore, -neck),
            key=neck_key(thread, row.panel_thickness_mm) if own.locating_key == "notch" else None,
        )
        bays(row, refusals, body.half_width_mm, stack)
        ceiling = min(head.radius - defaults.MARK_BAR_MM, 0.94 * head.inner)
        bounds = Bounds(
            front_z_mm=head.front_z,
            front_margin_mm=defaults.FRONT_MARGIN_MM,
            floor_front_mm=head.floor_front,
            slope_deg=row.floor_slope_deg,
            drain_height_mm=slot,
            apron_thickness_mm=defaults.APRON_THICKNESS_MM,
            ceiling_max_mm=ceiling,
            ceiling_min_mm=ceiling - stack.pitch_mm,
            inner_z_mm=-neck,
            foot_z_mm=head.foot_z,
            sill_top_mm=head.sill,
            throat=Throat(bore, head.throat_z, head.inner),
        )
        return body, bounds


@dataclass(frozen=True, slots=True)
class _Head:
    """What follows from a head's diameter: depths along z, floor and sill heights; mm."""

    radius: float
    inner: float
    throat_z: float
    stack_inner_z: float
    front_z: float
    foot_z: float
    floor_front: float
    sill: float
    floor_share: float

    def sill_in_bore(self, bore: float) -> float:
        """Return how far the sill stands too high (mm); negative if it is low enough."""
        throat = Throat(bore, self.throat_z, self.inner)
        return self.sill - throat.highest_sill_mm(self.foot_z)


def _flats(head: _Head, shoulder: float, wall: float) -> tuple[float, float]:
    """Return width and length (mm) of a head's spanner flats, their 45 degree end left out."""
    depth, r = defaults.FLAT_DEPTH_MM, head.radius
    cone_end = defaults.SHOULDER_MM + r - shoulder
    return 2.0 * math.sqrt(2.0 * r * depth - depth**2), head.front_z - cone_end - wall - depth


def _neck(row: RoundRow, refusals: Refusals, thread: ThreadSpec, *, screened: bool) -> float:
    """Return the neck's length (mm); one that does not reach through panel and nut is refused.

    Behind the locknut two pitches stand out, or what a screen's ring takes.
    """
    panel, nut = row.panel_thickness_mm, locknut_size(thread).thickness_mm
    behind = screen_ring_size(thread).thickness_mm if screened else 2 * thread.pitch_mm
    short = max(panel + nut + behind, neck_length_min_mm(thread))
    neck = row.neck_length_mm or math.ceil(short)
    if neck < short:
        refusals.refuse(
            "neck length",
            "neck_length_mm",
            f"a neck of {neck:g} mm does not reach through a {panel:g} mm panel and its locknut"
            + (" into the screen's ring" if screened else ""),
            allowed=f"{math.ceil(short)} mm or more",
            guesses=({"neck_length_mm": float(math.ceil(short))}, {"neck_length_mm": None}),
        )
    return neck


def _head(
    row: RoundRow,
    refusals: Refusals,
    stack: Stack,
    nominal: float,
    slot: float,
    shoulder: float,
    bore: float,
) -> _Head:
    """Return the head; a blank diameter is the usual one, or the least that holds a sill."""

    def laid(diameter: float) -> _Head:
        return _laid_head(row, stack, slot, shoulder, bore, diameter)

    smallest = math.ceil(2 * (shoulder + 2.0))
    usual = max(smallest, math.ceil(1.5 * nominal + 24.0))
    given = row.head_diameter_mm
    first = smallest if given else usual
    fitting = (
        h for h in range(first, math.floor(HEAD_MAX.value) + 1) if laid(h).sill_in_bore(bore) <= 0.0
    )
    least = next(fitting, None)
    if least is None:
        refusals.refuse(
            "sill below bore",
            "sill_height_mm" if row.sill_height_mm else "floor_slope_deg",
            f"no head up to {HEAD_MAX.value:g} mm keeps the sill below the bore",
            columns=("floor_slope_deg", "drain_height_mm", "rib_count", "bank_gaps_mm"),
            lack=laid(HEAD_MAX.value).sill_in_bore(bore),
        )
    elif given and given < least:
        what = "neck and gasket" if given < smallest else "sill, which would reach into the bore"
        refusals.refuse(
            "head too small",
            "head_diameter_mm",
            f"a head of {given:g} mm is too small for its {what}",
            allowed=f"{least} mm or more on {row.size} with this floor, drain and ribs",
            guesses=({"head_diameter_mm": float(least)}, {"head_diameter_mm": None}),
            columns=("head_diameter_mm", "floor_slope_deg", "rib_count", "drain_height_mm"),
            lack=least - given,
        )
    elif not given and least > _HEAD_GROWTH_MOST * usual:
        refusals.refuse(
            "head too large",
            "head_diameter_mm",
            f"this floor, drain and rib count would need a head of {least} mm, not {usual} mm",
            guesses=({"head_diameter_mm": float(least)},),
            columns=("floor_slope_deg", "rib_count", "drain_height_mm", "head_diameter_mm"),
            lack=least - _HEAD_GROWTH_MOST * usual,
        )
    head = laid(max(given or 0.0, least or smallest))
    if head.floor_share > _FLOOR_SHARE_MOST:
        refusals.refuse(
            "side bays",
            "rib_count",
            "so many ribs leave side bays without floor and drain",
            guesses=({"rib_count": None},),
            columns=("rib_count", "head_diameter_mm", "wall_mm"),
            lack=head.floor_share - _FLOOR_SHARE_MOST,
        )
    return head


def _laid_head(
    row: RoundRow, stack: Stack, slot: float, shoulder: float, bore: float, diameter: float
) -> _Head:
    """Return what follows from a head's diameter."""
    wall = row.wall_mm
    inner = diameter / 2 - wall
    throat_z = max(
        defaults.THROAT_Z_MM, defaults.SHOULDER_MM - shoulder + bore + math.sqrt(2.0) * wall
    )
    stack_inner = throat_z + (inner - bore) + defaults.PLENUM_MM
    front = stack_inner + stack.depth_mm + defaults.FRONT_MARGIN_MM
    # The floor is wide enough that every bay has a stretch of it, so every bay can drain.
    reach = max(spaced(row, inner, stack)[-1][0] + _FLOOR_BESIDE_RIB_MM, 0.35 * inner)
    share = reach / inner
    floor_front = -math.sqrt(inner**2 - min(reach, _FLOOR_SHARE_MOST * inner) ** 2)
    foot_z = stack_inner - defaults.INNER_MARGIN_MM
    slope = math.tan(math.radians(row.floor_slope_deg))
    floor_foot = floor_front + (front - foot_z) * slope
    sill = floor_foot + (row.sill_height_mm or slot + defaults.SILL_OVER_DRAIN_MM)
    return _Head(
        diameter / 2, inner, throat_z, stack_inner, front, foot_z, floor_front, sill, share
    )


def _bore(thread: ThreadSpec) -> float:
    """Return the bore radius that leaves the least neck wall under the thread root."""
    relief = neck_relief_diameter_mm(thread.external)
    return math.floor((relief / 2 - NECK_WALL_MIN.value) * 20) / 20


def _segment_mm2(radius: float, depth: float) -> float:
    """Return the area of a circle's segment of the given depth."""
    chord = math.sqrt(2 * radius * depth - depth * depth)
    return radius * radius * math.acos((radius - depth) / radius) - (radius - depth) * chord


def neck_volume_mm3(neck: Neck) -> float:
    """Return the volume of the true threaded neck (mm3), its ends' chamfers left out.

    The mean area is that of a pitch of the profile turned about the axis (Pappus).
    """
    bore = math.pi * neck.bore_radius_mm**2
    profile = neck.thread.external
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
    return float((per_length - bore) * neck.length_mm)


def _cavity_mm3(body: RoundBody, section: Section, bays: Sequence[tuple[float, float]]) -> float:
    """Return the volume of cavity, plenum and throat between front plane and shoulder plane."""
    r = body.inner_radius_mm
    rib_end = body.rib_end_z_mm(section)
    in_front = section.cavity.intersection(box(rib_end, -BEYOND_MM, section.front_z_mm, BEYOND_MM))
    stack = in_front.difference(section.slats_solid)
    behind = section.cavity.intersection(box(0.0, -BEYOND_MM, rib_end, BEYOND_MM))
    volume = 0.0
    x, weight = leggauss(_ORDER)
    for x0, x1 in bays:
        # x = r sin(phi) takes the square root out of the chord, so few points are enough.
        phi0, phi1 = math.asin(max(x0 / r, -1.0)), math.asin(min(x1 / r, 1.0))
        for node, w in zip(x, weight, strict=True):
            phi = 0.5 * (phi1 - phi0) * node + 0.5 * (phi1 + phi0)
            chord = r * math.cos(phi)
            area = stack.intersection(box(-BEYOND_MM, -chord, BEYOND_MM, chord)).area
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
    bore, start, inner = body.neck.bore_radius_mm, body.neck.bore_end_z_mm, body.inner_radius_mm
    cone = np.linspace(start, start + inner - bore, 80)
    zs = np.unique(np.concatenate([np.linspace(0.0, start, 3), cone, [rib_end]]))
    radius = np.clip(bore + (zs - start), bore, inner)
    half = np.sqrt(np.clip(radius**2 - x * x, 0.0, None))
    ring = [*zip(zs, -half, strict=True), *zip(zs[::-1], half[::-1], strict=True)]
    shape = Polygon(ring)
    return shape if shape.is_valid else shape.buffer(0)

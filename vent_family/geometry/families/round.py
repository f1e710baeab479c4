"""Solids of round vents: head, slats trimmed to the circle, throat and neck."""

from __future__ import annotations

import math
from typing import ClassVar, Final

import cadquery as cq
from shapely.geometry import Polygon
from shapely.geometry import box as shapely_box

from vent_family.geometry.mark import mark_prisms
from vent_family.geometry.primitives import (
    box,
    common,
    cut,
    cylinder,
    fuse,
    one_solid,
    prism_x,
    prism_y,
    revolve_z,
)
from vent_family.geometry.slats import Span, insert_slats
from vent_family.geometry.thread import simplified_neck, threaded_neck
from vent_family.spec.families.round import RIB_END_MM, RoundBody
from vent_family.spec.neck_key import NeckKey
from vent_family.spec.section import FAR, Slat
from vent_family.spec.vent import VentSpec

_LAP_MM: Final = 0.5
"""How far the bays' voids reach into the plenum, so that they meet without a skin between."""
_KEY_SUNK_MM: Final = 0.8
"""How far the key's box reaches into the neck: over the neck's sagitta, not to its bore."""
_CLEAR_MM: Final = 0.02
"""A slat counts as free of the wall if its corners stay this far inside the circle."""


class RoundBuilder:
    """Builds round vents."""

    name: ClassVar[str] = "round"

    def envelope(self, spec: VentSpec) -> cq.Solid:
        """Return head and plain neck with the gasket's groove; the bore ends at z = 0."""
        body = spec.body
        assert isinstance(body, RoundBody)
        bore = 2.0 * body.neck.bore_radius_mm
        neck = simplified_neck(body.neck.thread, body.neck.length_mm, bore)
        form = _outer_form(spec, body)
        if body.key is not None:
            form = fuse(form, [_key(body.key)])
        return cut(fuse(form, [neck]), [_groove(body)])

    def vent(self, spec: VentSpec, true_thread: bool) -> cq.Solid:
        """Return the exact solid of a round vent, in use position (datum: z = 0).

        ``true_thread`` chooses between the helical thread and its plain stand-in.
        """
        body = spec.body
        assert isinstance(body, RoundBody)
        make = threaded_neck if true_thread else simplified_neck
        neck = make(body.neck.thread, body.neck.length_mm, 2.0 * body.neck.bore_radius_mm)
        # The neck joins the still solid head in one flat disc, before there are many faces; the
        # voids then end in that plane, so no boolean operation ever looks at a thread face.
        form = _outer_form(spec, body)
        if body.key is not None:
            form = fuse(form, [_key(body.key)])
        shell = fuse(form, [neck])
        front = spec.section.front_z_mm
        tools: list[cq.Shape] = []
        for x0, x1 in spec.bays:
            if x0 + x1 < -1e-6:
                continue  # made below by mirroring: the head is symmetric left to right
            void = _bay_void(spec, body, x0, x1)
            tools.append(void)
            if x0 + x1 > 1e-6:
                tools.append(cq.Solid(void.mirror("YZ").wrapped))
        tools.append(_plenum(spec, body))
        tools.append(_groove(body))
        tools += mark_prisms(spec.mark, front - spec.mark.depth_mm, front + FAR)
        # Neighbouring voids leave seams in shelf and cylinder; merged while there are few faces.
        solid = one_solid(cut(shell, tools).clean())
        spans = [
            Span(slat.outline, x0, x1)
            for x0, x1 in spec.bays
            for slat in _free_slats(spec)
            if _place(slat, x0, x1, body.inner_radius_mm) == "inside"
        ]
        return insert_slats(solid, spans)

    def opening(self, spec: VentSpec, z_mm: tuple[float, float]) -> cq.Solid:
        """Return the round hole with the notch for the neck's key."""
        radius = spec.opening.size_mm[0] / 2
        hole = cylinder(radius, z_mm)
        if spec.opening.notch_mm is None:
            return hole
        width, depth = spec.opening.notch_mm
        # It reaches into the hole as far as the circle falls back over the notch's width.
        notch = box((-width / 2, width / 2), (-radius - depth, -radius / 2), z_mm)
        return fuse(hole, [notch])


def _outer_form(spec: VentSpec, body: RoundBody) -> cq.Solid:
    """Return the head's outer form: cylinder with spanner flats, cone, shoulder."""
    r, front = body.head_radius_mm, spec.section.front_z_mm
    z0, z1 = body.cone_z_mm
    shoulder = body.shoulder_radius_mm
    solid = revolve_z(
        [(0.0, front), (r, front), (r, z1), (shoulder, z0), (shoulder, 0.0), (0.0, 0.0)]
    )
    depth, end = body.flat_depth_mm, z1 + body.wall_mm
    # Two upright flats for a spanner: they show which way is up while the locknut is tightened.
    # They run out at 45 degrees, since the head is printed with its front on the bed.
    outline = [
        (r - depth, front + FAR),
        (r - depth, end + depth),
        (r + FAR, end - FAR),
        (r + FAR, front + FAR),
    ]
    reach = r + FAR
    return cut(
        solid,
        [prism_y([(side * x, z) for x, z in outline], -reach, reach) for side in (1.0, -1.0)],
    )


def _key(key: NeckKey) -> cq.Solid:
    """Return the key below the neck, which reaches into the neck's wall and the shoulder."""
    half = key.width_mm / 2
    return box((-half, half), (-key.reach_mm, _KEY_SUNK_MM - key.stub_mm), (-key.depth_mm, FAR))


def _free_slats(spec: VentSpec) -> list[Slat]:
    """Return the slats that do not grow out of the ceiling."""
    return [s for s in spec.section.slats if not s.grown]


def _place(slat: Slat, x0: float, x1: float, radius: float) -> str:
    """Return whether a slat's stretch of one bay lies inside the circle, outside, or across it."""
    ys = [y for _, y in slat.outline]
    low, high = min(ys), max(ys)
    far_x = max(abs(x0), abs(x1))
    far_y = max(abs(low), abs(high))
    if math.hypot(far_x, far_y) < radius - _CLEAR_MM:
        return "inside"
    near_x = 0.0 if x0 <= 0.0 <= x1 else min(abs(x0), abs(x1))
    near_y = 0.0 if low <= 0.0 <= high else min(abs(low), abs(high))
    return "outside" if math.hypot(near_x, near_y) >= radius else "across"


def _bay_void(spec: VentSpec, body: RoundBody, x0: float, x1: float) -> cq.Solid:
    """Return the cavity of one bay, trimmed to the circle, with the slats that cross the circle."""
    section = spec.section
    radius = body.inner_radius_mm
    start = section.foot[0] - RIB_END_MM - _LAP_MM
    outline = section.cavity.intersection(shapely_box(start, -1e3, 1e3, 1e3))
    for slat in section.slats:
        if slat.grown:
            outline = outline.difference(Polygon(slat.outline))
    # The outermost bays reach past the circle, so that only the cylinder bounds them there.
    edge0 = x0 - FAR if x0 <= -radius + 1e-6 else x0
    edge1 = x1 + FAR if x1 >= radius - 1e-6 else x1
    holes = [s.outline for s in _free_slats(spec) if _place(s, edge0, edge1, radius) == "across"]
    ring = [(float(z), float(y)) for z, y in list(outline.exterior.coords)[:-1]]
    prism = prism_x(ring, edge0, edge1, holes)
    return common(prism, cylinder(radius, (start - FAR, section.front_z_mm + 2 * FAR)))


def _plenum(spec: VentSpec, body: RoundBody) -> cq.Solid:
    """Return bore, cone and the rib-free space behind the stack, above its floor."""
    section = spec.section
    foot = section.foot[0]
    end = foot - RIB_END_MM
    bore, inner, z0 = body.neck.bore_radius_mm, body.inner_radius_mm, body.neck.bore_end_z_mm
    profile = [
        (0.0, 0.0),
        (bore, 0.0),
        (bore, z0),
        (inner, z0 + inner - bore),
        (inner, end),
        (0.0, end),
    ]
    solid = revolve_z(profile)
    (za, ya), (zb, yb) = section.shelf[-1], section.sill
    slope = (yb - ya) / (zb - za)
    # Both tools begin a little inside the cone's material, so they meet it in a clean curve.
    start = za - FAR
    floor = [(start, ya + slope * (start - za)), (foot + FAR, yb + slope * FAR)]
    floor += [(foot + FAR, -2 * inner), (start, -2 * inner)]
    reach = 2 * inner
    tools = [prism_x(floor, -reach, reach)]
    if section.ceiling_mm < inner:
        z_ceiling = z0 + section.ceiling_mm - bore - FAR
        tools.append(box((-reach, reach), (section.ceiling_mm, reach), (z_ceiling, foot + FAR)))
    return cut(solid, tools)


def _groove(body: RoundBody) -> cq.Solid:
    """Return the ring groove that holds the gasket in the shoulder."""
    depth = body.gasket.recess_mm
    r0, r1 = body.gasket.inner_mm[0] / 2, body.gasket.outer_mm[0] / 2
    return revolve_z([(r0, -FAR), (r1, -FAR), (r1, depth), (r0, depth)])

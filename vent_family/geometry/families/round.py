"""Solids of round vents: head, slats trimmed to the circle, back plate and neck."""

from __future__ import annotations

import math
from typing import ClassVar, Final

import cadquery as cq
from shapely.geometry import Polygon

from vent_family.geometry.mark import mark_prisms
from vent_family.geometry.primitives import (
    box,
    common,
    cut,
    cylinder,
    fuse,
    one_solid,
    prism_x,
    prism_z,
    revolve_z,
)
from vent_family.geometry.slats import Span, insert_slats
from vent_family.geometry.thread import simplified_neck, threaded_neck
from vent_family.spec.families.round_body import RoundBody
from vent_family.spec.families.round_ribs import opened
from vent_family.spec.forms import Outline
from vent_family.spec.neck_key import NeckKey
from vent_family.spec.section import FAR
from vent_family.spec.vent import VentSpec

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
            tools += _both_sides(_bay_void(spec, body, x0, x1), x0 + x1)
        for (_, x0), (x1, _) in zip(spec.bays[:-1], spec.bays[1:], strict=True):
            if x0 + x1 >= -1e-6:
                for void in _rib_voids(spec, body, x0, x1):
                    tools += _both_sides(void, x0 + x1)
        tools += _holes(body)
        tools.append(_groove(body))
        tools += mark_prisms(spec.mark, front - spec.mark.depth_mm, front + FAR)
        # Neighbouring voids leave seams in floor and cylinder; merged while there are few faces.
        solid = _merged(cut(shell, tools))
        spans = [
            Span(outline, x0, x1)
            for x0, x1 in spec.bays
            for outline in _free(spec)
            if _place(outline, x0, x1, body.head.inner_radius_mm) == "inside"
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


def _merged(solid: cq.Solid) -> cq.Solid:
    """Return a solid whose neighbouring faces of one surface are merged, if that leaves it sound.

    Where a rib ends on the cone of the rear corner, the kernel sometimes merges faces wrongly; then
    the seams stay.
    """
    merged = one_solid(solid.clean())
    return merged if merged.isValid() else solid


def _both_sides(solid: cq.Solid, twice_x: float) -> list[cq.Solid]:
    """Return a solid and its mirror image, or itself where it stands in the middle."""
    return [solid] if twice_x < 1e-6 else [solid, cq.Solid(solid.mirror("YZ").wrapped)]


def _outer_form(spec: VentSpec, body: RoundBody) -> cq.Solid:
    """Return the head's outer form: revolved, cut flat below, above and on both sides."""
    head, front = body.head, spec.section.front_z_mm
    reach = head.radius_mm + FAR
    # Two upright flats for a spanner: they show which way is up while the locknut is tightened.
    at, depth = head.radius_mm - head.flat_depth_mm, (-FAR, front + FAR)
    tools: list[cq.Shape] = [
        box((at, reach), (-reach, reach), depth),
        box((-reach, -at), (-reach, reach), depth),
    ]
    tools += [prism_x(_ring(trim), -reach, reach) for trim in body.trims(spec.section)]
    return cut(revolve_z(head.outer_profile), tools)


def _key(key: NeckKey) -> cq.Solid:
    """Return the key below the neck, which reaches into the neck's wall and the shoulder."""
    half = key.width_mm / 2
    return box((-half, half), (-key.reach_mm, _KEY_SUNK_MM - key.stub_mm), (-key.depth_mm, FAR))


def _free(spec: VentSpec) -> list[Outline]:
    """Return what stands free in the cavity: slats not grown out of the ceiling, an inner apron."""
    section = spec.section
    apron = [section.apron] if section.sheltered else []
    return [*(s.outline for s in section.slats if not s.grown), *apron]


def _place(outline: Outline, x0: float, x1: float, radius: float) -> str:
    """Return whether the stretch of one bay lies inside the circle, outside, or across it."""
    ys = [y for _, y in outline]
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
    outline = body.cavity_block(section)
    for slat in section.slats:
        if slat.grown:
            outline = outline.difference(Polygon(slat.outline))
    radius = body.head.inner_radius_mm
    holes = [o for o in _free(spec) if _place(o, x0, x1, radius) == "across"]
    found = prism_x(_ring(outline), x0, x1, holes).intersect(_cavity(body)).Solids()
    # Where a fold spans a corner between rib and round wall it shuts off a pocket, which is filled.
    return max(found, key=lambda solid: solid.Volume())


def _rib_voids(spec: VentSpec, body: RoundBody, x0: float, x1: float) -> list[cq.Solid]:
    """Return what is cut out of one rib."""
    found = []
    for outline in opened(body.head, spec.section, (x0, x1)):
        prism = prism_x(_ring(outline), x0, x1)
        found.append(common(prism, _cavity(body)))
    return found


def _cavity(body: RoundBody) -> cq.Solid:
    """Return the round room before the back plate, reaching beyond the front."""
    profile = body.head.cavity_profile
    (r, z), (_, end) = profile[-2], profile[-1]
    return revolve_z([*profile[:-2], (r, z + 2 * FAR), (0.0, end + 2 * FAR)])


def _holes(body: RoundBody) -> list[cq.Shape]:
    """Return the bore, and before it the steps in which a rectangular hole becomes round."""
    head = body.head
    (z0, z1), bore, mouth = head.bevel_z_mm, head.bore_radius_mm, head.mouth_radius_mm
    # Between the ribs only, and only in front of the bore's circle.
    half = head.bore_half_mm
    bevel = revolve_z([(0.0, z0), (bore, z0), (mouth, z1), (0.0, z1)])
    found: list[cq.Shape] = [
        cylinder(bore, (0.0, z1)),
        common(bevel, box((-half, half), (-mouth - FAR, mouth + FAR), (z0 - FAR, z1 + FAR))),
    ]
    found += [prism_z(_ring(outline), low, high) for (low, high), outline in head.rim]
    return found


def _ring(shape: Polygon) -> list[tuple[float, float]]:
    """Return the corners of a polygon."""
    return [(float(a), float(b)) for a, b in list(shape.exterior.coords)[:-1]]


def _groove(body: RoundBody) -> cq.Solid:
    """Return the ring groove that holds the gasket in the shoulder."""
    depth = body.gasket.recess_mm
    r0, r1 = body.gasket.inner_mm[0] / 2, body.gasket.outer_mm[0] / 2
    return revolve_z([(r0, -FAR), (r1, -FAR), (r1, depth), (r0, depth)])

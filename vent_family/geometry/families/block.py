"""Solids of rectangular and flanged vents."""

from __future__ import annotations

import math
from typing import Final

import cadquery as cq
from shapely.geometry import Polygon

from vent_family.geometry.fan_mount import fan_duct
from vent_family.geometry.mark import mark_prisms
from vent_family.geometry.primitives import box, cut, cylinder, fuse, prism_x, prism_y, prism_z
from vent_family.geometry.screen import rails
from vent_family.geometry.slats import Span, insert_slats
from vent_family.spec.body import Hole
from vent_family.spec.families.block import BlockBody
from vent_family.spec.section import FAR
from vent_family.spec.vent import VentSpec

OVERCUT_MM: Final = 0.5
"""How far the notch's tool reaches into the opening's, so that no skin is left between."""


class BlockBuilder:
    """Builds the vents of one family of blocks."""

    def __init__(self, name: str) -> None:
        self.name = name

    def vent(self, spec: VentSpec, true_thread: bool) -> cq.Solid:
        """Return the exact solid in use position (datum: z = 0); a block has no thread."""
        body = spec.body
        assert isinstance(body, BlockBody)
        shell = _shell(body)
        tools: list[cq.Shape] = list(_voids(spec))
        tools += _slots(body)
        tools += [_hole(hole, body) for hole in body.holes]
        tools += _gasket_recess(body)
        front = body.cover_thickness_mm
        raised = spec.mark.raised
        if not raised:
            tools += mark_prisms(spec.mark, front - spec.mark.depth_mm, front + FAR)
        solid = cut(shell, tools)
        if spec.fan_duct is not None:
            # After the cavity, whose tools reach beyond the inner plane.
            solid = fuse(solid, [fan_duct(spec.fan_duct)])
        if raised:
            top = front + spec.mark.depth_mm
            solid = fuse(solid, mark_prisms(spec.mark, front - FAR / 2, top, lean=1.0))
        if body.screen is not None:
            solid = fuse(solid, rails(body.screen, spec.section))
        spans = [
            Span(slat.outline, x0, x1)
            for x0, x1 in spec.bays
            for slat in spec.section.slats
            if not slat.grown
        ]
        return insert_slats(solid, spans)

    def opening(self, spec: VentSpec, z_mm: tuple[float, float]) -> cq.Solid:
        """Return the square-cut opening with the notch for the key ridge."""
        w, h = spec.opening.size_mm
        main = box((-w / 2, w / 2), (-h / 2, h / 2), z_mm)
        if spec.opening.notch_mm is None:
            return main
        nw, nd = spec.opening.notch_mm
        notch = box((-nw / 2, nw / 2), (-h / 2 - nd, -h / 2 + OVERCUT_MM), z_mm)
        return fuse(main, [notch])


def _voids(spec: VentSpec) -> list[cq.Solid]:
    """Return the cavity of every bay, without the slats that stand free in it."""
    section = spec.section
    outline = section.cavity
    for slat in section.slats:
        if slat.grown:
            outline = outline.difference(Polygon(slat.outline))
    ring = [(float(z), float(y)) for z, y in list(outline.exterior.coords)[:-1]]
    return [prism_x(ring, x0, x1) for x0, x1 in spec.bays]


def _shell(body: BlockBody) -> cq.Solid:
    """Return the outer form: cover, body, key ridge and snap hooks, as one solid."""
    w, h = body.body_mm[0] / 2, body.body_mm[1] / 2
    left, right, bottom, top = body.cover_mm
    cover = box((-left, right), (-bottom, top), (0.0, body.cover_thickness_mm))
    parts: list[cq.Shape] = [box((-w, w), (-h, h), (body.inner_z_mm, body.cover_thickness_mm))]
    if body.key is not None:
        half = body.key.width_mm / 2
        parts.append(
            box((-half, half), (-h - body.key.height_mm, -h + 0.5), (body.inner_z_mm, 0.5))
        )
    if body.snap is not None:
        # 45 degrees towards the panel: it bears on the panel's inner edge whatever its thickness,
        # and 60 degrees of lead-in towards the cabinet.
        hook, z = body.snap.proud_mm, body.snap.free_end_z_mm
        profile = [(w - 0.5, z), (w, z), (w + hook, z - hook), (w, z - body.snap.foot_mm)]
        profile.append((w - 0.5, profile[-1][1]))
        for side in (1.0, -1.0):
            parts.append(prism_y([(side * x, zz) for x, zz in profile], -h, h))
    return fuse(cover, parts)


def _slots(body: BlockBody) -> list[cq.Solid]:
    """Return the slots that free the snap arms from the side walls."""
    snap = body.snap
    if snap is None:
        return []
    w, h = body.body_mm[0] / 2, body.body_mm[1] / 2
    x1 = w - snap.thickness_mm
    x0 = x1 - snap.slot_mm
    z0, z1 = body.inner_z_mm + snap.root_mm, 0.0
    free = snap.free_end_z_mm
    tools = []
    for side in (1.0, -1.0):
        outline = [(x0, z0), (x1, z0), (x1, free), (w + FAR, free), (w + FAR, z1), (x0, z1)]
        tools.append(prism_y([(side * x, z) for x, z in outline], -h - FAR, h + FAR))
    return tools


def _hole(hole: Hole, body: BlockBody) -> cq.Solid:
    """Return a screw hole's tool, with a 45 degree roof where the hole prints lying down."""
    z = (-FAR, body.cover_thickness_mm + FAR)
    r = hole.diameter_mm / 2
    tool = cylinder(r, z, hole.x_mm, hole.y_mm)
    if not body.teardrop_holes:
        return tool
    c = r / math.sqrt(2.0)
    roof = [
        (hole.x_mm - c, hole.y_mm + c),
        (hole.x_mm + c, hole.y_mm + c),
        (hole.x_mm, hole.y_mm + 2 * c),
    ]
    return fuse(tool, [prism_z(roof, *z)])


def _gasket_recess(body: BlockBody) -> list[cq.Solid]:
    """Return the recess that holds the gasket in the flange's back."""
    if body.gasket is None:
        return []
    depth = body.gasket.recess_mm
    outer, inner = body.gasket.outer_mm, body.gasket.inner_mm
    ring = box((-outer[0] / 2, outer[0] / 2), (-outer[1] / 2, outer[1] / 2), (-FAR, depth))
    core = box((-inner[0] / 2, inner[0] / 2), (-inner[1] / 2, inner[1] / 2), (-2 * FAR, 2 * depth))
    return [cut(ring, [core])]

"""Solids of rectangular and flanged vents."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import cadquery as cq
from shapely.geometry import Polygon

from vent_family.geometry.fan_mount import fan_duct
from vent_family.geometry.mark import label_prisms, mark_prisms
from vent_family.geometry.plate import chamfered_front, plate_prism
from vent_family.geometry.primitives import box, cut, cylinder, fuse, prism_x, prism_y, prism_z
from vent_family.geometry.screen import rails
from vent_family.geometry.slats import Span, insert_slats
from vent_family.spec import defaults
from vent_family.spec.body import Hole, SnapArms
from vent_family.spec.families.block_body import BlockBody
from vent_family.spec.plate import CornerPlate
from vent_family.spec.section import FAR, Section
from vent_family.spec.vent import VentSpec

OVERCUT_MM: Final = 0.5
"""How far the notch's tool reaches into the opening's, so that no skin is left between."""
SUNK_MM: Final = 0.5
"""How far what is fused to the block or the cover reaches into it, at least."""
_BOTH: Final = (1.0, -1.0)
"""Right and left."""


class BlockBuilder:
    """Builds the vents of one family of blocks."""

    def __init__(self, name: str) -> None:
        self.name = name

    def envelope(self, spec: VentSpec) -> cq.Solid:
        """Return the outer form with screw holes and gasket seat; a raised mark becomes a plate.

        Snap arms are part of the block, and what a part stands on ends in plain corners.
        """
        body = spec.body
        assert isinstance(body, BlockBody)
        shell = _shell(body, spec.section, plain=True)
        if spec.mark.raised:
            front = body.cover_thickness_mm
            glyphs = mark_prisms(spec.mark, front - FAR / 2, front + spec.mark.depth_mm, lean=1.0)
            around = cq.Compound.makeCompound(glyphs).BoundingBox()
            x, y = (around.xmin, around.xmax), (around.ymin, around.ymax)
            shell = fuse(shell, [box(x, y, (around.zmin, around.zmax))])
        if spec.fan_duct is not None:
            shell = fuse(shell, [fan_duct(spec.fan_duct)])
        if body.screen is not None:
            shell = fuse(shell, rails(body.screen, spec.section))
        tools: list[cq.Shape] = [_hole(hole, body) for hole in body.holes]
        return cut(shell, [*tools, *_gasket_recess(body)])

    def vent(self, spec: VentSpec, true_thread: bool) -> cq.Solid:
        """Return the exact solid in use position (datum: z = 0); a block has no thread."""
        body = spec.body
        assert isinstance(body, BlockBody)
        shell = _shell(body, spec.section)
        tools: list[cq.Shape] = list(_voids(spec))
        if body.snap is not None:
            tools += _slots(body, body.snap)
        tools += [_hole(hole, body) for hole in body.holes]
        tools += _gasket_recess(body)
        tools += label_prisms(spec.label, FAR)
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
        if spec.section.sheltered:
            spans += [Span(spec.section.apron, x0, x1) for x0, x1 in spec.bays]
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
    voids = [prism_x(ring, x0, x1) for x0, x1 in spec.bays]
    if section.rib_window:
        # They reach into the bays, so that no skin is left between.
        voids += [
            prism_x(section.rib_window, a[1] - OVERCUT_MM, b[0] + OVERCUT_MM)
            for a, b in pairwise(spec.bays)
        ]
    return voids


def _shell(body: BlockBody, section: Section, *, plain: bool = False) -> cq.Solid:
    """Return the outer form: cover, block, key ridge and snap arms, as one solid.

    With ``plain`` what is behind the panel has no bevels and no chamfers.
    """
    front, inner = body.cover_thickness_mm, body.inner_z_mm
    collar_end = inner if body.heel is None else body.seat_z_mm
    collar = plate_prism(body.collar, (collar_end, front / 2))
    parts: list[cq.Shape] = [cut(collar, _trims(body, section))]
    if body.heel is not None:
        heel = _block_behind(body) if plain else _heel(body, body.heel)
        parts.append(cut(heel, _trims(body, section)))
    if body.snap is not None:
        parts += _plain_hooks(body, body.snap) if plain else _hooks(body, body.snap)
    if body.key is not None:
        half, high, depth = body.key.width_mm / 2, body.key.height_mm, body.key.depth_mm
        low = body.bottom_mm
        # Printed face down it ends at 45 degrees, which leads it into its notch.
        ridge = [(-depth, low), (high - depth, low - high), (SUNK_MM, low - high)]
        parts.append(prism_x([*ridge, (SUNK_MM, low + SUNK_MM)], -half, half))
    return fuse(_cover(body), parts)


def _trims(body: BlockBody, section: Section) -> list[cq.Solid]:
    """Return what is cut off the block behind its collar, above its upper and below its lower side.

    Their prisms begin where the side leaves the collar, and reach beyond the block from there.
    """
    tools = []
    w = body.collar.reach_mm[0] + FAR
    for side, way in ((body.upper_side(section), FAR), (body.lower_side(section), -FAR)):
        if len(side) < 3:
            continue
        (_, level), (z0, y0), (z1, y1) = side[:3]
        slope = (y1 - y0) / (z1 - z0)
        start = (z0 + way / slope, y0 + way)
        z, y = side[-1]
        end = (z - FAR, y - slope * FAR * (len(side) == 3))
        tools.append(prism_x([start, *side[2:-1], end, (z - FAR, level + way)], -w, w))
    return tools


def _heel(body: BlockBody, heel: CornerPlate) -> cq.Solid:
    """Return the block behind the groove for the panel: what it is printed on."""
    inner, seat, low = body.inner_z_mm, body.seat_z_mm, body.bottom_mm
    w, leg = heel.reach_mm[0], defaults.EDGE_CHAMFER_MM
    tools: list[cq.Shape] = []
    for z, way in ((inner, 1.0), (seat, -1.0)):
        edge = [(z - way * FAR, low - FAR), (z - way * FAR, low + leg + FAR)]
        tools.append(prism_x([*edge, (z + way * (leg + FAR), low - FAR)], -w - FAR, w + FAR))
    return cut(plate_prism(heel, (inner, seat)), tools)


def _block_behind(body: BlockBody) -> cq.Solid:
    """Return the block behind the groove for the panel as a box."""
    w = body.collar.reach_mm[0]
    return box((-w, w), (body.bottom_mm, body.top_mm), (body.inner_z_mm, body.seat_z_mm))


def _plain_hooks(body: BlockBody, snap: SnapArms) -> list[cq.Solid]:
    """Return the hooks of both snap arms with level ends, clear of the panel's lower edge."""
    w, leg = body.collar.reach_mm[0], body.collar.bevel_mm or 0.0
    hook, z, seat = snap.proud_mm, snap.free_end_z_mm, body.seat_z_mm
    low, high = body.bottom_mm, body.top_mm - body.collar.corner_mm
    edge = leg - body.collar.reach_mm[2]
    groove = box((-w - FAR, w + FAR), (low - FAR, edge), (seat, FAR))
    profile = [(w, z), (w + hook, z - hook), (w, z - snap.foot_mm)]
    return [
        cut(prism_y([(side * x, zz) for x, zz in profile], low, high), [groove]) for side in _BOTH
    ]


def _hooks(body: BlockBody, snap: SnapArms) -> list[cq.Solid]:
    """Return the hooks of both snap arms.

    45 degrees towards the panel: they bear on the panel's inner edge whatever its thickness; 60
    degrees of lead-in towards the cabinet. They begin at 45 degrees on the block's bevels.
    """
    outline = body.collar if body.heel is None else body.heel
    w, leg = outline.reach_mm[0], outline.bevel_mm or 0.0
    hook, z, seat = snap.proud_mm, snap.free_end_z_mm, body.seat_z_mm
    # Sunk no deeper than above the foot's chamfer, which it would else fill beside the bevel.
    sunk = min(SUNK_MM, (leg - defaults.EDGE_CHAMFER_MM) / 2.0)
    profile = [(w - sunk, z), (w, z), (w + hook, z - hook), (w, z - snap.foot_mm)]
    profile.append((w - sunk, profile[-1][1]))
    low, high = body.bottom_mm, body.top_mm - outline.corner_mm
    out = hook + FAR
    tools = [
        ([(-leg - FAR, y - FAR), (out, y + leg + out), (out, y - FAR)], zs)
        for y, zs in (
            (low, (body.inner_z_mm - FAR, seat)),
            (-body.collar.reach_mm[2], (seat, z + FAR)),
        )
    ]
    return [
        cut(
            prism_y([(side * x, zz) for x, zz in profile], low, high),
            [prism_z([(side * (w + u), y) for u, y in tool], *zs) for tool, zs in tools],
        )
        for side in _BOTH
    ]


def _cover(body: BlockBody) -> cq.Solid:
    """Return lip or flange: chamfered in front all round, its lower edge drawn back behind."""
    plate, thick, drip = body.cover_plate, body.cover_thickness_mm, body.drip_mm
    solid = chamfered_front(plate_prism(plate, (0.0, thick)), thick, defaults.EDGE_CHAMFER_MM)
    if drip == 0.0:
        return solid
    low, w = -plate.reach_mm[2], plate.reach_mm[0] + FAR
    bevel = [(-FAR, low + drip + FAR), (-FAR, low - FAR), (drip + FAR, low - FAR)]
    return cut(solid, [prism_x(bevel, -w, w)])


def _slots(body: BlockBody, snap: SnapArms) -> list[cq.Solid]:
    """Return what frees the snap arms: slots beside them, gaps in front of their ends.

    Below, an end that reaches over the groove for the panel rises from there at 45 degrees.
    """
    w = body.collar.reach_mm[0]
    x1 = w - snap.thickness_mm
    x0 = x1 - snap.slot_mm
    z0, z1 = body.inner_z_mm + snap.root_mm, 0.0
    free, seat = snap.free_end_z_mm, body.seat_z_mm
    low, high = body.bottom_mm - FAR, body.top_mm + FAR
    edge, reach = -body.collar.reach_mm[2], free - seat + SUNK_MM
    rise = [(seat, edge), (seat + reach, edge + reach), (seat + reach, low), (seat, low)]
    tools = []
    for side in _BOTH:
        outline = [(x0, z0), (x1, z0), (x1, free), (w + FAR, free), (w + FAR, z1), (x0, z1)]
        tools.append(prism_y([(side * x, z) for x, z in outline], low, high))
        ends = sorted((side * (x0 + x1) / 2.0, side * (w + snap.proud_mm + FAR)))
        tools.append(prism_x(rise, ends[0], ends[1]))
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

"""What a rectangular or flanged vent's body is made of, as drawn shapes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from vent_family.spec import defaults
from vent_family.spec.body import Hole, SnapArms
from vent_family.spec.pieces import Lofted, Piece, Pieces, Prism, Span, disc
from vent_family.spec.section import BEYOND_MM, FAR, Section

if TYPE_CHECKING:
    from vent_family.spec.families.block_body import BlockBody

_ACROSS: Final[tuple[Span, ...]] = ((-BEYOND_MM, BEYOND_MM),)
_SIDES: Final = (1.0, -1.0)
"""Right and left."""
_EASY: Final = 0.1
"""How far a fan's duct moves per mm of depth along its bosses, at most (1)."""


def block_pieces(body: BlockBody, section: Section, bays: Sequence[Span]) -> Pieces:
    """Return cover, block and what hangs on it, less cavity, holes and recesses.

    ``bays`` are the clear x ranges between ribs, mm.
    """
    taken = tuple(_taken(body, section))
    return Pieces(tuple(_fills(body, section)), taken, tuple(_room(section, bays)))


def _fills(body: BlockBody, section: Section) -> Iterator[Piece]:
    front, inner, leg = body.cover_thickness_mm, body.inner_z_mm, defaults.EDGE_CHAMFER_MM
    plate = body.cover_plate
    yield Prism(2, plate.outline(), ((0.0, front - leg),))
    chamfer = front - leg
    yield Lofted(lambda z: plate.inset(z - chamfer).outline(), (chamfer, front), (1.0,))
    end = inner if body.heel is None else body.seat_z_mm
    yield Prism(2, body.collar.outline(), ((end, 0.0),))
    if body.heel is not None:
        yield Prism(2, body.heel.outline(), ((inner, body.seat_z_mm),))
    if body.snap is not None:
        yield from _hooks(body, body.snap)
    if body.key is not None:
        half, high, depth = body.key.width_mm / 2, body.key.height_mm, body.key.depth_mm
        low = body.bottom_mm
        ridge = [(-depth, low), (high - depth, low - high), (0.0, low - high), (0.0, low)]
        yield Prism(0, Polygon(ridge), ((-half, half),))
    if body.screen is not None:
        side, w = body.screen.side(section), body.screen.half_width_mm
        yield Prism(0, body.screen.ledge(section), ((-w, w),))
        # A rail's lower end rises inwards: on average it is so high.
        top = side.bounds[3]
        for sense in _SIDES:
            rail = Polygon([(sense * x, z) for x, z in body.screen.rail().exterior.coords])
            yield Prism(1, rail, ((top - side.area / body.screen.depth_mm, top),))
    if body.fan_mount is not None:
        duct = body.fan_mount.duct(section)
        z0, z1, z2 = duct.z_mm
        depths = (z2, z2 + duct.frame.pilot_depth_mm, z1, z0)
        yield Lofted(duct.plastic, depths, (_EASY, _EASY, 1.0))


def _room(section: Section, bays: Sequence[Span]) -> Iterator[Prism]:
    yield Prism(0, section.air, tuple(bays))
    if section.rib_window:
        ribs = tuple((a[1], b[0]) for a, b in pairwise(bays))
        yield Prism(0, Polygon(section.rib_window), ribs)


def _taken(body: BlockBody, section: Section) -> Iterator[Piece]:
    inner = body.inner_z_mm
    for line, way in ((body.upper_side(section), FAR), (body.lower_side(section), -FAR)):
        if len(line) > 2:
            (_, level), (start, _) = line[:2]
            beyond = [(inner, level + way), (start, level + way)]
            yield Prism(0, Polygon([*line[1:], *beyond]), _ACROSS)
    if body.heel is not None:
        low, leg = body.bottom_mm, defaults.EDGE_CHAMFER_MM
        for z, way in ((inner, leg), (body.seat_z_mm, -leg)):
            yield Prism(0, Polygon([(z, low), (z + way, low), (z, low + leg)]), _ACROSS)
    if body.drip_mm:
        low, drip = -body.cover_plate.reach_mm[2], body.drip_mm
        yield Prism(0, Polygon([(0.0, low), (drip, low), (0.0, low + drip)]), _ACROSS)
    thick = ((0.0, body.cover_thickness_mm),)
    if body.holes:
        holes = [_hole(hole, teardrop=body.teardrop_holes) for hole in body.holes]
        yield Prism(2, MultiPolygon(holes), thick)
    if body.gasket is not None:
        (w1, h1), (w0, h0) = body.gasket.outer_mm, body.gasket.inner_mm
        ring = box(-w1 / 2, -h1 / 2, w1 / 2, h1 / 2).difference(
            box(-w0 / 2, -h0 / 2, w0 / 2, h0 / 2)
        )
        yield Prism(2, ring, ((0.0, body.gasket.recess_mm),))
    if body.snap is not None:
        yield from _slots(body, body.snap)


def _hooks(body: BlockBody, snap: SnapArms) -> Iterator[Prism]:
    """Yield the hooks of both arms; their lower ends follow the bevel, which is on average so."""
    outline = body.collar if body.heel is None else body.heel
    w, leg = outline.reach_mm[0], outline.bevel_mm or 0.0
    hook, z = snap.proud_mm, snap.free_end_z_mm
    heights = (body.bottom_mm + leg + hook / 3.0, body.top_mm - outline.corner_mm)
    for side in _SIDES:
        corners = [(w, z), (w + hook, z - hook), (w, z - snap.foot_mm)]
        yield Prism(1, Polygon([(side * x, depth) for x, depth in corners]), (heights,))


def _slots(body: BlockBody, snap: SnapArms) -> Iterator[Prism]:
    """Yield what frees the snap arms: slots beside them, gaps in front of their ends."""
    w = body.collar.reach_mm[0]
    x1 = w - snap.thickness_mm
    x0 = x1 - snap.slot_mm
    root, free, seat = body.inner_z_mm + snap.root_mm, snap.free_end_z_mm, body.seat_z_mm
    edge, low = -body.collar.reach_mm[2], body.bottom_mm - FAR
    over = free - seat
    rise = Polygon([(seat, edge), (free, edge + over), (free, low), (seat, low)])
    for side in _SIDES:
        ring = [(x0, root), (x1, root), (x1, free), (w + FAR, free), (w + FAR, 0.0), (x0, 0.0)]
        yield Prism(1, Polygon([(side * x, z) for x, z in ring]), _ACROSS)
        if over > 0.0:
            ends = sorted((side * x1, side * (w + snap.proud_mm + FAR)))
            yield Prism(0, rise, ((ends[0], ends[1]),))


def _hole(hole: Hole, *, teardrop: bool) -> Polygon:
    """Return a screw hole (x, y), with a roof at 45 degrees where it prints lying down."""
    r = hole.diameter_mm / 2
    found = disc(r, hole.x_mm, hole.y_mm)
    if not teardrop:
        return found
    c, x, y = r / math.sqrt(2.0), hole.x_mm, hole.y_mm
    roof = Polygon([(x - c, y + c), (x + c, y + c), (x, y + 2 * c)])
    return Polygon(unary_union([found, roof]).exterior)

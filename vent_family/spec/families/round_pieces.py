"""What a round vent's body is made of, as drawn shapes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box

from vent_family.base.arrays import FloatArray
from vent_family.spec.families.round_ribs import opened
from vent_family.spec.pieces import Lofted, Piece, Pieces, Prism, Span, disc
from vent_family.spec.section import BEYOND_MM, Section
from vent_family.spec.thread.pieces import neck_form

if TYPE_CHECKING:
    from vent_family.spec.families.round_body import RoundBody

_KEY_SUNK_MM: Final = 0.8
"""How far the key's box reaches into the neck's wall."""


def round_pieces(body: RoundBody, section: Section, bays: Sequence[Span]) -> Pieces:
    """Return head and neck, less cavity, bore and groove.

    ``bays`` are the clear x ranges between ribs, mm.
    """
    room = tuple(_room(body, section, bays))
    return Pieces(tuple(_fills(body, section)), tuple(_taken(body)), room)


def _fills(body: RoundBody, section: Section) -> Iterator[Piece]:
    yield _outside(body, section)
    yield neck_form(body.neck.thread, body.neck.length_mm)
    if body.key is not None:
        half, reach = body.key.width_mm / 2, body.key.reach_mm
        key = box(-half, -reach, half, _KEY_SUNK_MM - body.key.stub_mm)
        yield Prism(2, key, ((-body.key.depth_mm, 0.0),))


def _room(body: RoundBody, section: Section, bays: Sequence[Span]) -> Iterator[Prism]:
    head, front = body.head, section.front_z_mm
    inside = box(0.0, -BEYOND_MM, front, BEYOND_MM)
    depths = (head.plate_z_mm, head.plate_z_mm + head.corner_mm, front)
    room = Lofted(lambda z: disc(head.cavity_radius_mm(z)), depths, (1.0, 0.0))
    air = body.cavity_block(section).difference(section.slats_solid).intersection(inside)
    yield Prism(0, air, tuple(bays), room)
    for (_, x0), (x1, _) in pairwise(bays):
        windows = opened(head, section, (x0, x1))
        if windows:
            whole = MultiPolygon(windows).intersection(inside)
            yield Prism(0, whole, ((x0, x1),), room)


def _taken(body: RoundBody) -> Iterator[Piece]:
    yield from _bore(body)
    g0, g1 = body.gasket.inner_mm[0] / 2, body.gasket.outer_mm[0] / 2
    yield Prism(2, disc(g1).difference(disc(g0)), ((0.0, body.gasket.recess_mm),))


def _outside(body: RoundBody, section: Section) -> Lofted:
    """Return the head's outer form: turned, with its flats, cut off below and above."""
    head = body.head
    side = head.radius_mm - head.flat_depth_mm
    radii, depths = np.array(head.outer_profile[1:-1]).T
    below, above = (np.array(trim.exterior.coords) for trim in body.trims(section))

    def at(z_mm: float) -> Polygon:
        radius = float(np.interp(z_mm, depths, radii))
        low = _end(below, z_mm, radius, highest=True)
        high = _end(above, z_mm, radius, highest=False)
        return disc(radius).intersection(box(-side, low, side, high))

    corners = [z for ring in (below, above) if len(ring) for z in ring[:, 0].tolist()]
    ends = sorted({*depths.tolist(), *(z for z in corners if 0.0 < z < section.front_z_mm)})
    steps = np.interp(ends, depths, radii)
    leans = np.abs(np.diff(steps) / np.diff(ends))
    return Lofted(at, tuple(ends), tuple(leans.tolist()))


def _end(ring: FloatArray, z_mm: float, radius_mm: float, *, highest: bool) -> float:
    """Return the highest or lowest height (mm) of a trim's outline (z, y) at a depth (mm)."""
    way = 1.0 if highest else -1.0
    if len(ring) == 0 or not ring[:, 0].min() < z_mm < ring[:, 0].max():
        return -way * (radius_mm + 1.0)
    (z0, y0), (z1, y1) = ring[:-1].T, ring[1:].T
    there = (np.minimum(z0, z1) <= z_mm) & (z_mm < np.maximum(z0, z1))
    heights = y0[there] + (y1 - y0)[there] * (z_mm - z0[there]) / (z1 - z0)[there]
    return float(way * (way * heights).max())


def _bore(body: RoundBody) -> Iterator[Piece]:
    """Yield bore, bevel and the steps of the hole in the plate."""
    head = body.head
    (z0, z1), half = head.bevel_z_mm, head.bore_half_mm
    between = box(-half, -BEYOND_MM, half, BEYOND_MM)
    yield Prism(2, disc(head.bore_radius_mm), ((-body.neck.length_mm, z1),))
    yield Lofted(
        lambda z: disc(head.bore_radius_mm + z - z0).intersection(between), (z0, z1), (1.0,)
    )
    for depths, outline in head.rim:
        yield Prism(2, outline, (depths,))

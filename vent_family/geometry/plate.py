"""Plates with rounded and bevelled corners as prisms."""

from __future__ import annotations

import math
from itertools import pairwise

import cadquery as cq

from vent_family.spec.plate import CornerPlate


def plate_prism(plate: CornerPlate, z: tuple[float, float]) -> cq.Solid:
    """Return the prism of a plate over the range ``z``, mm."""
    left, right, bottom, top = plate.reach_mm
    radius, leg = plate.corner_mm, plate.bevel_mm
    lower = radius if leg is None else leg
    # Anticlockwise from the lower right: corner, direction towards it, and its size.
    corners = (
        (cq.Vector(right, -bottom, z[0]), cq.Vector(1, 0, 0), lower, leg is None),
        (cq.Vector(right, top, z[0]), cq.Vector(0, 1, 0), radius, True),
        (cq.Vector(-left, top, z[0]), cq.Vector(-1, 0, 0), radius, True),
        (cq.Vector(-left, -bottom, z[0]), cq.Vector(0, -1, 0), lower, leg is None),
    )
    turns: list[cq.Edge] = []
    for corner, come, size, is_round in corners:
        go = cq.Vector(-come.y, come.x, 0)
        start, end = corner - come * size, corner + go * size
        if is_round:
            middle = corner + (go - come) * (size * (1.0 - math.sqrt(0.5)))
            turns.append(cq.Edge.makeThreePointArc(start, middle, end))
        else:
            turns.append(cq.Edge.makeLine(start, end))
    edges: list[cq.Edge] = []
    for turn, after in pairwise([*turns, turns[0]]):
        edges += [turn, cq.Edge.makeLine(turn.endPoint(), after.startPoint())]
    face = cq.Face.makeFromWires(cq.Wire.assembleEdges(edges))
    return cq.Solid.extrudeLinear(face, cq.Vector(0, 0, z[1] - z[0]))


def chamfered_front(solid: cq.Solid, z_mm: float, leg_mm: float) -> cq.Solid:
    """Return a prism with a 45 degree chamfer of a leg (mm) all round its face at ``z_mm``, mm."""
    edges = [e for e in solid.Edges() if all(abs(v.Z - z_mm) < 1e-9 for v in e.Vertices())]
    return solid.chamfer(leg_mm, None, edges).Solids()[0]

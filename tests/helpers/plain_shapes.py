"""Shapes for tests of the file writers; none of them is a vent."""

from __future__ import annotations

import math

import cadquery as cq

PLATE_MM = (40.0, 30.0, 6.0)
PLATE_HOLES = ((-12.0, -8.0), (12.0, -8.0), (0.0, 9.0))
PLATE_HOLE_RADIUS_MM = 2.5


def plate() -> cq.Shape:
    """A plate with three through holes, its middle in the origin."""
    body = cq.Workplane("XY").box(*PLATE_MM).faces(">Z").workplane().pushPoints(PLATE_HOLES)
    return body.hole(2.0 * PLATE_HOLE_RADIUS_MM).val()


def plate_volume_mm3() -> float:
    width, height, depth = PLATE_MM
    holes = len(PLATE_HOLES) * math.pi * PLATE_HOLE_RADIUS_MM**2
    return (width * height - holes) * depth


def cylinder(radius_mm: float = 8.0, height_mm: float = 20.0) -> cq.Shape:
    """A cylinder standing on the XY plane."""
    return cq.Solid.makeCylinder(radius_mm, height_mm)


def slatted(slats: int, bays: int = 3) -> cq.Shape:
    """A block with slanted slats in two layers, the air between them cut away in one boolean."""
    pitch, air, bay, rib, layer, wall = 6.0, 4.5, 40.0, 2.0, 10.0, 2.0
    rows = slats // 2
    block = cq.Solid.makeBox(
        bays * (bay + rib) + rib, rows * pitch + 10.0, 2.0 * layer + 3.0 * wall
    )
    voids = []
    for level, slope in ((wall, 2.0), (2.0 * wall + layer, -2.0)):
        for row in range(rows):
            low = 5.0 + row * pitch
            corners = [
                (low, level),
                (low + air, level),
                (low + air + slope, level + layer),
                (low + slope, level + layer),
            ]
            for column in range(bays):
                start = rib + column * (bay + rib)
                outline = cq.Wire.makePolygon(
                    [cq.Vector(start, y, z) for y, z in corners], close=True
                )
                voids.append(cq.Solid.extrudeLinear(outline, [], cq.Vector(bay, 0.0, 0.0)))
    return block.cut(*voids).Solids()[0]


def slatted_volume_mm3(slats: int, bays: int = 3) -> float:
    rows = slats // 2
    block = (bays * 42.0 + 2.0) * (rows * 6.0 + 10.0) * 26.0
    # The air is a prism over a parallelogram: base times height times length, slope or no slope.
    return block - 2.0 * rows * bays * (4.5 * 10.0 * 40.0)


def helical_ridge(turns: int = 10) -> cq.Solid:
    """A trapezoidal ridge wound around Z in several turns: four ruled faces and two ends."""
    pitch, profile = 1.5, ((30.58, -0.7), (31.5, -0.1), (31.5, 0.1), (30.58, 0.7))
    edges = [
        cq.Wire.makeHelix(pitch, pitch * turns, radius).moved(cq.Location((0.0, 0.0, z))).Edges()[0]
        for radius, z in profile
    ]
    faces = [
        cq.Face.makeRuledSurface(a, b) for a, b in zip(edges, [*edges[1:], edges[0]], strict=True)
    ]
    for ends in ([e.startPoint() for e in edges], [e.endPoint() for e in edges]):
        faces.append(cq.Face.makeFromWires(cq.Wire.makePolygon(ends, close=True)))
    return cq.Solid.makeSolid(cq.Shell.makeShell(faces)).fix()

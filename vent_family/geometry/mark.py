"""The arrow and the word TOP, and the part number inside, as solids."""

from __future__ import annotations

import cadquery as cq

from vent_family.geometry.primitives import prism_z
from vent_family.spec.body import Mark
from vent_family.spec.label import Label
from vent_family.spec.mark import mark_outlines


def mark_prisms(mark: Mark, z0: float, z1: float, *, lean: float = 0.0) -> list[cq.Solid]:
    """Return one prism per glyph between two z, counters left out.

    ``z0`` and ``z1`` are in mm, ``lean`` is a ratio.

    A prism leans towards +y by ``lean`` times its height. A raised mark on a wall printed standing
    leans by 1: its undersides, those of the counters too, are then at 45 degrees and print without
    support.
    """
    prisms = []
    for outline, counter in mark_outlines(mark):
        if counter is None and lean == 0.0:
            prisms.append(prism_z(outline, z0, z1))
            continue
        outer = cq.Wire.makePolygon([cq.Vector(x, y, z0) for x, y in outline], close=True)
        holes = []
        if counter is not None:
            ring = [cq.Vector(x, y, z0) for x, y in counter]
            holes.append(cq.Wire.makePolygon(ring, close=True))
        face = cq.Face.makeFromWires(outer, holes)
        prisms.append(cq.Solid.extrudeLinear(face, cq.Vector(0, lean * (z1 - z0), z1 - z0)))
    return prisms


def label_prisms(label: Label, beyond_mm: float) -> list[cq.Solid]:
    """Return one prism per letter, from ``beyond_mm`` (mm) behind its face to its depth."""
    z0, height = label.z_mm - beyond_mm, label.depth_mm + beyond_mm
    prisms = []
    for shape in label.outlines():
        outer, *holes = (
            cq.Wire.makePolygon([cq.Vector(x, y, z0) for x, y in ring.coords[:-1]], close=True)
            for ring in (shape.exterior, *shape.interiors)
        )
        face = cq.Face.makeFromWires(outer, holes)
        prisms.append(cq.Solid.extrudeLinear(face, cq.Vector(0, 0, height)))
    return prisms

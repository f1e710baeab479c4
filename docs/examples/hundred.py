"""A hundred vents.

The outer form only, a solid of few faces, and no screws: all uses of it are one geometry in the
file.
"""

from pathlib import Path

import cadquery as cq

import vent_family

vent_family.register("catalog.csv")
wall = cq.Workplane("XZ").rect(1200, 1000).extrude(2).faces("<Y")
front = wall.workplane(centerOption="CenterOfMass").rarray(115, 95, 10, 10)
held = front.fitVent("HV-R040", detail="envelope", fasteners=False)
vent_family.export_assembly(held, "wall.step")
written = Path("wall.step").read_text(encoding="ascii")
print(len(held.children) - 1, "vents", written.count("MANIFOLD_SOLID_BREP("), "solids in the file")

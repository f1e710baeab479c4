"""First vent in ten lines.

Cut a vent's opening into a cabinet's front, put the vent in with gasket and locknut, and save the
whole as STEP with part numbers, materials and attributes. TOP is up by itself.
"""

import cadquery as cq

import vent_family

parts = vent_family.register("catalog.csv")
cabinet = cq.Workplane().box(400, 250, 600).faces("<Z").shell(-2)
held = cabinet.faces("<Y").workplane(centerOption="CenterOfMass").fitVent("HV-N32")
print(parts.spec("HV-N32").opening.text())
print(*(member.metadata["part_number"] for member in held.children[1].children))
vent_family.export_assembly(held, "cabinet.step")

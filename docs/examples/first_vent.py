"""First vent in ten lines.

Cut a vent's opening into a cabinet's front, put the vent in, and save both as STEP. The workplane's
y points to the vent's TOP.
"""

import cadquery as cq

import vent_family

parts = vent_family.register("catalog.csv")
front = cq.Workplane("XZ").box(300, 200, 2).faces("<Y").workplane()
cut = front.cutVentOpening("HV-N32")
vent = front.placeVent("HV-N32")
print(parts.spec("HV-N32").opening.text())
cabinet = cq.Assembly().add(cut, name="front").add(vent, name="HV-N32")
cabinet.export("front.step")

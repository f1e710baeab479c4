"""A cabinet with vents on all faces.

One call a vent: TOP is up on every side, the roof is refused in one sentence, and the bill lists
what to order. Each vent is checked against edges, bends and what the cabinet holds already.
"""

import cadquery as cq

import vent_family

vent_family.register("catalog.csv")
body = cq.Workplane().box(300, 250, 400).edges("|Z").fillet(15).faces("<Z").shell(-1.5)
cabinet = cq.Assembly(name="aeration").add(body, name="body", color=cq.Color("gray80"))
for spot in ((0, -125, 60), (0, 125, 60), (150, 0, 60), (-150, 0, 60)):
    cabinet.fitVent("HV-R040", "body", spot)
try:
    cabinet.fitVent("HV-R040", "body", (0, 0, 200))
except Exception as error:
    print(str(error).split(" Say ")[0])
print(*(child.name for child in cabinet.children))
bill = vent_family.bill_of_materials(cabinet)
print(bill[["quantity", "part_number", "standard"]].iloc[1:].to_string(index=False))
vent_family.export_assembly(cabinet, "aeration.step", part_number="HC-300", revision="A")

"""A wall cabinet with intake, exhaust and fan: how warm does it get?

A fan blows in by the intake, low on one side; air leaves high on the other. What each vent lets
pass follows from its own record; where the vents stand is looked at, too.
"""

import cadquery as cq

import vent_family
from vent_family.evidence.air.cabinet import Cabinet

parts = vent_family.register("catalog.csv")
body = cq.Workplane().box(300, 250, 400).edges("|Z").fillet(15).faces("<Z").shell(-1.5)
cabinet = cq.Assembly(name="sensor_station").add(body, name="body")
cabinet.fitVent("HV-R040", "body", (150, 0, -120), name="intake")
cabinet.fitVent("HV-R040", "body", (-150, 0, 130), name="exhaust")
load = Cabinet(heat_w=25.0, ambient_c=28.0, limit_c=45.0, wall_w_k=0.5)

air = {"intake": "in", "exhaust": "out"}
found = vent_family.enclosure_of(cabinet, parts, air).cooling(load, fan="tank-hall-92")
inside = found.predicted.inside_c
print(f"{found.predicted.outcome}: {inside.low:.0f} to {inside.high:.0f} degC inside")
print(*(f"{one.name} {one.air} {one.flow_m3_h:.1f} m3/h" for one in found.passed), sep=", ")

stopped = vent_family.enclosure_of(cabinet, parts, air).cooling(load)
height = stopped.question.draught_height_m
print(f"fan off, {height:.2f} m of draught: {stopped.predicted.outcome}")

swapped = {"intake": "out", "exhaust": "in"}
for sentence in vent_family.enclosure_of(cabinet, parts, swapped).cooling(load).warnings:
    print(sentence)

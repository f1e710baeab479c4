"""A made-up cabinet of a fish hatchery: plates, a door ajar, vents, a fan and screws."""

from __future__ import annotations

import cadquery as cq

TRICKY = 'Größe «M», it\'s \\X2\\00FC\\X0\\ "quoted"; #12=(x) 鮭 𝄞'
LONG = ("Control cabinet of the incubator hall, spray water from all sides. " * 6)[:300]
STEEL = {"material": "1.4404", "material_description": "stainless steel", "density_g_cm3": 7.98}
ASA = {"material": "ASA", "density_g_cm3": 1.07}
SCREW = cq.Workplane().circle(3.5).extrude(2.0).circle(2.0).extrude(-12.0)
SLATTED = (
    cq.Workplane()
    .box(60, 40, 12)
    .faces(">Z")
    .workplane()
    .rarray(1, 8, 1, 4)
    .rect(48, 3)
    .cutThruAll()
)


def seal() -> cq.Workplane:
    """A seal, built anew each time: another shape for the kernel, the same part by its number."""
    return cq.Workplane().box(66, 46, 2).faces(">Z").rect(58, 38).cutThruAll()


def vent() -> cq.Assembly:
    """A vent with its seal, as a catalogue would hand it over; the numbers are made up."""
    facts = {"free_area_mm2": 1152.0, "slat_count": 8, "air_flow_m3_h": 21.5, "finish": "matt"}
    vent = cq.Assembly(name="vent", metadata={"part_number": "DV-60-fitted", "revision": "C"})
    vent.add(
        SLATTED,
        name="body",
        color=cq.Color(0.2, 0.45, 0.6),
        metadata={"part_number": "DV-60", "revision": "C", **ASA, "attributes": facts},
    )
    vent.add(
        seal(),
        name="seal",
        loc=cq.Location((0, 0, -7)),
        color=cq.Color(0.1, 0.1, 0.1),
        metadata={"part_number": "DV-60-gasket", "revision": "C", "material": "EPDM"},
    )
    return vent


def door() -> cq.Assembly:
    """A clear panel with two hinges and a knob; hinges and knob have no colour of their own."""
    door = cq.Assembly(name="door", color=cq.Color(0.8, 0.1, 0.1))
    door.add(
        cq.Workplane().box(300, 3, 400),
        name="panel",
        color=cq.Color(0.9, 0.9, 0.88, 0.35),
        loc=cq.Location((150, 0, 0)),
        metadata={"part_number": "DOOR-300", "revision": "A", **STEEL},
    )
    hinge = cq.Solid.makeCylinder(5, 40)
    for name, z in (("hinge above", 120), ("hinge below", -160)):
        door.add(hinge, name=name, loc=cq.Location((0, 0, z)))
    door.add(cq.Solid.makeSphere(9), name="knob 'ü'", loc=cq.Location((285, -12, 0)))
    return door


def cabinet() -> cq.Assembly:
    """The whole: four levels, one part used four times, one sub-assembly three times."""
    whole = cq.Assembly(
        name="cabinet",
        metadata={
            "part_number": "WC-300",
            "revision": "B",
            "description": LONG,
            "name": "Wall cabinet 300 x 400",
            "attributes": {"heat_w": (60.0, "W"), "ambient_temperature_c": 25.0, "shelves": 2},
            "override": {"lean_deg": 4.0, "by": TRICKY},
        },
    )
    plates = cq.Workplane().box(300, 150, 2).translate((150, 75, 199))
    for centre, size in (
        ((150, 75, -199), (300, 150, 2)),
        ((1, 75, 0), (2, 150, 396)),
        ((299, 75, 0), (2, 150, 396)),
        ((150, 149, 0), (296, 2, 396)),
    ):
        plates = plates.add(cq.Workplane().box(*size).translate(centre))
    whole.add(plates, name="plates", metadata={"part_number": "BODY-300", **STEEL})
    whole.add(door(), loc=cq.Location((0, -3, 0), (0, 0, 1), -25.0))
    vents = cq.Assembly(name="vents", loc=cq.Location((0, 75, 0)))
    left = cq.Location((-1, 0, 100), (0, 0, 1), 90) * cq.Location((0, 0, 0), (1, 0, 0), 90)
    right = cq.Location((301, 0, -100), (0, 0, 1), -90) * cq.Location((0, 0, 0), (1, 0, 0), 90)
    vents.add(vent(), name="left", loc=left)
    vents.add(vent(), name="right", loc=right)
    whole.add(vents)
    # The same one again, at the origin of another assembly, and with something said of it alone.
    spare = cq.Assembly(name="spares", loc=cq.Location((40, 60, -190)))
    spare.add(vent(), name="spare", metadata={**vent().metadata, "override": "not fitted"})
    whole.add(spare)
    whole.add(
        cq.Solid.makeBox(80, 80, 25).moved(cq.Location((110, 120, 40))),
        name="fan",
        loc=cq.Location((3, 0, 0), (0, 0, 1), 10.0),
        metadata={
            "part_number": "FAN-80",
            "description": TRICKY,
            "attributes": {"free_flow_m3_h": 68.0, "voltage": "24 V DC", "spare": True},
        },
    )
    screws = cq.Assembly(name="screws", color=cq.Color(0.5, 0.5, 0.5))
    for number, (x, z) in enumerate(((20, 20), (280, 20), (20, 380), (280, 380)), 1):
        screws.add(
            SCREW,
            # One of them has no name: CadQuery makes one up, another one in every run.
            name=f"screw {number}" if number < 4 else None,
            color=cq.Color(0.9, 0.7, 0.1) if number == 2 else None,
            loc=cq.Location((x, 146, z - 200), (1, 0, 0), 90.0),
            metadata={
                "attributes": {"torque": (1.5 if number < 4 else 1.2, "N m"), "length_mm": 12.0},
                "material": "A2",
            },
        )
    whole.add(screws)
    return whole

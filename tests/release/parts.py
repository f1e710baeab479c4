"""Parts, headers and attributes shared by the tests of the STEP writer."""

from __future__ import annotations

import cadquery as cq

from vent_family.files.step.attributes import Attribute
from vent_family.files.step.header import StepHeader
from vent_family.files.step.parts import StepPart
from vent_family.files.step.units import UNITS

HEADER = StepHeader(
    file_name="HT-204.step",
    author="Jörg Ström",
    organisation="Brüterei Süd",
    time_stamp="2026-03-04T05:06:07+01:00",
    originating_system="catalogue, row 12",
    authorisation="O'Neill",
)

ATTRIBUTES = (
    Attribute("slat_count", 50),
    Attribute("open_area_mm2", 1234.5678901234567, "mm2"),
    Attribute("finish", "matt, Größe «M» \\ it's Ωμέγα 𝄞 €"),
    Attribute("Öffnung", "ja"),
    Attribute("empty", ""),
    Attribute("two lines", "first\nsecond\tindented"),
    Attribute("looks escaped", r"\X2\00FC\X0" + "\\"),
    *(Attribute(f"in {unit}", 0.1 + index, unit) for index, unit in enumerate(UNITS)),
)


def part(
    shape: cq.Shape, number: str = "HT-204/ü", attributes: tuple[Attribute, ...] = ATTRIBUTES
) -> StepPart:
    return StepPart(
        shape=shape,
        part_number=number,
        name="Hatching tray grid 'Süd'",
        revision="C",
        description="Grid \\ for the α tray",
        colour_rgb=(0.2, 0.45, 0.6),
        material="PETG",
        material_description="glycol-modified polyethylene terephthalate",
        density_g_cm3=1.27,
        attributes=attributes,
    )

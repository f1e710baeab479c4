"""Write the bodies of a part as they stand on the print bed, with all settings: 3MF files."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from vent_family.base.materials import COLOURS
from vent_family.evidence.context import PartContext
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.printing.report import Printed
from vent_family.files.threemf import write_threemf


def write_bed_meshes(
    folder: Path, context: PartContext, row_hash: str, time_stamp: datetime
) -> list[str]:
    """Write the 3MF files of a vent and its locknut and return their names.

    Raises
    ------
    OSError
        if the folder cannot be written
    """
    spec, report = context.spec, context.of(PRINTING)
    number = spec.part_number
    bodies: list[tuple[str, Printed]] = [(number, report.vent)]
    if report.locknut is not None:
        bodies.append((f"{number}-locknut", report.locknut))
    for name, printed in bodies:
        write_threemf(
            folder / f"{name}.3mf",
            part_number=name,
            vertices=printed.vertices,
            triangles=printed.triangles,
            material=spec.material.name,
            colour=COLOURS[spec.colour],
            metadata={
                "Title": name,
                "Designer": "vent-family catalogue",
                "Description": spec.description,
                "CreationDate": time_stamp.date().isoformat(),
                "Revision": spec.revision,
                "RowHash": row_hash,
                "Material": spec.material.description,
                "PrintOrientation": spec.print_orientation if name == number else "washer face up",
                "PrintSettings": printed.settings.text(),
                "Supports": "none needed",
            },
        )
    return [f"{name}.3mf" for name, _ in bodies]

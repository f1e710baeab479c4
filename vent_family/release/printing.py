"""The print side of one part: check it, and write its 3MF files, picture and report."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from vent_family.base.atomic import write_bytes
from vent_family.base.materials import COLOURS
from vent_family.base.shop import Shop, demo_shop
from vent_family.evidence.cost.part import PartCost, part_cost
from vent_family.evidence.printing.chapters import report_text
from vent_family.evidence.printing.record import PrintingRecord, printing_record
from vent_family.evidence.printing.report import Printed, PrintReport, print_report
from vent_family.evidence.result import CheckResult
from vent_family.evidence.strength.members import Member, members
from vent_family.files.threemf import write_threemf
from vent_family.mesh.vent import Meshes
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, eq=False)
class Printing:
    """The print check of one part.

    ``checks`` must pass before the part is released; ``advice`` says what a thumb and a spanner may
    do to it, and stands in the record whatever it says.
    """

    report: PrintReport
    strength: tuple[Member, ...]
    cost: PartCost | None
    record: PrintingRecord

    @property
    def checks(self) -> tuple[CheckResult, ...]:
        """Verdicts on printing."""
        return self.report.checks()

    @property
    def advice(self) -> tuple[CheckResult, ...]:
        """Verdicts on strength."""
        return tuple(m.check() for m in self.strength)


def check_printing(
    spec: VentSpec, meshes: Meshes, shop: Shop | None = None, rates: str = "demo rates, invented"
) -> Printing:
    """Return the print check of a part from its meshes in use position."""
    shop = shop or demo_shop()
    report = print_report(spec, meshes[""], meshes.get("locknut"), shop)
    strength, cost = members(spec), part_cost(report, shop)
    return Printing(report, strength, cost, printing_record(report, strength, cost, rates))


def print_file_names(number: str, printing: Printing) -> list[str]:
    """Return the names of the files that :func:`write_print_files` writes."""
    names = [f"{number}.3mf", f"{number}-print.png", f"{number}-print.md"]
    if printing.report.locknut is not None:
        names.append(f"{number}-locknut.3mf")
    return names


def write_print_files(
    folder: Path, spec: VentSpec, printing: Printing, row_hash: str, time_stamp: datetime
) -> None:
    """Write 3MF, picture and report of a part into a folder."""
    number, report = spec.part_number, printing.report
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
    write_print_picture(folder / f"{number}-print.png", spec, report)
    text = report_text(spec, printing.record, (*printing.checks, *printing.advice))
    write_bytes(folder / f"{number}-print.md", text.encode("utf-8"))


def write_print_picture(path: Path, spec: VentSpec, report: PrintReport) -> None:
    """Write the picture of all bridges and overhangs of a part."""
    # Imported here: the renderer takes a while to load, and only this needs it.
    from vent_family.evidence.printing.scene import print_scene

    words = f"{spec.part_number} {spec.revision}, {spec.print_orientation.replace('_', ' ')}"
    scene = print_scene(report.vent, f"{words}, {spec.material.name}")
    write_bytes(path, scene.png())

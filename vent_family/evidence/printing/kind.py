"""Printing as a kind of evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from vent_family.evidence.facts import table
from vent_family.evidence.kind import Kind, Picture, Rendered
from vent_family.evidence.printing.record import (
    PlacesRecord,
    PlateRecord,
    PrintingRecord,
    ShareRecord,
    printing_record,
)
from vent_family.evidence.printing.report import PrintReport, printing_report
from vent_family.evidence.printing.settings import shell_words
from vent_family.evidence.result import CheckResult
from vent_family.evidence.solid.record import mass_g
from vent_family.mesh.vent import printed_beside

if TYPE_CHECKING:
    from vent_family.evidence.context import PartContext

_SHOWN_G: Final = 0.05
"""Mass of a member from which it is named in the picture, g."""


class Printing(Kind[PrintReport]):
    """Will it print without supports, and in what time."""

    name = "printing"
    section = "printing"
    record_type = PrintingRecord
    heading = "Places the layer below does not carry"

    def compute(self, context: PartContext) -> PrintReport:
        """Slice the vent and what is printed beside it, and search every layer."""
        meshes = context.meshes
        beside = printed_beside(meshes)
        return printing_report(context.spec, meshes[""], beside, context.rates.shop)

    def record(self, context: PartContext) -> PrintingRecord:
        """Return what was found, without strength and cost."""
        return printing_record(context.of(self))

    def checks(self, context: PartContext) -> tuple[CheckResult, ...]:
        """Return the verdicts on printing."""
        return context.of(self).checks()

    def scene(self, context: PartContext) -> Rendered:
        """Return the part on the bed with every uncarried place marked."""
        # Imported here: the renderer takes a while to load, and only this needs it.
        from vent_family.evidence.printing.picture import PrintPicture

        spec = context.spec
        way = spec.print_orientation.replace("_", " ")
        title = f"{spec.part_number} {spec.revision}, {way}, {spec.material.name}"
        report = context.of(self)
        shares = sorted(report.masses.shares, key=lambda share: -share.mass_g)
        # What would read 0.0 g says nothing in a picture; the report lists it.
        made_of = ", ".join(f"{s.name} {s.mass_g:.1f}" for s in shares if s.mass_g >= _SHOWN_G)
        note = f"{report.vent.mass_g:.1f} g as printed: {made_of} g."
        return PrintPicture(report.vent, title, note)

    def figures(self, context: PartContext) -> dict[str, Picture]:
        """Return the part on the bed."""
        return {"print": Picture(self.scene(context), "places the layer below does not carry")}

    def sentences(self, context: PartContext) -> list[str]:
        """Return settings, layers, time and mass."""
        record = self.record(context)
        way = context.spec.print_orientation.replace("_", " ")
        return [
            f"Print it {way}: {record.settings.text}.",
            f"{record.settings.layers} layers, {record.time_s / 3600.0:.1f} h alone on the plate,"
            f" {record.filament_m:.1f} m of filament. {_masses(context, record)}",
        ]

    def chapter(self, context: PartContext) -> list[str]:
        """Return the table of places."""
        record = printing_record(context.of(self))
        return [
            "A bridge is held at both ends; a steep place lies on half a bead of the layer below; a"
            " ledge is a single short step; overhangs and floating places need supports. The strand"
            " is the first of a bridge that hangs free, where it is narrowest: two beads hold one"
            " another, a single thread sags.",
            "",
            *table(record.places, PlacesRecord),
            "",
            "## What it is made of",
            "",
            f"Mass by member, as printed; they sum to the {record.printed_mass_g:.1f} g of the"
            " part.",
            "",
            *table(record.members, ShareRecord),
            "",
            *_plates(record),
        ]


def _plates(record: PrintingRecord) -> list[str]:
    """Return what whole layers make of the plates that lie flat."""
    if not record.plates:
        return []
    return [
        "Plates that lie flat are whole layers high, so this is what they come out as:",
        "",
        *table(record.plates, PlateRecord),
        "",
    ]


def _masses(context: PartContext, record: PrintingRecord) -> str:
    """Return what the part weighs as printed and as a solid, and what keeps water out of cores."""
    settings = record.settings
    if settings.infill_share == 1.0:
        return f"It weighs {record.printed_mass_g:.1f} g, filled solid."
    full = mass_g(context.spec, context.mass(context.solids.vent).volume_mm3)
    return (
        f"It weighs {record.printed_mass_g:.1f} g, {full:.1f} g if it were filled solid:"
        f" {100.0 * record.core_share:.0f} % of it is core, filled to"
        f" {100.0 * settings.infill_share:g} %. {shell_words(settings.wall_count)}"
    )


PRINTING = Printing()

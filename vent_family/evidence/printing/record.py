"""Will it print: settings, places and walls, as they stand in the record."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact, Shown, TableColumn
from vent_family.evidence.printing.report import PrintReport
from vent_family.evidence.printing.walls import Width


class SettingsRecord(Frozen):
    """The shop's print settings for the part."""

    nozzle_mm: Annotated[float, Fact("diameter of the nozzle", "mm")]
    line_width_mm: Annotated[float, Fact("width of a bead", "mm")]
    layer_mm: Annotated[float, Fact("height of a layer", "mm")]
    fine_layers_mm: Annotated[
        list[tuple[float, float, float]], Fact("from, to, layer height, above the bed", "mm")
    ]
    wall_count: Annotated[int, Fact("lines along every outline")]
    infill_share: Annotated[float, Fact("share of the cores that is filled, 1 for solid", "1")]
    top_layers: Annotated[int, Fact("solid layers under every upper face")]
    bottom_layers: Annotated[int, Fact("solid layers over every lower face")]
    nozzle_temperature_c: Annotated[float, Fact("temperature of the nozzle", "degC")]
    bed_temperature_c: Annotated[float, Fact("temperature of the bed", "degC")]
    chamber_temperature_c: Annotated[
        float | None, Fact("temperature of the chamber; null: not heated", "degC")
    ]
    text: Annotated[str, Fact("the settings in words")]
    layers: Annotated[int, Fact("number of layers")]


class PlacesRecord(Frozen):
    """Places of one kind that the layer below does not carry, and the largest of them."""

    body: Annotated[str, Fact("vent, or what is printed beside it", column=TableColumn("body"))]
    kind: Annotated[
        str, Fact("bridge, steep, ledge, overhang or floating", column=TableColumn("kind"))
    ]
    places: Annotated[int, Fact("how many places", column=TableColumn("places"))]
    largest_mm: Annotated[
        float | None,
        Fact(
            "span of a bridge, else reach; null for what floats",
            "mm",
            column=TableColumn("largest mm", ".2f"),
        ),
    ]
    at_height_mm: Annotated[
        float, Fact("height above the bed", "mm", column=TableColumn("at height mm", ".1f"))
    ]
    at_x_mm: Annotated[float, Fact("place on the bed", "mm")]
    at_y_mm: Annotated[float, Fact("place on the bed", "mm")]
    strand_mm: Annotated[
        float | None,
        Fact(
            "narrowest strand a bridge starts with; null where none hangs free between its sides",
            "mm",
            column=TableColumn("narrowest strand mm", ".2f"),
        ),
    ]
    thin_strands: Annotated[
        int | None,
        Fact(
            "bridges that start with a strand below two beads",
            column=TableColumn("strands below two beads"),
        ),
    ]


class ShareRecord(Frozen):
    """What one kind of member adds to a part, as printed."""

    name: Annotated[str, Fact("slats, ribs, walls and so on", column=TableColumn("member"))]
    solid_mm3: Annotated[
        float,
        Fact(
            "volume",
            "mm3",
            column=TableColumn("volume cm3", lambda r: f"{r.solid_mm3 / 1000.0:.2f}"),
        ),
    ]
    laid_mm3: Annotated[
        float,
        Fact(
            "plastic in it",
            "mm3",
            column=TableColumn("plastic cm3", lambda r: f"{r.laid_mm3 / 1000.0:.2f}"),
        ),
    ]
    mass_g: Annotated[float, Fact("mass as printed", "g", column=TableColumn("mass g", ".2f"))]


class PlateRecord(Frozen):
    """A plate that lies flat when printed: whole layers round its thickness."""

    name: Annotated[str, Fact("which plate", column=TableColumn("plate"))]
    designed_mm: Annotated[
        float, Fact("thickness as designed", "mm", column=TableColumn("designed mm", ".2f"))
    ]
    layers: Annotated[int, Fact("layers it is made of", column=TableColumn("layers"))]
    layer_mm: Annotated[
        float, Fact("height of each, on average", "mm", column=TableColumn("each mm", ".3f"))
    ]
    printed_mm: Annotated[
        float, Fact("thickness as printed", "mm", column=TableColumn("comes out as mm", ".2f"))
    ]


class WidthRecord(Frozen):
    """A measured width and where, part coordinates."""

    width_mm: Annotated[float, Fact("width", "mm")]
    x_mm: Annotated[float, Fact("place", "mm")]
    y_mm: Annotated[float, Fact("place", "mm")]
    z_mm: Annotated[float, Fact("place", "mm")]


def _time_h(record: PrintingRecord) -> float:
    """Return the time of one part alone on the plate, h."""
    return record.time_s / 3600.0


def _longest_bridge(record: PrintingRecord) -> float | None:
    """Return the longest bridge of the vent itself, mm; ``None`` if it has none."""
    found = [p for p in record.places if p.kind == "bridge" and p.body == "vent"]
    return found[0].largest_mm if found else None


def _narrowest_strand(record: PrintingRecord) -> float | None:
    """Return the narrowest strand a bridge of the vent starts with, mm; ``None`` if none is."""
    found = [p for p in record.places if p.kind == "bridge" and p.body == "vent"]
    return found[0].strand_mm if found else None


class PrintingRecord(Frozen):
    """Will it print, hold and pay."""

    settings: Annotated[
        SettingsRecord,
        Fact(
            "the shop's settings",
            attribute=Shown("print_settings", "", of=lambda r: r.settings.text, rank=-1),
        ),
    ]
    time_s: Annotated[
        float,
        Fact(
            "one part alone on the plate",
            "s",
            attribute=Shown("print_time_h", "h", of=_time_h, rank=-1),
            index=Shown("print_time_h", "h", of=_time_h, digits=2),
        ),
    ]
    printed_mass_g: Annotated[
        float,
        Fact(
            "mass of the plastic laid, cores as filled; the solid's stands in the geometry",
            "g",
            attribute=Shown("printed_mass_g", rank=-1),
            index=Shown("printed_mass_g", digits=2),
        ),
    ]
    filament_m: Annotated[float, Fact("filament laid, waste left out", "m")]
    wall_share: Annotated[float, Fact("share of the body that is wall", "1")]
    skin_share: Annotated[float, Fact("share of the body that is solid top and bottom", "1")]
    core_share: Annotated[float, Fact("share of the body that is core", "1")]
    members: Annotated[
        list[ShareRecord], Fact("what the part is made of; masses sum to the printed mass")
    ]
    missed_mm3: Annotated[
        float, Fact("volume that lies in no member or in two: an error of the sum", "mm3")
    ]
    plates: Annotated[list[PlateRecord], Fact("plates that lie flat when printed")]
    places: Annotated[
        list[PlacesRecord],
        Fact(
            "places the layer below does not carry",
            attribute=(
                Shown("longest_printed_bridge_mm", "mm", of=_longest_bridge, rank=1),
                Shown("narrowest_printed_strand_mm", "mm", of=_narrowest_strand, rank=1),
            ),
        ),
    ]
    thinnest_wall: Annotated[
        WidthRecord | None,
        Fact(
            "thinnest wall",
            attribute=Shown(
                "thinnest_wall_mm", "mm", of=lambda r: r.thinnest_wall and r.thinnest_wall.width_mm
            ),
        ),
    ]
    thinnest_slat: Annotated[
        WidthRecord | None,
        Fact(
            "thinnest slat",
            attribute=Shown(
                "thinnest_slat_mm", "mm", of=lambda r: r.thinnest_slat and r.thinnest_slat.width_mm
            ),
        ),
    ]
    narrowest_gap: Annotated[
        WidthRecord | None,
        Fact(
            "narrowest gap",
            attribute=Shown(
                "narrowest_gap_mm", "mm", of=lambda r: r.narrowest_gap and r.narrowest_gap.width_mm
            ),
        ),
    ]
    mark_stroke: Annotated[WidthRecord | None, Fact("thinnest stroke of the mark")]


def printing_record(report: PrintReport) -> PrintingRecord:
    """Return the section of a checked part."""
    settings = report.vent.settings
    printing, heat, inside = settings.printing, settings.temperature, report.vent.filled
    return PrintingRecord(
        settings=SettingsRecord(
            nozzle_mm=settings.nozzle_mm,
            line_width_mm=settings.line_width_mm,
            layer_mm=settings.layer_mm,
            fine_layers_mm=list(settings.fine_mm),
            wall_count=printing.wall_count,
            infill_share=printing.infill_share,
            top_layers=printing.top_layers,
            bottom_layers=printing.bottom_layers,
            nozzle_temperature_c=heat.nozzle_deg_c,
            bed_temperature_c=heat.bed_deg_c,
            chamber_temperature_c=heat.chamber_deg_c,
            text=settings.text(),
            layers=len(report.vent.layers.regions),
        ),
        time_s=report.time_s,
        printed_mass_g=report.vent.mass_g,
        filament_m=inside.filament_m(printing.filament_mm),
        wall_share=inside.wall_share,
        skin_share=inside.skin_share,
        core_share=inside.core_share,
        members=[
            ShareRecord.model_validate(share, from_attributes=True)
            for share in report.masses.shares
        ],
        missed_mm3=report.masses.missed_mm3,
        plates=[
            PlateRecord(
                name=plate.name,
                designed_mm=plate.designed_mm,
                layers=plate.layers,
                layer_mm=plate.printed_mm / plate.layers,
                printed_mm=plate.printed_mm,
            )
            for plate in report.masses.plates
        ],
        places=[PlacesRecord(**row) for row in report.findings_summary()],
        thinnest_wall=_width(report.walls.wall),
        thinnest_slat=_width(report.walls.slat),
        narrowest_gap=_width(report.walls.gap),
        mark_stroke=_width(report.walls.stroke),
    )


def _width(width: Width | None) -> WidthRecord | None:
    return None if width is None else WidthRecord.model_validate(width, from_attributes=True)

"""The printing section of a part's record: settings, places, walls, strength, time and cost."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from vent_family.base.frozen import Frozen
from vent_family.evidence.cost.part import PartCost
from vent_family.evidence.facts import Stated
from vent_family.evidence.printing.report import PrintReport
from vent_family.evidence.printing.walls import Width
from vent_family.evidence.strength.members import Member, bending_allowed_n


class SettingsRecord(Frozen):
    """The print settings the part was designed for."""

    nozzle_mm: float
    line_width_mm: float
    layer_mm: float
    fine_layers_mm: list[tuple[float, float, float]] = Field(
        description="from, to, layer height, above the bed"
    )
    text: str
    layers: int


class PlacesRecord(Frozen):
    """Places of one kind that the layer below does not carry, and the largest of them."""

    body: str
    kind: str = Field(description="bridge, steep, ledge, overhang or floating")
    places: int
    largest_mm: float | None = Field(
        description="span of a bridge, else reach; null for what floats"
    )
    at_height_mm: float
    at_x_mm: float
    at_y_mm: float


class WidthRecord(Frozen):
    """A measured width and where, part coordinates."""

    width_mm: float
    x_mm: float
    y_mm: float
    z_mm: float


class OrientationRecord(Frozen):
    """One of the six ways to lay the part on the bed."""

    name: str
    height_mm: float
    base_mm2: float
    bridge_mm: float
    scars_mm2: float
    support_mm3: float
    time_s: float
    slat_lines: str
    cost: float = Field(description="machine time and material with supports, shop's money")


class MemberRecord(Frozen):
    """A loaded member; stress and strength in ``unit``."""

    name: str
    load: str
    stress: float
    strength: float
    unit: str
    safety: float
    deflection_mm: float | None
    formula: str


class OrderRecord(Frozen):
    """Cost and price per good part in an order of so many, in ``currency``; days to print it."""

    parts: int
    material: float
    machine: float
    labour: float
    scrap: float
    cost: float
    price: float
    days: float


class CostRecord(Frozen):
    """What the part costs, by the shop's rates."""

    currency: str
    rates: str
    parts_per_plate: int
    plate_time_s: float
    orders: list[OrderRecord]
    mould_piece: float
    mould_break_even_parts: float | None = Field(description="null: moulding never pays")
    cut_stack_piece: float
    cut_stack_plates: int


class PrintingRecord(Frozen):
    """Will it print, hold and pay."""

    settings: SettingsRecord
    time_s: float = Field(description="one part alone on the plate")
    printed_mass_g: float
    places: list[PlacesRecord]
    thinnest_wall: WidthRecord | None
    thinnest_slat: WidthRecord | None
    narrowest_gap: WidthRecord | None
    mark_stroke: WidthRecord | None
    orientations: list[OrientationRecord]
    strength: list[MemberRecord]
    slat_breaks_at_n: float
    strength_source: str
    uv: str
    flammability: str
    heat_deflection_deg_c: float
    cost: CostRecord | None = Field(description="null: the part does not fit on the bed")


def printing_record(
    report: PrintReport, strength: tuple[Member, ...], cost: PartCost | None, rates: str
) -> PrintingRecord:
    """Return the section of a checked part."""
    settings, profile = report.vent.settings, report.spec.material.print_profile
    return PrintingRecord(
        settings=SettingsRecord(
            nozzle_mm=settings.nozzle_mm,
            line_width_mm=settings.line_width_mm,
            layer_mm=settings.layer_mm,
            fine_layers_mm=list(settings.fine_mm),
            text=settings.text(),
            layers=len(report.vent.layers.regions),
        ),
        time_s=report.time_s,
        printed_mass_g=report.vent.mass_g,
        places=[PlacesRecord(**row) for row in report.findings_summary()],
        thinnest_wall=_width(report.walls.wall),
        thinnest_slat=_width(report.walls.slat),
        narrowest_gap=_width(report.walls.gap),
        mark_stroke=_width(report.walls.stroke),
        orientations=[
            OrientationRecord.model_validate(way, from_attributes=True)
            for way in report.orientations
        ],
        strength=[MemberRecord(**m.as_dict()) for m in strength],
        slat_breaks_at_n=bending_allowed_n(report.spec),
        strength_source=profile.strength_source,
        uv=profile.uv,
        flammability=profile.flammability,
        heat_deflection_deg_c=profile.heat_deflection_deg_c,
        cost=_cost(cost, rates),
    )


def _width(width: Width | None) -> WidthRecord | None:
    return None if width is None else WidthRecord.model_validate(width, from_attributes=True)


def _cost(cost: PartCost | None, rates: str) -> CostRecord | None:
    if cost is None:
        return None
    return CostRecord(
        currency=cost.currency,
        rates=rates,
        parts_per_plate=cost.plate.parts,
        plate_time_s=cost.plate.seconds,
        orders=[OrderRecord(**o.as_dict()) for o in cost.orders],
        mould_piece=cost.others.mould_piece,
        mould_break_even_parts=cost.others.mould_break_even,
        cut_stack_piece=cost.others.stack_cost,
        cut_stack_plates=cost.others.stack_plates,
    )


def printing_attributes(record: PrintingRecord) -> tuple[Stated, ...]:
    """Return the section's key values as STEP attributes."""
    found: list[Stated] = [
        Stated("print_settings", record.settings.text),
        Stated("print_time_h", record.time_s / 3600.0, "h"),
        Stated("printed_mass_g", record.printed_mass_g, "g"),
        Stated("slat_breaks_at_n", record.slat_breaks_at_n, "N"),
    ]
    widths: dict[str, Any] = {
        "thinnest_wall_mm": record.thinnest_wall,
        "thinnest_slat_mm": record.thinnest_slat,
        "narrowest_gap_mm": record.narrowest_gap,
    }
    found += [Stated(n, w.width_mm, "mm") for n, w in widths.items() if w is not None]
    bridges = [p.largest_mm for p in record.places if p.kind == "bridge" and p.body == "vent"]
    if bridges and bridges[0] is not None:
        found.append(Stated("longest_printed_bridge_mm", bridges[0], "mm"))
    for member in record.strength:
        name = member.name.replace(" ", "_")
        found.append(Stated(f"safety_{name}", member.safety, "1"))
    return tuple(found)

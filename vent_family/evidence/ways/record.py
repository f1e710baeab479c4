"""Face down and upright, side by side, as they stand in the record."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.cost.record import OrderRecord, order_record
from vent_family.evidence.facts import Fact, Shown, fields_of
from vent_family.evidence.ways.compare import MadeWay, PrintWay, WaysReport
from vent_family.spec.other_way import WAYS


class MadeWayRecord(Frozen):
    """What comes of the row printed one way, as a design of its own."""

    width_mm: Annotated[float, Fact("width on the bed", "mm")]
    depth_mm: Annotated[float, Fact("depth on the bed", "mm")]
    height_mm: Annotated[float, Fact("height above the bed", "mm")]
    printed_mass_g: Annotated[float, Fact("mass", "g")]
    slat_thickness_mm: Annotated[float, Fact("slat thickness", "mm")]
    foot_mm: Annotated[float, Fact("slats' lower corners cut flat; 0: not cut", "mm")]
    rib_count: Annotated[int, Fact("ribs")]
    longest_bay_mm: Annotated[float, Fact("widest bay", "mm")]
    longest_bridge_mm: Annotated[float, Fact("longest bridge", "mm")]
    thinnest_strand_mm: Annotated[
        float | None, Fact("narrowest strand that a bridge starts with; null: no bridge", "mm")
    ]
    sight_margin_mm: Annotated[float, Fact("margin of straight paths", "mm")]
    thumb_safety: Annotated[float, Fact("safety of a slat under a thumb", "1")]
    weakest: Annotated[str, Fact("what bears its load worst, for what it needs")]
    weakest_safety: Annotated[float, Fact("its safety", "1")]
    weakest_holding: Annotated[str, Fact("whether it holds")]
    failed: Annotated[list[str], Fact("what the print check refuses")]
    pushed_off: Annotated[bool, Fact("can be pushed off the bed without a hand")]
    time_s: Annotated[float, Fact("one part alone on the plate", "s")]
    parts_fit: Annotated[int, Fact("parts that fit on a plate")]
    parts_per_plate: Annotated[
        int | None, Fact("parts on a plate that cost least; null: does not fit")
    ]
    plate_time_s: Annotated[float | None, Fact("time of such a plate; null: does not fit", "s")]
    orders: Annotated[list[OrderRecord], Fact("by size of the order")]


class WayRecord(Frozen):
    """The row printed one way."""

    print_orientation: Annotated[str, Fact("how it lies on the bed")]
    stated: Annotated[bool, Fact("whether it is the row's own way")]
    refused: Annotated[
        list[str], Fact("why the row as it stands does not print this way; empty: it does")
    ]
    change: Annotated[str, Fact("what else of the row was changed for this way; empty: nothing")]
    made: Annotated[MadeWayRecord | None, Fact("null: not computed, the row is refused this way")]


def _other_words(record: WaysRecord) -> str:
    """Return in a few words whether the row prints the way that it does not state."""
    return next(way_words(way) for way in record.ways if not way.stated)


class WaysRecord(Frozen):
    """Face down against upright: the row resolved, built and priced both ways."""

    ways: Annotated[
        list[WayRecord],
        Fact(
            "the row printed face down and upright, each resolved, built and priced",
            attribute=Shown("other_print_orientation", "", of=_other_words),
        ),
    ]


def way_words(way: WayRecord) -> str:
    """Return in a few words whether a row prints a way."""
    name = way.print_orientation.replace("_", " ")
    if not way.refused:
        return f"{name}: possible"
    words = f"{name}: refused, {'; '.join(way.refused)}"
    return f"{words} ({way.change})" if way.change else words


def ways_record(report: WaysReport) -> WaysRecord:
    """Return both ways as they stand in the record, face down first."""
    ways = sorted((report.own, report.other), key=lambda w: WAYS.index(w.print_orientation))
    return WaysRecord(ways=[way_record(way) for way in ways])


def way_record(way: PrintWay) -> WayRecord:
    """Return one way as it stands in the record."""
    return WayRecord(
        print_orientation=way.print_orientation,
        stated=way.stated,
        refused=list(way.refused),
        change=way.change,
        made=None if way.made is None else _made(way.made),
    )


def _made(made: MadeWay) -> MadeWayRecord:
    spec, vent, cost = made.spec, made.report.vent, made.cost
    width, depth, height = vent.size_mm
    return MadeWayRecord(
        width_mm=width,
        depth_mm=depth,
        height_mm=height,
        printed_mass_g=vent.mass_g,
        slat_thickness_mm=spec.section.stack.thickness_mm,
        foot_mm=spec.section.stack.foot_mm,
        rib_count=spec.rib_count,
        longest_bay_mm=spec.longest_bridge_mm,
        longest_bridge_mm=vent.worst_mm("bridge"),
        thinnest_strand_mm=vent.strand_mm,
        sight_margin_mm=spec.section.sight.margin_mm,
        thumb_safety=made.slat.safety,
        weakest=made.weakest.name,
        weakest_safety=made.weakest.safety,
        weakest_holding=made.weakest.verdict,
        failed=list(made.failed),
        pushed_off=made.pushed_off,
        time_s=made.report.time_s,
        parts_fit=cost.plate.fit if cost else 0,
        parts_per_plate=cost.plate.parts if cost else None,
        plate_time_s=cost.plate.seconds if cost else None,
        orders=[order_record(o) for o in (cost.orders if cost else ())],
    )


def ways_table(ways: list[WayRecord], currency: str) -> list[str]:
    """Return the ways that were computed as the lines of a Markdown table, a way per column."""
    made = [(w, w.made) for w in ways if w.made is not None]
    heads = [_head(w) for w, _ in made]
    lines = [f"| | {' | '.join(heads)} | unit |", f"| --- |{' --- |' * len(made)} --- |"]

    def line(name: str, values: list[str], unit: str) -> None:
        lines.append(f"| {name} | {' | '.join(values)} | {unit} |")

    for field in fields_of(MadeWayRecord):
        values = [getattr(m, field.name) for _, m in made]
        if field.fact is None or field.name in ("failed", "orders"):
            continue
        meaning, unit = field.fact.meaning.split(";")[0], field.fact.unit
        if unit == "s":
            line(meaning, [_hours(v) for v in values], "h")
        else:
            line(meaning, [_text(v) for v in values], "" if unit == "1" else unit)
    orders = [{o.parts: o for o in m.orders} for _, m in made]
    for parts in orders[0]:
        for name, unit in (("labour", currency), ("price", currency), ("days", "d")):
            found = [_money(getattr(o[parts], name)) if parts in o else "" for o in orders]
            line(f"{name}, {parts:,} part{'s' if parts > 1 else ''}", found, unit)
    return lines


def _head(way: WayRecord) -> str:
    name = way.print_orientation.replace("_", " ")
    if way.stated:
        return f"{name}, as stated"
    return f"{name} ({way.change})" if way.change else name


def _text(value: float | bool | None) -> str:
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def _hours(seconds: float | None) -> str:
    return "none" if seconds is None else f"{seconds / 3600.0:.1f}"


def _money(value: float) -> str:
    return f"{value:.2f}"

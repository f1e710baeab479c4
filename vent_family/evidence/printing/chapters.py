"""The print report of a part as Markdown, for people."""

from __future__ import annotations

from vent_family.evidence.printing.record import CostRecord, PrintingRecord
from vent_family.evidence.result import CheckResult
from vent_family.spec.vent import VentSpec


def report_text(spec: VentSpec, record: PrintingRecord, checks: tuple[CheckResult, ...]) -> str:
    """Return the report: settings, verdicts, places, the six ways, strength, cost."""
    number = spec.part_number
    lines = [
        f"# {number} {spec.revision}: will it print, hold and pay?",
        "",
        f"{spec.description}. {spec.material.name}, {spec.material.description}.",
        "",
        f"- Print it {spec.print_orientation.replace('_', ' ')}: {record.settings.text}.",
        f"- {record.settings.layers} layers, {record.time_s / 3600.0:.1f} h alone on the plate,"
        f" {record.printed_mass_g:.1f} g.",
        f"- UV: {record.uv}. Flammability: {record.flammability}. Heat deflection"
        f" {record.heat_deflection_deg_c:.0f} degC at 0.45 MPa.",
        "- Predicted, not measured. Print one and look at it before printing many.",
        "",
        f"![places the layer below does not carry]({number}-print.png)",
        "",
        "## Verdicts",
        "",
        "| check | verdict | what was found |",
        "| --- | --- | --- |",
        *(f"| {c.name} | {c.verdict} | {c.message} |" for c in checks),
        "",
        "## Places the layer below does not carry",
        "",
        "A bridge is held at both ends; a steep place lies on half a bead of the layer below; a"
        " ledge is a single short step; overhangs and floating places need supports.",
        "",
        "| body | kind | places | largest mm | at height mm |",
        "| --- | --- | --- | --- | --- |",
        *(
            f"| {p.body} | {p.kind} | {p.places} |"
            f" {'' if p.largest_mm is None else f'{p.largest_mm:.2f}'} | {p.at_height_mm:.1f} |"
            for p in record.places
        ),
        "",
        "## The six ways to lay it down",
        "",
        "Coarse slices, one part alone without heating up; supports are counted as solid, taking"
        " them off is not counted.",
        "",
        "| way | height mm | on the bed mm2 | longest bridge mm | scars mm2 | supports cm3 |"
        " hours | machine and material | lines in slats |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
        *(
            f"| {o.name.replace('_', ' ')}{' (stated)' if o.name == spec.print_orientation else ''}"
            f" | {o.height_mm:.0f} | {o.base_mm2:.0f} | {o.bridge_mm:.1f} | {o.scars_mm2:.0f} |"
            f" {o.support_mm3 / 1000.0:.1f} | {o.time_s / 3600.0:.1f} | {o.cost:.2f} |"
            f" {o.slat_lines} |"
            for o in record.orientations
        ),
        "",
        "## Strength",
        "",
        f"Strengths of printed {spec.material.name}: {record.strength_source}. A slat is expected"
        f" to break at about {record.slat_breaks_at_n:.0f} N.",
        "",
        "| member | load | found | bears | safety | formula |",
        "| --- | --- | --- | --- | --- | --- |",
        *(
            f"| {m.name} | {m.load} | {m.stress:.2f} {m.unit} | {m.strength:.1f} {m.unit} |"
            f" {m.safety:.1f} | {m.formula} |"
            for m in record.strength
        ),
        "",
        "## Cost",
        "",
        *cost_lines(record.cost),
    ]
    return "\n".join(lines) + "\n"


def cost_lines(cost: CostRecord | None) -> list[str]:
    """Return the cost part of the report, formulas shown."""
    if cost is None:
        return ["Not computed: the part does not fit on the bed of the table of rates."]
    never = "moulding never pays"
    even = cost.mould_break_even_parts
    pays = never if even is None else f"a tool pays from {even:.0f} parts on"
    stack = "dearer" if cost.cut_stack_piece > cost.orders[-2].cost else "cheaper"
    return [
        f"Rates: {cost.rates}. {cost.parts_per_plate} on a plate,"
        f" {cost.plate_time_s / 3600.0:.1f} h a plate. Per good part, {cost.currency}:",
        "",
        "| order | material | machine | labour | scrap | cost | price | days |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
        *(
            f"| {o.parts} | {o.material:.2f} | {o.machine:.2f} | {o.labour:.2f} | {o.scrap:.2f} |"
            f" {o.cost:.2f} | {o.price:.2f} | {o.days:.1f} |"
            for o in cost.orders
        ),
        "",
        "- material = mass x (1 + waste) x price per kg",
        "- machine = hours per plate x machine-hour rate / parts per plate",
        "- labour = rate x (minutes per plate / parts per plate + minutes per part"
        " + minutes per order / parts in the order)",
        "- scrap = (what is spent on every part printed) x s / (1 - s)",
        "- price = cost x (1 + margin)",
        "",
        f"Moulded, a piece would cost {cost.mould_piece:.2f}; N = (tool + setup) / (cost printed"
        f" - cost moulded), at the cost of 1,000 printed: {pays}.",
        f"As {cost.cut_stack_plates} plates cut from sheet and stacked by hand it would cost"
        f" {cost.cut_stack_piece:.2f}, which is {stack} at any number, since neither needs a tool.",
    ]

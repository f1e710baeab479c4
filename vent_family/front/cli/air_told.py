"""What the ``air`` command prints of an answer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

from vent_family.base.limits import COOLING_RESERVE
from vent_family.base.said import three, within

if TYPE_CHECKING:
    from vent_family.evidence.air.answer import Answer
    from vent_family.evidence.air.balance import Cooling
    from vent_family.evidence.air.predicted import Ends, Predicted

OUTCOMES = {"holds": "HOLDS", "marginal": "MARGINAL", "fails": "FAILS"}


def show(found: Answer, console: Console) -> None:
    """Print the answer as tables and sentences."""
    from vent_family.evidence.air.answer import CAUTION

    console.print(_overview(found))
    cooling = found.predicted.cooling
    if cooling is not None:
        _balance(cooling, console)
        _shares(found, cooling, console)
    for sentence in sentences(found):
        console.print(sentence, highlight=False, soft_wrap=True)
    console.print(CAUTION, highlight=False)


def sentences(found: Answer) -> list[str]:
    """Return what is predicted, why, and what would do, as sentences."""
    told = [_verdict("Predicted", found.predicted, found)]
    if found.predicted.cooling is not None:
        told += _reasons(found.predicted.reasons, found.predicted.cooling.warnings)
    sunlit = found.question.cabinet.sunlit
    if sunlit is not None and not found.question.cabinet.wall_w_k:
        told.append("Warning: the sun comes in through walls that pass nothing out; give --walls.")
    half = found.clogged
    if half is not None and found.predicted.cooling is not None:
        share = f"{100.0 * half.share:.0f} % of the inlet's {half.what} clogged"
        told.append(_verdict(f"With {share}", half.predicted, found))
    return [*told, *_advice(found)]


def _reasons(reasons: Sequence[str], warnings: Sequence[str]) -> list[str]:
    """Return what keeps a cabinet from holding, and warnings; what both say is said once.

    Examples
    --------
    >>> _reasons(["the fan stalls"], ["the fan stalls, below 9 m3/h", "it is loud"])
    ['Not better because the fan stalls, below 9 m3/h.', 'Warning: it is loud.']
    """
    longer = {r: w for r in reasons for w in warnings if w.startswith(r)}
    told = [f"Not better because {longer.get(reason, reason)}." for reason in reasons]
    told += [f"Warning: {w}." for w in warnings if w not in longer.values()]
    return told


def _verdict(head: str, predicted: Predicted, found: Answer) -> str:
    cooling, limit = predicted.cooling, found.question.cabinet.limit_c
    outcome = OUTCOMES[predicted.outcome]
    if cooling is None:
        return f"{head}: {outcome}: {predicted.failure}."
    flow = ""
    if cooling.mass_kg_s:
        flow = f"{_flow(cooling.flow_m3_s)}{_range(predicted.flow_m3_s, 3600.0, three)}, "
        clean = found.predicted.cooling
        if clean is not None and clean is not cooling:
            flow = f"{100.0 * cooling.flow_m3_s / clean.flow_m3_s:.0f} % of the air left, {flow}"
    return (
        f"{head}: {flow}{cooling.inside_c:.1f} degC inside{_range(predicted.inside_c)}, limit"
        f" {limit:g} degC: {outcome}, margin {cooling.margin_k:+.1f} K."
    )


def _advice(found: Answer) -> list[str]:
    """Return what would do, all else as asked."""
    asked, sizing = found.question, found.sizing
    told = []
    if asked.mode != "closed":
        many = "as many outlets" if asked.outlets is None else f"outlets {asked.outlet_count}"
        outlets = f"{many} of {asked.leaving.part_number}"
        if sizing.inlets is None:
            told.append(f"No number of {asked.inlet.part_number} as inlets would hold, {outlets}.")
        elif sizing.inlets != asked.inlets or not found.holds:
            what = f"{sizing.inlets} x {asked.inlet.part_number} as inlets, {outlets}"
            told.append(f"Fewest inlets that hold: {what} (--vents {sizing.inlets}).")
        if sizing.smallest is not None:
            told.append(
                f"Smallest vent of the family that holds, all else as asked: {sizing.smallest}."
            )
        elif asked.candidates:
            told.append("No released vent of the family would hold, all else as asked.")
    if sizing.heat_w is None:
        cooling = found.predicted.cooling
        stalled = cooling is not None and cooling.point is not None and cooling.point.stalled
        why = ", because the fan works in its stall region" if stalled else ""
        told.append(f"It would hold at no heat lost inside, however little{why}.")
    else:
        told.append(f"It holds up to {sizing.heat_w:g} W lost inside (--heat {sizing.heat_w:g}).")
    return told


def _overview(found: Answer) -> Table:
    asked, summary = found.question, found.summary
    table = Table(title=f"{asked.inlet.part_number}: air", show_header=False)
    table.add_column("what")
    table.add_column("value", justify="right")
    for i, area in enumerate(asked.inlet.areas):
        label = "open areas, smallest first" if i == 0 else ""
        table.add_row(label, f"{area.name} {area.area_mm2:.0f} mm2")
    for way, k, low, high in (
        ("in", summary.k_in, summary.k_in_low, summary.k_in_high),
        ("out", summary.k_out, summary.k_out_low, summary.k_out_high),
    ):
        table.add_row(f"K on the opening, {way}", within(k, low, high))
    table.add_row("discharge coefficient, in", f"{summary.discharge_in:.3f}")
    for point in summary.flows:
        table.add_row(
            f"flow at {point.pressure_pa:g} Pa, in / half clogged / out",
            f"{three(point.flow_in_m3_h)} / {three(point.flow_in_half_clogged_m3_h)} /"
            f" {three(point.flow_out_m3_h)} m3/h",
        )
    table.add_section()
    cabinet = asked.cabinet
    table.add_row("heat", f"{cabinet.heat_w:g} W")
    if cabinet.sunlit is not None:
        sunlit = cabinet.sunlit
        least, most = sunlit.inwards_range_w
        table.add_row(
            f"sun on {sunlit.area_m2:g} m2, {sunlit.colour}, {sunlit.irradiance_w_m2:g} W/m2",
            f"{sunlit.inwards_w:.0f} W inwards ({least:.0f} to {most:.0f})",
        )
    table.add_row("ambient, limit", f"{cabinet.ambient_c:g} degC, {cabinet.limit_c:g} degC")
    table.add_row(
        "air density", f"{cabinet.outside.density_kg_m3:.3f} kg/m3 at {cabinet.altitude_m:g} m"
    )
    table.add_row(
        f"air flow needed, at the limit / {100.0 * COOLING_RESERVE.value:.0f} % in hand",
        f"{three(found.required_m3_s * 3600.0)} / {three(found.reserved_m3_s * 3600.0)} m3/h",
    )
    table.add_section()
    _point(table, found)
    return table


def _point(table: Table, found: Answer) -> None:
    predicted = found.predicted
    cooling = predicted.cooling
    if cooling is None:
        table.add_row("operating point", "none")
        return
    point = cooling.point
    if point is not None:
        assert found.question.fan is not None
        table.add_row("fan", found.question.fan.name)
        table.add_row(
            "operating point",
            f"{_flow(point.flow_m3_s)} at {point.pressure_pa:.1f} Pa",
        )
    if cooling.draught_pa:
        table.add_row("draught", f"{cooling.draught_pa:.3f} Pa")
    sides = zip(("inlet", "outlet"), cooling.drops_pa, predicted.drops, strict=False)
    for side, drop, factors in sides:
        low, high = drop * factors.low, drop * factors.high
        table.add_row(f"over the {side}, at this flow", f"{drop:.3g} Pa ({low:.3g} to {high:.3g})")
    if cooling.mass_kg_s:
        table.add_row(
            "air flow (outside air)",
            f"{_flow(cooling.flow_m3_s)}{_range(predicted.flow_m3_s, 3600.0, three)}",
        )
    table.add_row("rise", f"{cooling.rise_k:.1f} K")
    table.add_row("inside", f"{cooling.inside_c:.1f} degC{_range(predicted.inside_c)}")
    table.add_row("margin to the limit", f"{cooling.margin_k:+.1f} K")
    table.add_row("allowed rise over the rise", f"{100.0 * cooling.reserve:+.0f} %")


def _balance(cooling: Cooling, console: Console) -> None:
    """Print where heat comes from and where it goes."""
    table = Table(title="Heat balance: into the cabinet +, out of it -")
    table.add_column("term")
    table.add_column("heat", justify="right")
    terms = cooling.terms()
    for term in terms:
        table.add_row(term.name, f"{term.heat_w:+.1f} W")
    table.add_section()
    table.add_row("sum", f"{sum(term.heat_w for term in terms) + 0.0:.1f} W")
    console.print(table)
    told = cooling.balance_words()
    console.print(f"{told[:1].upper()}{told[1:]}.", highlight=False, soft_wrap=True)


def _flow(flow_m3_s: float) -> str:
    return f"{three(flow_m3_s * 3600.0)} m3/h"


def _range(
    found: Ends | None, factor: float = 1.0, told: Callable[[float], str] = "{:.1f}".format
) -> str:
    """Return a band in brackets, its ends times a factor; nothing where it has no width."""
    if found is None:
        return " (no upper end)"
    low, high = told(factor * found.low), told(factor * found.high)
    return "" if low == high else f" ({low} to {high})"


def _shares(found: Answer, cooling: Cooling, console: Console) -> None:
    """Print the pressure drop of both vents term by term."""
    if not cooling.mass_kg_s:
        return
    table = Table(title="Pressure drop, term by term")
    table.add_column("term")
    columns = []
    outside = found.question.cabinet.outside
    for vent, way, count in found.question.sides:
        air = outside if way == "in" else outside.at(cooling.inside_c)
        loss = vent.loss(cooling.mass_kg_s / air.density_kg_m3 / count, air, way)
        table.add_column(f"{count} x {vent.part_number}, {way}", justify="right")
        columns.append(loss)
    names = list(dict.fromkeys(n for loss in columns for n in loss.terms_pa))
    for name in names:
        cells = [
            _share(loss.terms_pa[name][0], loss.drop_pa[0]) if name in loss.terms_pa else ""
            for loss in columns
        ]
        table.add_row(name, *cells)
    table.add_row("total", *(f"{loss.drop_pa[0]:.2f} Pa" for loss in columns), end_section=True)
    table.add_row("velocity between slats", *(f"{loss.gap_m_s[0]:.2f} m/s" for loss in columns))
    table.add_row("passage Reynolds number", *(f"{loss.re[0]:.0f}" for loss in columns))
    table.add_row("share by the drain", *(f"{100 * loss.drain_share[0]:.0f} %" for loss in columns))
    console.print(table)


def _share(part_pa: float, whole_pa: float) -> str:
    return f"{part_pa:.2f} Pa ({100 * part_pa / whole_pa:.0f} %)"

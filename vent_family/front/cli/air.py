"""The ``air`` command: one question about a cabinet, its answer as data, tables and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from rich.console import Console
from rich.table import Table

from vent_family.base.problems import InputError, Problem
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.cabinet import (
    Cabinet,
    Cooling,
    Sizing,
    fan_forced,
    fewest_vents,
    natural_draught,
    required_flow_m3_s,
    smallest_vent,
    walls_only,
)
from vent_family.evidence.air.fans import FanCurve, in_parallel, in_series, read_fan
from vent_family.evidence.air.operating import NoOperatingPointError, Opening, Place, System
from vent_family.evidence.air.resistance import Direction, ExtraLoss, VentAir, vent_air
from vent_family.evidence.air.state import AirState
from vent_family.evidence.air.summary import AirSummary, summary_of
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

HOUR_S: Final = 3600.0
CAUTION: Final = "Predicted values. Measure the temperature in the finished cabinet."


@dataclass(frozen=True)
class Question:
    """What was asked, already read and resolved; ``outlet`` is the vent the air leaves by."""

    inlet: VentAir
    outlet: VentAir
    candidates: tuple[VentAir, ...]
    cabinet: Cabinet
    fan: FanCurve | None
    place: Place
    inlets: int
    outlets: int
    counter_pa: float
    draught_height_m: float | None


@dataclass(frozen=True)
class Answer:
    """The balance and what would do; ``failure`` says why no air moves."""

    question: Question
    summary: AirSummary
    system: System
    cooling: Cooling | None
    failure: str
    required_m3_s: float
    fewest: Sizing
    smallest: Sizing


def read_fans(path: Path, parallel: int, series: int) -> FanCurve:
    """Return the fan group: ``series`` fans one behind the other, ``parallel`` such rows."""
    return in_parallel(in_series(read_fan(path), series), parallel)


def extras_of(guard_k: float, filter_pa_s_m: float) -> tuple[ExtraLoss, ...]:
    """Return guard and filter as extra losses.

    Raises
    ------
    InputError
        for a negative loss
    """
    problems = [
        Problem(
            "a loss is not negative",
            column=column,
            value=f"{value:g}",
            allowed="0 or more",
            suggestion="leave the option out for none",
        )
        for column, value in (("guard_k", guard_k), ("filter_pa_s_m", filter_pa_s_m))
        if not value >= 0
    ]
    if problems:
        raise InputError(problems)
    guard = (ExtraLoss("guard", k=guard_k),) if guard_k else ()
    fibre = (ExtraLoss("filter", linear_pa_s_m=filter_pa_s_m),) if filter_pa_s_m else ()
    return guard + fibre


def vent_of(spec: VentSpec, extras: tuple[ExtraLoss, ...] = ()) -> VentAir:
    """Return the air side of a resolved row."""
    return vent_air(spec, extras)


def place_of(word: str, has_fan: bool, draught_m: float | None) -> Place:
    """Return where the fan stands.

    Raises
    ------
    InputError
        for an unknown word, and for a fan and a draught at once
    """
    if has_fan and draught_m is not None:
        raise InputError(
            [
                Problem(
                    "a fan and natural draught are asked for at once",
                    column="draught",
                    suggestion="give either --fan or --draught",
                )
            ]
        )
    if word == "intake":
        return "intake"
    if word == "outlet":
        return "outlet"
    raise InputError(
        [
            Problem(
                "the fan's place is unknown",
                column="place",
                value=word,
                allowed="intake, outlet",
                suggestion="say intake for a fan that moves outside air in",
            )
        ]
    )


def candidates(
    rows: Sequence[CatalogRow], family: str, extras: tuple[ExtraLoss, ...]
) -> tuple[VentAir, ...]:
    """Return the released vents of a family, for sizing; rows that do not resolve are left out."""
    found = []
    for row in rows:
        if row.family != family or row.status != "released":
            continue
        try:
            found.append(vent_air(resolve(row), extras))
        except InputError:
            continue
    return tuple(found)


def answer(question: Question) -> Answer:
    """Work out the balance, the smallest vent and the number of vents."""
    system = _system(question, question.inlet, question.outlet, question.inlets, question.outlets)
    cooling: Cooling | None = None
    failure = ""
    try:
        cooling = _cool(question, system)
    except NoOperatingPointError as error:
        failure = str(error)

    def equal(vent: VentAir, count: int) -> Cooling:
        return _cool(question, _system(question, vent, vent.bare(), count, count))

    return Answer(
        question=question,
        summary=summary_of(question.inlet),
        system=system,
        cooling=cooling,
        failure=failure,
        required_m3_s=required_flow_m3_s(question.cabinet),
        fewest=fewest_vents(question.inlet, equal),
        smallest=smallest_vent(question.candidates, equal, question.inlets),
    )


def _system(
    question: Question, inlet: VentAir, outlet: VentAir, inlets: int, outlets: int
) -> System:
    into: Direction = "in"
    return System(
        (Opening(inlet, into, inlets), Opening(outlet, "out", outlets)), question.counter_pa
    )


def _cool(question: Question, system: System) -> Cooling:
    if question.fan is not None:
        return fan_forced(question.cabinet, question.fan, system, question.place)
    if question.draught_height_m is not None:
        low, high = system.openings
        return natural_draught(question.cabinet, low, high, question.draught_height_m)
    return walls_only(question.cabinet)


def as_data(found: Answer) -> dict[str, Any]:
    """Return the answer as plain data for ``--json``; units in the names."""
    cooling, cabinet = found.cooling, found.question.cabinet
    data: dict[str, Any] = {
        "part_number": found.question.inlet.part_number,
        "outlet_part_number": found.question.outlet.part_number,
        "inlets": found.question.inlets,
        "outlets": found.question.outlets,
        "heat_w": cabinet.heat_w,
        "ambient_c": cabinet.ambient_c,
        "limit_c": cabinet.limit_c,
        "altitude_m": cabinet.altitude_m,
        "air_density_kg_m3": cabinet.outside.density_kg_m3,
        "k_in": found.summary.k_in,
        "k_out": found.summary.k_out,
        "smallest_open_area_mm2": found.summary.smallest.area_mm2,
        "required_flow_m3_h": found.required_m3_s * HOUR_S,
        "failure": found.failure or None,
        "holds": bool(cooling and cooling.holds),
        "fewest_vents_per_side": found.fewest.count or None,
        "smallest_vent": found.smallest.vent.part_number if found.smallest.vent else None,
        "caution": CAUTION,
    }
    if cooling is not None:
        data |= {
            "flow_m3_h": cooling.flow_m3_s * HOUR_S,
            "rise_k": cooling.rise_k,
            "inside_c": cooling.inside_c,
            "margin_k": cooling.margin_k,
            "heat_by_air_w": cooling.heat_air_w,
            "heat_by_walls_w": cooling.heat_wall_w,
            "draught_pa": cooling.draught_pa,
            "warnings": list(cooling.warnings),
        }
        if cooling.point is not None:
            data |= {
                "fan_flow_m3_h": cooling.point.flow_m3_s * HOUR_S,
                "fan_pressure_pa": cooling.point.pressure_pa,
                "drops_pa": list(cooling.point.drops_pa),
                "stalled": cooling.point.stalled,
            }
    return data


def show(found: Answer, console: Console) -> None:
    """Print the answer as tables."""
    q, cooling = found.question, found.cooling
    table = Table(title=f"{q.inlet.part_number}: air", show_header=False)
    table.add_column("what")
    table.add_column("value", justify="right")
    summary = found.summary
    for i, area in enumerate(q.inlet.areas):
        label = "open areas, smallest first" if i == 0 else ""
        table.add_row(label, f"{area.name} {area.area_mm2:.0f} mm2")
    table.add_row("K on the opening, in / out", f"{summary.k_in:.1f} / {summary.k_out:.1f}")
    table.add_row("discharge coefficient, in", f"{summary.discharge_in:.3f}")
    for point in summary.flows:
        table.add_row(
            f"flow at {point.pressure_pa:g} Pa, in / out",
            f"{point.flow_in_m3_h:.1f} / {point.flow_out_m3_h:.1f} m3/h",
        )
    table.add_section()
    cabinet = q.cabinet
    table.add_row("heat", f"{cabinet.heat_w:g} W")
    table.add_row("ambient, limit", f"{cabinet.ambient_c:g} degC, {cabinet.limit_c:g} degC")
    table.add_row(
        "air density", f"{cabinet.outside.density_kg_m3:.3f} kg/m3 at {cabinet.altitude_m:g} m"
    )
    table.add_row("air flow needed", f"{found.required_m3_s * HOUR_S:.1f} m3/h")
    table.add_section()
    if cooling is None:
        table.add_row("operating point", "none")
    else:
        _cooling_rows(table, cooling, q)
    table.add_section()
    fewest, small = found.fewest, found.smallest
    table.add_row(
        f"{q.inlet.part_number} needed per side",
        str(fewest.count) if fewest.count else "none will do",
    )
    table.add_row(
        f"smallest vent, {q.inlets} per side",
        small.vent.part_number if small.vent else "none will do",
    )
    console.print(table)
    if cooling is not None:
        _shares(found, cooling, console)
        verdict = "holds" if cooling.holds else "DOES NOT HOLD"
        console.print(
            f"Predicted: {cooling.inside_c:.1f} degC inside, limit {cabinet.limit_c:g} degC:"
            f" {verdict}, margin {cooling.margin_k:+.1f} K.",
            highlight=False,
        )
        for warning in cooling.warnings:
            console.print(f"Warning: {warning}.", highlight=False, soft_wrap=True)
    else:
        console.print(f"No operating point: {found.failure}.", highlight=False, soft_wrap=True)
    for sizing in (fewest, small):
        if sizing.reason:
            console.print(f"Sizing: {sizing.reason}.", highlight=False, soft_wrap=True)
    console.print(CAUTION, highlight=False)


def _cooling_rows(table: Table, cooling: Cooling, q: Question) -> None:
    point = cooling.point
    if point is not None:
        assert q.fan is not None
        table.add_row("fan", q.fan.name)
        table.add_row(
            "operating point", f"{point.flow_m3_s * HOUR_S:.1f} m3/h at {point.pressure_pa:.1f} Pa"
        )
        table.add_row(
            "over inlet, outlet", " Pa, ".join(f"{p:.1f}" for p in point.drops_pa) + " Pa"
        )
    if cooling.draught_pa:
        table.add_row("draught", f"{cooling.draught_pa:.3f} Pa")
    table.add_row("air flow (outside air)", f"{cooling.flow_m3_s * HOUR_S:.1f} m3/h")
    table.add_row(
        "heat by air, by walls", f"{cooling.heat_air_w:.0f} W, {cooling.heat_wall_w:.0f} W"
    )
    table.add_row("rise, inside", f"{cooling.rise_k:.1f} K, {cooling.inside_c:.1f} degC")
    table.add_row("margin to the limit", f"{cooling.margin_k:+.1f} K")


def _shares(found: Answer, cooling: Cooling, console: Console) -> None:
    """Print the pressure drop of both vents term by term."""
    if cooling.mass_kg_s <= 0:
        return
    table = Table(title="Pressure drop, term by term")
    table.add_column("term")
    columns = []
    outside = found.question.cabinet.outside
    for opening in found.system.openings:
        air: AirState = outside if opening.direction == "in" else outside.at(cooling.inside_c)
        loss = opening.vent.loss(
            cooling.mass_kg_s / air.density_kg_m3 / opening.count, air, opening.direction
        )
        way = "in" if opening.direction == "in" else "out"
        table.add_column(f"{opening.count} x {opening.vent.part_number}, {way}", justify="right")
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


def draw(found: Answer, folder: Path, spec: VentSpec, *, field: bool) -> list[Path]:
    """Write the curves, and the solved flow field if asked; return the paths."""
    from vent_family.evidence.air import pictures
    from vent_family.files.figure import write_figure

    q = found.question
    name = q.inlet.part_number
    figures = {"resistance": pictures.resistance_figure(q.inlet, q.cabinet.outside)}
    if found.cooling is not None and found.cooling.point is not None:
        assert q.fan is not None
        figures["operating-point"] = pictures.operating_figure(
            q.inlet, q.fan, found.system, found.cooling, q.cabinet.outside, q.place
        )
    if field and found.cooling is not None and found.cooling.mass_kg_s > 0:
        from vent_family.evidence.air.field import section_field

        air = q.cabinet.outside
        flow = found.cooling.mass_kg_s / air.density_kg_m3 / q.inlets
        loss = q.inlet.loss(flow, air, "in")
        face = float(flow * (1 - loss.drain_share[0]) / (q.inlet.face_mm2 * 1e-6))
        drained = float(flow * loss.drain_share[0] / (q.inlet.drain_mm2 * 1e-6))
        solved = section_field(spec.section, face, air=air, direction="in", channel_m_s=drained)
        title = f"{name}: mean flow drawn in, {face:.2f} m/s before the slats"
        figures["flow"] = pictures.field_figure(spec.section, solved, title)
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for what, figure in figures.items():
        stem = f"{name}-{what}"
        paths += write_figure(folder, stem, figure, dpi=130, salt=stem)
    return paths

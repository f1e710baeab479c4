"""Curves and flow pictures, as figures; colours also tell apart in grey and by line style."""

from __future__ import annotations

from typing import Final

import matplotlib

matplotlib.use("Agg")

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import FAN_TOLERANCE
from vent_family.base.said import three
from vent_family.evidence.air.answer import Answer
from vent_family.evidence.air.clogged import clogged_question
from vent_family.evidence.air.field import RegularField, section_field
from vent_family.evidence.air.operating import FanPoint
from vent_family.evidence.air.resistance import VentAir
from vent_family.evidence.air.state import AirState
from vent_family.evidence.palette import BLUE, INK, RED
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec

FILL: Final = "#E8E8E8"
FILLS: Final = ("#08306B", "#2171B5", "#6BAED6", "#BDD7E7", "#F0E442", "#E69F00", "#999999")
HATCHES: Final = ("", "///", "", "...", "", "\\\\\\", "xx")


def operating_figure(found: Answer) -> Figure:
    """Return fan and system curves with their bands and points, and the shares of the losses.

    Raises
    ------
    ValueError
        for an answer without a fan's operating point
    """
    asked, cooling = found.question, found.predicted.cooling
    if asked.fan is None or cooling is None or cooling.point is None:
        raise ValueError("there is no operating point of a fan to draw")
    figure = Figure(figsize=(10.5, 4.8), layout="constrained")
    left, right = figure.subplots(1, 2, width_ratios=[1.5, 1.0])
    outside, point = asked.cabinet.outside, cooling.point
    inside = outside.at(cooling.inside_c)
    air = outside if asked.place == "intake" else inside
    curve = asked.fan.at_density(air.density_kg_m3)
    top = 1.06 * curve.free_flow_m3_s
    flow = np.linspace(0.004, 1.0, 200) * top
    pressure = np.clip(curve.pressure(flow), 0, None)
    tolerance = FAN_TOLERANCE.value
    hour = 3600.0
    weak, strong = (curve.stronger(1.0 + sign * tolerance) for sign in (-1.0, 1.0))
    left.fill_between(
        flow * hour,
        np.clip(weak.pressure(flow), 0, None),
        np.clip(strong.pressure(flow), 0, None),
        color=BLUE,
        alpha=0.15,
        linewidth=0,
    )
    label = f"fan: {asked.fan.name}, pressure \u00b1{100.0 * tolerance:.0f} %"
    left.plot(flow * hour, pressure, color=BLUE, linewidth=2, label=label)
    points = np.array(curve.flow_m3_s) * hour
    left.plot(points, curve.pressure_pa, "o", color=BLUE, markersize=4)
    mass = flow * air.density_kg_m3
    drops = asked.system.drops_pa(mass, outside, inside)
    low, need, high = (
        np.asarray(sum(d * f for d, f in zip(drops, factors, strict=True))) + asked.counter_pa
        for factors in (
            [r.low for r in found.predicted.drops],
            [1.0] * len(drops),
            [r.high for r in found.predicted.drops],
        )
    )
    left.fill_between(flow * hour, low, high, color=RED, alpha=0.2, linewidth=0)
    left.plot(flow * hour, need, color=RED, linestyle="--", lw=2, label="vents, with their band")
    if curve.stall_m3_s is not None:
        left.axvspan(0, curve.stall_m3_s * hour, facecolor=FILL, zorder=0)
        left.text(
            0.5 * curve.stall_m3_s * hour,
            0.03 * max(curve.pressure_pa),
            "stall region",
            ha="center",
            color=INK,
        )
    half = found.clogged
    if half is not None:
        clogged = clogged_question(asked).system.pressure_pa(mass, outside, inside)
        clogged_label = f"{half.what} {100.0 * half.share:.0f} % clogged"
        there = half.predicted.cooling
        if there is not None and there.point is not None:
            _point(left, there.point, "s")
            clogged_label += f": {three(there.point.flow_m3_s * hour)} m3/h"
        left.plot(
            flow * hour, clogged, color=RED, linestyle=":", linewidth=1.8, label=clogged_label
        )
    _point(left, point, "D", f"{three(point.flow_m3_s * hour)} m3/h at {point.pressure_pa:.1f} Pa")
    left.set_xlim(0, top * hour)
    left.set_ylim(0, 1.35 * max(max(curve.pressure_pa), point.pressure_pa))
    left.set_xlabel("flow through the fan, m3/h")
    left.set_ylabel("static pressure, Pa")
    left.set_title(f"{asked.inlet.part_number}: operating point")
    left.grid(color="#DDDDDD", linewidth=0.6)
    left.legend(loc="upper right", framealpha=1.0)
    through = point.mass_kg_s / outside.density_kg_m3 / asked.inlets
    draw_shares(right, asked.inlet, through, outside, "in")
    return figure


def _point(axes: Axes, point: FanPoint, marker: str, label: str | None = None) -> None:
    axes.plot(
        point.flow_m3_s * 3600.0,
        point.pressure_pa,
        marker=marker,
        color=INK,
        markersize=8,
        linestyle="none",
        label=label,
        zorder=5,
    )


def draw_shares(axes: Axes, vent: VentAir, flow_m3_s: float, air: AirState, direction: str) -> None:
    """Draw the pressure drop of one vent term by term."""
    loss = vent.loss(flow_m3_s, air, "in" if direction == "in" else "out")
    names = list(loss.terms_pa)
    values = [float(t[0]) for t in loss.terms_pa.values()]
    order = range(len(names))
    bars = axes.barh(list(order), values, edgecolor=INK, linewidth=0.8)
    for bar, colour, hatch in zip(bars, FILLS, HATCHES, strict=False):
        bar.set_facecolor(colour)
        bar.set_hatch(hatch)
    total = sum(values)
    for i, value in enumerate(values):
        axes.text(value + 0.015 * max(values), i, f"{100 * value / total:.0f} %", va="center")
    axes.set_yticks(list(order), names)
    axes.invert_yaxis()
    axes.set_xlim(0, 1.18 * max(values))
    axes.set_xlabel("pressure drop, Pa")
    how = "drawing in" if direction == "in" else "blowing out"
    axes.set_title(f"{vent.part_number}, {how}: {total:.1f} Pa")


def resistance_figure(vent: VentAir, air: AirState) -> Figure:
    """Return pressure drop over flow, drawing in and blowing out, and the shares at 25 Pa."""
    figure = Figure(figsize=(10.5, 4.6), layout="constrained")
    left, right = figure.subplots(1, 2, width_ratios=[1.5, 1.0])
    pressures = np.linspace(0.5, 60.0, 120)
    for direction, colour, style, label in (
        ("in", BLUE, "-", "drawing in"),
        ("out", RED, "--", "blowing out"),
    ):
        found = vent.flow(pressures, air, "in" if direction == "in" else "out")
        left.plot(
            found.flow_m3_s * 3600, pressures, color=colour, linestyle=style, lw=2, label=label
        )
        beyond = ~found.in_range
        if beyond.any():
            left.plot(
                found.flow_m3_s[beyond] * 3600,
                pressures[beyond],
                color="#BBBBBB",
                linewidth=5,
                zorder=0,
                label="beyond the calibrated range" if direction == "in" else None,
            )
    left.set_xlabel("flow, m3/h")
    left.set_ylabel("pressure drop, Pa")
    left.set_xlim(left=0)
    left.set_ylim(0, 60)
    left.set_title(f"{vent.part_number}: resistance")
    left.grid(color="#DDDDDD", linewidth=0.6)
    left.legend(loc="upper left", framealpha=1.0)
    rated = vent.flow(25.0, air, "in")
    draw_shares(right, vent, float(rated.flow_m3_s[0]), air, "in")
    return figure


def answer_figures(found: Answer, spec: VentSpec, *, field: bool = False) -> dict[str, Figure]:
    """Return the figures that belong to an answer, by name; ``spec`` is the inlet's.

    The vent's resistance, fan and system with the operating point where there is one, and with
    ``field`` the solved flow between the slats.

    Raises
    ------
    FloatingPointError
        when the solver cannot resolve the flow
    """
    asked, cooling = found.question, found.predicted.cooling
    outside = asked.cabinet.outside
    figures = {"resistance": resistance_figure(asked.inlet, outside)}
    if cooling is None:
        return figures
    if cooling.point is not None:
        figures["operating-point"] = operating_figure(found)
    if field and cooling.mass_kg_s > 0:
        flow = cooling.mass_kg_s / outside.density_kg_m3 / asked.inlets
        loss = asked.inlet.loss(flow, outside, "in")
        face = float(flow * (1 - loss.drain_share[0]) / (asked.inlet.face_mm2 * 1e-6))
        drained = float(flow * loss.drain_share[0] / (asked.inlet.drain_mm2 * 1e-6))
        solved = section_field(spec.section, face, air=outside, direction="in", channel_m_s=drained)
        title = f"{spec.part_number}: mean flow drawn in, {face:.2f} m/s before the slats"
        figures["flow"] = field_figure(spec.section, solved, title)
    return figures


def field_figure(section: Section, field: RegularField, title: str) -> Figure:
    """Return the air speed over the section, with streamlines."""
    figure = Figure(figsize=(7.0, 7.6), layout="constrained")
    axes = figure.subplots()
    nz, ny = field.w_m_s.shape
    z = field.z0_mm + np.arange(nz) * field.dz_mm
    y = field.y0_mm + np.arange(ny) * field.dy_mm
    speed: FloatArray = np.hypot(field.w_m_s, field.v_m_s)
    image = axes.pcolormesh(
        z, y, speed.T, cmap="cividis", vmax=float(np.quantile(speed, 0.995)), shading="nearest"
    )
    axes.streamplot(
        z, y, field.w_m_s.T, field.v_m_s.T, color="white", density=1.6, linewidth=0.5, arrowsize=0.7
    )
    for outline in [s.outline for s in section.slats] + [section.apron]:
        axes.fill(*zip(*outline, strict=True), facecolor="#F5F5F5", edgecolor=INK, linewidth=0.8)
    for line in (section.lower, section.upper):
        axes.plot(*zip(*line, strict=True), color=INK, linewidth=1.5)
    axes.set_aspect("equal")
    axes.set_xlim(z[0], z[-1])
    axes.set_ylim(y[0], y[-1])
    axes.set_xlabel("z, mm (outside on the right)")
    axes.set_ylabel("y, mm")
    axes.set_title(title)
    figure.colorbar(image, ax=axes, label="mean air speed, m/s", shrink=0.8)
    return figure

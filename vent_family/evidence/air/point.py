"""One operating point for air, wind and water: flow, face velocity, depression over the pool.

**What lies between outside and the pool.** The pool stands in the trough before the sill, behind
front window and slats; its other end feels the pressure outside through the drain. Air drawn in
loses the window and the stack on its way to the pool, and where it crosses the sill its static
pressure is lower again by its velocity head there: this much the pool is sucked up. What follows,
the contraction over the sill of a rectangular or flanged vent, the cone and the neck of a round
one, lies behind the pool and leaves its level alone. Air blown out loses stack and window between
pool and outside, so the pool is pressed down by these less the velocity head over the sill. Wind
that presses on the face presses on the drain as much: it counts by the flow it drives.

**The drain is full.** A pool stands in the trough, and what an edge holds of it closes most drains;
others are flooded by the air that comes in against the outflow (``evidence/water/drain_air.py``).
So all air goes between the slats of this vent, which costs more pressure than with a dry drain. The
vents on the other side count as dry.

**What balances.** This vent and the vents on the other side of the cabinet pass the same air, one
after the other; fan and wind make up for both losses. So the pressure inside lies between those
outside of either, by the share of each in the loss. Where only a face velocity is known, the fan is
taken to give the same pressure whatever the wind does: real fans give less at more flow, so the
wind's part errs towards more air and more suction. A fan that stands still is taken to be no
obstacle, one that air is pushed back through to give its shut-off pressure.

**The band** is that of the stack's K (:func:`vent_family.evidence.air.losses.band`): the point is
worked out once more with the least and the greatest K of this vent, the other side as it is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final, Literal

import numpy as np
from scipy.optimize import brentq

from vent_family.base.said import three
from vent_family.evidence.air.airway import MM2, Direction
from vent_family.evidence.air.coefficients import TERMS
from vent_family.evidence.air.drive import Drive, Source
from vent_family.evidence.air.operating import (
    NoOperatingPointError,
    System,
    VentGroup,
    operating_point,
)
from vent_family.evidence.air.resistance import VentAir
from vent_family.evidence.air.state import AirState, air_at
from vent_family.evidence.air.wind import wind_head_pa
from vent_family.evidence.facts import Fact

Way = Literal["in", "out", "still"]
State = Literal["fan running", "fan stopped", "wind against the fan", "no fan"]

HOUR_S: Final = 3600.0
SOURCE_WORDS: Final[dict[Source, str]] = {
    "fan": "by the fan",
    "face velocity": "as stated",
    "default": "by default",
}
_OTHER_WAY: Final[dict[Direction, Direction]] = {"in": "out", "out": "in"}


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Air of one vent under one exposure.

    ``depression_pa`` is the sum of ``fan_pa``, ``wind_pa`` and ``extra_pa``;
    ``opening_depression_pa`` is negative where a fan keeps the cabinet above the outside, and
    counts from the pressure in front of this vent.
    """

    source: Annotated[Source, Fact("where flow and depression come from")]
    direction: Annotated[Way, Fact("whether the vent draws air in or lets it out")]
    flow_m3_h: Annotated[float, Fact("air through this vent", "m3/h")]
    flow_low_m3_h: Annotated[float, Fact("the least of it, over the band of K", "m3/h")]
    flow_high_m3_h: Annotated[float, Fact("the most of it, over the band of K", "m3/h")]
    face_velocity_m_s: Annotated[
        float, Fact("flow over the open face, into the cabinet positive", "m/s")
    ]
    depression_pa: Annotated[
        float, Fact("over the pool, below the outside; negative: the pool is pressed down", "Pa")
    ]
    depression_low_pa: Annotated[float, Fact("the same with the least K", "Pa")]
    depression_high_pa: Annotated[float, Fact("the same with the greatest K", "Pa")]
    fan_pa: Annotated[float, Fact("part of the depression due to the fan", "Pa")]
    wind_pa: Annotated[float, Fact("part due to the wind", "Pa")]
    extra_pa: Annotated[float, Fact("part due to what else sucks", "Pa")]
    opening_depression_pa: Annotated[float, Fact("cabinet below the outside of this vent", "Pa")]
    state: Annotated[State, Fact("what fan and wind do")] = "fan running"
    wind_head_pa: Annotated[
        float, Fact("pressure of the wind on this vent over that on the other openings", "Pa")
    ] = 0.0
    warnings: Annotated[tuple[str, ...], Fact("what to know of the fan")] = ()

    @property
    def usual(self) -> bool:
        """Whether this is the point of a calm day with whatever moves the air at work."""
        return self.wind_head_pa == 0.0 and self.state in ("fan running", "no fan")

    def words(self) -> str:
        """Return the point for people, the depression with its band and its parts."""
        way = "still air" if self.direction == "still" else f"{three(self.flow_m3_h)} m3/h"
        low, high = three(self.flow_low_m3_h), three(self.flow_high_m3_h)
        way += f" ({low} to {high})" if low != high else ""
        if self.direction != "still":
            drawn = "drawn in" if self.direction == "in" else "let out"
            speed = f"{abs(self.face_velocity_m_s):.2g} m/s over the face"
            way += f" {drawn} ({speed}, {self._driven()})"
        return f"{way}, {self.depression_words(' over the pool')}"

    def depression_words(self, where: str = "") -> str:
        """Return the depression with its band and its parts, and ``where`` it acts."""
        parts = (("fan", self.fan_pa), ("wind", self.wind_pa), ("other suction", self.extra_pa))
        told = ", ".join(f"{name} {pa:.0f}" for name, pa in parts if abs(pa) >= 0.5)
        low, high = f"{self.depression_low_pa:.0f}", f"{self.depression_high_pa:.0f}"
        band = "" if low == high else f" ({low} to {high})"
        text = f"{self.depression_pa:.0f} Pa{where}{band}"
        return f"{text}: {told}" if told else text

    def _driven(self) -> str:
        """Return what moves the air: a fan that stands still, or is blown back, does not."""
        by = SOURCE_WORDS[self.source]
        if self.state == "fan running":
            return f"{by}, raised by wind" if self.wind_pa >= 0.5 else by
        return "by wind" if self.direction == "in" else f"{by}, slowed by wind"


def operating_points(vent: VentAir, drive: Drive, wind_m_s: float = 0.0) -> list[OperatingPoint]:
    """Return the operating points of a vent that faces a wind (m/s), the usual one first.

    One point for a vent that draws air in: the wind adds to the fan. A vent that lets air out has
    more states, each with a point: the fan running as in calm air; stopped, with the wind alone
    blowing in; and the running fan with the wind against it, where there is one.

    Raises
    ------
    UncalibratedError
        if the air model's table lacks runs of the vent's slat form

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.evidence.air.resistance import vent_air
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="rectangular", size="80x60")
    >>> vent = vent_air(resolve(row))
    >>> (calm,) = operating_points(vent, Drive(1.5, extra_pa=5.0))
    >>> round(calm.flow_m3_h, 1), round(calm.depression_pa - calm.fan_pa, 1)
    (21.2, 5.0)
    >>> (windy,) = operating_points(vent, Drive(1.5), 13.0)
    >>> windy.flow_m3_h > calm.flow_m3_h, windy.wind_pa > 0.0
    (True, True)
    >>> blowing = Drive(1.5, direction="out")
    >>> [(p.state, p.direction) for p in operating_points(vent, blowing, 13.0)]
    [('fan running', 'out'), ('fan stopped', 'in'), ('wind against the fan', 'in')]
    """
    drive = replace(drive, opposite=drive.opposite or vent)
    vent = vent.drain_full()
    if not drive.moves_air:
        return [_point(vent, drive, wind_m_s, "no fan")]
    if drive.direction == "in":
        return [_point(vent, drive, wind_m_s, "fan running")]
    points = [_point(vent, drive, 0.0, "fan running"), _point(vent, drive, wind_m_s, "fan stopped")]
    if wind_head_pa(wind_m_s, drive.openings, air_at()) > 0.0:
        points.append(_point(vent, drive, wind_m_s, "wind against the fan"))
    return points


def _point(vent: VentAir, drive: Drive, wind_m_s: float, state: State) -> OperatingPoint:
    air = air_at()
    head = wind_head_pa(wind_m_s, drive.openings, air)
    running = state in ("fan running", "wind against the fan")
    other = drive.opposite or vent
    calm, warnings = _settled(vent, other, drive, 0.0, air, running=running)
    flow = calm
    if head:
        flow, warnings = _settled(vent, other, drive, head, air, running=running, calm=calm)
    pool, fan = pool_depression_pa(vent, flow, air), pool_depression_pa(vent, calm, air)
    ends, flows = [pool], [abs(flow)]
    if flow:
        loss = vent.loss(abs(flow), air, _way(flow))
        for factor in vent.band(float(loss.re[0])):
            scaled = vent.at_end(factor)
            there, _ = _settled(scaled, other, drive, head, air, running=running)
            ends.append(pool_depression_pa(scaled, there, air))
            flows.append(abs(there))
    own = _drop_pa(vent, flow, air)
    if running and drive.fan is not None and (drive.place == "intake") == (drive.direction == "in"):
        # The fan stands behind this very vent: the cabinet lies beyond it.
        own = head - _drop_pa(other, flow, air, _OTHER_WAY)
    return OperatingPoint(
        source=drive.source,
        direction="still" if not flow else _way(flow),
        flow_m3_h=abs(flow) * HOUR_S,
        flow_low_m3_h=min(flows) * HOUR_S,
        flow_high_m3_h=max(flows) * HOUR_S,
        face_velocity_m_s=flow / (vent.open_face_mm2 * MM2),
        depression_pa=pool + drive.extra_pa,
        depression_low_pa=min(ends) + drive.extra_pa,
        depression_high_pa=max(ends) + drive.extra_pa,
        fan_pa=fan,
        wind_pa=pool - fan,
        extra_pa=drive.extra_pa,
        opening_depression_pa=own + drive.extra_pa,
        state=state,
        wind_head_pa=head,
        warnings=warnings,
    )


def _settled(
    vent: VentAir,
    other: VentAir,
    drive: Drive,
    head_pa: float,
    air: AirState,
    *,
    running: bool,
    calm: float | None = None,
) -> tuple[float, tuple[str, ...]]:
    """Return the flow through one vent, m3/s into the cabinet, and what to know of the fan.

    ``calm`` is the same without wind, where known already.
    """
    sign = 1.0 if drive.direction == "in" else -1.0
    pressure = 0.0
    if running and drive.fan is not None:
        found = _with_fan(vent, other, drive, head_pa, air)
        if found is not None:
            return found
        # The wind is stronger than the fan: air goes the other way through it.
        pressure = drive.fan.at_density(air.density_kg_m3).shut_off_pa
    elif running:
        if calm is None:
            calm = drive.calm_flow_m3_s(vent, air)
        if not head_pa:
            return calm, ()
        pressure = abs(_both_pa(vent, other, calm, air))
    return _flow_of(vent, other, sign * pressure + head_pa, air), ()


def _with_fan(
    vent: VentAir, other: VentAir, drive: Drive, head_pa: float, air: AirState
) -> tuple[float, tuple[str, ...]] | None:
    """Return the flow as the fan moves it, or ``None`` where it cannot overcome the wind."""
    assert drive.fan is not None
    own = VentGroup(vent, drive.direction, drive.vents)
    far = VentGroup(other, _OTHER_WAY[drive.direction], drive.vents)
    sign = 1.0 if drive.direction == "in" else -1.0
    try:
        found = operating_point(drive.fan, System((own, far), -sign * head_pa), air, air)
    except NoOperatingPointError:
        return None
    return sign * found.flow_m3_s / drive.vents, found.warnings


def _flow_of(vent: VentAir, other: VentAir, head_pa: float, air: AirState) -> float:
    """Return the flow, m3/s, that a pressure difference drives through both vents in a row."""
    if not head_pa:
        return 0.0
    sign = 1.0 if head_pa > 0.0 else -1.0

    def lack(flow: float) -> float:
        return abs(_both_pa(vent, other, sign * flow, air)) - abs(head_pa)

    top = 1e-4
    while lack(top) < 0.0:
        top *= 4.0
    return sign * float(brentq(lack, 1e-12, top, xtol=1e-13))


def _both_pa(vent: VentAir, other: VentAir, flow_m3_s: float, air: AirState) -> float:
    """Return the loss of both vents in a row, with the sign of the flow."""
    return _drop_pa(vent, flow_m3_s, air) + _drop_pa(other, flow_m3_s, air, _OTHER_WAY)


def _drop_pa(
    vent: VentAir,
    flow_m3_s: float,
    air: AirState,
    ways: dict[Direction, Direction] | None = None,
) -> float:
    """Return the loss of a vent, with the sign of the flow; ``ways`` turns its direction."""
    if not flow_m3_s:
        return 0.0
    way = _way(flow_m3_s)
    drop = float(vent.loss(abs(flow_m3_s), air, ways[way] if ways else way).drop_pa[0])
    return float(np.copysign(drop, flow_m3_s))


def _way(flow_m3_s: float) -> Direction:
    return "in" if flow_m3_s > 0.0 else "out"


def pool_depression_pa(vent: VentAir, flow_m3_s: float, air: AirState) -> float:
    """Return by how much the pressure over the pool lies below that outside, Pa.

    ``flow_m3_s`` is the air through the vent, positive into the cabinet.
    """
    if not flow_m3_s:
        return 0.0
    loss = vent.loss(abs(flow_m3_s), air, _way(flow_m3_s))
    passed = sum(float(loss.terms_pa[name][0]) for name in ("front window", *TERMS))
    over_sill = 0.5 * air.density_kg_m3 * (flow_m3_s / (vent.sill_mm2 * MM2)) ** 2
    return float(np.copysign(passed, flow_m3_s)) + over_sill

"""One operating point for air, wind and water: flow, face velocity, depression over the pool.

**What lies between outside and the pool.** The pool stands in the trough before the sill, behind
front window and slats; its other end feels the pressure outside through the drain. Air drawn in
loses the window and the stack on its way to the pool, and where it crosses the sill its static
pressure is lower again by its velocity head there: this much the pool is sucked up. What follows,
the contraction over the sill of a rectangular or flanged vent, the cone and the neck of a round
one, lies behind the pool and leaves its level alone. Air blown out loses stack and window between
pool and outside, so the pool is pressed down by these less the velocity head over the sill. Wind
that presses on the face presses on the drain as much: it counts by the flow it drives.

**The band** is that of the stack's K: the point is worked out once more with the least and the
greatest K that runs of the flow solver leave open.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final, Literal

from vent_family.evidence.air.coefficients import TERMS
from vent_family.evidence.air.resistance import MM2, VentAir, VentLoss
from vent_family.evidence.air.state import AirState, air_at
from vent_family.evidence.facts import Fact

Source = Literal["fan", "face velocity", "default"]
Way = Literal["in", "out", "still"]

HOUR_S: Final = 3600.0
STACK_BAND: Final = (0.75, 1.25)
"""Factors on the stack's K that hold the truth (house estimate, to be replaced by the table's)."""


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Air of one vent under one exposure."""

    source: Annotated[Source, Fact("where flow and depression come from")]
    direction: Annotated[Way, Fact("whether the vent draws air in or lets it out")]
    flow_m3_h: Annotated[float, Fact("air through this vent", "m3/h")]
    face_velocity_m_s: Annotated[
        float, Fact("flow over the open face, into the cabinet positive", "m/s")
    ]
    depression_pa: Annotated[
        float, Fact("over the pool, outside above inside; negative: the pool is pressed down", "Pa")
    ]
    depression_low_pa: Annotated[float, Fact("the same with the least K", "Pa")]
    depression_high_pa: Annotated[float, Fact("the same with the greatest K", "Pa")]
    fan_pa: Annotated[float, Fact("part of the depression due to the fan", "Pa")]
    wind_pa: Annotated[float, Fact("part due to the wind", "Pa")]
    extra_pa: Annotated[float, Fact("part due to what else sucks", "Pa")]
    opening_depression_pa: Annotated[float, Fact("cabinet below the outside of this vent", "Pa")]


@dataclass(frozen=True, slots=True)
class Drive:
    """What drives the air.

    ``face_velocity_m_s`` is the flow over the open face, m/s, positive into the cabinet;
    ``source`` where it comes from; ``extra_pa`` acts on the pool in full, Pa, and moves no air that
    is counted.
    """

    source: Source
    face_velocity_m_s: float
    extra_pa: float = 0.0


def operating_point_of(vent: VentAir, drive: Drive) -> OperatingPoint:
    """Return the operating point of a vent in still weather.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.evidence.air.resistance import vent_air
    >>> from vent_family.spec.resolve import resolve
    >>> row = CatalogRow(part_number="V", status="draft", family="rectangular", size="80x60")
    >>> point = operating_point_of(vent_air(resolve(row)), Drive("face velocity", 1.5, 5.0))
    >>> round(point.flow_m3_h, 1), round(point.depression_pa - point.fan_pa, 1)
    (21.2, 5.0)
    """
    flow = drive.face_velocity_m_s * vent.open_face_mm2 * MM2
    air = air_at()
    fan = pool_depression_pa(vent, flow, air)
    low, high = (pool_depression_pa(vent, flow, air, stack_factor=factor) for factor in STACK_BAND)
    way: Way = "still" if flow == 0.0 else "in" if flow > 0.0 else "out"
    drop = 0.0
    if way != "still":
        drop = float(vent.loss(abs(flow), air, way).drop_pa[0])
    return OperatingPoint(
        source=drive.source,
        direction=way,
        flow_m3_h=abs(flow) * HOUR_S,
        face_velocity_m_s=drive.face_velocity_m_s,
        depression_pa=fan + drive.extra_pa,
        depression_low_pa=min(low, high) + drive.extra_pa,
        depression_high_pa=max(low, high) + drive.extra_pa,
        fan_pa=fan,
        wind_pa=0.0,
        extra_pa=drive.extra_pa,
        opening_depression_pa=(-drop if way == "out" else drop) + drive.extra_pa,
    )


def pool_depression_pa(
    vent: VentAir, flow_m3_s: float, air: AirState, *, stack_factor: float = 1.0
) -> float:
    """Return by how much the pressure over the pool lies below that outside, Pa.

    Parameters
    ----------
    vent
        the vent
    flow_m3_s
        air through it, m3/s, positive into the cabinet
    air
        the air that passes
    stack_factor
        factor on the loss of the slats (1)
    """
    if flow_m3_s == 0.0:
        return 0.0
    way: Literal["in", "out"] = "in" if flow_m3_s > 0.0 else "out"
    loss = vent.loss(abs(flow_m3_s), air, way)
    over_sill = 0.5 * air.density_kg_m3 * (flow_m3_s / (vent.sill_mm2 * MM2)) ** 2
    passed = _before_pool_pa(loss, stack_factor)
    return (passed if way == "in" else -passed) + over_sill


def _before_pool_pa(loss: VentLoss, stack_factor: float) -> float:
    """Return the losses between outside and pool, Pa."""
    stack = sum(float(loss.terms_pa[name][0]) for name in TERMS)
    return float(loss.terms_pa["front window"][0]) + stack_factor * stack

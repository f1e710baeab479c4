"""Does the trough empty faster than it fills? Levels against the sill, per bay.

Heights are water levels over the drain's lower edge, in mm. The level at the sill adds up:

- what surface tension holds before anything runs out (puddle depth; a slot lower than the
  capillary length stays bridged until the head breaks the meniscus, 2 sigma / (rho g h));
- the head that drives the flow out: free overfall of a wide brink, q = (2/3)^1.5 sqrt(g) h^1.5
  (critical depth; textbook), until the slot runs full, then an orifice, Cd 0.61. At millimetre
  heads weir laws are upper bounds on the flow; the puddle depth in front makes up for it;
- what the fan's depression lifts: p / (rho g). The whole depression is taken to act on the pool;
- what tilting the mounting adds.

Water gets in when the sum exceeds the sill. The time until then is the free volume over the
excess of inflow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
from scipy.optimize import brentq
from shapely.geometry import Polygon, box

from vent_family.base.constants import (
    CAPILLARY_LENGTH_MM,
    GRAVITY_M_S2,
    PASCAL_PER_MM_WATER,
    SURFACE_TENSION_N_M,
)
from vent_family.evidence.facts import Fact
from vent_family.evidence.water.properties import head_mm, puddle_mm
from vent_family.spec.section import Section

ORIFICE_CD: Final = 0.61
"""Discharge coefficient of a sharp-edged orifice; 0.60 to 0.62, textbook value, from memory."""
DRAIN_SEARCH_MAX_MM: Final = 12.0
"""Higher drain slots are no advice: they are windows."""
FILM_MM: Final = 0.1
"""Film left on a wetted slat after draining (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Trough:
    """What drains: one bay's floor and slot, lengths in mm.

    ``slot_mm`` is the drain's height, ``width_mm`` one bay's floor width, ``length_mm`` the
    floor's length, ``slope_deg`` its fall outwards, ``sill_mm`` the sill over the drain's lower
    edge, ``bays`` how many such bays drain side by side.
    """

    slot_mm: float
    width_mm: float
    length_mm: float
    slope_deg: float
    sill_mm: float
    bays: int


@dataclass(frozen=True, slots=True)
class DrainageReport:
    """Drainage of one exposure; levels in mm over the drain's lower edge, flows in L/min per vent.

    ``level_mm`` is the level at the sill while water arrives, ``margin_mm`` what the sill stands
    above it. ``capacity_l_min`` is the largest inflow the sill holds back. ``overflow_s`` is the
    time until water runs over the sill, ``None`` where it never does. ``overflow_l`` is the volume
    that has run in by the end.
    """

    inflow_l_min: Annotated[float, Fact("water that runs into the trough", "L/min")]
    capacity_l_min: Annotated[float, Fact("largest inflow the sill holds back", "L/min")]
    level_mm: Annotated[float, Fact("level at the sill", "mm")]
    sill_mm: Annotated[float, Fact("top of the sill", "mm")]
    margin_mm: Annotated[float, Fact("what the sill stands above the level", "mm")]
    capillary_mm: Annotated[float, Fact("part of the level due to surface tension", "mm")]
    suction_mm: Annotated[float, Fact("part due to the depression inside", "mm")]
    tilt_mm: Annotated[float, Fact("part due to lean and roll", "mm")]
    flow_mm: Annotated[float, Fact("part due to the flow", "mm")]
    regime: Annotated[str, Fact("what holds the flow back")]
    bridged: Annotated[bool, Fact("a film closes the drain")]
    overflow_s: Annotated[float | None, Fact("time until it runs over; null: never", "s")]
    overflow_l: Annotated[float, Fact("volume that has run over by the end", "L")]
    held_l: Annotated[float, Fact("volume left in the trough", "L")]


def trough_of(section: Section, floor_width_mm: float, bays: int) -> Trough:
    """Return the trough of a section with the given total clear floor width and bay count."""
    (foot_z, foot_y), (front_z, front_y) = section.foot, section.brink
    return Trough(
        slot_mm=section.drain_mm[1] - section.drain_mm[0],
        width_mm=floor_width_mm / bays,
        length_mm=front_z - foot_z,
        slope_deg=math.degrees(math.atan2(foot_y - front_y, front_z - foot_z)),
        sill_mm=section.sill_top_mm - section.drain_mm[0],
        bays=bays,
    )


def meniscus_head_mm(slot_mm: float) -> float:
    """Return the head that a water film across a slot bears, 2 sigma / (rho g h).

    Examples
    --------
    A slot of 2 mm: 2 x 0.0728 / (9789 x 0.002) m:

    >>> round(meniscus_head_mm(2.0), 2)
    7.44
    """
    return 1000.0 * 2.0 * SURFACE_TENSION_N_M / (slot_mm * 1e-3) / (PASCAL_PER_MM_WATER * 1000.0)


def capillary_head_mm(slot_mm: float) -> tuple[float, bool]:
    """Return the level held back at a drain slot by surface tension, and whether it is bridged.

    Examples
    --------
    A slot higher than the capillary length of 2.73 mm holds a puddle back, 2 x 2.727 x sin 40 mm; a
    lower one the film across it:

    >>> head, bridged = capillary_head_mm(4.0)
    >>> round(head, 2), bridged
    (3.51, False)
    >>> head, bridged = capillary_head_mm(2.0)
    >>> round(head, 2), bridged
    (7.44, True)
    """
    if slot_mm < CAPILLARY_LENGTH_MM:
        return max(puddle_mm(), meniscus_head_mm(slot_mm)), True
    return min(puddle_mm(), slot_mm), False


def overfall_l_min(head_mm_: float, width_mm: float) -> float:
    """Return the flow over a wide brink at a head upstream, (2/3)^1.5 sqrt(g) b h^1.5.

    Examples
    --------
    10 mm over a brink of 100 mm: 0.5443 x 3.1316 x 0.01^1.5 x 0.1 m3/s:

    >>> round(overfall_l_min(10.0, 100.0), 2)
    10.23
    """
    h = max(head_mm_, 0.0) * 1e-3
    q = (2.0 / 3.0) ** 1.5 * math.sqrt(GRAVITY_M_S2) * float(h**1.5)
    return float(q * width_mm * 1e-3 * 60_000.0)


def orifice_l_min(head_mm_: float, slot_mm: float, width_mm: float) -> float:
    """Return the flow through a full slot; the head counts from the slot's lower edge.

    Examples
    --------
    12 mm over the lower edge of a slot 4 mm high and 100 mm wide, 10 mm over its middle:
    0.61 x 4e-4 m2 x sqrt(2 g 0.01 m):

    >>> round(orifice_l_min(12.0, 4.0, 100.0), 2)
    6.48
    """
    h = max(head_mm_ - slot_mm / 2.0, 0.0) * 1e-3
    area = slot_mm * width_mm * 1e-6
    return ORIFICE_CD * area * math.sqrt(2.0 * GRAVITY_M_S2 * h) * 60_000.0


def outflow_l_min(head_mm_: float, slot_mm: float, width_mm: float) -> tuple[float, str]:
    """Return the outflow at a head over the slot's lower edge, and its regime.

    The overfall's depth at the brink is two thirds of the head, so the slot runs full at 1.5 times
    its height; from there the smaller of both laws holds.

    Examples
    --------
    Through a slot 4 mm high and 100 mm wide, a weir up to 6 mm of head:

    >>> flow, law = outflow_l_min(3.0, 4.0, 100.0)
    >>> round(flow, 2), law
    (1.68, 'weir')
    >>> flow, law = outflow_l_min(12.0, 4.0, 100.0)
    >>> round(flow, 2), law
    (6.48, 'orifice')
    """
    weir = overfall_l_min(head_mm_, width_mm)
    if head_mm_ <= 1.5 * slot_mm:
        return weir, "weir"
    full = overfall_l_min(1.5 * slot_mm, width_mm)
    # The orifice law takes over without a drop in flow.
    return min(weir, max(full, orifice_l_min(head_mm_, slot_mm, width_mm))), "orifice"


def head_for_mm(flow_l_min: float, slot_mm: float, width_mm: float) -> float:
    """Return the head that drives a flow out, infinite where none below 10 m does.

    Examples
    --------
    The flow over a brink of 100 mm at 3 mm of head, the other way round:

    >>> round(head_for_mm(1.6806, 4.0, 100.0), 2), head_for_mm(0.0, 4.0, 100.0)
    (3.0, 0.0)
    """
    if flow_l_min <= 0.0:
        return 0.0
    top = 1e4
    if outflow_l_min(top, slot_mm, width_mm)[0] < flow_l_min:
        return math.inf
    return float(
        brentq(lambda h: outflow_l_min(h, slot_mm, width_mm)[0] - flow_l_min, 0.0, top, xtol=1e-9)
    )


def tilt_level_mm(trough: Trough, tilt_deg: float, roll_deg: float) -> float:
    """Return by how much tilt back (towards the cabinet) and roll raise the level at the sill.

    Leaning back turns the floor by the angle about the drain's edge: the sill sinks by the
    floor's length times its sine. Rolling moves a bay's pool to one side.

    Examples
    --------
    A floor 20 mm long that leans back by 5 degrees, 20 sin 5; a bay 50 mm wide that rolls by 3, 25
    tan 3:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=0.0, sill_mm=9.0, bays=2)
    >>> round(tilt_level_mm(trough, 5.0, 0.0), 3), round(tilt_level_mm(trough, 0.0, 3.0), 3)
    (1.743, 1.31)
    """
    back = trough.length_mm * math.sin(math.radians(tilt_deg))
    side = trough.width_mm * math.tan(math.radians(abs(roll_deg))) / 2.0
    return back + side


def pool_volume_l(trough: Trough, level_mm: float) -> float:
    """Return the water standing in all bays up to a level over the drain's edge, as a wedge.

    Examples
    --------
    Two bays of 20 x 50 mm, 3 mm deep, are 6,000 mm3; on a floor that rises by 45 degrees only a
    wedge of 3 x 3 / 2 x 50 mm3 stands in each:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=0.0, sill_mm=9.0, bays=2)
    >>> pool_volume_l(trough, 3.0)
    0.006
    >>> round(pool_volume_l(Trough(4.0, 50.0, 20.0, 45.0, 9.0, 2), 3.0), 6)
    0.00045
    """
    fall = trough.length_mm * math.tan(math.radians(trough.slope_deg))
    bottom = Polygon([(0.0, 0.0), (trough.length_mm, fall), (trough.length_mm, 1e4), (0.0, 1e4)])
    area = bottom.intersection(box(0.0, -1.0, trough.length_mm, max(level_mm, 0.0))).area
    return float(area) * trough.width_mm * trough.bays * 1e-6


def drainage(
    trough: Trough,
    inflow_l_min: float,
    duration_s: float,
    *,
    suction_pa: float,
    tilt_deg: float = 0.0,
    roll_deg: float = 0.0,
    concentration: float = 1.0,
) -> DrainageReport:
    """Return the drainage of one exposure.

    ``inflow_l_min`` is the water reaching all troughs together; ``concentration`` (1 or more) is
    how much more than its share the worst bay gets.

    Raises
    ------
    ValueError
        for a negative inflow or duration, or a trough without a drain

    Examples
    --------
    A minute of 0.8 L/min on two bays of 50 mm. A puddle of 3.51 mm stands anyway; 0.4 L/min over a
    brink of 50 mm need 1.83 mm more, (0.4 / 60,000 / 0.05 / 1.7046)^(2/3) m; the sill is 9 mm high:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=0.0, sill_mm=9.0, bays=2)
    >>> found = drainage(trough, 0.8, 60.0, suction_pa=0.0)
    >>> round(found.capillary_mm, 2), round(found.flow_mm, 2), round(found.margin_mm, 2)
    (3.51, 1.83, 3.67)
    >>> found.regime, found.overflow_l
    ('weir', 0.0)
    """
    if inflow_l_min < 0.0 or not math.isfinite(inflow_l_min):
        raise ValueError(f"inflow must be zero or more, not {inflow_l_min:g} L/min")
    if duration_s < 0.0:
        raise ValueError(f"duration must be zero or more, not {duration_s:g} s")
    if trough.slot_mm <= 0.0 or trough.width_mm <= 0.0:
        raise ValueError("the trough has no drain")
    bay_inflow = inflow_l_min / trough.bays * concentration
    capillary, bridged = capillary_head_mm(trough.slot_mm)
    suction = head_mm(max(suction_pa, 0.0))
    tilt = tilt_level_mm(trough, tilt_deg, roll_deg)
    flow = head_for_mm(bay_inflow, trough.slot_mm, trough.width_mm)
    room = trough.sill_mm - capillary - suction - tilt
    bay_capacity = outflow_l_min(room, trough.slot_mm, trough.width_mm)[0] if room > 0.0 else 0.0
    level = capillary + suction + tilt + flow
    overflow_s: float | None = None
    overflow_l = 0.0
    if bay_inflow > bay_capacity:
        free = max(pool_volume_l(trough, trough.sill_mm - max(tilt, 0.0)), 0.0) / trough.bays
        overflow_s = free / (bay_inflow - bay_capacity) * 60.0
        if overflow_s >= duration_s:
            overflow_s = None
        else:
            excess = (bay_inflow - bay_capacity) * (duration_s - overflow_s) / 60.0
            overflow_l = excess * trough.bays / concentration
    held = min(
        pool_volume_l(trough, min(capillary + suction + max(tilt, 0.0), trough.sill_mm)),
        inflow_l_min * duration_s / 60.0 - overflow_l,
    )
    regime = "none"
    if bay_inflow > 0.0 and math.isfinite(flow):
        regime = outflow_l_min(flow, trough.slot_mm, trough.width_mm)[1]
    elif bay_inflow > 0.0:
        regime = "orifice"
    return DrainageReport(
        inflow_l_min=inflow_l_min,
        capacity_l_min=bay_capacity * trough.bays / concentration,
        level_mm=min(level, 1e4),
        sill_mm=trough.sill_mm,
        margin_mm=max(trough.sill_mm - level, -1e4),
        capillary_mm=capillary,
        suction_mm=suction,
        tilt_mm=tilt,
        flow_mm=min(flow, 1e4),
        regime=regime,
        bridged=bridged,
        overflow_s=overflow_s,
        overflow_l=overflow_l,
        held_l=max(held, 0.0),
    )


def tilt_limit_deg(
    trough: Trough, inflow_l_min: float, *, suction_pa: float, concentration: float = 1.0
) -> float:
    """Return the largest tilt back at which the sill still holds; negative if it must lean out.

    ``concentration`` (1) is that of :func:`drainage`.
    """

    def margin(tilt: float) -> float:
        report = drainage(
            trough,
            inflow_l_min,
            0.0,
            suction_pa=suction_pa,
            tilt_deg=tilt,
            concentration=concentration,
        )
        return report.margin_mm

    angles = np.linspace(-45.0, 45.0, 181)
    holding = [float(a) for a in angles if margin(float(a)) >= 0.0]
    return max(holding) if holding else -90.0


def drain_height_for_mm(
    trough: Trough, inflow_l_min: float, *, suction_pa: float, concentration: float = 1.0
) -> float | None:
    """Return the least drain height (steps of 0.5 mm) that copes, ``None`` if none does.

    The sill is taken to rise with the slot, as it does by default. ``concentration`` (1) is that of
    :func:`drainage`.
    """
    steps = math.floor((DRAIN_SEARCH_MAX_MM - trough.slot_mm) / 0.5)
    for k in range(1, steps + 1):
        slot = trough.slot_mm + 0.5 * k
        bigger = Trough(
            slot,
            trough.width_mm,
            trough.length_mm,
            trough.slope_deg,
            trough.sill_mm + 0.5 * k,
            trough.bays,
        )
        report = drainage(
            bigger, inflow_l_min, 0.0, suction_pa=suction_pa, concentration=concentration
        )
        if report.margin_mm >= 0.0:
            return slot
    return None


def overflow_depression_pa(trough: Trough) -> float:
    """Return the depression at which air breaks in through the drain under a pool at the sill.

    A suction that lifts water by more than the sill's height lets air bubble in through the drain
    and drags the pool along the floor.
    """
    return trough.sill_mm * PASCAL_PER_MM_WATER


def held_on_slats_l(wetted_mm2: float, edge_length_mm: float) -> float:
    """Return the water that stays on slats: a film, and a hanging rim along their lower edges.

    The rim's cross-section is taken as a half disc one capillary length in diameter.
    """
    rim = math.pi * CAPILLARY_LENGTH_MM**2 / 8.0
    return (wetted_mm2 * FILM_MM + edge_length_mm * rim) * 1e-6

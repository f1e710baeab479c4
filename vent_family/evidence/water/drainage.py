"""Does the trough empty faster than it fills? Levels against the sill, per bay.

Heights are water levels over the drain's lower edge, in mm. The level at the sill adds up:

- what surface tension holds before anything runs out (:mod:`vent_family.evidence.water.held`);
- the head that drives the flow out, through the drain and, once the level is up there, over the
  apron as well (:mod:`vent_family.evidence.water.outflow`); a drain that air holds shut stands full
  at the least (:mod:`vent_family.evidence.water.drain_air`);
- what the depression over the pool lifts: p / (rho g), in parts from fan, wind and whatever else
  sucks. The drain counts as full of water, so that all of it acts on the pool;
- what tilting the mounting adds.

Water gets in when the sum exceeds the sill. The time until then is the free volume over the
excess of inflow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Annotated, Final

from shapely.geometry import Polygon, box

from vent_family.base.constants import CAPILLARY_LENGTH_MM, PASCAL_PER_MM_WATER
from vent_family.evidence.facts import Fact
from vent_family.evidence.water.drain_air import DrainAir, drain_air
from vent_family.evidence.water.held import clear_slot_mm
from vent_family.evidence.water.house import FILM, in_force
from vent_family.evidence.water.joined import (
    NEIGHBOURS_MOST,
    Window,
    joined_l_min,
    joined_level_mm,
)
from vent_family.evidence.water.outflow import (
    LEVEL_TOP_MM,
    Slot,
    level_for_mm,
    outflow_l_min,
    rest_mm,
    total_l_min,
)
from vent_family.evidence.water.properties import head_mm
from vent_family.spec.section import Section

TILT_LIMIT_DEG: Final = 45.0
"""Leans beyond this are no mounting tolerance; the largest lean is not looked for above it."""


@dataclass(frozen=True, slots=True)
class Relief:
    """A way out above the drain: its crest over the drain's lower edge and its height, mm."""

    crest_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Trough:
    """What drains: one bay's floor and slot, lengths in mm.

    ``slot_mm`` is the drain's height, ``width_mm`` one bay's floor width, ``length_mm`` the
    floor's length, ``slope_deg`` its fall outwards, ``sill_mm`` the sill over the drain's lower
    edge, ``bays`` how many such bays drain side by side. ``relief`` are the ways out over the
    apron, as wide as the floor (in a round head they are wider), ``clear_share`` what is not
    blocked of the drain's width, ``silted_mm`` what is blocked of its height from below.
    ``window`` is that of the ribs, and ``neighbours`` says how many bays, all on one side, get no
    water but what comes to them through windows.

    A drain that opens downwards counts as one in an upright front: it holds no more, and what
    leads out below it has as much width and the step's height besides.
    """

    slot_mm: float
    width_mm: float
    length_mm: float
    slope_deg: float
    sill_mm: float
    bays: int
    relief: tuple[Relief, ...] = ()
    clear_share: float = 1.0
    silted_mm: float = 0.0
    window: Window | None = None
    neighbours: int = 0

    @property
    def joined(self) -> Trough:
        """The trough of a bay that gets all the water while its neighbours get none."""
        most = min(self.bays - 1, NEIGHBOURS_MOST)
        return replace(self, neighbours=most if self.window is not None else 0)

    def outflow_l_min(self, level_mm: float) -> float:
        """Return what one bay lets out at a level (mm), through its neighbours, too."""
        if self.window is None:
            return total_l_min(self.slots, level_mm)
        return joined_l_min(self.slots, self.window, self.neighbours, level_mm)

    def level_mm(self, flow_l_min: float) -> float:
        """Return the level at which one bay lets out a flow, infinite where none does."""
        return _level_mm(self, flow_l_min, in_force())

    @property
    def drain(self) -> Slot | None:
        """What is open of the drain of one bay, ``None`` where it is blocked altogether."""
        height, width = self.slot_mm - self.silted_mm, self.width_mm * self.clear_share
        return Slot(self.silted_mm, height, width) if height > 0.0 and width > 0.0 else None

    @property
    def slots(self) -> tuple[Slot, ...]:
        """All ways out of one bay, the drain first where it is open."""
        over = tuple(Slot(r.crest_mm, r.height_mm, self.width_mm) for r in self.relief)
        return over if self.drain is None else (self.drain, *over)

    @property
    def rest_mm(self) -> float:
        """Level at which the first way out lets go: what surface tension holds."""
        return rest_mm(self.slots)


@lru_cache(maxsize=4096)
def _level_mm(trough: Trough, flow_l_min: float, _in_force: tuple[tuple[str, float], ...]) -> float:
    """Return the level of a trough; suctions and leans ask for the same one again and again."""
    if trough.window is None:
        return level_for_mm(flow_l_min, trough.slots)
    return joined_level_mm(trough.slots, trough.window, trough.neighbours, flow_l_min)


@dataclass(frozen=True, slots=True)
class DrainageReport:
    """Drainage of one exposure; levels in mm over the drain's lower edge, flows in L/min per vent.

    ``level_mm`` is the level at the sill while water arrives, ``margin_mm`` what the sill stands
    above it. ``capacity_l_min`` is the largest inflow the sill holds back, ``over_apron_l_min`` the
    part of it that leaves over the apron. ``suction_mm`` is ``fan_mm``, ``wind_mm`` and
    ``extra_mm`` together, below zero where they press the pool down. ``overflow_s`` is the time
    until water runs over the sill, ``None`` where it never does. ``overflow_l`` is the volume that
    has run in by the end.
    """

    inflow_l_min: Annotated[float, Fact("water that runs into the trough", "L/min")]
    capacity_l_min: Annotated[float, Fact("largest inflow the sill holds back", "L/min")]
    over_apron_l_min: Annotated[float, Fact("part of it that runs out over the apron", "L/min")]
    level_mm: Annotated[float, Fact("level at the sill", "mm")]
    sill_mm: Annotated[float, Fact("top of the sill", "mm")]
    margin_mm: Annotated[float, Fact("what the sill stands above the level", "mm")]
    capillary_mm: Annotated[float, Fact("part of the level due to surface tension", "mm")]
    suction_mm: Annotated[float, Fact("part due to the depression inside", "mm")]
    fan_mm: Annotated[float, Fact("of that, from the fan", "mm")]
    wind_mm: Annotated[float, Fact("of that, from the wind", "mm")]
    extra_mm: Annotated[float, Fact("of that, from whatever else sucks", "mm")]
    tilt_mm: Annotated[float, Fact("part due to lean and roll", "mm")]
    flow_mm: Annotated[float, Fact("part due to the flow", "mm")]
    regime: Annotated[str, Fact("what holds the flow back")]
    bridged: Annotated[bool, Fact("the drain's upper edge helps to hold the water")]
    overflow_s: Annotated[float | None, Fact("time until it runs over; null: never", "s")]
    overflow_l: Annotated[float, Fact("volume that has run over by the end", "L")]
    held_l: Annotated[float, Fact("volume left in the trough", "L")]


def trough_of(section: Section, floor_width_mm: float, bays: int) -> Trough:
    """Return the trough of a section with the given total clear floor width and bay count."""
    (foot_z, foot_y), (front_z, front_y) = section.foot, section.brink
    bottom, top = section.brink_drain_mm
    return Trough(
        slot_mm=top - bottom,
        width_mm=floor_width_mm / bays,
        length_mm=front_z - foot_z,
        slope_deg=math.degrees(math.atan2(foot_y - front_y, front_z - foot_z)),
        sill_mm=section.sill_top_mm - bottom,
        bays=bays,
        relief=relief_of(section),
        window=_window_of(section),
    )


def _window_of(section: Section) -> Window | None:
    """Return the windows through the ribs, none where the ribs have none."""
    if not section.rib_window:
        return None
    inner, outer, _, top = section.rib_window
    low = 0.5 * (inner[1] + outer[1]) - section.brink[1]
    return Window(outer[0] - inner[0], low, top[1] - inner[1])


def relief_of(section: Section) -> tuple[Relief, ...]:
    """Return the ways out above the drain, below the sill's top: over the apron, over slats.

    The first lies between the apron's top and the lowest slat of the outermost bank, the others
    over the highest edge of a slat of that bank, as high as its passages are wide.
    """
    base = section.brink_drain_mm[0]
    crest = section.window_bottom_mm
    if section.sheltered:
        # Over the apron, in the open gap between two banks.
        ways = [Relief(crest - base, section.ceiling_mm - crest)]
    else:
        ways = [Relief(crest - base, section.channel_mm[0] - crest)]
        outer = sorted(max(y for _, y in s.outline) for s in section.slats if s.bank == 0)
        ways += [Relief(y - base, section.stack.passage_mm) for y in outer]
    return tuple(w for w in ways if base + w.crest_mm < section.sill_top_mm)


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


@lru_cache(maxsize=4096)
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
    wind_pa: float = 0.0,
    extra_pa: float = 0.0,
    tilt_deg: float = 0.0,
    roll_deg: float = 0.0,
    concentration: float = 1.0,
) -> DrainageReport:
    """Return the drainage of one exposure.

    ``inflow_l_min`` is the water reaching all troughs together; ``concentration`` (1 or more) is
    how much more than its share the worst bay gets. ``wind_pa`` and ``extra_pa`` are what wind and
    other suction have in ``suction_pa``; the rest is the fan's.

    Raises
    ------
    ValueError
        for a negative inflow or duration, or a trough without a drain

    Examples
    --------
    A minute of 0.8 L/min on two bays of 50 mm. 5.43 mm stand anyway; 0.4 L/min over a brink of
    50 mm need 1.83 mm more, (0.4 / 60,000 / 0.05 / 1.7046)^(2/3) m; the sill is 9 mm high:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=0.0, sill_mm=9.0, bays=2)
    >>> found = drainage(trough, 0.8, 60.0, suction_pa=0.0)
    >>> round(found.capillary_mm, 2), round(found.flow_mm, 2), round(found.margin_mm, 2)
    (5.43, 1.83, 1.74)
    >>> found.regime, found.overflow_l
    ('weir', 0.0)
    """
    if inflow_l_min < 0.0 or not math.isfinite(inflow_l_min):
        raise ValueError(f"inflow must be zero or more, not {inflow_l_min:g} L/min")
    if duration_s < 0.0:
        raise ValueError(f"duration must be zero or more, not {duration_s:g} s")
    slots, drain = trough.slots, trough.drain
    if drain is None:
        raise ValueError("the trough has no drain")
    bay_inflow = inflow_l_min / trough.bays * concentration
    held = rest_mm(slots)
    # Below zero where air is let out: it presses the pool down.
    suction = head_mm(suction_pa)
    tilt = tilt_level_mm(trough, tilt_deg, roll_deg)
    air = drain_air(suction_pa, drain.height_mm, drain.width_mm, trough.slope_deg, bay_inflow)
    front = trough.level_mm(bay_inflow)
    top = drain.crest_mm + drain.height_mm
    if air.flooded:
        # The air lets no more out before the pool shuts it off.
        front = max(front, top)
    # How high the level in front may stand before water runs over the sill.
    room = trough.sill_mm - suction - tilt
    bay_capacity = trough.outflow_l_min(room)
    if room < top and air.counter_flow_l_min is not None:
        bay_capacity = min(bay_capacity, air.counter_flow_l_min)
    level = max(front + suction + tilt, 0.0) if suction < 0.0 else front + suction + tilt
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
    left = min(
        pool_volume_l(trough, min(held + suction + max(tilt, 0.0), trough.sill_mm)),
        inflow_l_min * duration_s / 60.0 - overflow_l,
    )
    regime = "none"
    if bay_inflow > 0.0:
        head = min(front, LEVEL_TOP_MM) - drain.lets_go_mm
        regime = outflow_l_min(head, drain.height_mm, drain.width_mm)[1]
    per_vent = trough.bays / concentration
    return DrainageReport(
        inflow_l_min=inflow_l_min,
        capacity_l_min=bay_capacity * per_vent,
        over_apron_l_min=total_l_min(slots[1:], room) * per_vent,
        level_mm=min(level, LEVEL_TOP_MM),
        sill_mm=trough.sill_mm,
        margin_mm=max(trough.sill_mm - level, -LEVEL_TOP_MM),
        capillary_mm=held,
        suction_mm=suction,
        fan_mm=head_mm(suction_pa - wind_pa - extra_pa),
        wind_mm=head_mm(wind_pa),
        extra_mm=head_mm(extra_pa),
        tilt_mm=tilt,
        flow_mm=min(front - held, LEVEL_TOP_MM),
        regime=regime,
        bridged=drain.height_mm < clear_slot_mm(),
        overflow_s=overflow_s,
        overflow_l=overflow_l,
        held_l=max(left, 0.0),
    )


def air_in_drain(
    trough: Trough, inflow_l_min: float, *, suction_pa: float, concentration: float = 1.0
) -> DrainAir:
    """Return what the air does that the depression draws in through the drains, per vent.

    ``inflow_l_min``, ``suction_pa`` and ``concentration`` (1) are those of :func:`drainage`: the
    air stops the worst bay first.

    Examples
    --------
    3 Pa draw in 1.34 m/s; two bays of 50 mm let 0.22 L/min out against that:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=5.0, sill_mm=9.0, bays=2)
    >>> air = air_in_drain(trough, 0.8, suction_pa=3.0)
    >>> round(air.speed_m_s, 2), round(air.counter_flow_l_min, 2), air.flooded
    (1.34, 0.22, True)
    """
    return drain_air(
        suction_pa,
        trough.slot_mm,
        trough.width_mm * trough.bays / concentration,
        trough.slope_deg,
        inflow_l_min,
    )


def tilt_limit_deg(
    trough: Trough, inflow_l_min: float, *, suction_pa: float, concentration: float = 1.0
) -> float:
    """Return the largest tilt back at which the sill still holds; negative if it must lean out.

    45 where more would do, -90 where no lean up to 45 outwards does. ``concentration`` (1) is that
    of :func:`drainage`.

    Examples
    --------
    The floor of 20 mm takes the 3.567 mm that the sill of 9 mm stands over what is held:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=0.0, sill_mm=9.0, bays=2)
    >>> round(tilt_limit_deg(trough, 0.0, suction_pa=0.0), 2)
    10.27
    """
    level = drainage(trough, inflow_l_min, 0.0, suction_pa=suction_pa, concentration=concentration)
    sine = level.margin_mm / trough.length_mm
    end = math.sin(math.radians(TILT_LIMIT_DEG))
    if sine < -end:
        return -90.0
    return math.degrees(math.asin(min(sine, end)))


def overflow_depression_pa(trough: Trough) -> float:
    """Return the depression that lifts what surface tension holds up to the sill.

    From there water runs in however little arrives, air bubbles in through the drain and drags the
    pool along the floor.

    Examples
    --------
    9 mm of sill over the 5.433 mm held, 9.789 Pa a millimetre:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=0.0, sill_mm=9.0, bays=2)
    >>> round(overflow_depression_pa(trough), 2)
    34.91
    """
    return max(trough.sill_mm - trough.rest_mm, 0.0) * PASCAL_PER_MM_WATER


def held_on_slats_l(wetted_mm2: float, edge_length_mm: float) -> float:
    """Return the water that stays on slats: a film, and a hanging rim along their lower edges.

    The rim's cross-section is taken as a half disc one capillary length in diameter.
    """
    rim = math.pi * CAPILLARY_LENGTH_MM**2 / 8.0
    return (wetted_mm2 * FILM.now + edge_length_mm * rim) * 1e-6

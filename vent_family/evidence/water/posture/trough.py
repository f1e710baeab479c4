"""Does a vent in any mounting empty faster than it fills?

The laws of outflow and of what surface tension holds are those of an upright trough; here they are
laid over openings that no longer lie level, strip by strip, and the level is held against the
edges over which water would leave outwards and inwards in this mounting.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.optimize import brentq

from vent_family.base.arrays import FloatArray
from vent_family.evidence.water.drainage import DrainageReport
from vent_family.evidence.water.held import clear_slot_mm, held_mm
from vent_family.evidence.water.outflow import outflow_l_min
from vent_family.evidence.water.posture.basin import Basin, Bay, bay_shares, chords
from vent_family.evidence.water.posture.frame import Posture, Vector
from vent_family.evidence.water.properties import head_mm

STRIPS: Final = 24
"""Strips across an opening that lies askew."""
HEAD_MAX_MM: Final = 1e4
"""No outflow needs more head than this, or none drains at all."""


@dataclass(frozen=True, eq=False)
class Way:
    """One opening in the outer plane as strips.

    ``edge_mm`` is the height of each strip's lower edge, ``chord_mm`` what the strip is open above
    it, ``width_mm`` its width.
    """

    edge_mm: FloatArray
    chord_mm: FloatArray
    width_mm: float

    def flow_l_min(self, level_mm: float) -> float:
        """Return the outflow at a level (mm) that has left behind what surface tension holds."""
        return sum(
            outflow_l_min(level_mm - edge, chord, self.width_mm)[0]
            for edge, chord in zip(self.edge_mm, self.chord_mm, strict=True)
            if level_mm > edge and chord > 0.0
        )


@dataclass(frozen=True, eq=False)
class PosedBay:
    """A bay in one mounting; heights in mm as in the basin.

    ``out_mm`` and ``in_mm`` are the levels at which water leaves outwards and inwards, ``held_mm``
    what surface tension holds above ``out_mm``, ``share`` its share of the water.
    """

    bay: Bay
    up: Vector
    share: float
    out_mm: float
    in_mm: float
    held_mm: float
    bridged: bool
    ways: tuple[Way, ...]

    def flow_l_min(self, level_mm: float) -> float:
        """Return the outflow at a level (mm)."""
        return sum(way.flow_l_min(level_mm - self.held_mm) for way in self.ways)

    def over_apron_l_min(self, level_mm: float) -> float:
        """Return what does not leave by the drain at a level (mm)."""
        return sum(way.flow_l_min(level_mm - self.held_mm) for way in self.ways[1:])

    def regime(self, head_mm_: float) -> str:
        """Return what holds the flow back at a head (mm) in the opening that runs first."""
        first = min(self.ways, key=lambda w: float(w.edge_mm.min()))
        k = int(np.argmin(first.edge_mm))
        return outflow_l_min(head_mm_, float(first.chord_mm[k]), first.width_mm)[1]

    def head_mm(self, inflow_l_min: float) -> float:
        """Return the head above ``out_mm`` and what is held that drives an inflow out."""
        if inflow_l_min <= 0.0:
            return 0.0
        # Five figures of the inflow are more than the laws are worth, and many ask for the same.
        return _head_mm(self, float(f"{inflow_l_min:.6g}"))

    def _search_mm(self, inflow_l_min: float) -> float:
        base = self.out_mm + self.held_mm

        def missing(head: float) -> float:
            return self.flow_l_min(base + head) - inflow_l_min

        top = 1.0
        while missing(top) < 0.0:
            top *= 4.0
            if top > HEAD_MAX_MM:
                return math.inf
        return float(brentq(missing, 0.0, top, xtol=1e-7))

    def volume_l(self, level_mm: float) -> float:
        """Return the water that stands in the bay up to a level (mm)."""
        return _volume_mm3(self, round(level_mm, 6)) * 1e-6


@lru_cache(maxsize=4096)
def _head_mm(bay: PosedBay, inflow_l_min: float) -> float:
    return bay._search_mm(inflow_l_min)


@lru_cache(maxsize=4096)
def _volume_mm3(bay: PosedBay, level_mm: float) -> float:
    return bay.bay.volume_mm3(bay.up, level_mm)


@dataclass(frozen=True, eq=False)
class PosedTrough:
    """All bays of a vent in one mounting."""

    bays: tuple[PosedBay, ...]
    upright_sill_mm: float

    @property
    def last_edge_mm(self) -> float:
        """What the last edge inwards stands above what surface tension holds, worst bay."""
        return max(min(b.in_mm - b.out_mm - b.held_mm for b in self.bays), 0.0)

    def drained(
        self,
        inflow_l_min: float,
        duration_s: float,
        *,
        suction_pa: float,
        wind_pa: float = 0.0,
        extra_pa: float = 0.0,
        concentration: float = 1.0,
    ) -> DrainageReport:
        """Return the drainage of the worst bay, flows for the whole vent.

        ``inflow_l_min`` is the water that reaches all bays together; ``concentration`` (1 or more)
        is how much more than its share the worst bay gets. ``wind_pa`` and ``extra_pa`` are parts
        of ``suction_pa``; the rest is the fan's.

        Raises
        ------
        ValueError
            for a negative inflow or duration
        """
        if not inflow_l_min >= 0.0 or not math.isfinite(inflow_l_min):
            raise ValueError(f"inflow must be zero or more, not {inflow_l_min:g} L/min")
        if duration_s < 0.0:
            raise ValueError(f"duration must be zero or more, not {duration_s:g} s")
        suction = max(head_mm(suction_pa), 0.0)
        found = [
            self._of(bay, inflow_l_min, duration_s, suction, concentration) for bay in self.bays
        ]
        worst = min(found, key=lambda r: (r.margin_mm, -r.overflow_l))
        return replace(
            worst,
            fan_mm=head_mm(suction_pa - wind_pa - extra_pa),
            wind_mm=head_mm(wind_pa),
            extra_mm=head_mm(extra_pa),
        )

    def full_after_s(self, inflow_l_min: float, concentration: float = 1.0) -> float | None:
        """Return how long it takes to run over inwards if nothing drains; ``None``: never.

        ``concentration`` (1) is that of :meth:`drained`.
        """
        if inflow_l_min <= 0.0:
            return None
        return min(
            bay.volume_l(max(bay.in_mm, bay.out_mm))
            / (inflow_l_min * min(bay.share * concentration, 1.0))
            * 60.0
            for bay in self.bays
        )

    def _of(
        self, bay: PosedBay, inflow: float, duration_s: float, suction: float, concentration: float
    ) -> DrainageReport:
        share = min(bay.share * concentration, 1.0)
        mine = inflow * share
        flow = bay.head_mm(mine)
        sill = bay.in_mm
        room = max(sill - bay.out_mm, 0.0)
        capacity = bay.flow_l_min(sill - suction) if room > 0.0 else 0.0
        level = bay.held_mm + suction + flow
        tilt = self.upright_sill_mm - room
        overflow_s: float | None = None
        overflow_l = 0.0
        if mine > capacity:
            free_l = bay.volume_l(sill)
            overflow_s = free_l / (mine - capacity) * 60.0
            if overflow_s >= duration_s:
                overflow_s = None
            else:
                overflow_l = (mine - capacity) * (duration_s - overflow_s) / 60.0 / share
        held_at = min(bay.out_mm + bay.held_mm + suction, sill)
        held = bay.volume_l(held_at) / share
        margin = room - level
        return DrainageReport(
            inflow_l_min=inflow,
            capacity_l_min=capacity / share,
            over_apron_l_min=bay.over_apron_l_min(sill - suction) / share if capacity else 0.0,
            level_mm=min(level + tilt, HEAD_MAX_MM),
            sill_mm=self.upright_sill_mm,
            margin_mm=max(margin, -HEAD_MAX_MM),
            capillary_mm=bay.held_mm,
            suction_mm=suction,
            fan_mm=suction,
            wind_mm=0.0,
            extra_mm=0.0,
            tilt_mm=tilt,
            flow_mm=min(flow, HEAD_MAX_MM),
            regime=bay.regime(flow) if mine > 0.0 else "none",
            bridged=bay.bridged,
            overflow_s=overflow_s,
            overflow_l=overflow_l,
            held_l=max(min(held, inflow * duration_s / 60.0 - overflow_l), 0.0),
        )


@lru_cache(maxsize=256)
def posed(basin: Basin, posture: Posture, upright_sill_mm: float) -> PosedTrough:
    """Return the bays of a vent in a mounting.

    ``upright_sill_mm`` is the sill over the drain's lower edge of the upright vent, against which
    the report tells what lean and roll cost.
    """
    up = posture.up
    return PosedTrough(
        bays=tuple(
            _posed(bay, up, share)
            for bay, share in zip(basin.bays, bay_shares(basin.bays), strict=True)
        ),
        upright_sill_mm=upright_sill_mm,
    )


def _posed(bay: Bay, up: Vector, share: float) -> PosedBay:
    dam = bay.dam(up)
    if dam is not None:
        return _dammed(bay, up, share, dam)
    c = math.hypot(up[0], up[1])
    ways = []
    slots = []
    for outline in bay.outlets_mm:
        low, high, width = chords(outline, up, STRIPS)
        edge = c * low + up[2] * bay.front_z_mm
        ways.append(Way(edge, high - low, width))
        slots.append((float(edge.min()), float((high - low).max())))
    # Surface tension holds at the opening over which water leaves first.
    first = min(slots)[1]
    return PosedBay(
        bay=bay,
        up=up,
        share=share,
        out_mm=bay.outwards_mm(up),
        in_mm=bay.over_sill_mm(up),
        held_mm=held_mm(first),
        bridged=first < clear_slot_mm(),
        ways=tuple(ways),
    )


def _dammed(bay: Bay, up: Vector, share: float, dam: FloatArray) -> PosedBay:
    """Return a bay whose water leaves over a slat that grows out of the ceiling below it."""
    at = (np.arange(STRIPS) + 0.5) / STRIPS
    ends = dam @ np.array(up)
    edge = ends[0] + (ends[1] - ends[0]) * at
    # Nothing closes the way over a dam before the room's own height.
    chord = np.full(STRIPS, float((bay.room_mm @ np.array(up)).max()) - float(edge.min()))
    return PosedBay(
        bay=bay,
        up=up,
        share=share,
        out_mm=float(ends.min()),
        in_mm=bay.over_sill_mm(up),
        held_mm=held_mm(float(chord[0])),
        bridged=float(chord[0]) < clear_slot_mm(),
        ways=(Way(edge, chord, float(np.ptp(dam[:, 0])) / STRIPS),),
    )

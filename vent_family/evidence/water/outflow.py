"""How much water runs out of slots in an upright front, by the level behind them.

- A weir until the slot runs full: free overfall of a wide brink, q = (2/3)^1.5 sqrt(g) h^1.5
  (critical depth; textbook), then an orifice, Cd 0.61. At millimetre heads weir laws are upper
  bounds on the flow; the height that surface tension holds back in front makes up for it.
- The head counts from the level at which the slot lets go (:mod:`vent_family.evidence.water.held`).
- The drain is the lowest slot. Above it come the one over the apron and the passages between the
  slats of the outermost bank: what runs out there falls outside, a relief of the trough.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scipy.optimize import brentq

from vent_family.base.constants import GRAVITY_M_S2
from vent_family.evidence.water.held import held_mm
from vent_family.evidence.water.house import ORIFICE_CD

LEVEL_TOP_MM: Final = 1e4
"""No level is looked for above this."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A slot in the front: its lower edge over the drain's, its height and its width, mm."""

    crest_mm: float
    height_mm: float
    width_mm: float

    @property
    def lets_go_mm(self) -> float:
        """Level over the drain's lower edge from which water runs out."""
        return self.crest_mm + held_mm(self.height_mm)

    def flow_l_min(self, level_mm: float) -> float:
        """Return the outflow at a level (mm) over the drain's lower edge."""
        return outflow_l_min(level_mm - self.lets_go_mm, self.height_mm, self.width_mm)[0]


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
    return ORIFICE_CD.now * area * math.sqrt(2.0 * GRAVITY_M_S2 * h) * 60_000.0


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


def rest_mm(slots: Sequence[Slot]) -> float:
    """Return the level (mm) at which the first slot lets go, infinite without a slot."""
    return min((s.lets_go_mm for s in slots), default=math.inf)


def total_l_min(slots: Sequence[Slot], level_mm: float) -> float:
    """Return what all slots together let out at a level (mm).

    Examples
    --------
    3 mm over the 5.433 mm that a drain holds; then 7 mm, and 1 mm (0.32 L/min) over a second slot:

    >>> slots = [Slot(0.0, 4.0, 100.0), Slot(6.0, 4.0, 100.0)]
    >>> round(total_l_min(slots, 8.4334), 2), round(total_l_min(slots, 12.4334), 2)
    (1.68, 5.08)
    """
    return sum(s.flow_l_min(level_mm) for s in slots)


def level_for_mm(flow_l_min: float, slots: Sequence[Slot]) -> float:
    """Return the level at which the slots let out a flow, infinite where none below 10 m does.

    Examples
    --------
    The 1.68 L/min of a drain of 100 mm, the other way round; without a flow what is held:

    >>> slots = [Slot(0.0, 4.0, 100.0)]
    >>> round(level_for_mm(1.6806, slots), 3), round(level_for_mm(0.0, slots), 3)
    (8.433, 5.433)
    """
    low = rest_mm(slots)
    if flow_l_min <= 0.0:
        return low
    if total_l_min(slots, LEVEL_TOP_MM) < flow_l_min:
        return math.inf
    return float(brentq(lambda y: total_l_min(slots, y) - flow_l_min, low, LEVEL_TOP_MM, xtol=1e-9))

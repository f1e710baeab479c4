"""Bays whose floors are one channel: what one of them lets out through its neighbours.

A jet pours into one bay. Where windows in the ribs join the floors, the pool there stands highest,
and water runs on to the next bays, each through a window as through a submerged orifice. How high
each of them stands follows from what it lets out itself and hands on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scipy.optimize import brentq

from vent_family.base.constants import GRAVITY_M_S2
from vent_family.evidence.water.house import ORIFICE_CD
from vent_family.evidence.water.outflow import Slot, level_for_mm, rest_mm, total_l_min

NEIGHBOURS_MOST: Final = 2
"""So many bays help one that gets all the water; what farther ones let out is left out."""


@dataclass(frozen=True, slots=True)
class Window:
    """A window through a rib: its length along the floor, and the middle of its lower edge over the
    drain's lower edge and its height, mm."""

    length_mm: float
    low_mm: float
    height_mm: float

    def flow_l_min(self, level_mm: float, beyond_mm: float) -> float:
        """Return the flow from one bay to the next at their two levels (mm).

        As a submerged orifice, wetted as high as the lower of the two levels.

        Examples
        --------
        10 mm x 5 mm under water, 2 mm of difference: 0.61 x 5e-5 m2 x sqrt(2 g 0.002 m):

        >>> round(Window(10.0, 1.0, 8.0).flow_l_min(8.0, 6.0), 3)
        0.362
        """
        wet = min(max(beyond_mm - self.low_mm, 0.0), self.height_mm)
        head = max(level_mm - beyond_mm, 0.0) * 1e-3
        area = self.length_mm * wet * 1e-6
        return ORIFICE_CD.now * area * math.sqrt(2.0 * GRAVITY_M_S2 * head) * 60_000.0


def joined_l_min(slots: Sequence[Slot], window: Window, neighbours: int, level_mm: float) -> float:
    """Return what a bay and the dry bays beside it let out at the bay's level (mm).

    Parameters
    ----------
    slots
        the ways out of each bay
    window
        the window through each rib
    neighbours
        how many bays stand on its one side; on its other there is a wall
    level_mm
        water level in the bay, over the drain's lower edge, mm

    Examples
    --------
    A bay as wide as its drain, alone; a window as good as none; and one as large as a door, that
    lets a neighbour stand as high:

    >>> slots = [Slot(0.0, 6.0, 25.0)]
    >>> alone = joined_l_min(slots, Window(15.0, 0.7, 8.0), 0, 12.0)
    >>> round(joined_l_min(slots, Window(1e-6, 0.7, 8.0), 1, 12.0) / alone, 3)
    1.0
    >>> round(joined_l_min(slots, Window(1e4, 0.7, 8.0), 1, 12.0) / alone, 3)
    2.0
    """
    own = total_l_min(slots, level_mm)
    rest = rest_mm(slots)
    if neighbours == 0 or level_mm <= rest:
        return own

    def missing(beyond: float) -> float:
        taken = joined_l_min(slots, window, neighbours - 1, beyond)
        return taken - window.flow_l_min(level_mm, beyond)

    # The next bay rises until it lets out what comes to it.
    beyond = float(brentq(missing, rest, level_mm, xtol=1e-6))
    return own + window.flow_l_min(level_mm, beyond)


def joined_level_mm(
    slots: Sequence[Slot], window: Window, neighbours: int, flow_l_min: float
) -> float:
    """Return the level (mm) at which such a bay lets out a flow, infinite where none does.

    ``slots``, ``window`` and ``neighbours`` are those of :func:`joined_l_min`.

    Examples
    --------
    >>> slots, window = [Slot(0.0, 6.0, 25.0)], Window(15.0, 0.7, 8.0)
    >>> flow = joined_l_min(slots, window, 2, 12.0)
    >>> round(joined_level_mm(slots, window, 2, flow), 4)
    12.0
    """
    alone = level_for_mm(flow_l_min, slots)
    if neighbours == 0 or flow_l_min <= 0.0 or not math.isfinite(alone):
        return alone

    def missing(level: float) -> float:
        return joined_l_min(slots, window, neighbours, level) - flow_l_min

    return float(brentq(missing, rest_mm(slots), alone, xtol=1e-6))

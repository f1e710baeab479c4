"""The trough of a vent under one exposure: pool, overflow, lean it bears."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.constants import PASCAL_PER_MM_WATER
from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.water.arrival import Arrival
from vent_family.evidence.water.blocked import BlockedDrain, blocked_drain, full_after_s
from vent_family.evidence.water.drain_air import DrainAir
from vent_family.evidence.water.drainage import (
    DrainageReport,
    Trough,
    air_in_drain,
    drainage,
    overflow_depression_pa,
    tilt_limit_deg,
)
from vent_family.evidence.water.house import TOLERANCE
from vent_family.evidence.water.posture.basin import Basin
from vent_family.evidence.water.posture.frame import Posture
from vent_family.evidence.water.posture.trough import PosedTrough, posed

LEAN_MAX_DEG: Final = 15.0
"""Leans up to which the sill's own sine is what a lean costs: 3 % of its height is left out."""


@dataclass(frozen=True, slots=True)
class Pool:
    """A trough in the air of one exposure, its mounting and its water; ask it about inflows.

    Up to a moderate lean the upright trough's own law answers; a vent that is turned in its
    opening, or lies, has the pool that its room holds in that mounting.
    """

    trough: Trough
    basin: Basin
    point: OperatingPoint
    posture: Posture
    came: Arrival

    @property
    def suction_pa(self) -> float:
        """Depression over the pool."""
        return self.point.depression_pa

    @property
    def upright(self) -> bool:
        """True where the upright trough's law holds."""
        return _upright(self.posture)

    @property
    def overflow_depression_pa(self) -> float:
        """Depression that lifts what surface tension holds over the last edge inwards."""
        return borne_depression_pa(self.trough, self.basin, self.posture)

    def _posed(self, posture: Posture) -> PosedTrough:
        return posed(self.basin, posture, self.trough.sill_mm)

    def drained(self, inflow_l_min: float, more_deg: float = 0.0) -> DrainageReport:
        """Return the drainage of an inflow, the vent leaning and rolled by ``more_deg`` more."""
        if not self.upright:
            # A drain partly blocked lets so much less out, whichever way up it stands.
            trough = self.trough
            clear = trough.clear_share * (1.0 - trough.silted_mm / trough.slot_mm)
            found = self._posed(self.posture.more(more_deg)).drained(
                inflow_l_min / clear,
                self.came.time_s,
                suction_pa=self.suction_pa,
                wind_pa=self.point.wind_pa,
                extra_pa=self.point.extra_pa,
                concentration=self.came.concentration,
            )
            return replace(
                found,
                inflow_l_min=inflow_l_min,
                capacity_l_min=found.capacity_l_min * clear,
                over_apron_l_min=found.over_apron_l_min * clear,
                overflow_l=found.overflow_l * clear,
                held_l=min(found.held_l, inflow_l_min * self.came.time_s / 60.0),
            )
        return drainage(
            self.trough,
            inflow_l_min,
            self.came.time_s,
            suction_pa=self.suction_pa,
            wind_pa=self.point.wind_pa,
            extra_pa=self.point.extra_pa,
            tilt_deg=self.posture.tilt_deg + more_deg,
            roll_deg=more_deg,
            concentration=self.came.concentration,
        )

    def out_of_true(self, inflow_l_min: float) -> DrainageReport:
        """Return the drainage of an inflow in a mounting at the end of its tolerance."""
        return self.drained(inflow_l_min, TOLERANCE.now)

    def air(self, inflow_l_min: float) -> DrainAir:
        """Return what air drawn in through the drain does to an inflow."""
        return air_in_drain(
            self.trough,
            inflow_l_min,
            suction_pa=self.suction_pa,
            concentration=self.came.concentration,
        )

    def blocked(self, inflow_l_min: float) -> BlockedDrain:
        """Return what an inflow does to the trough with a blocked drain."""
        if self.upright:
            full_s = full_after_s(
                self.trough,
                inflow_l_min,
                suction_pa=self.suction_pa,
                tilt_deg=self.posture.tilt_deg,
                concentration=self.came.concentration,
            )
        else:
            posed_trough = self._posed(self.posture)
            full_s = posed_trough.full_after_s(inflow_l_min, self.came.concentration)
        return blocked_drain(
            self.trough,
            lambda trough: replace(self, trough=trough).drained(inflow_l_min),
            full_s,
        )

    def tilt_limit_deg(self, inflow_l_min: float) -> float:
        """Return the lean at which an inflow brings the pool up to the sill."""
        return tilt_limit_deg(
            self.trough,
            inflow_l_min,
            suction_pa=self.suction_pa,
            concentration=self.came.concentration,
        )


def borne_depression_pa(trough: Trough, basin: Basin, posture: Posture) -> float:
    """Return the depression that lifts what surface tension holds over the last edge inwards, Pa.

    That edge is the sill's top, or what lies lowest in a mounting that is turned or lies.
    """
    if _upright(posture):
        return overflow_depression_pa(trough)
    return posed(basin, posture, trough.sill_mm).last_edge_mm * PASCAL_PER_MM_WATER


def _upright(posture: Posture) -> bool:
    return posture.roll_deg == 0.0 and abs(posture.tilt_deg) <= LEAN_MAX_DEG

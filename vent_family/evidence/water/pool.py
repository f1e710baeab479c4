"""The trough of a vent under one exposure: pool, overflow, lean it bears."""

from __future__ import annotations

from dataclasses import dataclass, replace

from vent_family.base.limits import MOUNTING_TOLERANCE
from vent_family.evidence.water.arrival import Arrival
from vent_family.evidence.water.blocked import BlockedDrain, blocked_drain, full_after_s
from vent_family.evidence.water.drainage import DrainageReport, Trough, drainage, tilt_limit_deg


@dataclass(frozen=True, slots=True)
class Pool:
    """A trough under one suction (Pa), lean (deg) and exposure; ask it about inflows."""

    trough: Trough
    suction_pa: float
    tilt_deg: float
    came: Arrival

    def drained(self, inflow_l_min: float, more_deg: float = 0.0) -> DrainageReport:
        """Return the drainage of an inflow, the vent leaning and rolled by ``more_deg`` more."""
        return drainage(
            self.trough,
            inflow_l_min,
            self.came.time_s,
            suction_pa=self.suction_pa,
            tilt_deg=self.tilt_deg + more_deg,
            roll_deg=more_deg,
            concentration=self.came.concentration,
        )

    def out_of_true(self, inflow_l_min: float) -> DrainageReport:
        """Return the drainage of an inflow in a mounting at the end of its tolerance."""
        return self.drained(inflow_l_min, MOUNTING_TOLERANCE.value)

    def blocked(self, inflow_l_min: float) -> BlockedDrain:
        """Return what an inflow does to the trough with a blocked drain."""
        full_s = full_after_s(
            self.trough,
            inflow_l_min,
            suction_pa=self.suction_pa,
            tilt_deg=self.tilt_deg,
            concentration=self.came.concentration,
        )
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

"""Up to which lean and roll a vent holds: mounting after mounting judged, then halved down.

Rolls stand in steps up to upside down, leans from a floor (-90) to a roof (90); each with the other
angle as the row states it. Between the last step at which the row holds and the next, the limit is
halved down to a degree. A vent is the same left and right, so a roll counts for both ways.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from vent_family.base.limits import MOUNTING_ROLL_MAX, MOUNTING_TILT_MAX
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.arrival import arrival
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.drainage import trough_of
from vent_family.evidence.water.frontage import frontage
from vent_family.evidence.water.jets.judge import judge_jet
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.pool import Pool
from vent_family.evidence.water.posture.basin import basin_of
from vent_family.evidence.water.posture.mountings import Mounted, MountingSweep
from vent_family.evidence.water.setup import Setup, setup_of
from vent_family.spec.vent import VentSpec

STEP_DEG: Final = 15.0
FINE_DEG: Final = 1.0
"""Limits are halved down to this."""
FLIGHTS: Final = 20_000
"""Flights for each mounting: a first look. Where chance then decides, the answer is marginal."""


class Sweeper:
    """A vent under its conditions in any mounting; each is judged once."""

    def __init__(
        self, vent: VentSpec, conditions: Conditions, source: AirSource = potential_flow
    ) -> None:
        self._vent = vent
        self._conditions = conditions
        self._source = source
        self._front = frontage(vent)
        self._trough = trough_of(vent.section, self._front.floor_width_mm, self._front.bays)
        self._basin = basin_of(vent)
        self._known: dict[tuple[float, float], Mounted] = {}

    def at(self, tilt_deg: float, roll_deg: float) -> Mounted:
        """Return what is predicted in a mounting; turns beyond half a circle come back."""
        key = (tilt_deg, roll_deg)
        if key not in self._known:
            self._known[key] = self._judged(tilt_deg, roll_deg)
        return self._known[key]

    def _judged(self, tilt_deg: float, roll_deg: float) -> Mounted:
        here = replace(self._conditions, tilt_deg=tilt_deg, roll_deg=roll_deg)
        states = [state for found in here.singles() for state in found]
        worst = Mounted(tilt_deg, roll_deg, "holds", "dry", "none", 0.0)
        for state in states:
            flooded = self._flooded(state)
            if flooded is not None:
                return flooded
        setups: dict[float, Setup] = {}
        for state in states:
            ((point,),) = state.states
            velocity = point.face_velocity_m_s
            if velocity not in setups:
                setups[velocity] = setup_of(self._vent, velocity, here.posture, self._source)
            found = self._one(setups[velocity], state)
            if worst.exposure == "dry" or RANK[found.outcome] > RANK[worst.outcome]:
                worst = found
            if found.outcome == "fails":
                break
        return worst

    def _flooded(self, state: Conditions) -> Mounted | None:
        """Return the answer where not even what surface tension holds stays outside.

        Then no drop need be flown: any water that comes runs in.
        """
        (exposure,) = state.table
        ((point,),) = state.states
        came = arrival(
            exposure, self._front, point.face_velocity_m_s, state.posture, state.cabinet_m2
        )
        pool = Pool(self._trough, self._basin, point, state.posture, came)
        margin = pool.drained(0.0).margin_mm
        if margin >= 0.0 or not float(came.total_l_min.max()) > 0.0:
            return None
        tilt, roll = state.tilt_deg, state.roll_deg
        return Mounted(tilt, roll, "fails", exposure.name, "pool overflow", margin)

    @staticmethod
    def _one(setup: Setup, state: Conditions) -> Mounted:
        (exposure,) = state.table
        if exposure.coherent:
            jet = judge_jet(setup, exposure, state)
            verdict, margin_mm = jet.verdict, setup.trough.sill_mm - jet.filled_pool_mm
        else:
            drops = judge(setup, exposure, state, flights=FLIGHTS)
            verdict, margin_mm = drops.verdict, drops.drainage.margin_mm
        return Mounted(
            tilt_deg=state.tilt_deg,
            roll_deg=state.roll_deg,
            outcome=verdict.outcome,
            exposure=exposure.name,
            mechanism=verdict.mechanism,
            margin_mm=margin_mm,
        )


def mountings_of(
    vent: VentSpec, conditions: Conditions, source: AirSource = potential_flow
) -> MountingSweep:
    """Return how far a vent may lean and be turned under its conditions."""
    sweeper = Sweeper(vent, conditions, source)
    tilt, roll = conditions.tilt_deg, conditions.roll_deg

    def rolled(angle: float) -> Mounted:
        return sweeper.at(tilt, angle)

    def back(angle: float) -> Mounted:
        return sweeper.at(angle, roll)

    def forward(angle: float) -> Mounted:
        return sweeper.at(-angle, roll)

    ways = ((rolled, MOUNTING_ROLL_MAX), (back, MOUNTING_TILT_MAX), (forward, MOUNTING_TILT_MAX))
    holds = [largest_deg(way, end.value, "holds") for way, end in ways]
    bears = [largest_deg(way, end.value, "marginal") for way, end in ways]
    leans = _steps(MOUNTING_TILT_MAX.value)
    return MountingSweep(
        largest_roll_deg=holds[0],
        largest_lean_back_deg=holds[1],
        largest_lean_forward_deg=holds[2],
        marginal_roll_deg=bears[0],
        marginal_lean_back_deg=bears[1],
        marginal_lean_forward_deg=bears[2],
        rolls=tuple(rolled(a) for a in _steps(MOUNTING_ROLL_MAX.value)),
        leans=(*(forward(a) for a in reversed(leans[1:])), *(back(a) for a in leans)),
    )


def _steps(end_deg: float) -> list[float]:
    return [STEP_DEG * k for k in range(round(end_deg / STEP_DEG) + 1)]


def largest_deg(at: Callable[[float], Mounted], end_deg: float, outcome: Outcome) -> float | None:
    """Return the largest angle up to which every step is predicted to do no worse.

    ``at`` judges an angle, ``end_deg`` is the last; ``None`` if it does worse upright.

    Examples
    --------
    >>> def at(angle: float) -> Mounted:
    ...     return Mounted(0.0, angle, "holds" if angle <= 37.0 else "fails", "rain", "none", 1.0)
    >>> largest_deg(at, 180.0, "holds"), largest_deg(at, 30.0, "holds")
    (37.0, 30.0)
    """
    bound = RANK[outcome]

    def good(angle: float) -> bool:
        return RANK[at(angle).outcome] <= bound

    steps = _steps(end_deg)
    bad = next((k for k, angle in enumerate(steps) if not good(angle)), None)
    if bad is None:
        return steps[-1]
    if bad == 0:
        return None
    low, high = steps[bad - 1], steps[bad]
    while high - low > FINE_DEG:
        # Whole degrees: the answer is one.
        middle = FINE_DEG * round(0.5 * (low + high) / FINE_DEG)
        low, high = (middle, high) if good(middle) else (low, middle)
    return low

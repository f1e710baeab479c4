"""What a vent would be classed as, velocity by velocity, as frozen data."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from vent_family.evidence.air.drive import Drive
from vent_family.evidence.air.point import operating_points
from vent_family.evidence.air.resistance import VentAir
from vent_family.evidence.air.summary import RATED_PA, AirSummary
from vent_family.evidence.facts import Fact
from vent_family.evidence.louvre.classes import (
    CORE_VELOCITIES_M_S,
    DischargeClass,
    EffectivenessClass,
    discharge_class,
    effectiveness,
    effectiveness_class,
)
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import EXPOSURES
from vent_family.evidence.water.frontage import frontage
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.setup import setup_of
from vent_family.spec.areas import VentAreas, smallest
from vent_family.spec.vent import VentSpec

RAIN = EXPOSURES["driving_rain"]


@dataclass(frozen=True, slots=True)
class AtVelocity:
    """Effectiveness at one core velocity; the class is that of the lower end of the range."""

    core_velocity_m_s: Annotated[float, Fact("air drawn in, on the core area", "m/s")]
    effectiveness_low: Annotated[float, Fact("severe splash assumption, overflow included", "1")]
    effectiveness_high: Annotated[float, Fact("mild splash assumption", "1")]
    predicted_class: Annotated[EffectivenessClass, Fact("class of the lower end")]


@dataclass(frozen=True, slots=True)
class LouvreReport:
    """Free area, discharge and effectiveness of a vent.

    The core is the open face between drain, ceiling and side walls, ribs taken off;
    ``discharge_coefficient`` (1) stands on it, drawing in at the rated pressure. ``at`` ends
    with the first core velocity whose suction brings the pool over the sill,
    ``overflows_from_m_s``: from there on the class is D.
    """

    core_area_mm2: float
    free_area_mm2: float
    discharge_coefficient: float
    discharge_class: DischargeClass
    at: tuple[AtVelocity, ...]
    overflows_from_m_s: float | None

    @property
    def free_area_percent(self) -> float:
        """The free area in per cent of the core area."""
        return 100.0 * self.free_area_mm2 / self.core_area_mm2

    def label_at(self, core_velocity_m_s: float) -> str:
        """Return both classes at a core velocity (m/s) of the test, as ``B4``.

        Raises
        ------
        KeyError
            for a velocity that is none of the test's
        """
        if core_velocity_m_s not in CORE_VELOCITIES_M_S:
            raise KeyError(core_velocity_m_s)
        found = {at.core_velocity_m_s: at.predicted_class for at in self.at}
        return f"{found.get(core_velocity_m_s, 'D')}{self.discharge_class}"


def louvre_report(
    vent: VentSpec, air: VentAir, summary: AirSummary, areas: VentAreas
) -> LouvreReport:
    """Return how a vent would be classed; ``air``, ``summary`` and ``areas`` are its own."""
    core_m2 = frontage(vent).face_m2
    rated = next(f for f in summary.flows if f.pressure_pa == RATED_PA)
    ideal_m_s = math.sqrt(2.0 * RATED_PA / summary.density_kg_m3)
    coefficient = rated.flow_in_m3_h / 3600.0 / (core_m2 * ideal_m_s)
    at = []
    overflows = None
    for velocity in CORE_VELOCITIES_M_S:
        found, over = _at(vent, air, velocity)
        at.append(found)
        if over:
            overflows = velocity
            break
    return LouvreReport(
        core_area_mm2=core_m2 * 1e6,
        free_area_mm2=smallest(areas.open).area_mm2,
        discharge_coefficient=coefficient,
        discharge_class=discharge_class(coefficient),
        at=tuple(at),
        overflows_from_m_s=overflows,
    )


def _at(vent: VentSpec, air: VentAir, core_velocity_m_s: float) -> tuple[AtVelocity, bool]:
    """Return the effectiveness at a core velocity (m/s), and whether the pool overflows there.

    In the test nothing else sucks or blows.
    """
    drive = Drive(face_velocity_m_s=core_velocity_m_s)
    point = operating_points(air, drive)[0]
    conditions = Conditions((RAIN.name,), point, ((point,),), 0.0, drive, air)
    # The classes are some per cent wide: the first batches of drops are enough.
    setup = setup_of(vent, core_velocity_m_s, conditions.posture)
    found = judge(setup, RAIN, conditions, flights=0)
    low = effectiveness(found.passed_share.high)
    at = AtVelocity(
        core_velocity_m_s=core_velocity_m_s,
        effectiveness_low=low,
        effectiveness_high=effectiveness(found.passed_share.low),
        predicted_class=effectiveness_class(low),
    )
    return at, found.drainage.overflow_s is not None

"""The water check of one exposure, for tests."""

from __future__ import annotations

from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.setup import setup_of
from vent_family.spec.vent import VentSpec


def judged(
    vent: VentSpec, conditions: Conditions, source: AirSource = potential_flow
) -> ExposureReport:
    """Return the report of the first exposure of some conditions, without advice."""
    setup = setup_of(vent, conditions.states[0][0].face_velocity_m_s, conditions.posture, source)
    return judge(setup, conditions.table[0], conditions)

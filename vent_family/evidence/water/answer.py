"""One exposure answered: drops or a full jet, each with a report of its own kind."""

from __future__ import annotations

from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.jets.judge import judge_jet
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.setup import Setup


def answered(
    setup: Setup, exposure: Exposure, conditions: Conditions
) -> ExposureReport | JetReport:
    """Return the report of one exposure; ``setup`` must be made for its air and mounting."""
    if exposure.coherent:
        return judge_jet(setup, exposure, conditions)
    return judge(setup, exposure, conditions)

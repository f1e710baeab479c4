"""One exposure answered: drops or a full jet, each with a report of its own kind."""

from __future__ import annotations

from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.jets.judge import judge_jet
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.passing import FLIGHTS_MAX
from vent_family.evidence.water.report import Reported
from vent_family.evidence.water.setup import Setup


def answered(
    setup: Setup, exposure: Exposure, conditions: Conditions, flights: int = FLIGHTS_MAX
) -> Reported:
    """Return the report of one exposure; ``setup`` must be made for its air and mounting.

    No further batch of drops is begun after so many ``flights``.
    """
    if exposure.coherent:
        return judge_jet(setup, exposure, conditions)
    return judge(setup, exposure, conditions, flights=flights)

"""How a vent stands to the water that is asked of it, as one number to follow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import WATER_FAILS_ML
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.advice import Trials
from vent_family.evidence.water.airfield import potential_flow
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.jets.report import JetReport
from vent_family.evidence.water.passing import FLIGHTS_MAX
from vent_family.evidence.water.quick import estimated
from vent_family.evidence.water.report import Reported, severity
from vent_family.spec.vent import VentSpec

_JET_S: Final = 60.0
"""A full jet's water is told as what passes in a minute, s."""
_HELD: Final = 0.5
"""Share that is left to a vent through which nothing passes, of one that does what is asked."""


@dataclass(frozen=True, slots=True)
class WaterMet:
    """What is predicted of a vent under one water of its row.

    ``passed_ml`` is what passes at most, mL, of a full jet in a minute; as drops are sent by
    chance, it may as well be ``low_ml`` to ``high_ml``, mL: 999 of 1000 samples lie between them.
    """

    name: str
    outcome: Outcome
    passed_ml: float
    low_ml: float
    high_ml: float


@dataclass(frozen=True, slots=True)
class Wetness:
    """What is predicted of a vent under all waters of its row, the worst of all.

    ``passed_ml`` is the water that passes at most, mL; ``share`` (1) is not below 0 where the
    outcome is as good as asked, and farther below the worse it is; ``reason`` names water and
    mechanism. ``each`` tells one water from the other, in the row's order.
    """

    outcome: Outcome
    passed_ml: float
    share: float
    reason: str
    each: tuple[WaterMet, ...] = ()


def wetness(spec: VentSpec, at_least: Outcome, flights: int = FLIGHTS_MAX) -> Wetness:
    """Return how a vent stands to the water of its row.

    Parameters
    ----------
    spec
        the vent
    at_least
        what is asked
    flights
        no further batch of drops is begun after so many

    Raises
    ------
    InputError
        where the row names a fan that cannot be used
    """
    conditions = conditions_of(spec)
    trials = Trials(spec, conditions.vent, potential_flow)
    reports = [max(trials.worst(spec, s, flights), key=severity) for s in conditions.singles()]
    if not reports:
        return Wetness("holds", 0.0, 1.0, "")
    worst = max(reports, key=severity)
    each = tuple(_water(report) for report in reports)
    passed = max(water.passed_ml for water in each)
    over = RANK[worst.verdict.outcome] - RANK[at_least]
    much = passed / (passed + WATER_FAILS_ML.value)
    share = _HELD * (1.0 - much) if over <= 0 else -(over - 1.0 + max(much, 1e-3))
    reason = f"{worst.name}: {worst.verdict.mechanism}"
    return Wetness(worst.verdict.outcome, passed, share, reason, each)


def first_look(spec: VentSpec, at_least: Outcome) -> Wetness:
    """Return how a vent is likely to stand to the water of its row, by few drops on a coarse grid.

    Parameters
    ----------
    spec
        the vent
    at_least
        what is asked

    Raises
    ------
    InputError
        where the row names a fan that cannot be used
    """
    conditions = conditions_of(spec)
    found = estimated(spec, conditions, at_least)
    if not found:
        return Wetness("holds", 0.0, 1.0, "")
    flows = {exposure.name: exposure.flow_l_min for exposure in conditions.table}
    each = []
    for one in found:
        passed = 1000.0 * (one.passed_l or 0.0)
        if one.jet_share is not None:
            passed = 1000.0 * one.jet_share * flows[one.exposure] * _JET_S / 60.0
        each.append(WaterMet(one.exposure, one.outcome, passed, passed, passed))
    worst = min(found, key=lambda one: one.margin)
    outcome = max((one.outcome for one in found), key=lambda o: RANK[o])
    most = max(water.passed_ml for water in each)
    reason = f"{worst.exposure}: {worst.mechanism}"
    return Wetness(outcome, most, worst.margin, reason, tuple(each))


def _water(report: Reported) -> WaterMet:
    outcome = report.verdict.outcome
    if isinstance(report, JetReport):
        passed = 1000.0 * report.inside_share.high * report.flow_l_min * _JET_S / 60.0
        return WaterMet(report.name, outcome, passed, passed, passed)
    passed, chance = 1000.0 * report.passed_l.high, report.sampling.severe_share
    low, high = (1000.0 * report.arriving_l * share for share in (chance.low, chance.high))
    return WaterMet(report.name, outcome, passed, min(low, passed), max(high, passed))

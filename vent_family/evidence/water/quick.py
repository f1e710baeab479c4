"""A first estimate of what a vent lets in: the whole check's models, with few drops and no band.

The air is solved on a coarser grid, drops splash by the assumption that most often lets most
through and by a mild one only, in a tenth of the usual number, and what they do is taken as it
comes, without the interval in which it lies. A full jet is followed at its first aims under two of
its four assumptions. What the closed forms say is said in full: paths, pools, the joint.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.airfield import rough_flow
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.jets.judge import aiming
from vent_family.evidence.water.jets.rules import CLEAN, MID
from vent_family.evidence.water.jets.verdict import jet_outcome
from vent_family.evidence.water.joint import joint_water
from vent_family.evidence.water.judge import agreed, wetting
from vent_family.evidence.water.margins import Part, drops_margin, jet_margin, joint_margin
from vent_family.evidence.water.passing import looked
from vent_family.evidence.water.sampling import Sampler
from vent_family.evidence.water.setup import Setup, setup_of
from vent_family.evidence.water.verdict import outcome_of
from vent_family.spec.vent import VentSpec

_SPLASHES: Final = (1, 3)
"""Corners of the splash bracket that are flown: a mild one, and the one that lets most through."""
_DROPS: Final = 240
"""Drops per splash, were they sent in all batches of a first look."""
_LEAST: Final = 3
_BATCHES: Final = 2


@dataclass(frozen=True, slots=True)
class Estimate:
    """What one exposure is estimated to do to a vent.

    ``margin`` (1) says how far it is from what was asked, and ``mechanism`` what that is about.
    ``passed_l`` is what passes as drops at most, L, ``jet_share`` the mean share of a full jet that
    gets inside at most (1); ``None`` for what does not come that way.
    """

    exposure: str
    outcome: Outcome
    margin: float
    mechanism: str
    passed_l: float | None
    jet_share: float | None


def estimated(
    vent: VentSpec, conditions: Conditions, at_least: Outcome = "holds"
) -> tuple[Estimate, ...]:
    """Return an estimate for each exposure, the worst over the states of fan and wind.

    It errs either way where a vent is near the limit of an outcome; for certainty ask
    :func:`vent_family.evidence.water.screened.screened`.

    Examples
    --------
    >>> from vent_family.catalog.model import CatalogRow
    >>> from vent_family.evidence.water.conditions import conditions_of
    >>> from vent_family.spec.resolve import resolve
    >>> cells = {"part_number": "V", "family": "rectangular", "size": "80x60", "status": "draft"}
    >>> vent = resolve(CatalogRow(**cells, exposure="rain", extra_depression_pa=300.0))
    >>> (found,) = estimated(vent, conditions_of(vent))
    >>> found.outcome, found.mechanism
    ('fails', 'drain blow-in')
    """
    setups: dict[float, Setup] = {}
    found = []
    for states in conditions.singles():
        estimates = []
        for state in states:
            (exposure,) = state.table
            velocity = state.point(exposure.name).face_velocity_m_s
            if velocity not in setups:
                whole = setup_of(vent, velocity, state.posture, rough_flow)
                models = tuple(whole.models[corner] for corner in _SPLASHES)
                setups[velocity] = replace(whole, models=models)
            of = _of_jet if exposure.coherent else _of_drops
            estimates.append(of(setups[velocity], exposure, state, at_least))
        found.append(max(estimates, key=lambda e: (RANK[e.outcome], -e.margin)))
    return tuple(found)


def _of_drops(
    setup: Setup, exposure: Exposure, conditions: Conditions, at_least: Outcome
) -> Estimate:
    wet = wetting(setup, exposure, conditions)
    joint = joint_water(setup, exposure, wet.point, wet.came)
    parts = [joint_margin(joint, at_least)]
    dry = wet.dry(0.0)
    parts.append(drops_margin(dry, at_least))
    outcome, passed_l = agreed(outcome_of(e) for e in dry), None
    if outcome != "fails":
        sampler = Sampler(setup, wet.came, _DROPS, _LEAST)
        for corner in range(sampler.corners):
            sampler.add(corner, np.arange(len(wet.came.elevation_deg)), _BATCHES)
        found = wet.found(looked(setup, sampler))
        middle = [at["mean"] for at in found.values()]
        outcome = agreed(outcome_of(e) for e in middle)
        parts.append(drops_margin(middle, at_least))
        passed_l = found["mean"]["mean"].passed_ml.high / 1000.0
    return _estimate(exposure, [outcome, joint.outcome], parts, passed_l, None)


def _of_jet(
    setup: Setup, exposure: Exposure, conditions: Conditions, at_least: Outcome
) -> Estimate:
    aimed = aiming(setup, exposure, conditions)
    joint = joint_water(setup, exposure, aimed.point, aimed.pool.came)
    if jet_outcome(aimed.evidence()) != "fails":
        aimed.glance((CLEAN, MID))
    evidence = aimed.evidence()
    parts = [joint_margin(joint, at_least), jet_margin(evidence, at_least)]
    outcomes = [jet_outcome(evidence), joint.outcome]
    return _estimate(exposure, outcomes, parts, None, evidence.mean.high)


def _estimate(
    exposure: Exposure,
    outcomes: list[Outcome],
    parts: list[Part],
    passed_l: float | None,
    jet_share: float | None,
) -> Estimate:
    margin, mechanism = min(parts, key=lambda part: part[0])
    outcome = max(outcomes, key=lambda o: RANK[o])
    if outcome == "holds":
        mechanism = "none"
    return Estimate(exposure.name, outcome, margin, mechanism, passed_l, jet_share)

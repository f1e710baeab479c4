"""How far a vent is from the outcome that is asked of it, as one number that a search can follow.

Zero or more is good, below zero is bad, and the number goes steadily from one to the other: what
decides is the least of all its parts. A part is a share of what is there where two lengths or
pressures are compared (the sill's height, the depression that the sill bears), and thousandths by
the decade, a third of the common logarithm, where amounts are that range over many decades: water
that passes, a jet's share, what a joint holds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from vent_family.base.limits import (
    JET_CLEAN_MAX,
    JET_MEAN_MAX,
    JET_WORST_MAX,
    LEVEL_MARGIN_MIN,
    WATER_FAILS_ML,
    WATER_HOLDS_ML,
    WATER_SHARE_MAX,
)
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.jets.verdict import JetEvidence, jet_mechanism, jet_outcome
from vent_family.evidence.water.joint_report import JOINT, JointWater
from vent_family.evidence.water.verdict import Evidence, mechanism_of, outcome_of
from vent_family.spec.sightlines import ENOUGH_MM

DECADES: Final = 3.0
"""So many decades beside its limit are as much as all of a length."""
LEAST: Final = 1e-6
"""No nearer to zero is what is bad, and what passes counts as no less than this part of a limit."""

Part = tuple[float, str]
"""A margin, and what it is about."""


def comes_up_to(outcome: Outcome, at_least: Outcome) -> bool:
    """Return whether an outcome is no worse than another."""
    return RANK[outcome] <= RANK[at_least]


def under(value: float, limit: float) -> float:
    """Return how far an amount lies under its limit, 1.

    ``value`` may have any unit, ``limit`` has the same unit.

    Examples
    --------
    A tenth of the limit, all of it, a thousand times as much:

    >>> [round(under(v, 2.0), 3) + 0.0 for v in (0.2, 2.0, 2000.0)]
    [0.333, 0.0, -1.0]
    """
    if not limit > 0.0:
        return -1.0 if value > 0.0 else 0.0
    return -math.log10(max(value / limit, LEAST)) / DECADES


def on_its_side(margin: float, good: bool) -> float:
    """Return a ``margin`` (1) on the side of zero on which the verdict is."""
    return max(margin, 0.0) if good else min(margin, -LEAST)


def drops_margin(found: Iterable[Evidence], at_least: Outcome) -> Part:
    """Return the margin of what is known of an exposure to drops, and what it is about.

    A vent holds if it does at every end of what is not known, and fails only if it does at all.
    """
    if at_least == "holds":
        return min((_holds(e) for e in found), key=lambda part: part[0])
    if at_least == "marginal":
        return max((_bears(e) for e in found), key=lambda part: part[0])
    return 1.0, "none"


def _holds(e: Evidence) -> Part:
    """Return by how much a vent holds."""
    d, sill = e.drainage, e.drainage.sill_mm
    passed = max(
        e.passed_share.high / WATER_SHARE_MAX.value, e.passed_ml.high / WATER_HOLDS_ML.value
    )
    tilted = max(e.tilted_share / WATER_SHARE_MAX.value, e.tilted_ml / WATER_HOLDS_ML.value)
    parts = [
        _sight(e.sight_margin_mm - ENOUGH_MM),
        _suction(e),
        ((d.margin_mm - LEVEL_MARGIN_MIN.value) / sill, "pool level"),
        (e.drainage_tilted.margin_mm / sill, "mounting tilt"),
        (under(passed, 1.0), "drops"),
        (under(tilted, 1.0), "film on ribs"),
    ]
    return _told(e, parts, outcome_of(e) == "holds")


def _bears(e: Evidence) -> Part:
    """Return by how much a vent does not fail."""
    d = e.drainage
    passed = max(e.passed_share.low / WATER_SHARE_MAX.value, e.passed_ml.low / WATER_FAILS_ML.value)
    parts = [
        _sight(e.sight_margin_mm),
        _suction(e),
        (1.0 if d.overflow_s is None else d.margin_mm / d.sill_mm, "pool overflow"),
        (under(passed, 1.0), "drops"),
    ]
    return _told(e, parts, outcome_of(e) != "fails")


def _sight(margin_mm: float) -> Part:
    """Return what straight paths lack, mm as if they were shares; no more than enough helps."""
    return (1.0 if margin_mm >= 0.0 else margin_mm), "straight path"


def _suction(e: Evidence) -> Part:
    bears = e.overflow_depression_pa
    return (1.0 - e.suction_pa / bears if bears > 0.0 else -1.0), "drain blow-in"


def _told(e: Evidence, parts: list[Part], good: bool) -> Part:
    """Return the least part on its verdict's side; drops by the way that most of them take."""
    margin, about = min(parts, key=lambda part: part[0])
    if about == "drops":
        about = mechanism_of(e)[0]
    return on_its_side(margin, good), about


def joint_margin(joint: JointWater, at_least: Outcome) -> Part:
    """Return the margin of the joint with the panel, and what it is about."""
    drive, holds = joint.drive_high_pa, joint.holds_low_pa
    if at_least == "marginal":
        drive, holds = min(joint.drive_pa, joint.drive_high_pa), joint.holds_high_pa
    margin = under(max(drive, 0.0), holds)
    return on_its_side(margin, comes_up_to(joint.outcome, at_least)), JOINT


def jet_margin(e: JetEvidence, at_least: Outcome) -> Part:
    """Return the margin of what is known of an exposure to a full jet, and what it is about."""
    if at_least == "fails":
        return 1.0, "none"
    bears = e.overflow_depression_pa
    hold = at_least == "holds"
    suction, inflow, capacity = (
        (e.most_suction_pa, e.worst_inflow_l_min, e.least_capacity_l_min)
        if hold
        else (e.suction_pa, e.mean_inflow_l_min, e.capacity_l_min)
    )
    turned = min(
        under(e.mean.high, JET_MEAN_MAX.value),
        under(e.worst.high, JET_WORST_MAX.value),
    )
    nearly = min(
        under(e.mid_mean_share, JET_MEAN_MAX.value),
        under(e.mid_worst_share, JET_WORST_MAX.value),
        under(e.mean.high, JET_CLEAN_MAX.value),
    )
    parts = [
        _sight(e.sight_margin_mm)[0],
        1.0 - suction / bears if bears > 0.0 else -1.0,
        under(inflow, capacity),
        turned if hold else max(turned, nearly),
    ]
    return on_its_side(min(parts), comes_up_to(jet_outcome(e), at_least)), jet_mechanism(e)[0]

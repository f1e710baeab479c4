"""A full jet in one draw: sheets as clean as drawn, and so much beyond them.

The sheets' assumptions lie on a line from lossy over middling to clean; between two of them shares
are read off in proportion. At the clean end the floor may be dry or hold water, whichever lets more
inside, since every jet meets it dry first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.jets.allowance import excess_of
from vent_family.evidence.water.jets.judge import (
    added_to_means,
    added_to_worst,
    judge_jet,
)
from vent_family.evidence.water.jets.report import Band, JetReport
from vent_family.evidence.water.jets.rules import CLEAN, DRY_FLOOR, LOSSY, MID
from vent_family.evidence.water.jets.sweep import jet_of
from vent_family.evidence.water.jets.verdict import JetEvidence, jet_outcome
from vent_family.evidence.water.pool import borne_depression_pa
from vent_family.evidence.water.setup import Setup

_CLEANNESS: Final = (0.0, 0.5, 1.0)
"""Where lossy, middling and clean sheets lie (1)."""


@dataclass(frozen=True, slots=True)
class JetDrawn:
    """A jet in one draw: its outcome, the share that gets inside at the worst aim (1).

    ``spare_l_min`` is what the worst bay drains beyond what it gets.
    """

    outcome: Outcome
    worst_share: float
    spare_l_min: float


def jet_drawn(
    setup: Setup, exposure: Exposure, conditions: Conditions, clean: float, beyond: float
) -> JetDrawn:
    """Return a jet in one draw.

    Parameters
    ----------
    setup, exposure, conditions
        as for :func:`vent_family.evidence.water.jets.judge.judge_jet`
    clean
        how clean its sheets stay: 0 lossy, 0.5 middling, 1 clean (1)
    beyond
        how much is added of what the free-surface solution finds beyond the sheets (1)
    """
    report = judge_jet(setup, exposure, conditions)
    section = setup.scene.section
    excess = excess_of(section)
    jet = jet_of(exposure, conditions.posture)
    means = added_to_means(excess, section, jet)
    mean = _read(report, "inside_share", clean, beyond, means)
    worst = _read(report, "worst_inside_share", clean, beyond, added_to_worst(excess))
    through = exposure.flow_l_min * report.bay_share
    inflow, most = (
        through * _read(report, name, clean) for name in ("trough_share", "worst_trough_share")
    )
    evidence = JetEvidence(
        sight_margin_mm=section.sight.margin_mm,
        suction_pa=report.air.depression_pa,
        most_suction_pa=report.air.depression_pa,
        overflow_depression_pa=borne_depression_pa(setup.trough, setup.basin, conditions.posture),
        mean=Band(mean, mean),
        worst=Band(worst, worst),
        worst_height_mm=report.worst_height_mm,
        worst_elevation_deg=report.worst_elevation_deg,
        mid_mean_share=mean,
        mid_worst_share=worst,
        mean_inflow_l_min=inflow,
        worst_inflow_l_min=most,
        capacity_l_min=report.capacity_l_min,
        least_capacity_l_min=report.capacity_l_min,
    )
    outcome = max(jet_outcome(evidence), report.joint.outcome, key=lambda o: RANK[o])
    return JetDrawn(outcome, worst, report.capacity_l_min - most)


def _read(
    report: JetReport,
    name: str,
    clean: float,
    beyond: float = 0.0,
    added: tuple[float, float] = (0.0, 0.0),
) -> float:
    """Return a share (1) between those of the assumptions.

    So much of ``added`` (1) as ``beyond`` (1) says counts on clean sheets: its first over a pool,
    its second over a dry floor.
    """
    of = {s.assumption: float(getattr(s, name)) for s in report.shares}
    cleanest = max(of[CLEAN.name] + beyond * added[0], of[DRY_FLOOR.name] + beyond * added[1])
    return min(float(np.interp(clean, _CLEANNESS, (of[LOSSY.name], of[MID.name], cleanest))), 1.0)

"""One exposure to a full jet judged: sweeps under every assumption, the trough, the verdict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from vent_family.base.limits import LEVEL_MARGIN_MIN
from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.water.arrival import arrival
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.jets.allowance import SOURCE, Excess, excess_of
from vent_family.evidence.water.jets.report import Band, JetReport, JetShares
from vent_family.evidence.water.jets.rules import ASSUMPTIONS, CLEAN, MID, Assumption
from vent_family.evidence.water.jets.split import breakup_length_mm
from vent_family.evidence.water.jets.sweep import (
    Aim,
    Jet,
    Swept,
    Target,
    glance,
    heights_mm,
    jet_of,
    sweep,
)
from vent_family.evidence.water.jets.verdict import JetEvidence, jet_mechanism, jet_outcome
from vent_family.evidence.water.joint import joint_water
from vent_family.evidence.water.pool import Pool
from vent_family.evidence.water.predicted import Verdict
from vent_family.evidence.water.setup import Setup
from vent_family.spec.section import Section

REFILLED = (MID, CLEAN)
"""Assumptions that are swept again over the filled trough: a higher pool only catches more, which
matters for what runs in and for nothing that the other two could add."""


def judge_jet(setup: Setup, exposure: Exposure, conditions: Conditions) -> JetReport:
    """Return the report of one exposure to a full jet; ``setup`` as for drops."""
    aimed = aiming(setup, exposure, conditions)
    for _ in aimed.swept():
        pass
    evidence, point = aimed.evidence(), aimed.point
    mechanism, reason = jet_mechanism(evidence)
    reason = f"{reason}; air {point.words()}"
    verdict = Verdict(jet_outcome(evidence), mechanism, reason, "", exposure.test)
    joint = joint_water(setup, exposure, point, aimed.pool.came)
    return JetReport(
        name=exposure.name,
        air=point,
        flow_l_min=exposure.flow_l_min,
        speed_m_s=aimed.jet.speed_m_s,
        breakup_length_mm=breakup_length_mm(aimed.jet.bore_mm, aimed.jet.speed_m_s),
        inside_share=evidence.mean,
        worst_inside_share=evidence.worst,
        worst_height_mm=evidence.worst_height_mm,
        worst_elevation_deg=evidence.worst_elevation_deg,
        shares=aimed.shares,
        added_share=aimed.added[0],
        added_worst_share=aimed.added_worst[0],
        added_from=SOURCE,
        bay_share=aimed.bay_share,
        mean_inflow_l_min=evidence.mean_inflow_l_min,
        worst_inflow_l_min=evidence.worst_inflow_l_min,
        capacity_l_min=evidence.least_capacity_l_min,
        start_pool_mm=aimed.start_mm,
        filled_pool_mm=aimed.filled_mm,
        joint=joint,
        verdict=joint.worse_of(verdict),
    )


@dataclass(eq=False)
class Aiming:
    """One exposure to a full jet at one vent, sweep by sweep.

    ``bay_share`` (1) is the part of the jet that one bay gets, ``start_mm`` and ``filled_mm`` what
    stands over the drain's edge before water comes and with the inflow of the worst aim.
    ``added`` (1) and ``added_worst`` (1) are what the free-surface solution adds to the means and
    to the worst aims, over a pool and on a dry floor. ``found`` holds the sweeps so far.
    """

    setup: Setup
    exposure: Exposure
    point: OperatingPoint
    tilt_deg: float
    jet: Jet
    bay_share: float
    pool: Pool
    start_mm: float
    added: tuple[float, float]
    added_worst: tuple[float, float]
    filled_mm: float = 0.0
    found: dict[Assumption, list[Swept]] = field(default_factory=dict)

    def swept(self, order: Sequence[Assumption] = ASSUMPTIONS) -> Iterator[Assumption]:
        """Sweep the vent under one assumption after the other, in an ``order``; yield after each.

        Those of ``REFILLED`` come again over the trough as the worst of the inflows fills it.
        """
        target = target_of(self.setup)
        for assumption in order:
            self.found[assumption] = [sweep(target, self.jet, assumption, self.start_mm)]
            yield assumption
        share = max(f[0].worst_trough.share for f in self.found.values())
        self.filled_mm = _depth_mm(self.pool, self.exposure.flow_l_min * share)
        for assumption in REFILLED:
            self.found[assumption].append(sweep(target, self.jet, assumption, self.filled_mm))
            yield assumption

    def glance(self, order: Sequence[Assumption]) -> None:
        """Follow the first aims alone under some assumptions, in an ``order``."""
        target = target_of(self.setup)
        for assumption in order:
            self.found[assumption] = [glance(target, self.jet, assumption, self.start_mm)]

    @property
    def shares(self) -> tuple[JetShares, ...]:
        """What the sweeps found; nothing of an assumption that was not swept yet."""
        return tuple(worse_of(a, self.found.get(a, [])) for a in ASSUMPTIONS)

    def evidence(self) -> JetEvidence:
        """Return what a verdict rests on; before all is swept, no share can but grow."""
        section, point, shares = self.setup.vent.section, self.point, self.shares
        swept = (f.worst_inside for a in ASSUMPTIONS for f in self.found.get(a, []))
        aim = max(swept, key=lambda a: a.share, default=Aim(0.0, 0.0, 0.0))
        through = self.exposure.flow_l_min * self.bay_share
        return JetEvidence(
            sight_margin_mm=section.sight.margin_mm,
            suction_pa=point.depression_pa,
            most_suction_pa=point.depression_high_pa,
            overflow_depression_pa=self.pool.overflow_depression_pa,
            mean=band_of(shares, "inside_share", self.added),
            worst=band_of(shares, "worst_inside_share", self.added_worst),
            worst_height_mm=aim.height_mm,
            worst_elevation_deg=aim.elevation_deg + self.tilt_deg,
            mid_mean_share=shares[1].inside_share,
            mid_worst_share=shares[1].worst_inside_share,
            mean_inflow_l_min=through * max(s.trough_share for s in shares),
            worst_inflow_l_min=through * max(s.worst_trough_share for s in shares),
            capacity_l_min=_capacity_l_min(self.pool, point.depression_pa),
            least_capacity_l_min=_capacity_l_min(self.pool, point.depression_high_pa),
        )


def aiming(setup: Setup, exposure: Exposure, conditions: Conditions) -> Aiming:
    """Return how a full jet meets a vent, before it is followed; ``setup`` as for drops."""
    point, section = conditions.point(exposure.name), setup.vent.section
    jet = jet_of(exposure, conditions.posture)
    bay_share = min(1.0, setup.front.bay_mm / jet.bore_mm)
    pool = _pool(setup, exposure, conditions, point, bay_share)
    excess = excess_of(section)
    return Aiming(
        setup=setup,
        exposure=exposure,
        point=point,
        tilt_deg=conditions.tilt_deg,
        jet=jet,
        bay_share=bay_share,
        pool=pool,
        start_mm=_depth_mm(pool, 0.0),
        added=added_to_means(excess, section, jet),
        added_worst=added_to_worst(excess),
    )


def target_of(setup: Setup) -> Target:
    """Return what a jet meets at a vent; drips by the splash that lets most of them inside."""
    drips = (setup.drip(corner) for corner in range(len(setup.models)))
    drip = max(drips, key=lambda d: float(d.passes.sum()))
    return Target(setup.scene.section, setup.scene.gravity_m_s2, drip)


def _pool(
    setup: Setup,
    exposure: Exposure,
    conditions: Conditions,
    point: OperatingPoint,
    bay_share: float,
) -> Pool:
    """Return the trough, all of an inflow's share for one bay in that bay."""
    came = arrival(
        exposure, setup.front, point.face_velocity_m_s, conditions.posture, conditions.cabinet_m2
    )
    one_bay = replace(came, concentration=max(1.0, setup.trough.bays * bay_share))
    return Pool(setup.trough.joined, setup.basin, point, conditions.posture, one_bay)


def _depth_mm(pool: Pool, inflow_l_min: float) -> float:
    """Return the water over the drain's edge at an inflow, lean left out, no more than the sill."""
    found = pool.drained(inflow_l_min)
    return min(max(found.level_mm - found.tilt_mm, 0.0), found.sill_mm)


def _capacity_l_min(pool: Pool, suction_pa: float) -> float:
    """Return what one bay carries with the pool by the least margin below the sill."""
    trough = replace(pool.trough, sill_mm=pool.trough.sill_mm - LEVEL_MARGIN_MIN.value)
    lower = replace(pool, trough=trough, point=replace(pool.point, depression_pa=suction_pa))
    return lower.drained(0.0).capacity_l_min / trough.bays * lower.came.concentration


def worse_of(assumption: Assumption, found: list[Swept]) -> JetShares:
    """Return the worse of the sweeps of one assumption, place by place."""
    return JetShares(
        assumption.name,
        max((f.inside_share for f in found), default=0.0),
        max((f.worst_inside.share for f in found), default=0.0),
        max((f.trough_share for f in found), default=0.0),
        max((f.worst_trough.share for f in found), default=0.0),
    )


def added_to_means(excess: Excess, section: Section, jet: Jet) -> tuple[float, float]:
    """Return what is added to the means over a pool and over a dry floor, shares (1).

    Aims at the drain are those that the jet's own width reaches it from.
    """
    low, high = heights_mm(section)
    drain_mm = section.drain_mm[1] - section.drain_mm[0]
    at_drain = min((drain_mm + 0.5 * jet.bore_mm) / (high - low), 1.0)
    front = excess.mean_share * (1.0 - at_drain)
    return front + excess.drain_mean_share * at_drain, front + excess.dry_mean_share * at_drain


def added_to_worst(excess: Excess) -> tuple[float, float]:
    """Return what is added to the worst aims over a pool and over a dry floor, shares (1)."""
    return max(excess.worst_share, excess.drain_worst_share), excess.dry_worst_share


def band_of(shares: tuple[JetShares, ...], name: str, added: tuple[float, float]) -> Band:
    """Return the band of the share ``name`` over all assumptions.

    The first of ``added`` (1) counts in on clean sheets over a pool, the second on a dry floor.
    """
    values = {s.assumption: float(getattr(s, name)) for s in shares}
    upper = [
        value + added[1 if a.dry else 0] if a.dry or a is CLEAN else value
        for a, value in zip(ASSUMPTIONS, values.values(), strict=True)
    ]
    return Band(min(values.values()), min(max(upper), 1.0))

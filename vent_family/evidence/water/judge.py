"""One exposure of one vent: drops, pool, balance and the verdict that follows, without advice."""

from __future__ import annotations

from vent_family.evidence.water.arrival import arrival
from vent_family.evidence.water.balance import balance
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.drainage import overflow_depression_pa
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.passing import passing
from vent_family.evidence.water.pool import Pool
from vent_family.evidence.water.report import ExposureReport, Range, Verdict
from vent_family.evidence.water.setup import Setup
from vent_family.evidence.water.verdict import (
    Evidence,
    drainage_change,
    mechanism_of,
    outcome_of,
)

DROP_MECHANISMS = ("direct drops", "splash", "dripping film", "straight path")


def judge(setup: Setup, exposure: Exposure, conditions: Conditions) -> ExposureReport:
    """Return the report of one exposure; ``setup`` must be made for its air and mounting."""
    point = conditions.point(exposure.name)
    came = arrival(exposure, setup.front, point.face_velocity_m_s)
    drops = passing(setup, exposure, came, conditions.tilt_deg)
    pool = Pool(setup.trough, point, conditions.tilt_deg, came)
    inflow = max(drops.inflows_l_min)
    arriving_l = drops.arriving_l_min * came.time_s / 60.0
    over_l = [pool.drained(q).overflow_l for q in drops.inflows_l_min]
    passed_l = Range.of(
        [share * arriving_l + o for share, o in zip(drops.passed_share, over_l, strict=True)]
    )

    def share(litres: float) -> float:
        return min(litres / arriving_l, 1.0) if arriving_l else 0.0

    evidence = Evidence(
        sight_margin_mm=setup.scene.section.sight.margin_mm,
        passed_share=Range(share(passed_l.low), share(passed_l.high)),
        passed_ml=Range(1000.0 * passed_l.low, 1000.0 * passed_l.high),
        direct_share=drops.ways.direct_share,
        splash_share=drops.ways.air_share - drops.ways.direct_share,
        drip_share=drops.ways.drip_share,
        overflow_share=share(max(over_l)),
        drainage=pool.drained(inflow),
        drainage_tilted=pool.out_of_true(inflow),
        suction_pa=pool.suction_pa,
        overflow_depression_pa=overflow_depression_pa(setup.trough),
    )
    return ExposureReport(
        name=exposure.name,
        air=point,
        worst_elevation_deg=drops.elevation_deg,
        time_s=came.time_s,
        arriving_l=arriving_l,
        passed_l=passed_l,
        passed_share=evidence.passed_share,
        direct_share=evidence.direct_share,
        splash_share=evidence.splash_share,
        drip_share=evidence.drip_share,
        overflow_share=evidence.overflow_share,
        caught_by_bank=drops.ways.bank_share,
        by_diameter=drops.by_diameter,
        drainage=evidence.drainage,
        drainage_tilted=evidence.drainage_tilted,
        drain_air=pool.air(inflow),
        drain_blocked=pool.blocked(inflow),
        tilt_limit_deg=pool.tilt_limit_deg(inflow),
        balance=balance(setup, pool, drops),
        verdict=_verdict(evidence, exposure, pool),
    )


def _verdict(evidence: Evidence, exposure: Exposure, pool: Pool) -> Verdict:
    mechanism, reason = mechanism_of(evidence)
    outcome = outcome_of(evidence)
    change = ""
    if outcome != "holds" and mechanism not in DROP_MECHANISMS:
        change = drainage_change(evidence, pool.trough, pool.came.concentration)
    return Verdict(outcome, mechanism, reason, change, exposure.test)

"""One exposure of one vent: drops, pool, balance and the verdict that follows, without advice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import Final, Literal

from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.outcomes import VERBS, Outcome
from vent_family.evidence.water.arrival import Arrival, arrival
from vent_family.evidence.water.balance import balance
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.exposures import Exposure
from vent_family.evidence.water.joint import joint_water
from vent_family.evidence.water.passing import FLIGHTS_MAX, Passing, passing
from vent_family.evidence.water.pool import Pool
from vent_family.evidence.water.predicted import Verdict
from vent_family.evidence.water.report import ExposureReport, Range, Sampling
from vent_family.evidence.water.sampling import Interval
from vent_family.evidence.water.setup import Setup
from vent_family.evidence.water.verdict import (
    Evidence,
    mechanism_of,
    outcome_of,
)

BY_CHANCE: Final = "marginal because the predicted amount lies within sampling error of the limit"
DROP_MECHANISMS: Final = (
    "direct drops",
    "splash",
    "dripping film",
    "film on ribs",
    "straight path",
)
NOTHING: Final = Range(0.0, 0.0)

End = Literal["low", "mean", "high"]
ENDS: Final[tuple[End, End, End]] = ("low", "mean", "high")


@dataclass(frozen=True, eq=False)
class Weighed:
    """What a verdict on one exposure is made from: its air, its water, and the evidence.

    The first key of ``found`` is the end of the depression's band, the second that of the intervals
    that the samples leave. ``pool`` is the trough in the middle of the band.
    """

    point: OperatingPoint
    came: Arrival
    pool: Pool
    drops: Passing
    found: dict[End, dict[End, Evidence]]

    @property
    def middle(self) -> Evidence:
        """The evidence in the middle of the band and of the intervals."""
        return self.found["mean"]["mean"]


def weigh(
    setup: Setup, exposure: Exposure, conditions: Conditions, *, flights: int = FLIGHTS_MAX
) -> Weighed:
    """Return the evidence of one exposure; ``setup`` must be made for its air and mounting.

    No further drops are sent off after so many ``flights``.
    """
    wet = wetting(setup, exposure, conditions)
    drops = wet.passing(flights)
    return Weighed(wet.point, wet.came, wet.pools["mean"], drops, wet.found(drops))


def judge(
    setup: Setup, exposure: Exposure, conditions: Conditions, *, flights: int = FLIGHTS_MAX
) -> ExposureReport:
    """Return the report of one exposure; ``setup`` must be made for its air and mounting.

    No further drops are sent off after so many ``flights``.
    """
    weighed = weigh(setup, exposure, conditions, flights=flights)
    point, came, drops, found = weighed.point, weighed.came, weighed.drops, weighed.found
    middle, pool = weighed.middle, weighed.pool
    joint = joint_water(setup, exposure, point, came)
    return ExposureReport(
        name=exposure.name,
        air=point,
        worst_elevation_deg=drops.elevation_deg,
        time_s=came.time_s,
        arriving_l=drops.arriving_l_min * came.time_s / 60.0,
        passed_l=Range(middle.passed_ml.low / 1000.0, middle.passed_ml.high / 1000.0),
        passed_share=middle.passed_share,
        sampling=Sampling(
            Range(drops.least_share.low, drops.least_share.high),
            Range(drops.most_share.low, drops.most_share.high),
            drops.splash,
            drops.flown,
        ),
        direct_share=middle.direct_share,
        splash_share=middle.splash_share,
        drip_share=middle.drip_share,
        overflow_share=middle.overflow_share,
        rib_film=setup.ribs.film(drops.ways.bank_share),
        rib_film_tilted=setup.ribs_out_of_true.film(drops.ways.bank_share),
        caught_by_bank=drops.ways.bank_share,
        by_diameter=drops.by_diameter,
        drainage=middle.drainage,
        drainage_tilted=middle.drainage_tilted,
        drain_air=pool.air(middle.drainage.inflow_l_min),
        drain_blocked=pool.blocked(middle.drainage.inflow_l_min),
        tilt_limit_deg=pool.tilt_limit_deg(middle.drainage.inflow_l_min),
        balance=balance(setup, pool, drops),
        joint=joint,
        verdict=joint.worse_of(_verdict(found, exposure, pool)),
    )


@dataclass(frozen=True, eq=False)
class Wetting:
    """One exposure at one vent, before any drop is flown: its water, and the pools it may stand in.

    ``pools`` are those at both ends of the depression's band and in its middle.
    """

    setup: Setup
    point: OperatingPoint
    came: Arrival
    pools: dict[End, Pool]

    def passing(self, flights: int = FLIGHTS_MAX) -> Passing:
        """Return what becomes of the drops; none are sent off after so many ``flights``."""

        @cache
        def by_pool(inflow_l_min: float) -> Outcome | None:
            """Return the outcome if drops pass nothing, ``None`` where the pool alone fails."""
            found = agreed(outcome_of(e) for e in self.dry(inflow_l_min))
            return None if found == "fails" else found

        return passing(self.setup, self.came, by_pool, flights)

    def dry(self, inflow_l_min: float) -> list[Evidence]:
        """Return the evidence of each pool for an inflow, if drops passed nothing."""
        return [_Case(self.setup, p, None).evidence(inflow_l_min) for p in self._each()]

    def _each(self) -> list[Pool]:
        """Return the pools; a band without width has one."""
        return list({id(p): p for p in self.pools.values()}.values())

    def found(self, drops: Passing) -> dict[End, dict[End, Evidence]]:
        """Return the evidence at each end of the depression's band and of the samples' intervals.

        The first key is the end of the band, the second that of the intervals.
        """
        at = {
            id(pool): {end: _Case(self.setup, pool, drops).at(end) for end in ENDS}
            for pool in self._each()
        }
        return {suction: at[id(pool)] for suction, pool in self.pools.items()}


def wetting(setup: Setup, exposure: Exposure, conditions: Conditions) -> Wetting:
    """Return how an exposure meets a vent; ``setup`` must be made for its air and mounting."""
    point, posture = conditions.point(exposure.name), conditions.posture
    came = arrival(exposure, setup.front, point.face_velocity_m_s, posture, conditions.cabinet_m2)
    ends_pa = (point.depression_low_pa, point.depression_pa, point.depression_high_pa)
    made = {
        pa: Pool(setup.trough, setup.basin, replace(point, depression_pa=pa), posture, came)
        for pa in dict.fromkeys(ends_pa)
    }
    pools = {end: made[pa] for end, pa in zip(ENDS, ends_pa, strict=True)}
    return Wetting(setup, point, came, pools)


@dataclass(frozen=True, eq=False)
class _Case:
    """Evidence of one exposure at one suction; for either end of what drops are known to do."""

    setup: Setup
    pool: Pool
    drops: Passing | None

    def at(self, end: End) -> Evidence:
        """Return the evidence at one end of all intervals of the drops."""
        drops = self.drops
        assert drops is not None

        def of(interval: Interval) -> float:
            value: float = getattr(interval, end)
            return value

        arriving_l = drops.arriving_l_min * self.pool.came.time_s / 60.0
        shares = of(drops.least_share), of(drops.most_share)
        inflows = of(drops.least_l_min), of(drops.most_l_min)
        over_l = [self.pool.drained(q).overflow_l for q in inflows]
        film = self.setup.ribs.film(drops.ways.bank_share)
        tilted = self.setup.ribs_out_of_true.film(drops.ways.bank_share).inside_high_share
        # What drips inside, or is thrown back, does not run down a rib besides.
        most = drops.ways.trough_share
        films = (min(film.inside_low_share, most), min(film.inside_high_share, most))
        flown_l = [s * arriving_l + o for s, o in zip(shares, over_l, strict=True)]
        passed_l = [p + f * arriving_l for p, f in zip(flown_l, films, strict=True)]
        tilted_l = max(*passed_l, max(flown_l) + min(tilted, most) * arriving_l)

        def share(litres: float) -> float:
            return min(litres / arriving_l, 1.0) if arriving_l else 0.0

        return self.evidence(
            inflows[1],
            passed_share=Range.of([share(p) for p in passed_l]),
            passed_ml=Range.of([1000.0 * p for p in passed_l]),
            overflow_share=share(max(over_l)),
            film_share=films[1],
            tilted_share=share(tilted_l),
            tilted_ml=1000.0 * tilted_l,
        )

    def evidence(
        self,
        inflow_l_min: float,
        *,
        passed_share: Range = NOTHING,
        passed_ml: Range = NOTHING,
        overflow_share: float = 0.0,
        film_share: float = 0.0,
        tilted_share: float = 0.0,
        tilted_ml: float = 0.0,
    ) -> Evidence:
        """Return the evidence for an inflow and what passes; by default nothing passes."""
        ways = self.drops.ways if self.drops else None
        return Evidence(
            air=self.pool.point,
            sight_margin_mm=self.setup.vent.section.sight.margin_mm,
            passed_share=passed_share,
            passed_ml=passed_ml,
            direct_share=ways.direct_share if ways else 0.0,
            splash_share=ways.air_share - ways.direct_share if ways else 0.0,
            drip_share=ways.drip_share if ways else 0.0,
            overflow_share=overflow_share,
            film_share=film_share,
            tilted_share=tilted_share,
            tilted_ml=tilted_ml,
            drainage=self.pool.drained(inflow_l_min),
            drainage_tilted=self.pool.out_of_true(inflow_l_min),
            suction_pa=self.pool.suction_pa,
            overflow_depression_pa=self.pool.overflow_depression_pa,
        )


def agreed(outcomes: Iterable[Outcome]) -> Outcome:
    """Return the outcome that all agree on; marginal where they do not."""
    found = set(outcomes)
    return found.pop() if len(found) == 1 else "marginal"


def outcome_over(found: dict[End, dict[End, Evidence]]) -> Outcome:
    """Return the outcome over the band of the depression and the intervals of the samples."""
    return agreed(outcome_of(at[end]) for at in found.values() for end in ENDS)


def _verdict(found: dict[End, dict[End, Evidence]], exposure: Exposure, pool: Pool) -> Verdict:
    """Return what is predicted, what limits it and, where a band or chance decides, that it does.

    A vent holds, or fails, only if it does so over the band of the depression and over the
    intervals that the samples leave: the first key of ``found`` is the end of the band, the second
    that of the intervals.
    """
    middle = found["mean"]["mean"]
    alone = outcome_of(middle)
    over_band = {end: outcome_of(at["mean"]) for end, at in found.items()}
    outcome = outcome_over(found)
    mechanism, reason = mechanism_of(middle)
    if outcome != alone:
        if set(over_band.values()) != {alone}:
            other: End = "high" if alone == "holds" else "low"
            there = found[other]["mean"]
            if alone == "holds":
                mechanism, reason = mechanism_of(there)
            reason += (
                f"; it would {VERBS[alone]} at {middle.suction_pa:.0f} Pa and"
                f" {VERBS[over_band[other]]} at {there.suction_pa:.0f} Pa, both within the band of"
                " the depression"
            )
        else:
            if alone == "holds":
                mechanism, _ = mechanism_of(found["high"]["high"])
            reason += f"; {BY_CHANCE}"
    told = f"{reason}; air {pool.point.words()}"
    return Verdict(outcome, mechanism, told, "", exposure.test)

"""From numbers to a plain verdict: holds, marginal or fails, what limits, what would mend it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import (
    LEVEL_MARGIN_MIN,
    WATER_FAILS_ML,
    WATER_HOLDS_ML,
    WATER_SHARE_MAX,
)
from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.drainage import (
    DrainageReport,
)
from vent_family.evidence.water.house import TOLERANCE
from vent_family.evidence.water.report import Range
from vent_family.spec.sightlines import closes

LEVEL_TOLD: Final = ("pool overflow", "pool level")
"""Mechanisms whose reason tells the level of the pool with its parts."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a verdict rests on; shares of the arriving water under the worst splash.

    ``film_share`` gets inside along ribs; ``tilted_share`` and ``tilted_ml`` pass at most where the
    mounting is at the end of its tolerance and the film on the ribs runs accordingly.
    """

    air: OperatingPoint
    sight_margin_mm: float
    passed_share: Range
    passed_ml: Range
    direct_share: float
    splash_share: float
    drip_share: float
    overflow_share: float
    film_share: float
    tilted_share: float
    tilted_ml: float
    drainage: DrainageReport
    drainage_tilted: DrainageReport
    suction_pa: float
    overflow_depression_pa: float


def outcome_of(e: Evidence) -> Outcome:
    """Return the predicted outcome."""
    if e.sight_margin_mm < 0.0 or e.suction_pa >= e.overflow_depression_pa:
        return "fails"
    if e.drainage.overflow_s is not None:
        return "fails"
    low_fails = e.passed_share.low > WATER_SHARE_MAX.value
    if low_fails or e.passed_ml.low > WATER_FAILS_ML.value:
        return "fails"
    holds = (
        e.passed_share.high <= WATER_SHARE_MAX.value
        and e.passed_ml.high <= WATER_HOLDS_ML.value
        and e.drainage.margin_mm >= LEVEL_MARGIN_MIN.value
        and e.drainage_tilted.margin_mm >= 0.0
        and e.tilted_share <= WATER_SHARE_MAX.value
        and e.tilted_ml <= WATER_HOLDS_ML.value
        and closes(e.sight_margin_mm)
    )
    return "holds" if holds else "marginal"


def mechanism_of(e: Evidence) -> tuple[str, str]:
    """Return the limiting mechanism and the sentence that says so with its numbers."""
    if e.sight_margin_mm < 0.0:
        return "straight path", f"a straight path {-e.sight_margin_mm:.2f} mm wide leads inside"
    if e.suction_pa >= e.overflow_depression_pa:
        return (
            "drain blow-in",
            f"a depression of {e.suction_pa:.0f} Pa lifts water over the sill"
            f" (limit {e.overflow_depression_pa:.0f} Pa)",
        )
    if e.drainage.overflow_s is not None:
        return (
            "pool overflow",
            f"{plain(e.drainage.inflow_l_min)} L/min reach the trough, it drains"
            f" {plain(e.drainage.capacity_l_min)} L/min and overflows after"
            f" {plain(e.drainage.overflow_s)} s: {head_words(e.drainage)}",
        )
    shares = {
        "direct drops": e.direct_share,
        "splash": e.splash_share,
        "dripping film": e.drip_share,
        "film on ribs": e.film_share,
    }
    name = max(shares, key=lambda k: shares[k])
    bad_drops = (
        e.passed_share.high > WATER_SHARE_MAX.value or e.passed_ml.high > WATER_HOLDS_ML.value
    )
    passed = "no drop passes"
    if e.passed_ml.high > 0.0:
        ml = plain_range(e.passed_ml.low, e.passed_ml.high)
        share = plain_range(100.0 * e.passed_share.low, 100.0 * e.passed_share.high)
        passed = f"{ml} mL pass ({share} % of what arrives)"
    if bad_drops:
        return name, f"{passed}, most of it by {name}"
    if e.drainage.margin_mm < LEVEL_MARGIN_MIN.value:
        words = (
            f"the pool stays only {e.drainage.margin_mm:.1f} mm below the sill"
            if e.drainage.margin_mm >= 0.0
            else f"the pool would rise {-e.drainage.margin_mm:.1f} mm over the sill"
        )
        return "pool level", f"{words}: {head_words(e.drainage)}"
    if e.drainage_tilted.margin_mm < 0.0:
        return (
            "mounting tilt",
            f"{TOLERANCE.now:g} degrees of lean and roll more let the pool"
            f" over the sill by {-e.drainage_tilted.margin_mm:.1f} mm:"
            f" {head_words(e.drainage_tilted)}",
        )
    if e.tilted_share > WATER_SHARE_MAX.value or e.tilted_ml > WATER_HOLDS_ML.value:
        return (
            "film on ribs",
            f"{TOLERANCE.now:g} degrees of lean and roll more let film on the ribs run behind the"
            f" sill: up to {plain(e.tilted_ml)} mL pass ({plain(100.0 * e.tilted_share)} %)",
        )
    return "none", f"{passed}; the pool stays {e.drainage.margin_mm:.1f} mm below the sill"


def head_words(d: DrainageReport) -> str:
    """Return what makes up the pool's level, in words."""
    return (
        f"{d.flow_mm:.1f} mm from the flow, {d.capillary_mm:.1f} from surface tension,"
        f" {d.suction_mm:.1f} from suction, {d.tilt_mm:.1f} from lean and"
        f" roll, of {d.sill_mm:.1f} mm from drain to sill"
    )


def plain(value: float) -> str:
    """Return a number with two figures, without exponent; below a millionth it is zero.

    ``value`` may have any unit.
    """
    if abs(value) < 1e-6:
        return "0"
    digits = max(0, 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{digits}f}"


def plain_range(low: float, high: float) -> str:
    """Return both ends of a range, or one number where they read the same.

    ``low`` and ``high`` may have any unit.
    """
    a, b = plain(low), plain(high)
    return a if a == b else f"{a} to {b}"

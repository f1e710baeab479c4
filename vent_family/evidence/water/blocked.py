"""A drain blocked by a leaf, lime or insects: half of it, and all of it.

Half is half the width of each bay, or the lower half of the height, over which the water must rise
then. All of it says how long there is to clean the drain: the time from an empty trough until the
pool runs over the sill, or never where the way over the apron carries the inflow.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated

from vent_family.base.limits import LEVEL_MARGIN_MIN
from vent_family.evidence.facts import Fact
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.drainage import (
    DrainageReport,
    Trough,
    pool_volume_l,
    tilt_level_mm,
)
from vent_family.evidence.water.outflow import total_l_min
from vent_family.evidence.water.properties import head_mm


@dataclass(frozen=True, slots=True)
class HalfDrain:
    """The trough with one half of its drain blocked."""

    outcome: Annotated[Outcome, Fact("predicted for the trough alone")]
    margin_mm: Annotated[float, Fact("what the sill stands above the level", "mm")]
    capacity_l_min: Annotated[float, Fact("largest inflow the sill holds back", "L/min")]


@dataclass(frozen=True, slots=True)
class BlockedDrain:
    """The trough with a blocked drain.

    ``full_s`` counts from the first water in an empty trough; ``None`` where it never runs over.
    """

    half_width: Annotated[HalfDrain, Fact("half of each drain's width blocked")]
    lower_half: Annotated[HalfDrain, Fact("the lower half of the drain's height blocked")]
    full_s: Annotated[
        float | None, Fact("drain wholly blocked: time until it runs over; null: never", "s")
    ]


def trough_outcome(report: DrainageReport) -> Outcome:
    """Return what a drainage alone predicts: it runs over, comes near, or does neither."""
    if report.overflow_s is not None:
        return "fails"
    return "holds" if report.margin_mm >= LEVEL_MARGIN_MIN.value else "marginal"


def blocked_drain(
    trough: Trough, drained: Callable[[Trough], DrainageReport], full_s: float | None
) -> BlockedDrain:
    """Return the answer for a blocked drain.

    Parameters
    ----------
    trough
        the trough as it was made
    drained
        drainage of a trough under the exposure in question
    full_s
        time (s) until the pool runs over with the drain blocked altogether
    """

    def half(changed: Trough) -> HalfDrain:
        report = drained(changed)
        return HalfDrain(trough_outcome(report), report.margin_mm, report.capacity_l_min)

    return BlockedDrain(
        half_width=half(replace(trough, clear_share=0.5)),
        lower_half=half(replace(trough, silted_mm=trough.slot_mm / 2.0)),
        full_s=full_s,
    )


def full_after_s(
    trough: Trough,
    inflow_l_min: float,
    *,
    suction_pa: float,
    tilt_deg: float = 0.0,
    concentration: float = 1.0,
) -> float | None:
    """Return how long a trough takes to run over with its drain blocked, ``None``: never.

    What runs out over the apron before it is full is left out, which errs to the short side.
    ``inflow_l_min`` is that of all troughs together, ``concentration`` (1) how much more than its
    share the worst bay gets; ``suction_pa`` acts on what runs out over the apron, ``tilt_deg``
    lowers the sill.

    Examples
    --------
    0.8 L/min into two bays of 20 x 50 mm under a sill of 9 mm, 0.018 L in all:

    >>> trough = Trough(4.0, 50.0, 20.0, slope_deg=0.0, sill_mm=9.0, bays=2)
    >>> round(full_after_s(trough, 0.8, suction_pa=0.0), 2), full_after_s(trough, 0.0, suction_pa=0)
    (1.35, None)
    """
    bay_inflow = inflow_l_min / trough.bays * concentration
    tilt = tilt_level_mm(trough, tilt_deg, 0.0)
    room = trough.sill_mm - head_mm(max(suction_pa, 0.0)) - tilt
    if bay_inflow <= total_l_min(replace(trough, clear_share=0.0).slots, room):
        return None
    volume = pool_volume_l(trough, trough.sill_mm - max(tilt, 0.0)) / trough.bays
    return volume / bay_inflow * 60.0

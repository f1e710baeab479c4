"""From the sweeps to a verdict in words: turns a hose jet, marginal, or fails."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vent_family.base.limits import (
    JET_CLEAN_MAX,
    JET_MEAN_MAX,
    JET_WORST_MAX,
    LEVEL_MARGIN_MIN,
)
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.jets.report import Band

THROUGH_SLATS: Final = "jet through the slats"
"""The mechanism of a jet that passes between the slats, whatever the trough does."""


@dataclass(frozen=True, slots=True)
class JetEvidence:
    """What the verdict on a jet rests on.

    ``sight_margin_mm``, ``suction_pa`` and ``overflow_depression_pa`` as for drops,
    ``most_suction_pa`` the upper end of the depression's band; shares of the jet: means and worst
    aims as bands over all assumptions, ``mid_mean_share`` and ``mid_worst_share`` under the
    middling ones. Inflows of one bay and its capacity in L/min, at the greatest and at the nominal
    depression.
    """

    sight_margin_mm: float
    suction_pa: float
    most_suction_pa: float
    overflow_depression_pa: float
    mean: Band
    worst: Band
    worst_height_mm: float
    worst_elevation_deg: float
    mid_mean_share: float
    mid_worst_share: float
    mean_inflow_l_min: float
    worst_inflow_l_min: float
    capacity_l_min: float
    least_capacity_l_min: float

    @property
    def blown_in(self) -> bool:
        """True if the depression lifts water over the sill."""
        return self.suction_pa >= self.overflow_depression_pa

    @property
    def perhaps_blown_in(self) -> bool:
        """True if the upper end of the depression's band does."""
        return self.most_suction_pa >= self.overflow_depression_pa

    @property
    def turned(self) -> bool:
        """True if the slats turn the jet under every assumption."""
        return self.mean.high <= JET_MEAN_MAX.value and self.worst.high <= JET_WORST_MAX.value

    @property
    def nearly(self) -> bool:
        """True if they do under the middling ones, and nearly under the rest."""
        return (
            self.mid_mean_share <= JET_MEAN_MAX.value
            and self.mid_worst_share <= JET_WORST_MAX.value
            and self.mean.high <= JET_CLEAN_MAX.value
        )

    @property
    def drains(self) -> bool:
        """True if the worst bay carries its inflow even at the greatest depression."""
        return self.worst_inflow_l_min <= self.least_capacity_l_min

    @property
    def drains_mean(self) -> bool:
        """True if it carries the mean inflow."""
        return self.mean_inflow_l_min <= self.capacity_l_min


def jet_outcome(e: JetEvidence) -> Outcome:
    """Return the predicted outcome for a jet."""
    if e.sight_margin_mm < 0.0 or e.blown_in or not e.drains_mean:
        return "fails"
    if not (e.turned or e.nearly):
        return "fails"
    return "holds" if e.turned and e.drains and not e.perhaps_blown_in else "marginal"


def jet_mechanism(e: JetEvidence) -> tuple[str, str]:
    """Return what limits a vent against a jet, and the sentence with its numbers."""
    inside = (
        f"{_percent(e.mean.low)} to {_percent(e.mean.high)} % of the jet gets inside on average"
        f" over heights and elevations, up to {_percent(e.worst.high)} % at the worst aim (height"
        f" {e.worst_height_mm:.0f} mm, {direction_words(e.worst_elevation_deg)})"
    )
    bay = (
        f"the worst bay gets {e.worst_inflow_l_min:.1f} L/min, on average"
        f" {e.mean_inflow_l_min:.1f}, and carries {e.least_capacity_l_min:.1f} with the pool"
        f" {LEVEL_MARGIN_MIN.value:g} mm below the sill"
    )
    if e.sight_margin_mm < 0.0:
        return "straight path", f"a straight path leads inside; {inside}"
    if e.blown_in:
        return (
            "drain blow-in",
            f"a depression of {e.suction_pa:.0f} Pa lifts water over the sill"
            f" (limit {e.overflow_depression_pa:.0f} Pa); {inside}",
        )
    if not e.turned and not e.nearly:
        return THROUGH_SLATS, f"{inside}; {bay}"
    if not e.drains:
        return "pool overflow", f"{bay}; {inside}"
    if not e.turned:
        return THROUGH_SLATS, f"{inside}; {bay}"
    if e.perhaps_blown_in:
        return (
            "drain blow-in",
            f"a depression of {e.most_suction_pa:.0f} Pa, within its band, lifts water over the"
            f" sill (limit {e.overflow_depression_pa:.0f} Pa); {inside}",
        )
    return "none", f"{inside}; {bay}"


def _percent(share: float) -> str:
    """Return a share in per cent with two figures, nothing below a ten thousandth of a per cent."""
    percent = 100.0 * share
    return "0" if percent < 1e-4 else f"{percent:.2g}"


def direction_words(elevation_deg: float) -> str:
    """Return where a jet comes from, in words.

    Examples
    --------
    >>> direction_words(4.2), direction_words(-30.0), direction_words(0.0)
    ('4 degrees from above', '30 degrees from below', 'level')
    """
    if abs(elevation_deg) < 0.5:
        return "level"
    return f"{abs(elevation_deg):.0f} degrees from {'above' if elevation_deg > 0.0 else 'below'}"

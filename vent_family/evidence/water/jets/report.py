"""What is told of a full jet: shares of it that get inside, and whether the trough copes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.water.joint_report import JOINT_FACT, JointWater
from vent_family.evidence.water.predicted import (
    AIR_FACT,
    STATES_FACT,
    VERDICT_FACT,
    StateVerdict,
    Verdict,
    with_states,
)

BAND: Final = "unit of the band"
NOT_MODELLED: Final = (
    "Not modelled: spray that flies far, sheets that meet, passages that run full, spread"
    " sideways and ribs; the worst bay is given the whole jet. Not tested, no rating"
)


@dataclass(frozen=True, slots=True)
class Band:
    """The least and the largest answer of all assumptions, in the unit of the band."""

    low: Annotated[float, Fact("least of the assumptions", BAND)]
    high: Annotated[float, Fact("largest of the assumptions, with what the check adds", BAND)]


@dataclass(frozen=True, slots=True)
class JetShares:
    """Shares of the jet under one assumption, the worse of the pool at the start and filled."""

    assumption: Annotated[str, Fact("what is assumed of sheets of water")]
    inside_share: Annotated[float, Fact("gets inside, mean over heights and elevations", "1")]
    worst_inside_share: Annotated[float, Fact("gets inside at the worst aim", "1")]
    trough_share: Annotated[float, Fact("runs into the trough, mean", "1")]
    worst_trough_share: Annotated[float, Fact("runs into the trough at the worst aim", "1")]


@dataclass(frozen=True, slots=True)
class JetReport:
    """One exposure to a full jet, swept over the front and the drain.

    Shares are of the jet's water. ``inside_share`` and ``worst_inside_share`` span all
    assumptions; their upper ends hold what is added for the difference to an independent
    free-surface solution. ``worst_height_mm`` and ``worst_elevation_deg`` (above the horizon) say
    where the jet then comes from. Inflows are those of the bay that gets ``bay_share`` of the jet,
    ``capacity_l_min`` what one bay carries with the pool 1 mm below the sill, pool depths are over
    the drain's lower edge. ``breakup_length_mm`` is how far a sheet flies before it becomes drops.
    """

    name: Annotated[str, Fact("name of the exposure")]
    air: Annotated[OperatingPoint, AIR_FACT]
    flow_l_min: Annotated[float, Fact("water of the jet", "L/min")]
    speed_m_s: Annotated[float, Fact("speed of the jet", "m/s")]
    breakup_length_mm: Annotated[float, Fact("break-up length of a sheet from its impact on", "mm")]
    inside_share: Annotated[
        Band,
        Fact(
            "share of the jet that gets inside, mean over heights and elevations",
            "1",
            attribute=(
                Shown("water_{name}_inside_low_share", "1", of=lambda e: e.inside_share.low),
                Shown("water_{name}_inside_high_share", "1", of=lambda e: e.inside_share.high),
            ),
        ),
    ]
    worst_inside_share: Annotated[
        Band,
        Fact(
            "share of the jet that gets inside at the worst aim",
            "1",
            attribute=Shown(
                "water_{name}_inside_worst_share", "1", of=lambda e: e.worst_inside_share.high
            ),
        ),
    ]
    worst_height_mm: Annotated[float, Fact("height of the worst aim in the outer plane", "mm")]
    worst_elevation_deg: Annotated[float, Fact("where the worst jet comes from", "deg")]
    shares: Annotated[tuple[JetShares, ...], Fact("assumption by assumption, nothing added")]
    added_share: Annotated[float, Fact("added to the mean for the free-surface solution", "1")]
    added_worst_share: Annotated[float, Fact("added to the worst aim for it", "1")]
    added_from: Annotated[str, Fact("where these come from")]
    bay_share: Annotated[float, Fact("share of the jet that one bay may get", "1")]
    mean_inflow_l_min: Annotated[float, Fact("inflow of that bay, mean over the aims", "L/min")]
    worst_inflow_l_min: Annotated[
        float,
        Fact("inflow of that bay at the worst aim", "L/min", attribute="water_{name}_inflow_l_min"),
    ]
    capacity_l_min: Annotated[
        float,
        Fact(
            "what a bay carries with the pool 1 mm below the sill",
            "L/min",
            attribute="water_{name}_bay_capacity_l_min",
        ),
    ]
    start_pool_mm: Annotated[float, Fact("water in the trough at the start", "mm")]
    filled_pool_mm: Annotated[float, Fact("water in the trough after filling", "mm")]
    joint: Annotated[JointWater, JOINT_FACT]
    verdict: Annotated[Verdict, VERDICT_FACT]
    states: Annotated[tuple[StateVerdict, ...], STATES_FACT] = ()

    def sentence(self) -> str:
        """Return the verdict as one line, with what is not modelled."""
        v = self.verdict
        text = f"{self.name}: predicted to {_WORDS[v.outcome]}; {v.reason}"
        if v.change:
            text += f"; {v.change}"
        text = f"{text}. {NOT_MODELLED}. Decided by: {v.deciding_test}."
        return with_states(text, self.states)


_WORDS: Final = {
    "holds": "turn a hose jet",
    "marginal": "be marginal against a hose jet",
    "fails": "fail against a hose jet",
}

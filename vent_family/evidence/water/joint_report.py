"""What is told of the joint with the panel under one exposure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final

from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.outcomes import RANK, VERBS, Outcome
from vent_family.evidence.water.predicted import Verdict

JOINT: Final = "joint with the panel"
"""The mechanism of water that gets in beside the vent."""


@dataclass(frozen=True, slots=True)
class JointWater:
    """The joint under one exposure, at the side where water comes nearest to getting in."""

    outcome: Annotated[Outcome, Fact("predicted outcome of the joint alone")]
    side: Annotated[str, Fact("side of the opening where it comes nearest")]
    gap_mm: Annotated[float | None, Fact("gap under the cover there; null: a gasket", "mm")]
    head_mm: Annotated[float, Fact("water that stands over the opening's edge there", "mm")]
    push_pa: Annotated[float, Fact("push of spray or jet", "Pa")]
    drive_pa: Annotated[float, Fact("what presses water in, all together", "Pa")]
    drive_high_pa: Annotated[float, Fact("the same at the upper end of the depression", "Pa")]
    holds_pa: Annotated[float, Fact("what the joint holds back", "Pa")]
    holds_low_pa: Annotated[float, Fact("the least of it: coarse flatness, relaxed gasket", "Pa")]
    holds_high_pa: Annotated[float, Fact("the most of it: fine flatness, new gasket", "Pa")]
    leak_l_min: Annotated[float, Fact("what runs in there as long as it is wet", "L/min")]
    leak_high_l_min: Annotated[float, Fact("the most of it", "L/min")]
    reason: Annotated[str, Fact("why")]

    def sentence(self, exposure: str) -> str:
        """Return the joint's part of the answer as one line."""
        return (
            f"{exposure}, joint with the panel: predicted to {VERBS[self.outcome]}; {self.reason}."
        )

    def worse_of(self, verdict: Verdict) -> Verdict:
        """Return a verdict on the vent, the joint's in its place where that is worse."""
        if RANK[self.outcome] <= RANK[verdict.outcome]:
            return verdict
        return replace(
            verdict,
            outcome=self.outcome,
            mechanism=JOINT,
            reason=f"{self.reason}; otherwise {verdict.reason}",
        )


JOINT_FACT: Final = Fact(
    "the joint with the panel",
    attribute=(
        Shown("water_{name}_joint_predicted", "", of=lambda e: e.joint.outcome),
        Shown("water_{name}_joint_drive_pa", "Pa", of=lambda e: e.joint.drive_pa),
        Shown("water_{name}_joint_holds_pa", "Pa", of=lambda e: e.joint.holds_pa),
        Shown("water_{name}_joint_leak_l_min", "L/min", of=lambda e: e.joint.leak_l_min),
    ),
)
"""Fact of the joint in the report of an exposure."""

"""What is predicted of one exposure: outcome, what limits it, in which states of the air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final, Protocol

from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.outcomes import VERBS, Outcome

AIR_FACT: Final = Fact(
    "operating point of the vent",
    attribute=(
        Shown(
            "water_{name}_depression_pa",
            "Pa",
            of=lambda e: None if e.air.usual else e.air.depression_pa,
        ),
        Shown(
            "water_{name}_face_velocity_m_s",
            "m/s",
            of=lambda e: None if e.air.usual else e.air.face_velocity_m_s,
        ),
    ),
)
"""Fact of the operating point in the report of an exposure."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Predicted outcome of one exposure, what limits it, and what would mend it."""

    outcome: Annotated[Outcome, Fact("predicted outcome")]
    mechanism: Annotated[str, Fact("what limits it")]
    reason: Annotated[str, Fact("why")]
    change: Annotated[str, Fact("a change that was tried and helps")]
    deciding_test: Annotated[str, Fact("the accredited test that decides")]

    def sentence(self, exposure: str) -> str:
        """Return the verdict as one line."""
        text = f"{exposure}: predicted to {VERBS[self.outcome]}; {self.reason}"
        if self.change:
            text += f"; {self.change}"
        return f"{text}. Decided by: {self.deciding_test}."


VERDICT_FACT: Final = Fact(
    "predicted outcome",
    attribute=(
        Shown("water_{name}_predicted", "", of=lambda e: e.verdict.outcome, rank=-1),
        Shown("water_{name}_limited_by", "", of=lambda e: e.verdict.mechanism, rank=-1),
        Shown("water_{name}_decided_by", "", of=lambda e: e.verdict.deciding_test),
    ),
)
"""Fact of the verdict in the report of an exposure."""
STATES_FACT: Final = Fact("states of fan and wind where there are several; the worst governs")
"""Fact of the states in the report of an exposure."""


class StateReport(Protocol):
    """A report of one exposure in one state of fan and wind."""

    @property
    def air(self) -> OperatingPoint:
        """Operating point of the vent."""

    @property
    def verdict(self) -> Verdict:
        """What is predicted."""


@dataclass(frozen=True, slots=True)
class StateVerdict:
    """Outcome of one exposure in one state of fan and wind; the worst state governs."""

    air: Annotated[OperatingPoint, Fact("operating point in this state")]
    outcome: Annotated[Outcome, Fact("predicted outcome in this state")]
    mechanism: Annotated[str, Fact("what limits it")]

    @classmethod
    def of(cls, report: StateReport) -> StateVerdict:
        """Return the outcome of a report."""
        return cls(report.air, report.verdict.outcome, report.verdict.mechanism)


def with_states(text: str, states: tuple[StateVerdict, ...]) -> str:
    """Return a verdict's line with each state of fan and wind named."""
    if not states:
        return text
    told = "; ".join(f"{s.air.state}: {s.outcome}" for s in states)
    return f"{text} The worst of {told}."

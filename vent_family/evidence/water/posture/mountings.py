"""What is predicted of a vent in all mountings: how far it may lean and be turned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from vent_family.evidence.facts import Fact, Shown
from vent_family.evidence.outcomes import Outcome


@dataclass(frozen=True, slots=True)
class Mounted:
    """What is predicted in one mounting: the worst outcome of all exposures, and what limits it."""

    tilt_deg: Annotated[float, Fact("lean, face upwards", "deg")]
    roll_deg: Annotated[float, Fact("turn in the opening", "deg")]
    outcome: Annotated[Outcome, Fact("worst predicted outcome of all exposures")]
    exposure: Annotated[str, Fact("the exposure that decides")]
    mechanism: Annotated[str, Fact("what limits it")]
    margin_mm: Annotated[
        float, Fact("what the edge inwards stands above the pool, worst exposure", "mm")
    ]


@dataclass(frozen=True, slots=True)
class MountingSweep:
    """How far a vent may lean and be turned; angles from upright, ``None`` where it never holds."""

    largest_roll_deg: Annotated[
        float | None,
        Fact(
            "largest turn in the opening, either way, up to which it holds",
            "deg",
            attribute=Shown("water_largest_roll_deg", "deg", of=lambda s: s.largest_roll_deg),
        ),
    ]
    largest_lean_back_deg: Annotated[
        float | None,
        Fact(
            "largest lean back, face upwards, up to which it holds",
            "deg",
            attribute=Shown(
                "water_largest_lean_back_deg", "deg", of=lambda s: s.largest_lean_back_deg
            ),
        ),
    ]
    largest_lean_forward_deg: Annotated[
        float | None,
        Fact(
            "largest lean forwards, face downwards, up to which it holds",
            "deg",
            attribute=Shown(
                "water_largest_lean_forward_deg", "deg", of=lambda s: s.largest_lean_forward_deg
            ),
        ),
    ]
    marginal_roll_deg: Annotated[
        float | None, Fact("largest turn up to which it is marginal at most", "deg")
    ]
    marginal_lean_back_deg: Annotated[
        float | None, Fact("largest lean back up to which it is marginal at most", "deg")
    ]
    marginal_lean_forward_deg: Annotated[
        float | None, Fact("largest lean forwards up to which it is marginal at most", "deg")
    ]
    rolls: Annotated[tuple[Mounted, ...], Fact("turned in the opening, step by step")]
    leans: Annotated[tuple[Mounted, ...], Fact("leaning, step by step, face down first")]

    def sentence(self) -> str:
        """Return the limits in words."""
        turned = _words(self.largest_roll_deg, self.marginal_roll_deg)
        back = _words(self.largest_lean_back_deg, self.marginal_lean_back_deg)
        forward = _words(self.largest_lean_forward_deg, self.marginal_lean_forward_deg)
        return (
            f"predicted to hold turned in its opening {turned}, leaning back {back}, leaning"
            f" forwards {forward}"
        )


def _words(holds: float | None, marginal: float | None) -> str:
    if holds is None:
        if marginal is None:
            return "at no angle"
        return f"at no angle (marginal up to {marginal:g} degrees)"
    if marginal is None or marginal <= holds:
        return f"up to {holds:g} degrees"
    return f"up to {holds:g} degrees (marginal up to {marginal:g})"

"""What is left of the air when half of the inlet is clogged."""

from __future__ import annotations

from dataclasses import dataclass, replace

from vent_family.base.limits import HALF_BLOCKED
from vent_family.evidence.air.predicted import Predicted, predict
from vent_family.evidence.air.question import Question


@dataclass(frozen=True)
class Clogged:
    """A cabinet with half of its inlet clogged.

    ``what`` is clogged, ``share`` of it (1), ``predicted`` what then happens.
    """

    what: str
    share: float
    predicted: Predicted


def clogged_words(question: Question) -> str:
    """Return what clogs: guard and filter if there are any, else slats and screen."""
    return question.inlet.clogs


def clogged_question(question: Question) -> Question:
    """Return the same question with half of the inlet clogged; the outlet stays clean."""
    half = question.inlet.blocked(HALF_BLOCKED.value)
    return replace(question, inlet=half, outlet=question.leaving)


def clogged(question: Question) -> Clogged | None:
    """Return what happens with half of the inlet clogged; ``None`` where no air moves anyway.

    Raises
    ------
    InputError
        where the draught's height is out of range
    UncalibratedError
        if the air model's table lacks runs of a vent's slat form
    """
    if question.mode == "closed":
        return None
    half = clogged_question(question)
    return Clogged(clogged_words(question), HALF_BLOCKED.value, predict(half))

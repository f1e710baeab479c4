"""What would do: fewer or more inlets, a smaller or larger vent, less or more heat.

Every trial is the question as asked with one word changed, judged as the question itself is
(:func:`vent_family.evidence.air.predicted.holds`): who follows the advice with the same options
finds that it holds. Where a question says nothing of the outlets, they are the inlet's kind and as
many.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.limits import CABINET_HEAT_MAX, VENTS_MAX
from vent_family.evidence.air.asked import Asked
from vent_family.evidence.air.predicted import holds, needed_rise_k
from vent_family.evidence.air.question import Question

HEAT_DIGITS: Final = 3
"""Significant digits of the greatest heat that holds, rounded down."""
LEAST_W: Final = 0.1
"""Least heat that is tried."""
STEPS: Final = 12
CLOSE: Final = 1e-4
"""How near the logarithm of needed over allowed rise comes to zero."""


@dataclass(frozen=True, slots=True)
class Sizing:
    """What would do, each with all else as asked; ``None`` where nothing that was tried does.

    ``inlets`` is the least number of inlet vents, ``smallest`` the part number of the candidate
    with the smallest opening, ``heat_w`` the greatest heat lost inside.
    """

    inlets: int | None
    smallest: str | None
    heat_w: float | None


def sizing(question: Question) -> Sizing:
    """Return which numbers of vents, which vent and how much heat hold.

    Raises
    ------
    InputError
        where the draught's height is out of range
    UncalibratedError
        if the air model's table lacks runs of a vent's slat form
    """
    if question.mode == "closed":
        return Sizing(None, None, greatest_heat_w(question))
    return Sizing(fewest_inlets(question), smallest_vent(question), greatest_heat_w(question))


def fewest_inlets(question: Question) -> int | None:
    """Return the least number of inlet vents that holds."""
    for count in range(1, int(VENTS_MAX.value) + 1):
        if holds(replace(question, inlets=count)):
            return count
    return None


def smallest_vent(question: Question) -> str | None:
    """Return the candidate with the smallest opening that holds as the inlet."""
    for vent in sorted(question.candidates, key=lambda v: (v.opening_mm2, v.part_number)):
        if holds(replace(question, inlet=vent)):
            return vent.part_number
    return None


def greatest_heat_w(question: Asked) -> float | None:
    """Return the greatest heat lost inside (W, rounded down) that holds.

    The rise that would have to be allowed goes nearly with a power of the heat, so a few steps of
    the secant in logarithms find where it is the rise allowed.
    """
    cabinet = question.cabinet
    allowed, sun = cabinet.allowed_rise_k, cabinet.sun_w

    def at(heat_w: float) -> Asked:
        return question.with_cabinet(replace(cabinet, heat_w=heat_w))

    total = cabinet.heat_w + sun
    tried: list[tuple[float, float]] = []
    for _ in range(STEPS):
        heat = min(max(total - sun, LEAST_W), CABINET_HEAT_MAX.value)
        needed = needed_rise_k(at(heat))
        if needed is None:
            total = sun + heat / 4.0
            continue
        tried.append((math.log(heat + sun), math.log(needed / allowed)))
        if abs(tried[-1][1]) < CLOSE:
            break
        if heat == LEAST_W and needed > allowed:
            return None
        total = math.exp(_secant(tried[-2:]))
    return _rounded_down(heat, lambda heat_w: holds(at(heat_w)))


def _secant(points: list[tuple[float, float]]) -> float:
    """Return where a line through two points meets zero, of slope one through a single one.

    All are pure numbers.
    """
    x, y = points[-1]
    slope = 1.0
    if len(points) > 1 and points[0][0] != x:
        slope = max((y - points[0][1]) / (x - points[0][0]), 0.1)
    return x - y / slope


def _rounded_down(value: float, sound: Callable[[float], bool]) -> float | None:
    """Return a value rounded down to the first number that is sound; ``value`` in any unit."""
    step = 10.0 ** (math.floor(math.log10(value)) + 1 - HEAT_DIGITS)
    whole = math.floor(value / step + 1e-9)
    for number in range(whole, max(whole - 3, 0), -1):
        if sound(float(f"{number * step:.{HEAT_DIGITS}g}")):
            return float(f"{number * step:.{HEAT_DIGITS}g}")
    return None

"""A cabinet's balance with its uncertainty, and what is predicted of it.

Three things are not known exactly: the loss of the slats
(:func:`vent_family.evidence.air.losses.band`), the fan's speed (the limit ``FAN_TOLERANCE``),
and the sun that comes in (the colour's range, and the air along the wall). The balance is worked
out with each of them at either end and the others as stated. What that changes is added as the root
of the sum of squares, for they have nothing to do with one another, as the band of K itself is made
up. Heat, ambient, walls, guard and filter are taken as stated.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from vent_family.base.arrays import FloatArray
from vent_family.base.limits import COOLING_RESERVE, FAN_TOLERANCE
from vent_family.evidence.air.asked import Asked, balance_of
from vent_family.evidence.air.balance import Cooling, NoBalanceError
from vent_family.evidence.air.operating import (
    NoOperatingPointError,
    Passage,
    VentGroup,
)
from vent_family.evidence.air.state import AirState
from vent_family.evidence.outcomes import Outcome


@dataclass(frozen=True, slots=True)
class Ends:
    """Least and greatest value of one quantity.

    Parameters
    ----------
    low, high
        in the unit of the quantity, any unit
    """

    low: float
    high: float


@dataclass(frozen=True)
class Predicted:
    """What is predicted of a cabinet.

    ``cooling`` is ``None`` where no air moves, or so little that no temperature is predicted, and
    ``failure`` says why. ``flow_m3_s`` (outside air) and ``inside_c`` are the bands; the latter is
    ``None`` where at the bad end no temperature is predicted. ``drops`` holds the factors (1) on
    each side's pressure drop at a given flow. ``reasons`` says what keeps the outcome from being
    better.
    """

    cooling: Cooling | None
    failure: str
    outcome: Outcome
    reasons: tuple[str, ...]
    flow_m3_s: Ends | None = None
    inside_c: Ends | None = None
    drops: tuple[Ends, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether the cabinet is predicted to hold its limit."""
        return self.outcome == "holds"


def predict(question: Asked) -> Predicted:
    """Return the balance of a question, with its band and the outcome.

    A cabinet *holds* if it stays at its limit also at the bad end of the band, with a quarter in
    hand (the limit ``COOLING_RESERVE``) and without the fan in its stall region; it *fails* if it
    is hotter than its limit as stated; else it is *marginal*.

    Raises
    ------
    InputError
        where the draught's height is out of range
    UncalibratedError
        if the air model's table lacks runs of a vent's slat form
    """
    try:
        cooling = balance_of(question)
    except (NoOperatingPointError, NoBalanceError) as error:
        return Predicted(None, str(error), "fails", (str(error),))
    if cooling.margin_k < 0.0:
        over = f"the inside is {-cooling.margin_k:.1f} K over the limit"
        return _with_band(question, cooling, "fails", [over])
    return _with_band(question, cooling, "holds", _short_of(cooling))


def holds(question: Asked) -> bool:
    """Tell whether a question's cabinet holds, with no more work than that takes.

    Raises
    ------
    InputError
        where the draught's height is out of range
    UncalibratedError
        if the air model's table lacks runs of a vent's slat form
    """
    return looked_into(question).holds


@dataclass(frozen=True)
class Looked:
    """How a cabinet stands, with no more work than that takes.

    ``cooling`` is its balance as stated, ``None`` where none can be predicted. ``needed_k`` is the
    rise that would have to be allowed for it to hold: of one that is too hot as stated, at least;
    ``None`` where no temperature is predicted at the bad end of the band. ``short_of`` says in
    words what keeps it from holding.
    """

    cooling: Cooling | None
    needed_k: float | None
    short_of: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether it is predicted to hold its limit, as :class:`Predicted` says."""
        return not self.short_of


def looked_into(question: Asked) -> Looked:
    """Return how a question's cabinet stands; the bad end is looked at only where that decides.

    Raises
    ------
    InputError
        where the draught's height is out of range
    UncalibratedError
        if the air model's table lacks runs of a vent's slat form
    """
    try:
        cooling = balance_of(question)
    except (NoOperatingPointError, NoBalanceError) as error:
        return Looked(None, None, (str(error),))
    needed = (1.0 + COOLING_RESERVE.value) * cooling.rise_k
    short = _short_of(cooling)
    if cooling.margin_k < 0.0 or needed > question.cabinet.allowed_rise_k:
        return Looked(cooling, needed, tuple(short or ["the inside is over the limit"]))
    worst = _worst(question, cooling)
    told = (*short, *worst.short_of(question))
    if worst.inside_c is None:
        return Looked(cooling, None, told)
    return Looked(cooling, max(needed, worst.inside_c - question.cabinet.ambient_c), told)


def needed_rise_k(question: Asked) -> float | None:
    """Return the rise that would have to be allowed for a question's cabinet to hold.

    ``None`` where so little carries the heat, in the middle or at the bad end of the band, that no
    temperature is predicted. A fan's stall does not count.

    Raises
    ------
    InputError
        where the draught's height is out of range
    UncalibratedError
        if the air model's table lacks runs of a vent's slat form
    """
    try:
        cooling = balance_of(question)
    except (NoOperatingPointError, NoBalanceError):
        return None
    hottest = _worst(question, cooling).inside_c
    if hottest is None:
        return None
    ambient = question.cabinet.ambient_c
    return max((1.0 + COOLING_RESERVE.value) * cooling.rise_k, hottest - ambient)


def _short_of(cooling: Cooling) -> list[str]:
    """Return what keeps a balance within its limit from holding, before any band."""
    found = []
    least = COOLING_RESERVE.value
    if cooling.reserve < least:
        found.append(
            f"the allowed rise is {_percent_below(cooling.reserve)} % more than the predicted one,"
            f" less than the {100.0 * least:.0f} % in hand that it takes"
        )
    point = cooling.point
    if point is not None and point.stalled:
        found.append("the fan works in its stall region")
    elif point is not None and len(point.crossings_m3_s) > 1:
        found.append("fan and vents agree on several flows, and the fan may settle at a lower one")
    return found


def _percent_below(share: float) -> str:
    """Return a share (1) in per cent, rounded down: what falls short must not look enough."""
    return f"{math.floor(1000.0 * share) / 10.0:g}"


def _with_band(
    question: Asked, cooling: Cooling, outcome: Outcome, reasons: list[str]
) -> Predicted:
    """Return a balance with its band, at which it may be found to be marginal."""
    sides = _sides(question, cooling)
    better, worse = _ends(question, sides)
    bad = _bad_end(question, cooling, worse)
    good = [_at(question, cooling, change) for change in better]
    known = [end for end in good if isinstance(end, Cooling)]
    inside = None
    if bad.inside_c is not None:
        low = _below(cooling.inside_c, [end.inside_c for end in known])
        inside = Ends(low, bad.inside_c)
    # More sun is worse, yet it makes a draught stronger: either end may hold the least flow.
    flows = [*bad.flows_m3_s, *(end.flow_m3_s for end in known)]
    flow = Ends(_below(cooling.flow_m3_s, flows), _above(cooling.flow_m3_s, flows))
    if outcome == "holds":
        reasons = [*reasons, *bad.short_of(question)]
        outcome = "marginal" if reasons else "holds"
    drops = zip(_groups(question), sides, strict=True)
    return Predicted(
        cooling,
        "",
        outcome,
        tuple(dict.fromkeys(reasons)),
        flow,
        inside,
        tuple(_drop_factors(cooling, group, ends) for group, ends in drops),
    )


def _worst(question: Asked, cooling: Cooling) -> _BadEnd:
    _, worse = _ends(question, _sides(question, cooling))
    return _bad_end(question, cooling, worse)


@dataclass(frozen=True)
class _BadEnd:
    """The bad end of the band; ``inside_c`` is ``None`` where there is none, ``why`` says so."""

    flows_m3_s: tuple[float, ...]
    inside_c: float | None
    why: str
    stalled: bool

    def short_of(self, question: Asked) -> list[str]:
        """Return what keeps a cabinet from holding at this end."""
        limit = question.cabinet.limit_c
        if self.inside_c is None:
            return [f"at the bad end of the band {self.why}"]
        if self.inside_c > limit:
            return [f"at the bad end of the band the inside has {self.inside_c:.1f} degC"]
        return ["at the bad end of the band the fan works in its stall region"] * self.stalled


def _bad_end(question: Asked, cooling: Cooling, worse: Sequence[Change]) -> _BadEnd:
    ends = [_at(question, cooling, change) for change in worse]
    why = [end for end in ends if isinstance(end, str)]
    known = [end for end in ends if isinstance(end, Cooling)]
    return _BadEnd(
        tuple(end.flow_m3_s if isinstance(end, Cooling) else 0.0 for end in ends),
        None if why else _above(cooling.inside_c, [end.inside_c for end in known]),
        why[0] if why else "",
        any(end.point is not None and end.point.stalled for end in known),
    )


Change = Callable[[Asked], tuple[Asked, float | None]]
"""Makes a question of another one, and says what of the sun comes in, W."""


Side = tuple[Passage, Passage]
"""A side with the least and with the greatest loss of its slats."""


def _ends(question: Asked, sides: Sequence[Side]) -> tuple[list[Change], list[Change]]:
    """Return the better and the worse ends of everything that is not known exactly."""
    better: list[Change] = []
    worse: list[Change] = []
    if sides:
        better.append(_slats([least for least, _ in sides]))
        worse.append(_slats([greatest for _, greatest in sides]))
    if question.fan is not None:
        better.append(_fan(1.0 + FAN_TOLERANCE.value))
        worse.append(_fan(1.0 - FAN_TOLERANCE.value))
    if question.cabinet.sunlit is not None:
        low, high = question.cabinet.sun_range_w
        better.append(_sun(low))
        worse.append(_sun(high))
    return better, worse


def _slats(vents: Sequence[Passage]) -> Change:
    return lambda question: (question.with_vents(vents), None)


def _fan(factor: float) -> Change:
    def change(question: Asked) -> tuple[Asked, float | None]:
        assert question.fan is not None
        return question.with_fan(question.fan.stronger(factor)), None

    return change


def _sun(sun_w: float) -> Change:
    return lambda question: (question, sun_w)


def _at(question: Asked, cooling: Cooling, change: Change) -> Cooling | str:
    """Return the balance at one end, or why there is none."""
    asked, sun = change(question)
    try:
        return balance_of(asked, cooling.sun_w if sun is None else sun, cooling.rise_k)
    except (NoOperatingPointError, NoBalanceError) as error:
        return str(error)


def _groups(question: Asked) -> tuple[VentGroup, ...]:
    return () if question.mode == "closed" else question.system.groups


def _sides(question: Asked, cooling: Cooling) -> list[Side]:
    """Return each side with the ends of its K at its flow."""
    return [group.ends_at(cooling.mass_kg_s, *_airs(cooling)) for group in _groups(question)]


def _drop_factors(cooling: Cooling, group: VentGroup, side: Side) -> Ends:
    """Return the ends of a side's pressure drop at its flow, as factors."""
    mass, airs = cooling.mass_kg_s, _airs(cooling)
    own = _only(group.drops_pa(mass, *airs))
    low, high = (_only(replace(group, vent=v).drops_pa(mass, *airs)) / own for v in side)
    return Ends(low, high)


def _airs(cooling: Cooling) -> tuple[AirState, AirState]:
    """Return the air outside and inside."""
    outside = cooling.cabinet.outside
    return outside, outside.at(cooling.inside_c)


def _only(drops_pa: FloatArray) -> float:
    """Return a single pressure drop, Pa."""
    return float(np.atleast_1d(drops_pa)[0])


def _above(value: float, ends: Sequence[float]) -> float:
    """Return the upper end of a value's band, from what each cause alone makes of it, any unit."""
    return value + math.hypot(*(max(end - value, 0.0) for end in ends))


def _below(value: float, ends: Sequence[float]) -> float:
    """Return the lower end of a value's band, from what each cause alone makes of it, any unit."""
    return value - math.hypot(*(max(value - end, 0.0) for end in ends))

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

from vent_family.base.limits import COOLING_RESERVE, FAN_TOLERANCE
from vent_family.evidence.air.balance import Cooling, NoBalanceError
from vent_family.evidence.air.losses import band
from vent_family.evidence.air.operating import NoOperatingPointError, VentGroup
from vent_family.evidence.air.question import Question, balance_of
from vent_family.evidence.air.resistance import VentLoss
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


def predict(question: Question) -> Predicted:
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


def holds(question: Question) -> bool:
    """Tell whether a question's cabinet holds, with no more work than that takes.

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
        return False
    if cooling.margin_k < 0.0 or _short_of(cooling):
        return False
    return not _worst(question, cooling).short_of(question)


def needed_rise_k(question: Question) -> float | None:
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
    question: Question, cooling: Cooling, outcome: Outcome, reasons: list[str]
) -> Predicted:
    """Return a balance with its band, at which it may be found to be marginal."""
    factors = _factors(question, cooling)
    better, worse = _ends(question, factors)
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
    drops = zip(_groups(question), factors, strict=True)
    return Predicted(
        cooling,
        "",
        outcome,
        tuple(dict.fromkeys(reasons)),
        flow,
        inside,
        tuple(_drop_factors(cooling, group, ends) for group, ends in drops),
    )


def _worst(question: Question, cooling: Cooling) -> _BadEnd:
    _, worse = _ends(question, _factors(question, cooling))
    return _bad_end(question, cooling, worse)


@dataclass(frozen=True)
class _BadEnd:
    """The bad end of the band; ``inside_c`` is ``None`` where there is none, ``why`` says so."""

    flows_m3_s: tuple[float, ...]
    inside_c: float | None
    why: str
    stalled: bool

    def short_of(self, question: Question) -> list[str]:
        """Return what keeps a cabinet from holding at this end."""
        limit = question.cabinet.limit_c
        if self.inside_c is None:
            return [f"at the bad end of the band {self.why}"]
        if self.inside_c > limit:
            return [f"at the bad end of the band the inside has {self.inside_c:.1f} degC"]
        return ["at the bad end of the band the fan works in its stall region"] * self.stalled


def _bad_end(question: Question, cooling: Cooling, worse: Sequence[Change]) -> _BadEnd:
    ends = [_at(question, cooling, change) for change in worse]
    why = [end for end in ends if isinstance(end, str)]
    known = [end for end in ends if isinstance(end, Cooling)]
    return _BadEnd(
        tuple(end.flow_m3_s if isinstance(end, Cooling) else 0.0 for end in ends),
        None if why else _above(cooling.inside_c, [end.inside_c for end in known]),
        why[0] if why else "",
        any(end.point is not None and end.point.stalled for end in known),
    )


Change = Callable[[Question], tuple[Question, float | None]]
"""Makes a question of another one, and says what of the sun comes in, W."""


def _ends(question: Question, factors: Sequence[Ends]) -> tuple[list[Change], list[Change]]:
    """Return the better and the worse ends of everything that is not known exactly."""
    better: list[Change] = []
    worse: list[Change] = []
    if factors:
        better.append(_slats([f.low for f in factors]))
        worse.append(_slats([f.high for f in factors]))
    if question.fan is not None:
        better.append(_fan(1.0 + FAN_TOLERANCE.value))
        worse.append(_fan(1.0 - FAN_TOLERANCE.value))
    if question.cabinet.sunlit is not None:
        low, high = question.cabinet.sun_range_w
        better.append(_sun(low))
        worse.append(_sun(high))
    return better, worse


def _slats(factors: Sequence[float]) -> Change:
    def change(question: Question) -> tuple[Question, float | None]:
        inlet, outlet = (
            group.vent.at_end(factor)
            for group, factor in zip(question.system.groups, factors, strict=True)
        )
        return replace(question, inlet=inlet, outlet=outlet), None

    return change


def _fan(factor: float) -> Change:
    def change(question: Question) -> tuple[Question, float | None]:
        assert question.fan is not None
        return replace(question, fan=question.fan.stronger(factor)), None

    return change


def _sun(sun_w: float) -> Change:
    return lambda question: (question, sun_w)


def _at(question: Question, cooling: Cooling, change: Change) -> Cooling | str:
    """Return the balance at one end, or why there is none."""
    asked, sun = change(question)
    try:
        return balance_of(asked, cooling.sun_w if sun is None else sun)
    except (NoOperatingPointError, NoBalanceError) as error:
        return str(error)


def _groups(question: Question) -> tuple[VentGroup, ...]:
    return () if question.mode == "closed" else question.system.groups


def _factors(question: Question, cooling: Cooling) -> list[Ends]:
    """Return the ends of K of each side, as factors."""
    found = []
    for group in _groups(question):
        vent = group.vent
        re = float(_loss(cooling, group).re[0])
        found.append(Ends(*band(vent.stack, re, vent.bay_mm)))
    return found


def _drop_factors(cooling: Cooling, group: VentGroup, ends: Ends) -> Ends:
    """Return the ends of a side's pressure drop at its flow, as factors."""
    own = float(_loss(cooling, group).drop_pa[0])
    low, high = (
        float(_loss(cooling, group, factor).drop_pa[0]) / own for factor in (ends.low, ends.high)
    )
    return Ends(low, high)


def _loss(cooling: Cooling, group: VentGroup, factor: float = 1.0) -> VentLoss:
    """Return the losses of a side at its flow, those of the slats times a factor."""
    outside = cooling.cabinet.outside
    air = outside if group.direction == "in" else outside.at(cooling.inside_c)
    flow = cooling.mass_kg_s / air.density_kg_m3 / group.count
    return group.vent.at_end(factor).loss(flow, air, group.direction)


def _above(value: float, ends: Sequence[float]) -> float:
    """Return the upper end of a value's band, from what each cause alone makes of it, any unit."""
    return value + math.hypot(*(max(end - value, 0.0) for end in ends))


def _below(value: float, ends: Sequence[float]) -> float:
    """Return the lower end of a value's band, from what each cause alone makes of it, any unit."""
    return value - math.hypot(*(max(value - end, 0.0) for end in ends))

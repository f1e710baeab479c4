"""One draw: the vent as it might be printed and stand, and what becomes of cooling and water.

Everything that the checks take a band of has one value here, so that a draw has one outcome. What
is random besides is the chance of the drops sent: a draw near a limit may fall to either side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from typing import Final

from vent_family.base.limits import (
    CABINET_LIMIT_MAX,
    JET_WORST_MAX,
    LEVEL_MARGIN_MIN,
    WATER_FAILS_ML,
    WATER_HOLDS_ML,
    WATER_SHARE_MAX,
)
from vent_family.evidence.air.asked import balance_of
from vent_family.evidence.air.balance import NoBalanceError
from vent_family.evidence.air.operating import NoOperatingPointError
from vent_family.evidence.air.point import OperatingPoint
from vent_family.evidence.air.question import Question
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.as_made.made import made_of, up_axis
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.house import TOLERANCE, WIND, varied
from vent_family.evidence.water.joint import joint_water
from vent_family.evidence.water.judge import weigh
from vent_family.evidence.water.setup import Setup, setup_of
from vent_family.evidence.water.splash import SplashModel
from vent_family.evidence.water.verdict import outcome_of
from vent_family.proposing.robust.case import Case
from vent_family.proposing.robust.inputs import (
    AMBIENT,
    BEYOND,
    DRAIN,
    DROPS,
    FAN,
    GRAZING,
    IN_HEIGHT,
    IN_PLANE,
    LOSS,
    MOUNTING,
    SHEETS,
    SILL,
    SLATS,
    SUN,
    THROWN,
)
from vent_family.proposing.robust.jet import jet_drawn
from vent_family.proposing.robust.printed import AsPrinted, as_printed
from vent_family.spec.section import SectionError
from vent_family.spec.vent import VentSpec

FLIGHTS: Final = 8_000
"""No further batch of drops is begun after so many, in one draw under one exposure. What passes
then scatters by a seventh; with twice as many by little less, at half as much time again."""

_MOST_ML: Final[dict[Outcome, float]] = {
    "holds": WATER_HOLDS_ML.value,
    "marginal": WATER_FAILS_ML.value,
    "fails": math.inf,
}
_MOST_SHARE: Final[dict[Outcome, float]] = {
    "holds": WATER_SHARE_MAX.value,
    "marginal": WATER_SHARE_MAX.value,
    "fails": math.inf,
}
"""What may pass for an outcome, mL and share of what arrives (1), as ``verdict.outcome_of`` has it.
"""

Values = Mapping[str, float]
"""Values of the inputs by name, each in its own unit."""


@dataclass(frozen=True, slots=True)
class Cooled:
    """The cabinet of one draw.

    ``inside_c`` is ``None`` where no temperature is predicted. ``holds`` is whether it stays at its
    limit, the fan not stalling.
    """

    inside_c: float | None
    holds: bool


@dataclass(frozen=True, slots=True)
class Wetted:
    """One exposure of one draw.

    ``passed`` is what gets inside and ``allowed`` what of it may, infinite for all: mL, of a full
    jet its share at the worst aim (1). ``margin`` is what the sill stands above the pool
    beyond what it must, mm, of a full jet what the worst bay drains beyond what it gets, L/min.
    """

    exposure: str
    outcome: Outcome
    passed: float
    allowed: float
    margin: float


@dataclass(frozen=True, slots=True)
class OneDraw:
    """What became of one draw; ``wetted`` is ``None`` where no water was judged.

    ``lost`` says why nothing is known of it.
    """

    number: int
    cooled: Cooled | None = None
    wetted: tuple[Wetted, ...] | None = None
    lost: str = ""


def drawn(case: Case, number: int, values: Values, *, wet: bool) -> OneDraw:
    """Return what becomes of one draw; ``wet`` says whether water is judged, which takes longer.

    Parameters
    ----------
    case
        what is asked
    number
        the draw's number
    values
        values of the case's inputs, each in its own unit
    wet
        whether water is judged
    """
    try:
        made = _made(case, values) if wet or _breathes(case) else None
        cooled = None if case.question is None else _cooled(case, case.question, made, values)
        wetted = None if made is None or not wet else _wetted(case, *made, values)
    except SectionError as error:
        return OneDraw(number, lost=f"slats as thick as that close the section: {error}")
    return OneDraw(number, cooled, wetted)


def _breathes(case: Case) -> bool:
    """Return whether air goes through the vents of a case's cabinet."""
    return case.question is not None and case.question.mode != "closed"


def _made(case: Case, values: Values) -> tuple[VentSpec, VentAir]:
    """Return the vent of a draw as printed, and its air side."""
    vent = as_printed(case.vent, _how(case, values))
    return vent, vent_air(vent)


def _how(case: Case, values: Values) -> AsPrinted:
    """Return how a draw is printed: the shop's shares, and what this one departs from them."""
    shop = case.shop
    own, shares = shop.shrinkage.of(case.vent.material.name), list(made_of(case.vent, shop).shares)
    up = up_axis(case.vent)
    for axis in range(3):
        told, name = (own.in_height, IN_HEIGHT) if axis == up else (own.in_plane, IN_PLANE)
        shares[axis] += values[name] - told
    x, y, z = shares
    return AsPrinted((x, y, z), values[SLATS], values[DRAIN], values[SILL])


def _cooled(
    case: Case, question: Question, own: tuple[VentSpec, VentAir] | None, values: Values
) -> Cooled:
    """Return the cabinet of a draw; ``own`` is the vent as printed, where air goes through it."""
    cabinet, factor, wind = question.cabinet, values.get(LOSS, 1.0), values.get(WIND.name, 1.0)

    def drawn_vent(vent: VentAir) -> VentAir:
        made = vent
        if own is not None and vent.part_number == case.vent.part_number:
            made = replace(own[1], extras=vent.extras)
        return made.at_end(factor)

    outlet = None if question.outlet is None else drawn_vent(question.outlet)
    ambient_c = cabinet.ambient_c + values[AMBIENT]
    asked = replace(
        question,
        inlet=drawn_vent(question.inlet),
        outlet=outlet,
        fan=None if question.fan is None else question.fan.stronger(values[FAN]),
        counter_pa=question.counter_pa * wind**2,
        # The balance knows nothing of the limit; a hot day may lie above it.
        cabinet=replace(cabinet, ambient_c=ambient_c, limit_c=CABINET_LIMIT_MAX.value),
    )
    try:
        found = balance_of(asked, values.get(SUN))
    except (NoOperatingPointError, NoBalanceError):
        return Cooled(None, holds=False)
    stalled = found.point is not None and found.point.stalled
    return Cooled(found.inside_c, holds=found.inside_c <= cabinet.limit_c and not stalled)


def _wetted(case: Case, vent: VentSpec, air: VentAir, values: Values) -> tuple[Wetted, ...]:
    """Return the exposures of a draw, each at its worst over the states of fan and wind."""
    with _varied(case, values):
        conditions = _conditions(case, air.at_end(values.get(LOSS, 1.0)), values)
        return tuple(
            worst_state([_judged(vent, state, values, case.at_least) for state in states])
            for states in conditions.singles()
        )


@contextmanager
def _varied(case: Case, values: Values) -> Iterator[None]:
    """Let the checks read the draw's own numbers."""
    with ExitStack() as stack:
        for own in case.inputs:
            if own.house is not None:
                stack.enter_context(varied(own.house, values[own.name]))
        if MOUNTING in values:
            stack.enter_context(varied(TOLERANCE, values[MOUNTING]))
        yield


def _conditions(case: Case, air: VentAir, values: Values) -> Conditions:
    """Return the conditions of a draw, without bands."""
    before = case.conditions
    drive = before.drive
    if drive is None:
        return replace(before, states=tuple(_sharp(points) for points in before.states))
    if drive.fan is not None and FAN in values:
        drive = replace(drive, fan=drive.fan.stronger(values[FAN]))
    made = replace(before, drive=drive).on(air)
    return replace(made, states=tuple(_sharp(points) for points in made.states))


def _sharp(points: tuple[OperatingPoint, ...]) -> tuple[OperatingPoint, ...]:
    """Return operating points whose bands are as narrow as can be."""
    return tuple(
        replace(p, depression_low_pa=p.depression_pa, depression_high_pa=p.depression_pa)
        for p in points
    )


def _judged(vent: VentSpec, conditions: Conditions, values: Values, at_least: Outcome) -> Wetted:
    """Return one exposure in one state of fan and wind."""
    (exposure,) = conditions.table
    point = conditions.point(exposure.name)
    setup = _setup(setup_of(vent, point.face_velocity_m_s, conditions.posture), values)
    if exposure.coherent:
        jet = jet_drawn(setup, exposure, conditions, values[SHEETS], values[BEYOND])
        most = math.inf if at_least == "fails" else JET_WORST_MAX.value
        return Wetted(exposure.name, jet.outcome, jet.worst_share, most, jet.spare_l_min)
    weighed = weigh(setup, exposure, conditions, flights=FLIGHTS)
    found = weighed.middle
    joint = joint_water(setup, exposure, point, weighed.came)
    outcome = max(outcome_of(found), joint.outcome, key=lambda o: RANK[o])
    margin = min(found.drainage.margin_mm - LEVEL_MARGIN_MIN.value, found.drainage_tilted.margin_mm)
    passed_ml = max(found.passed_ml.high, found.tilted_ml)
    arriving_ml = 1000.0 * weighed.drops.arriving_l_min * weighed.came.time_s / 60.0
    allowed_ml = min(_MOST_ML[at_least], _MOST_SHARE[at_least] * arriving_ml)
    return Wetted(exposure.name, outcome, passed_ml, allowed_ml, margin)


def _setup(setup: Setup, values: Values) -> Setup:
    """Return a setup with the splash of a draw in place of the bracket."""
    model = SplashModel("drawn", values[THROWN], values[GRAZING] >= 0.5, values[DROPS])
    return replace(setup, models=(model,))


def worst_state(states: Sequence[Wetted]) -> Wetted:
    """Return the worst of all states of fan and wind, outcome, water and margin each for itself.

    The water may pass in one state and the pool stand highest in another; taken together from one
    of them, either would leap from draw to draw.

    Examples
    --------
    >>> blown = Wetted("rain", "holds", 0.4, 1.0, 2.0)
    >>> still = Wetted("rain", "holds", 0.1, 1.0, 0.5)
    >>> worst_state([blown, still])
    Wetted(exposure='rain', outcome='holds', passed=0.4, allowed=1.0, margin=0.5)
    """
    most = max(states, key=lambda w: (w.passed / w.allowed, w.passed))
    return replace(
        most,
        outcome=max((w.outcome for w in states), key=lambda o: RANK[o]),
        margin=min(w.margin for w in states),
    )

"""Which of the numbers that nobody gives moves a verdict: each varied alone over its range."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

from vent_family.base.limits import (
    EN_WIND,
    LEVEL_MARGIN_MIN,
    OWN_RULE,
    WATER_HOLDS_ML,
    WATER_SHARE_MAX,
)
from vent_family.evidence.air.wind import coefficient
from vent_family.evidence.outcomes import RANK, VERBS, Outcome
from vent_family.evidence.water.airfield import AirSource, potential_flow
from vent_family.evidence.water.conditions import Conditions
from vent_family.evidence.water.house import HOUSE, HouseNumber, varied
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.report import ExposureReport, severity
from vent_family.evidence.water.setup import setup_of
from vent_family.evidence.water.verdict import plain
from vent_family.spec.vent import VentSpec

Worst = Callable[[Callable[[Conditions], Conditions]], ExposureReport]
"""Returns the worst report of all states of fan and wind under changed conditions."""
MOST: Final = 3
"""So many numbers are told."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What the check says with one value of a number.

    ``value`` has the unit of the number. ``passed_ml`` is what passes at most, ``margin_mm`` what
    the sill stands above the pool beyond what it must, upright or out of true, whichever is less.
    """

    value: float
    outcome: Outcome
    mechanism: str
    passed_ml: float
    margin_mm: float
    load_ratio: float
    """How much of what it may pass or hold the vent is asked for; above 1 it does not hold."""

    @staticmethod
    def of(value: float, report: ExposureReport) -> Reading:
        """Return the reading of a report; ``value`` is in the unit of the number."""
        margin = min(
            report.drainage.margin_mm - LEVEL_MARGIN_MIN.value, report.drainage_tilted.margin_mm
        )
        passed_ml = 1000.0 * report.passed_l.high
        return Reading(
            value=value,
            outcome=report.verdict.outcome,
            mechanism=report.verdict.mechanism,
            passed_ml=passed_ml,
            margin_mm=margin,
            load_ratio=max(
                passed_ml / WATER_HOLDS_ML.value,
                report.passed_share.high / WATER_SHARE_MAX.value,
                1.0 - margin / report.drainage.sill_mm,
            ),
        )


@dataclass(frozen=True, slots=True)
class Effect:
    """A number and what the check says at both ends of its range."""

    number: HouseNumber
    low: Reading
    high: Reading

    @property
    def moves(self) -> tuple[int, float]:
        """How far it moves the verdict: steps between outcomes, then the load, a ratio."""
        ranks = [RANK[r.outcome] for r in (self.low, self.high)]
        loads = [max(r.load_ratio, 1e-3) for r in (self.low, self.high)]
        return abs(ranks[0] - ranks[1]), abs(math.log(loads[0] / loads[1]))

    def sentence(self) -> str:
        """Return the effect as one line."""
        n = self.number
        ends = ", ".join(
            f"at {r.value:.3g} it would {VERBS[r.outcome]} ({plain(r.passed_ml)} mL at most, pool"
            f" {abs(r.margin_mm):.1f} mm {'to spare' if r.margin_mm >= 0.0 else 'too high'})"
            for r in (self.low, self.high)
        )
        unit, of = (f" {n.unit}", "") if n.unit != "1" else ("", f"; {n.meaning}")
        return f"{n.name}, {n.value:.3g}{unit} ({n.low:.3g} to {n.high:.3g}{of}): {ends}"


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """Effects on one exposure, the one that moves the verdict most first."""

    exposure: str
    outcome: Outcome
    effects: tuple[Effect, ...]

    def most(self, count: int = MOST) -> tuple[Effect, ...]:
        """Return the first effects, a ``count`` of them."""
        return self.effects[:count]

    def sentences(self) -> list[str]:
        """Return what moves the verdict most as lines for people."""
        head = f"{self.exposure}: predicted to {VERBS[self.outcome]}; what moves this most:"
        return [head, *(f"  {i}. {e.sentence()}" for i, e in enumerate(self.most(), 1))]

    def as_dict(self) -> dict[str, Any]:
        """Return plain data, all effects, the one that moves most first."""
        return asdict(self)


def sensitivity(
    vent: VentSpec, conditions: Conditions, *, source: AirSource = potential_flow
) -> tuple[Sensitivity, ...]:
    """Return what moves the verdict of each exposure; takes some 30 judgements an exposure.

    A full jet is left out: it is judged under all its assumptions at once.
    """
    return tuple(
        _of_one(vent, states, source)
        for states in conditions.singles()
        if not states[0].table[0].coherent
    )


def _of_one(vent: VentSpec, states: tuple[Conditions, ...], source: AirSource) -> Sensitivity:
    name = states[0].exposures[0]

    def worst(changed: Callable[[Conditions], Conditions] = lambda c: c) -> ExposureReport:
        """Return the worst report of all states of fan and wind."""
        reports = []
        for state in states:
            again = changed(state if state.vent is None else state.on(state.vent))
            (exposure,) = again.table
            point = again.point(name)
            setup = setup_of(vent, point.face_velocity_m_s, again.posture, source)
            reports.append(judge(setup, exposure, again))
        return max(reports, key=severity)

    effects = []
    for number in HOUSE:
        if states[0].table[0].kind not in number.kinds:
            continue
        ends = []
        for value in (number.low, number.high):
            with varied(number, value):
                ends.append(Reading.of(value, worst()))
        effects.append(Effect(number, *ends))
    effects.append(_of_air(worst))
    effects += effects_of_blanks(states[0], worst)
    effects.sort(key=lambda e: e.moves, reverse=True)
    return Sensitivity(name, worst().verdict.outcome, tuple(effects))


def effects_of_blanks(conditions: Conditions, worst: Worst) -> list[Effect]:
    """Return the effects of what a row leaves blank about its air.

    ``conditions`` are those of one exposure; ``worst`` judges them, changed.
    """
    drive = conditions.drive
    if drive is None:
        return []

    def driven(**changes: Any) -> ExposureReport:
        def changed(before: Conditions) -> Conditions:
            assert before.drive is not None
            assert before.vent is not None
            return replace(before, drive=replace(before.drive, **changes)).on(before.vent)

        return worst(changed)

    effects = []
    if drive.source == "default":
        number = HouseNumber(
            "pressure over the vent",
            drive.default_pa,
            10.0,
            50.0,
            "Pa",
            "where neither fan nor face velocity is stated",
            OWN_RULE,
        )
        low, high = (driven(default_pa=pa) for pa in (number.low, number.high))
        effects.append(Effect(number, Reading.of(number.low, low), Reading.of(number.high, high)))
    if not drive.openings_stated and conditions.table[0].wind_m_s > 0.0:
        number = HouseNumber(
            "pressure coefficient of the vent over the other openings",
            coefficient(drive.openings),
            coefficient("same_side"),
            coefficient("lee_side"),
            "1",
            "where other_openings is blank",
            EN_WIND,
        )
        low, high = driven(openings="same_side"), driven(openings="lee_side")
        effects.append(Effect(number, Reading.of(number.low, low), Reading.of(number.high, high)))
    return effects


def _of_air(worst: Worst) -> Effect:
    """Return the effect of the band of the depression over the pool."""

    def at(end: str) -> Callable[[Conditions], Conditions]:
        def pinned(conditions: Conditions) -> Conditions:
            point = conditions.states[0][0]
            pa = getattr(point, end)
            only = replace(point, depression_pa=pa, depression_low_pa=pa, depression_high_pa=pa)
            return replace(conditions, states=((only,),))

        return pinned

    names = ("depression_pa", "depression_low_pa", "depression_high_pa")
    middle, low, high = (worst(at(name)) for name in names)
    number = HouseNumber(
        "depression over the pool",
        middle.air.depression_pa,
        low.air.depression_pa,
        high.air.depression_pa,
        "Pa",
        "within the band of the air model",
        "solved flows of the slats",
    )
    return Effect(
        number,
        Reading.of(number.low, low),
        Reading.of(number.high, high),
    )

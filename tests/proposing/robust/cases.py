"""Small cases: one vent, resolved once."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from tests.helpers.rows import spec
from vent_family.base.shop import demo_shop
from vent_family.evidence.air.cabinet import Cabinet, Sunlit
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.question import question_of
from vent_family.evidence.outcomes import Outcome
from vent_family.evidence.water.conditions import chosen_conditions
from vent_family.proposing.robust.case import Case
from vent_family.spec.vent import VentSpec

FAN = FanCurve("hall", (0.0, 0.01, 0.02), (16.0, 11.0, 0.0))


@cache
def vent() -> VentSpec:
    return spec(size="40x40")


def closed(limit_c: float = 36.0, sunlit: Sunlit | None = None) -> Case:
    """Return a dry closed cabinet of 40 W whose walls pass 4 W/K: 10 K over 25 degC."""
    cabinet = Cabinet(40.0, 25.0, limit_c, wall_w_k=4.0, sunlit=sunlit)
    question = question_of(vent(), cabinet)
    return Case(vent(), demo_shop(), question, chosen_conditions(vent(), "dry"))


def blown(exposure: str = "dry", at_least: Outcome = "holds") -> Case:
    """Return a cabinet with a fan, and a vent in water."""
    question = question_of(vent(), Cabinet(25.0, 25.0, 45.0), fan=FAN)
    conditions = chosen_conditions(vent(), exposure)
    assert conditions.drive is not None
    assert conditions.vent is not None
    driven = replace(conditions, drive=replace(conditions.drive, fan=FAN)).on(conditions.vent)
    return Case(vent(), demo_shop(), question, driven, at_least)


def middle(case: Case) -> dict[str, float]:
    """Return the inputs at what is stated of them."""
    return {own.name: own.spread.middle for own in case.inputs}

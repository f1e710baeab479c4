"""What a row leaves blank about its air is varied, too, and what hangs on it told."""

from __future__ import annotations

from collections.abc import Callable

from tests.helpers.rows import spec
from vent_family.evidence.water.conditions import Conditions, conditions_of
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.report import ExposureReport
from vent_family.evidence.water.sensitivity import Effect, effects_of_blanks
from vent_family.evidence.water.setup import setup_of


def effects(**cells: object) -> list[Effect]:
    vent = spec(**cells)
    ((single,),) = conditions_of(vent).singles()

    def worst(changed: Callable[[Conditions], Conditions]) -> ExposureReport:
        again = changed(single)
        velocity = again.point(again.exposures[0]).face_velocity_m_s
        return judge(setup_of(vent, velocity, again.posture), again.table[0], again)

    return effects_of_blanks(single, worst)


def test_a_default_of_the_flow_is_varied() -> None:
    (effect,) = effects(exposure="dripping")
    assert (effect.number.name, effect.number.value) == ("pressure over the vent", 25.0)
    # 10 and 50 Pa over the vent, nearly all of it over the pool: some 40 Pa, 4 mm of water.
    assert 3.5 < effect.low.margin_mm - effect.high.margin_mm < 4.2


def test_a_default_of_the_other_openings_is_varied() -> None:
    (effect,) = effects(exposure="driving_rain", face_velocity_m_s=1.0)
    assert effect.number.value == effect.number.high
    assert effect.low.margin_mm > effect.high.margin_mm + 5.0


def test_what_is_stated_is_not_varied() -> None:
    assert effects(exposure="rain", fan="tank-hall-92", other_openings="sheltered") == []
    assert effects(exposure="dripping", face_velocity_m_s=1.0) == []

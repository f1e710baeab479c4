"""The table of what is not known exactly: each entry where it counts, with a source."""

from __future__ import annotations

import json

import pytest

from tests.proposing.robust.cases import blown, closed
from vent_family.base.shop import demo_shop
from vent_family.evidence.air.asked import balance_of
from vent_family.evidence.air.cabinet import sunlit_of
from vent_family.evidence.water.house import HOUSE
from vent_family.proposing.robust.inputs import (
    AMBIENT,
    BEYOND,
    FAN,
    IN_HEIGHT,
    IN_PLANE,
    LOSS,
    MOUNTING,
    SHEETS,
    SLATS,
    SUN,
    THROWN,
)


def test_every_entry_has_range_unit_and_source() -> None:
    inputs = blown("rain/jets").inputs
    assert len({own.name for own in inputs}) == len(inputs)
    for own in inputs:
        assert own.unit
        assert own.source
        assert own.told
        assert own.spread.low <= own.spread.middle <= own.spread.high
        assert own.spread.low < own.spread.high
        json.dumps(own.as_dict(), allow_nan=False)


def test_what_does_not_count_is_left_out() -> None:
    dry = {own.name for own in closed().inputs}
    assert {SLATS, IN_PLANE, IN_HEIGHT, AMBIENT} <= dry
    assert not dry & {FAN, LOSS, SUN, MOUNTING, THROWN, SHEETS}
    assert SUN in {own.name for own in closed(sunlit=sunlit_of(0.2)).inputs}
    rain = {own.name for own in blown("rain").inputs}
    assert {FAN, LOSS, MOUNTING, THROWN, "wind speed", "film on slats"} <= rain
    # A nozzle's own, and a jet's.
    assert not rain & {"wetted spot", SHEETS, BEYOND}
    jet = {own.name for own in blown("jets").inputs}
    assert {SHEETS, BEYOND, "wetted spot"} <= jet
    assert "wind speed" not in jet


def test_house_numbers_keep_their_ranges() -> None:
    numbers = {number.name: number for number in HOUSE}
    found = [own for own in blown("rain").inputs if own.house is not None]
    assert len(found) > 5
    for own in found:
        number = numbers[own.name]
        assert (own.spread.low, own.spread.middle, own.spread.high) == (
            number.low,
            number.value,
            number.high,
        )


def test_printing_follows_the_shop() -> None:
    asa = demo_shop().shrinkage.of("ASA")
    spreads = {own.name: own.spread for own in closed().inputs}
    assert (spreads[SLATS].low, spreads[SLATS].high) == (-asa.scatter_mm, asa.scatter_mm)
    assert spreads[IN_PLANE].middle == asa.in_plane
    assert spreads[IN_HEIGHT].high == pytest.approx(1.5 * asa.in_height)


def test_the_slats_loss_lies_in_the_air_models_band() -> None:
    case = blown()
    assert case.question is not None
    cooling = balance_of(case.question)
    vent = case.question.inlet
    flow = cooling.mass_kg_s / case.question.cabinet.outside.density_kg_m3
    re = float(vent.loss(flow, case.question.cabinet.outside).re[0])
    spread = next(own.spread for own in case.inputs if own.name == LOSS)
    assert (spread.low, spread.high) == pytest.approx(vent.band(re))

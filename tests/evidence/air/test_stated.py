"""A way of the air restored from a record against the one by the row."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.helpers.rows import spec
from vent_family.evidence.air.airway import AirPath, Direction
from vent_family.evidence.air.kind import AIR
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.air.state import air_at
from vent_family.evidence.air.stated import PathRecord, StatedAir, path_record, stated_air
from vent_family.evidence.context import PartContext

FLOWS = np.geomspace(2e-6, 0.2, 240)
"""m3/s: from what leaks through a vent to ten times what a fan blows."""
VENTS = {
    "rectangular": {"size": "60x60"},
    "screened": {"size": "60x60", "screen_mm": 1.0},
    "round": {"family": "round", "size": "M32x1.5"},
    "fan": {"family": "flanged", "size": "120x120", "fan_mount": "120"},
    "flat": {"size": "80x60", "slat_form": "flat"},
    "channel": {"size": "120x120", "slat_form": "channel"},
}


@pytest.fixture(params=VENTS, scope="module")
def both(request: pytest.FixtureRequest) -> tuple[VentAir, StatedAir]:
    stated = dict(VENTS[request.param])
    live = vent_air(spec(stated.pop("family", "rectangular"), **stated))
    # By way of text, as a library has it.
    text = path_record(live).model_dump_json()
    return live, stated_air("R", live.opening_mm2, PathRecord.model_validate_json(text))


def off(one: AirPath, other: AirPath, way: Direction) -> float:
    """Return by how much pressure drops differ at most, as a share."""
    worst = 0.0
    for air in (air_at(20.0), air_at(-20.0, 3000.0), air_at(55.0)):
        drops = [vent.loss(FLOWS, air, way).drop_pa for vent in (one, other)]
        worst = max(worst, float(np.abs(drops[1] / drops[0] - 1.0).max()))
    return worst


@pytest.mark.parametrize("way", ["in", "out"])
def test_pressure_drops_agree_at_any_flow_in_any_air(
    both: tuple[VentAir, StatedAir], way: Direction
) -> None:
    live, stated = both
    assert off(live, stated, way) < 1e-3
    assert off(live.blocked(0.5), stated.blocked(0.5), way) < 1e-3
    for factor in (0.8, 1.25):
        assert off(live.at_end(factor), stated.at_end(factor), way) < 1e-3
    assert stated.clogs == live.clogs
    assert stated.fan_frame_mm == live.fan_frame_mm
    # A guard of its own is seen, so nothing above is true of whatever is compared.
    assert off(live, stated.at_end(1.1), way) > 1e-3


def test_bands_and_bounds_agree(both: tuple[VentAir, StatedAir]) -> None:
    live, stated = both
    # On both sides of every step, and on the last number solved.
    for re in (3.0, 10.0, 30.0, 99.0, 101.0, 150.0, 400.0, 401.0, 1200.0, 2000.0, 5000.0):
        assert stated.band(re) == pytest.approx(live.band(re), rel=1e-3)
        assert stated.beyond(re) == live.beyond(re)
        loss = np.array([re])
        assert stated.curve().k(loss) == pytest.approx(live.curve().k(loss), rel=1e-3)


def test_the_record_states_it_and_stays_small() -> None:
    record = json.loads(PartContext(spec("rectangular")).record(AIR).model_dump_json())
    assert len(record["path"]["slats"]) < 150
    assert set(record["path"]["slats"][0]) == {"reynolds", "k", "k_low", "k_high"}
    rows = record["path"]["slats"]
    assert all(row["k_low"] < row["k"] < row["k_high"] for row in rows)
    assert record["path"]["fan_frame_mm"] is None


def test_stated_curves_are_asked_for_as_corrected_only(both: tuple[VentAir, StatedAir]) -> None:
    with pytest.raises(ValueError, match="corrected loss alone"):
        both[1].curve(calibrated=False)

"""What record, attributes and report say of the fan behind a vent."""

from __future__ import annotations

import pytest

from tests.helpers.rows import spec
from vent_family.evidence.context import PartContext
from vent_family.evidence.facts import stated
from vent_family.evidence.fan.kind import FAN
from vent_family.spec.vent import VentSpec


def told(vent: VentSpec) -> dict[str, object]:
    return {s.name: s.value for s in stated(FAN.record(PartContext(vent)), "attribute")}


def test_attributes_state_what_is_bought_and_screwed() -> None:
    vent = spec("flanged", size="120x120", fan_mount="92")
    found = told(vent)
    assert found["fan_frame_mm"] == 92.0
    assert found["fan_hole_spacing_mm"] == 82.5
    assert found["fan_screw"] == "M4"
    # 0.8 of M4 and twice its diameter.
    assert found["fan_screw_bore_mm"] == pytest.approx(3.2)
    assert found["fan_screw_bore_depth_mm"] == 8.0
    innermost = min(z for slat in vent.section.slats for z, _ in slat.outline)
    plane = found["fan_plane_z_mm"]
    assert isinstance(plane, float)
    assert found["fan_guard_distance_mm"] == pytest.approx(innermost - plane, abs=0.06)
    assert "installer" in str(found["fan_caution"])
    assert told(spec("flanged")) == {}
    assert told(spec("round")) == {}


def test_sentences_warn_and_say_how_it_is_fitted() -> None:
    first, caution = FAN.sentences(PartContext(spec("flanged", size="120x120", fan_mount="120")))
    # The frame of 120 mm stands 2.2 mm above the opening's centre.
    for words in ("a frame of 120 mm", "105 mm apart", "M4", "from inside", "2.2 mm beyond"):
        assert words in first
    assert "no safety distance" in caution
    assert "installer" in caution
    assert FAN.sentences(PartContext(spec("flanged"))) == []
    assert FAN.chapter(PartContext(spec("flanged"))) == []
    inside = FAN.sentences(PartContext(spec("flanged", size="120x120", fan_mount="92")))
    assert "beyond" not in inside[0]

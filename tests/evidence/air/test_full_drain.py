"""A drain full of water passes no air: what the pool feels then."""

from __future__ import annotations

import pytest

from tests.helpers.rows import spec
from vent_family.evidence.air.coefficients import TERMS
from vent_family.evidence.air.drive import Drive
from vent_family.evidence.air.point import operating_points, pool_depression_pa
from vent_family.evidence.air.resistance import VentAir, vent_air
from vent_family.evidence.air.state import air_at


def stack_pa(vent: VentAir, flow_m3_s: float) -> float:
    terms = vent.loss(flow_m3_s, air_at()).terms_pa
    return sum(float(terms[name][0]) for name in TERMS)


@pytest.mark.parametrize("form", ["inclined", "flat", "folded"])
def test_slats_cost_by_what_goes_between_them(form: str) -> None:
    """The part of a flow that leaves a dry drain aside costs what a full drain makes of it."""
    vent = vent_air(spec("rectangular", size="80x60", slat_form=form))
    share = float(vent.loss(6e-3, air_at()).drain_share[0])
    assert share > 0.1
    full = vent.drain_full()
    assert stack_pa(full, (1.0 - share) * 6e-3) == pytest.approx(stack_pa(vent, 6e-3), rel=1e-9)
    assert float(full.loss(6e-3, air_at()).drain_share[0]) == 0.0


def test_the_pool_feels_the_depression_behind_a_full_drain() -> None:
    """The same air through less room: about the square of the share between the slats more."""
    vent = vent_air(spec("rectangular", size="80x60"))
    flow = 1.5 * vent.open_face_mm2 * 1e-6
    share = float(vent.loss(flow, air_at()).drain_share[0])
    (point,) = operating_points(vent, Drive(1.5))
    window = float(vent.loss(flow, air_at()).terms_pa["front window"][0])
    rest = pool_depression_pa(vent, flow, air_at()) - stack_pa(vent, flow)
    assert rest > window
    # K of the slats falls a little with the greater speed between them.
    by_hand = rest + stack_pa(vent, flow) / (1.0 - share) ** 2
    assert point.depression_pa == pytest.approx(by_hand, rel=0.03)
    assert point.depression_pa > 1.2 * pool_depression_pa(vent, flow, air_at())
    assert point.flow_m3_h == pytest.approx(3600.0 * flow)


def test_vents_opposite_count_as_dry() -> None:
    """In wind both lose pressure in a row; a full drain over there would leave less flow."""
    vent = vent_air(spec("rectangular", size="80x60"))
    (dry,) = operating_points(vent, Drive(1.5), 13.0)
    (full,) = operating_points(vent, Drive(1.5, opposite=vent.drain_full()), 13.0)
    assert dry.flow_m3_h != pytest.approx(full.flow_m3_h, rel=1e-3)
    (named,) = operating_points(vent, Drive(1.5, opposite=vent), 13.0)
    assert named.flow_m3_h == dry.flow_m3_h

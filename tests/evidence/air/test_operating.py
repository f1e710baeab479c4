"""Operating points against closed forms, and what is said when there is none."""

from __future__ import annotations

import pytest

from tests.helpers.air_vents import AIR, parabola, plain_vent
from tests.helpers.rows import spec
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.fans import FanCurve, in_parallel
from vent_family.evidence.air.operating import (
    NoOperatingPointError,
    System,
    VentGroup,
    operating_point,
)
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at


def test_closed_form_of_two_parabolas() -> None:
    """p0 (1 - (q/q0)^2) = r q^2 gives q = sqrt(p0 / (r + p0 / q0^2)).

    No published worked example of a fan on a system was found that states every number needed;
    the closed form stands in for it.
    """
    vent = plain_vent(12.0)
    system = System((VentGroup(vent, "in", 1), VentGroup(vent, "out", 2)))
    r1 = 0.5 * AIR.density_kg_m3 * 12.0 / (4000e-6) ** 2
    r = r1 + r1 / 4
    found = operating_point(parabola(), system, AIR, AIR)
    expected = (60.0 / (r + 60.0 / 0.03**2)) ** 0.5
    assert found.flow_m3_s == pytest.approx(expected, rel=2e-4)
    assert sum(found.drops_pa) == pytest.approx(found.pressure_pa, rel=1e-6)
    assert found.drops_pa[0] == pytest.approx(4 * found.drops_pa[1], rel=1e-6)


def test_counter_pressure_shifts_the_system_curve() -> None:
    vent = plain_vent(12.0)
    system = System((VentGroup(vent, "in"),), counter_pa=20.0)
    r = 0.5 * AIR.density_kg_m3 * 12.0 / (4000e-6) ** 2
    found = operating_point(parabola(), system, AIR, AIR)
    assert found.flow_m3_s == pytest.approx((40.0 / (r + 60.0 / 0.03**2)) ** 0.5, rel=2e-4)


def test_fans_side_by_side_on_a_free_system_double_the_flow() -> None:
    vent = plain_vent(0.01, 1e6)
    one = operating_point(parabola(), System((VentGroup(vent, "in"),)), AIR, AIR)
    two = operating_point(in_parallel(parabola(), 2), System((VentGroup(vent, "in"),)), AIR, AIR)
    assert two.flow_m3_s == pytest.approx(2 * one.flow_m3_s, rel=1e-3)


def test_thin_air_lowers_pressure_and_mass_but_not_volume() -> None:
    """Fan and vents both scale with density, so the volume flow stays (fan laws)."""
    vent = plain_vent(20.0)
    system = System((VentGroup(vent, "in"), VentGroup(vent, "out")))
    high = air_at(20.0, 2500.0)
    low = operating_point(parabola(), system, AIR, AIR)
    top = operating_point(parabola(), system, high, high)
    assert top.flow_m3_s == pytest.approx(low.flow_m3_s, rel=1e-6)
    ratio = high.density_kg_m3 / AIR.density_kg_m3
    assert top.pressure_pa == pytest.approx(low.pressure_pa * ratio, rel=1e-6)


def test_mass_is_kept_where_air_is_heated() -> None:
    vent = plain_vent(20.0)
    system = System((VentGroup(vent, "in"), VentGroup(vent, "out")))
    warm = AIR.at(60.0)
    found = operating_point(parabola(), system, AIR, warm)
    # The same mass flows faster through the outlet, thinner by the ratio of temperatures.
    assert found.drops_pa[1] / found.drops_pa[0] == pytest.approx(333.15 / 293.15, rel=1e-9)
    pulled = operating_point(parabola(), system, AIR, warm, "outlet")
    assert pulled.mass_kg_s < found.mass_kg_s


STALLING = "flow_m3_h,pressure_pa\n0,40\n20,24\n40,40\n50,42\n70,25\n90,0\n"


def test_stall_and_several_crossings_are_warned_about() -> None:
    fan = parse_fan(STALLING, "saddle.csv")
    density = fan.density_kg_m3
    crossed = operating_point(
        fan, System((VentGroup(plain_vent(0.01, 1e6), "in"),), counter_pa=32.0), AIR, AIR
    )
    assert len(crossed.crossings_m3_s) == 3
    assert any("cross 3 times" in w for w in crossed.warnings)
    assert not crossed.stalled
    k = 26.0 / (0.5 * density * (15 / 3600 / 4000e-6) ** 2)
    stalled = operating_point(fan, System((VentGroup(plain_vent(k), "in"),)), AIR, AIR)
    assert stalled.stalled
    assert any("stall region" in w for w in stalled.warnings)


def test_no_operating_point_is_explained() -> None:
    vent = plain_vent(12.0)
    with pytest.raises(NoOperatingPointError, match=r"80\.0 Pa stand against it"):
        operating_point(parabola(), System((VentGroup(vent, "in"),), counter_pa=80.0), AIR, AIR)


def test_vents_beyond_the_models_range_are_named() -> None:
    vent = vent_air(spec("rectangular"))
    weak = FanCurve("weak", (0.0, 1e-5, 2e-5), (0.02, 0.01, 0.0))
    found = operating_point(weak, System((VentGroup(vent, "in"),)), AIR, AIR)
    assert not found.in_range
    assert any("Reynolds number" in w and "T1" in w for w in found.warnings)

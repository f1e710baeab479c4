"""Operating points against closed forms: vents whose loss is exactly quadratic, by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from tests.helpers.rows import spec
from vent_family.evidence.air.asked import balance_of
from vent_family.evidence.air.cabinet import Cabinet
from vent_family.evidence.air.coefficients import TERMS
from vent_family.evidence.air.drive import Drive, OtherAir, drive_of
from vent_family.evidence.air.fan_files import read_fan
from vent_family.evidence.air.fans import FanCurve
from vent_family.evidence.air.losses import band
from vent_family.evidence.air.point import OperatingPoint, operating_points
from vent_family.evidence.air.question import question_of
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import AirState, air_at
from vent_family.evidence.air.wind import velocity_pressure_pa, wind_head_pa
from vent_family.evidence.context import PartContext

RHO = 101325.0 / (287.05287 * 293.15)
WIND_13 = 1.3 * RHO * 13.0**2 / 2.0
"""0.8 windward and -0.5 leeward at 13 m/s, EN 1991-1-4, from memory."""


@dataclass(frozen=True)
class Square:
    """A vent whose losses are K times the velocity head in its area (m2), window, stack, sill."""

    area_m2: float
    window_k: float = 1.0
    stack_k: float = 8.0
    sill_k: float = 1.5
    sill_share: float = 1.0
    stack_factor: float = 1.0
    part_number: str = "square"

    @property
    def open_face_mm2(self) -> float:
        return self.area_m2 * 1e6

    @property
    def sill_mm2(self) -> float:
        return self.area_m2 * self.sill_share * 1e6

    @property
    def k(self) -> float:
        return self.window_k + self.stack_factor * self.stack_k + self.sill_k

    @property
    def r(self) -> float:
        """Pressure drop over flow squared, Pa s2/m6."""
        return self.k * RHO / 2.0 / self.area_m2**2

    def drain_full(self) -> Square:
        return self

    def at_end(self, factor: Any) -> Square:
        return replace(self, stack_factor=self.stack_factor * factor)

    def band(self, re: float) -> tuple[float, float]:
        return 0.5, 2.0

    def drops_pa(
        self, mass_kg_s: Any, outside: AirState, inside: AirState, direction: str, count: int
    ) -> Any:
        air = outside if direction == "in" else inside
        return self.loss(mass_kg_s / air.density_kg_m3 / count, air, direction).drop_pa

    def warnings_at(self, *_: Any) -> list[str]:
        return []

    def loss(self, flow_m3_s: Any, air: AirState, direction: str = "in") -> Any:
        head = RHO / 2.0 * (np.atleast_1d(flow_m3_s) / self.area_m2) ** 2
        terms = dict.fromkeys(TERMS, 0.0 * head)
        terms[TERMS[0]] = self.stack_factor * self.stack_k * head
        terms |= {"front window": self.window_k * head, "sill": self.sill_k * head}

        class Loss:
            terms_pa = terms
            drop_pa = sum(terms.values())
            re = np.full_like(head, 400.0)
            flow_m3_s = np.atleast_1d(0.0)

        return Loss()

    def flow(self, drop_pa: float, air: AirState, direction: str = "in") -> Any:
        class Loss:
            flow_m3_s = np.atleast_1d(math.sqrt(drop_pa / self.r))

        return Loss()


def points(vent: Square, drive: Drive, wind_m_s: float = 0.0) -> list[OperatingPoint]:
    made: Any = vent
    return operating_points(made, drive, wind_m_s)


def one(vent: Square, drive: Drive, wind_m_s: float = 0.0) -> OperatingPoint:
    (found,) = points(vent, drive, wind_m_s)
    return found


def straight(shut_off_pa: float, free_m3_s: float) -> FanCurve:
    """Return a fan whose curve is a straight line."""
    flows = tuple(free_m3_s * i / 4 for i in range(5))
    return FanCurve("line", flows, tuple(shut_off_pa * (1 - i / 4) for i in range(5)), RHO)


VENT = Square(0.004, sill_share=0.8)


# ----------------------------------------------------------------------------------------------
# Face velocity


def test_a_face_velocity_gives_flow_and_depression_by_hand() -> None:
    found = one(VENT, Drive(2.0, extra_pa=7.0))
    head = RHO / 2.0 * 2.0**2
    assert (found.source, found.direction, found.state) == ("face velocity", "in", "fan running")
    assert found.flow_m3_h == pytest.approx(2.0 * 0.004 * 3600.0)
    assert found.fan_pa == pytest.approx((1.0 + 8.0 + 1.0 / 0.8**2) * head)
    assert found.depression_pa == pytest.approx(found.fan_pa + 7.0)
    assert (found.wind_pa, found.extra_pa) == (0.0, 7.0)
    # The whole drop and the extra lie between outside and cabinet.
    assert found.opening_depression_pa == pytest.approx(10.5 * head + 7.0)


def test_the_band_of_k_goes_into_the_depression() -> None:
    found = one(VENT, Drive(2.0, extra_pa=7.0))
    head = RHO / 2.0 * 2.0**2
    for factor, end in ((0.5, found.depression_low_pa), (2.0, found.depression_high_pa)):
        assert end == pytest.approx((1.0 + factor * 8.0 + 1.0 / 0.8**2) * head + 7.0)


def test_air_let_out_presses_the_pool_down() -> None:
    running, stopped = points(VENT, Drive(2.0, direction="out"))
    head = RHO / 2.0 * 2.0**2
    assert (running.direction, running.face_velocity_m_s) == ("out", pytest.approx(-2.0))
    assert running.depression_pa == pytest.approx(-(1.0 + 8.0 - 1.0 / 0.8**2) * head)
    assert running.opening_depression_pa == pytest.approx(-10.5 * head)
    assert (stopped.state, stopped.direction, stopped.depression_pa) == ("fan stopped", "still", 0)


def test_nothing_stated_is_the_rated_pressure_and_says_so() -> None:
    found = one(VENT, Drive())
    assert found.source == "default"
    assert found.opening_depression_pa == pytest.approx(25.0)
    assert found.flow_m3_h == pytest.approx(3600.0 * math.sqrt(25.0 / VENT.r))


def test_still_air_is_still() -> None:
    found = one(VENT, Drive(0.0))
    assert (found.direction, found.state, found.depression_pa) == ("still", "no fan", 0.0)


# ----------------------------------------------------------------------------------------------
# Fans


@pytest.mark.parametrize("vents", [1, 3])
def test_a_fan_settles_where_its_line_cuts_the_parabola(vents: int) -> None:
    """P0 (1 - Q / Qf) = (R1 + R2) (Q / n)^2, solved as a quadratic."""
    far: Any = Square(0.002)
    drive = Drive(fan=straight(60.0, 0.05), vents=vents, opposite=far)
    found = one(VENT, drive)
    a, b, c = (VENT.r + far.r) / vents**2, 60.0 / 0.05, -60.0
    flow = (-b + math.sqrt(b * b - 4 * a * c)) / (2 * a)
    assert found.flow_m3_h == pytest.approx(3600.0 * flow / vents, rel=1e-6)
    head = RHO / 2.0 * (flow / vents / 0.004) ** 2
    assert found.depression_pa == pytest.approx((9.0 + 1.0 / 0.64) * head, rel=1e-6)


def test_where_the_fan_sits_decides_which_side_the_cabinet_lies_on() -> None:
    far: Any = Square(0.002)
    pushed = one(VENT, Drive(fan=straight(60.0, 0.05), place="intake", opposite=far))
    pulled = one(VENT, Drive(fan=straight(60.0, 0.05), place="outlet", opposite=far))
    flow = pushed.flow_m3_h / 3600.0
    assert pulled.flow_m3_h == pytest.approx(pushed.flow_m3_h)
    assert pushed.opening_depression_pa == pytest.approx(-far.r * flow**2)
    assert pulled.opening_depression_pa == pytest.approx(VENT.r * flow**2)
    assert pulled.depression_pa == pytest.approx(pushed.depression_pa)


# ----------------------------------------------------------------------------------------------
# Wind


def test_velocity_pressure_and_coefficients() -> None:
    """102 Pa at 13 m/s in 1.2 kg/m3, the plain formula; EN 1991-1-4 coefficients from memory."""
    light = AirState(20.0, 1.2 * 287.05287 * 293.15)
    assert velocity_pressure_pa(13.0, light) == pytest.approx(101.4)
    heads = [wind_head_pa(13.0, o, light) for o in ("lee_side", "sheltered", "same_side")]
    assert heads == pytest.approx([(0.8 + 0.5) * 101.4, 0.8 * 101.4, 0.0])


@pytest.mark.parametrize("ratio", [0.5, 1.0, 3.0])
def test_openings_in_a_row_share_the_wind_by_the_square_of_their_areas(ratio: float) -> None:
    """Same K, areas A and m A: the first takes (1 / A^2) / (1 / A^2 + 1 / (m A)^2)."""
    far: Any = Square(0.004 * ratio, sill_share=0.8)
    found = one(VENT, Drive(0.0, opposite=far), 13.0)
    share = 1.0 / (1.0 + 1.0 / ratio**2)
    own = WIND_13 * share
    assert found.direction == "in"
    assert found.wind_head_pa == pytest.approx(WIND_13)
    assert found.opening_depression_pa == pytest.approx(own)
    assert found.flow_m3_h == pytest.approx(3600.0 * math.sqrt(own / VENT.r))
    assert found.wind_pa == pytest.approx(own * (9.0 + 1.0 / 0.64) / 10.5)
    assert found.fan_pa == 0.0


def test_wind_adds_to_the_pressure_that_keeps_a_face_velocity_up() -> None:
    found = one(VENT, Drive(2.0), 13.0)
    calm_flow = 2.0 * 0.004
    both = 2.0 * VENT.r
    flow = math.sqrt((both * calm_flow**2 + WIND_13) / both)
    assert found.flow_m3_h == pytest.approx(3600.0 * flow)
    assert found.depression_pa == pytest.approx(found.fan_pa + found.wind_pa)
    assert found.depression_pa == pytest.approx((9.0 + 1.0 / 0.64) / 10.5 * VENT.r * flow**2)
    assert found.fan_pa == pytest.approx(one(VENT, Drive(2.0)).depression_pa)


def test_wind_drives_more_through_a_fan_along_its_line() -> None:
    """P0 (1 - Q / Qf) + W = 2 R Q^2, below the free flow."""
    found = one(VENT, Drive(fan=straight(60.0, 0.2)), 5.0)
    wind = 1.3 * RHO * 12.5
    a, b, c = 2.0 * VENT.r, 60.0 / 0.2, -60.0 - wind
    flow = (-b + math.sqrt(b * b - 4 * a * c)) / (2 * a)
    assert found.flow_m3_h == pytest.approx(3600.0 * flow, rel=1e-6)


@pytest.mark.parametrize("openings", ["same_side", "sheltered"])
def test_where_the_other_openings_lie_counts(openings: Any) -> None:
    found = one(VENT, Drive(2.0, openings=openings), 13.0)
    assert found.wind_head_pa == pytest.approx({"same_side": 0.0, "sheltered": 0.8}[openings]
                                               * RHO * 13.0**2 / 2.0)  # fmt: skip
    assert (found.wind_pa > 0.0) == (openings == "sheltered")


def test_a_blank_does_not_flatter() -> None:
    blank = one(VENT, Drive(2.0), 13.0)
    for openings in ("same_side", "sheltered"):
        stated: Any = openings
        assert blank.depression_pa > one(VENT, Drive(2.0, openings=stated), 13.0).depression_pa


def test_wind_against_a_fan_that_lets_air_out() -> None:
    """60 Pa at shut-off lose against 132 Pa of wind: sqrt((W - P0) / 2 R) comes in instead."""
    fan = straight(60.0, 0.05)
    running, stopped, against = points(VENT, Drive(fan=fan, direction="out"), 13.0)
    assert (running.direction, running.wind_head_pa) == ("out", 0.0)
    assert running.depression_pa < 0.0
    assert (stopped.state, stopped.direction) == ("fan stopped", "in")
    assert stopped.flow_m3_h == pytest.approx(3600.0 * math.sqrt(WIND_13 / 2.0 / VENT.r))
    assert (against.state, against.direction) == ("wind against the fan", "in")
    flow = math.sqrt((WIND_13 - 60.0) / 2.0 / VENT.r)
    assert against.flow_m3_h == pytest.approx(3600.0 * flow)
    # A breeze only slows it: P0 (1 - Q / Qf) - W = 2 R Q^2.
    *_, slowed = points(VENT, Drive(fan=fan, direction="out"), 5.0)
    a, b, c = 2.0 * VENT.r, 60.0 / 0.05, -60.0 + 1.3 * RHO * 12.5
    out = (-b + math.sqrt(b * b - 4 * a * c)) / (2 * a)
    assert (slowed.direction, slowed.flow_m3_h) == ("out", pytest.approx(3600.0 * out, rel=1e-6))
    for point, by in (
        (running, "by the fan)"),
        (stopped, "over the face, by wind)"),
        (against, "over the face, by wind)"),
        (slowed, "by the fan, slowed by wind)"),
        (one(VENT, Drive(2.0), 13.0), "as stated, raised by wind)"),
        (one(VENT, Drive(2.0)), "as stated)"),
    ):
        assert by in point.words()


# ----------------------------------------------------------------------------------------------
# Real vents


def test_what_lies_behind_the_pool_is_left_out() -> None:
    """Of a round vent cone and neck, of a rectangular one the contraction over the sill."""
    for family, last in (("round", "neck"), ("rectangular", "sill")):
        vent = vent_air(spec(family)).drain_full()
        (found,) = operating_points(vent, Drive(1.0))
        flow = vent.open_face_mm2 * 1e-6
        loss = vent.loss(flow, air_at(), "in")
        over_sill = RHO / 2.0 * (flow / (vent.sill_mm2 * 1e-6)) ** 2
        before = float(loss.drop_pa[0] - loss.terms_pa[last][0])
        assert found.depression_pa == pytest.approx(before + over_sill, rel=1e-4)
        assert found.depression_pa < found.opening_depression_pa


def test_factors_on_the_slats_act_on_the_split_with_the_drain() -> None:
    """Four times the K is half the flow through the slats at the same pressure, not the drain's."""
    vent = vent_air(spec())
    tight = replace(vent, stack_factor=4.0)
    loss, more = vent.loss(0.006, air_at()), tight.loss(0.006, air_at())
    assert more.drain_share[0] > 1.5 * loss.drain_share[0]
    slats = sum(float(more.terms_pa[t][0]) for t in TERMS)
    through = float(more.drain_share[0]) * 0.006
    drain = vent.drain_k * RHO / 2.0 * (through / (vent.drain_mm2 * 1e-6)) ** 2
    assert slats == pytest.approx(drain, rel=1e-6)


@pytest.mark.parametrize("place", ["intake", "outlet"])
def test_cabinet_and_water_agree_on_the_air(place: Any) -> None:
    """A cabinet that loses next to no heat has the flow of the operating point, drain full."""
    vent, fan = spec(), read_fan_named("tank-hall-92")
    cabinet = Cabinet(heat_w=1e-6, ambient_c=20.0, limit_c=45.0)
    asked = question_of(vent, cabinet, fan=fan, place=place)
    dry = vent_air(vent)
    found = balance_of(replace(asked, inlet=dry.drain_full(), outlet=dry))
    (point,) = operating_points(vent_air(vent), Drive(fan=fan, place=place))
    assert point.flow_m3_h == pytest.approx(3600.0 * found.flow_m3_s, rel=1e-6)


def test_flow_has_the_ends_of_the_slats_loss() -> None:
    """At the least flow the fan gives what the greatest K of this vent and the other side take."""
    vent, fan, air = vent_air(spec()), read_fan_named("tank-hall-92"), air_at()
    (point,) = operating_points(vent, Drive(fan=fan))
    full = vent.drain_full()
    re = float(full.loss(point.flow_m3_h / 3600.0, air).re[0])
    for q_m3_h, factor in zip(
        (point.flow_high_m3_h, point.flow_low_m3_h), band(vent.stack, re, vent.bay_mm), strict=True
    ):
        own = replace(full, stack_factor=factor).loss(q_m3_h / 3600.0, air).drop_pa[0]
        far = vent.loss(q_m3_h / 3600.0, air, "out").drop_pa[0]
        given = fan.at_density(air.density_kg_m3).pressure(q_m3_h / 3600.0)
        assert own + far == pytest.approx(float(given), rel=1e-5)
    (stated,) = operating_points(vent, Drive(1.5))
    assert stated.flow_low_m3_h == stated.flow_m3_h == stated.flow_high_m3_h


def read_fan_named(name: str) -> FanCurve:
    from pathlib import Path

    return read_fan(Path(name))


def test_air_and_water_of_a_record_state_one_point() -> None:
    from vent_family.evidence.air.kind import AIR
    from vent_family.evidence.water.kind import WATER

    context = PartContext(spec(exposure="dry", fan="tank-hall-92", vents_in_parallel=2))
    air: Any = context.record(AIR)
    water: Any = context.record(WATER)
    assert air.operating_point == water.conditions.air
    assert air.operating_point.source == "fan"
    assert "tank-hall-92 at the intake, drawn in by this vent of 2" in air.driven_by
    assert air.driven_by == water.conditions.driven_by


def test_other_air_takes_the_place_of_the_rows() -> None:
    own = drive_of(spec(fan="tank-hall-92", vents_in_parallel=2, extra_depression_pa=4.0))
    slow = OtherAir(face_velocity_m_s=0.5).instead_of(own)
    assert (slow.source, slow.fan, slow.face_velocity_m_s) == ("face velocity", None, 0.5)
    assert slow.extra_pa == 4.0
    fan = straight(60.0, 0.05)
    blown = OtherAir(fan=fan, fan_position="outlet", other_openings="sheltered").instead_of(slow)
    assert (blown.source, blown.fan, blown.place) == ("fan", fan, "outlet")
    assert (blown.openings, blown.openings_stated) == ("sheltered", True)

"""Cooling against a numerical solution, tools and shots by hand, order costs by brute force."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from vent_family.base.mould import Resin
from vent_family.base.shop import demo_shop
from vent_family.evidence.cost.mould.draw import Draw
from vent_family.evidence.cost.mould.moulding import Moulding, priced
from vent_family.evidence.cost.mould.pieces import Split
from vent_family.evidence.cost.mould.price import (
    base_cost,
    cavity_hours,
    clamp_kn,
    cooling_s,
    cycle_s,
    shot_cost,
)
from vent_family.evidence.cost.mould.shape import PieceShape

SHOP = demo_shop()
TOOL, PRESS = SHOP.mould.tool, SHOP.mould.press


def piece(name: str = "plate", **changes: object) -> PieceShape:
    plain = PieceShape(name, 1, Draw("z"), (100.0, 80.0, 20.0), 5000.0, 20_000.0, 2.0, 30.0)
    return replace(plain, **changes)  # type: ignore[arg-type]


def mean_falls_to(wall_mm: float, resin: Resin) -> float:
    """Return when the mean of a plate falls to the ejection temperature, s: finite differences.

    60 cells over the wall, faces held at the mould's temperature, explicit steps.
    """
    cells, a = 60, resin.diffusivity_mm2_s
    dx = wall_mm / cells
    dt = 0.2 * dx**2 / a
    t = np.full(cells, resin.melt_deg_c)
    now = 0.0
    while t.mean() > resin.eject_deg_c:
        # The mould stands half a cell from the outermost middles.
        padded = np.concatenate(
            [[2 * resin.mould_deg_c - t[0]], t, [2 * resin.mould_deg_c - t[-1]]]
        )
        t = t + a * dt / dx**2 * (padded[2:] - 2 * t + padded[:-2])
        now += dt
    return now


@pytest.mark.parametrize("material", ["ASA", "PC", "PP"])
@pytest.mark.parametrize("wall_mm", [1.5, 2.5])
def test_a_plate_cools_as_the_heat_equation_says(material: str, wall_mm: float) -> None:
    resin = SHOP.mould.resin.of(material)
    assert cooling_s(wall_mm, resin) == pytest.approx(mean_falls_to(wall_mm, resin), rel=0.01)


@pytest.mark.parametrize(
    ("material", "melt_deg_f", "mould_deg_f"),
    [
        ("ASA", (486, 552), (100, 180)),
        ("PC", (520, 610), (150, 225)),
        ("PP", (400, 500), (70, 120)),
    ],
)
def test_temperatures_lie_in_published_ranges(
    material: str, melt_deg_f: tuple[int, int], mould_deg_f: tuple[int, int]
) -> None:
    """General processing guidelines of plastic-industry.com (read), in degrees Fahrenheit."""
    resin = SHOP.mould.resin.of(material)
    assert melt_deg_f[0] <= resin.melt_deg_c * 1.8 + 32.0 <= melt_deg_f[1]
    assert mould_deg_f[0] <= resin.mould_deg_c * 1.8 + 32.0 <= mould_deg_f[1]


def test_resin_that_need_not_cool_takes_no_time() -> None:
    """Ejected near the melt's own temperature, where the first term alone would say less than 0."""
    warm = Resin(
        per_kg=1.0, melt_deg_c=200.0, eject_deg_c=190.0, mould_deg_c=50.0, diffusivity_mm2_s=0.1
    )
    assert cooling_s(2.0, warm) == 0.0


def test_cooling_takes_most_of_a_shot() -> None:
    """50 to 80 % of it at usual walls: moulders' guides (qlutionmold.com, read)."""
    resin = SHOP.mould.resin.of("ASA")
    for wall in (2.5, 3.5):
        assert 0.5 < cooling_s(wall, resin) / cycle_s(piece(wall_mm=wall), resin, PRESS) < 0.8


def test_what_moves_in_the_tool_takes_time() -> None:
    resin = SHOP.mould.resin.of("ASA")
    plain = cycle_s(piece(), resin, PRESS)
    assert plain == pytest.approx(cooling_s(2.0, resin) + 9.0)
    moving = piece(draw=Draw("z", ("+x", "-x"), unscrewed=True, left_in=("shell",)))
    assert cycle_s(moving, resin, PRESS) == pytest.approx(plain + 3 * 1.5 + 6.0)


def test_clamp_lies_between_published_factors() -> None:
    """2 to 5.5 US tons per square inch (fecision.com, read): 27.6 to 75.8 MPa."""
    ton_per_inch2 = 8896.443 / 645.16
    assert 2.0 * ton_per_inch2 < PRESS.cavity_mpa < 5.5 * ton_per_inch2
    assert clamp_kn(20_000.0, PRESS) == pytest.approx(900.0)
    assert shot_cost(36.0, 20_000.0, PRESS) == pytest.approx((24.0 + 0.016 * 900.0) / 100.0)
    assert shot_cost(36.0, 100.0, PRESS) == pytest.approx((24.0 + 0.016 * 250.0) / 100.0)


def test_plates_of_a_mould_as_published() -> None:
    """538 kg of steel at US$5.25 and US$830: about 3,700 (Kazmer, an extract read)."""
    kazmer = TOOL.model_copy(update={"fixed": 830.0, "steel_per_kg": 5.25})
    side = 1000.0 * math.sqrt(538.0 / 7850.0 / 0.25) - 2.0 * kazmer.border_mm
    found = base_cost(side, side, 250.0 - kazmer.plates_mm, kazmer)
    assert found == pytest.approx(3_700.0, rel=0.02)


def test_hours_for_a_cavity_by_hand() -> None:
    """80 cm2 and three points of complexity; each device adds its own hours."""
    plain = 5.0 + 0.085 * 80.0**1.2 + 2.5 * 80.0**0.5 + 5.83 * 3.0**1.27
    assert cavity_hours(piece(), TOOL) == pytest.approx(plain)
    ways = [
        (Draw("z", ("+x", "-x")), 2 * 65.0),
        (Draw("z", unscrewed=True), 250.0),
        (Draw("z", left_mm2=50.0, left_in=("shell", "thread")), 2 * 150.0),
        (Draw("z", lean_deg=45.0), 2.0 * 80.0**0.5),
    ]
    for draw, more in ways:
        assert cavity_hours(piece(draw=draw), TOOL) == pytest.approx(plain + more)


def made(*pieces: PieceShape) -> Moulding:
    return priced(Split((), pieces), "ASA", 1.07, SHOP)


def test_one_piece_by_hand() -> None:
    """20 cm3 of ASA at 3.2 a kg, one shot, 2 % thrown away; no joint, one setup."""
    found = made(piece())
    resin = 20.0 * 1.07e-3 * 1.06 * 3.2
    seconds = cooling_s(2.0, SHOP.mould.resin.of("ASA")) + 9.0
    machine = seconds / 3600.0 * (24.0 + 0.016 * 250.0)
    assert found.piece == pytest.approx((resin + machine) / 0.98)
    assert found.tool == pytest.approx(
        45.0 * cavity_hours(piece(), TOOL) + base_cost(100.0, 80.0, 20.0, TOOL)
    )
    assert (found.setup, found.assembly, found.joint_count) == (250.0, 0.0, 0)
    assert found.pieces[0].mass_g == pytest.approx(21.4)
    assert found.cost_per_part(1000) == pytest.approx(found.piece + (found.tool + 250.0) / 1000.0)


def test_pieces_are_put_together_and_a_locknut_is_not() -> None:
    """Shell, two equal grilles and a locknut: two joints of 0.4 min at 26 an hour."""
    found = made(piece("shell"), piece("grille", count=2), piece("locknut"))
    assert (found.piece_count, found.joint_count) == (4, 2)
    assert found.assembly == pytest.approx(2 * 0.4 * 26.0 / 60.0)
    pieces = sum(p.cost * p.count for p in found.pieces)
    assert found.piece == pytest.approx(pieces + found.assembly)


def test_one_tool_for_all_or_one_for_each() -> None:
    """Five alike share a shot; a huge one and a tiny one that cools long do not."""
    alike = made(*(piece(f"{n}") for n in range(5)))
    assert alike.family
    assert alike.setup == 250.0
    seconds = cooling_s(2.0, SHOP.mould.resin.of("ASA")) + 9.0
    machine = seconds / 3600.0 * (24.0 + 0.016 * 25_000.0 * 0.045)
    resin = 20.0 * 1.07e-3 * 1.06 * 3.2
    assert alike.piece - alike.assembly == pytest.approx((5 * resin + machine) / 0.98)
    base = base_cost(math.sqrt(5 * 130.0 * 110.0), math.sqrt(5 * 130.0 * 110.0), 20.0, TOOL)
    assert alike.tool == pytest.approx(base + 5 * 45.0 * cavity_hours(piece(), TOOL))

    apart = made(piece("wide", shadow_mm2=300_000.0), piece("thick", wall_mm=12.0))
    assert not apart.family
    assert apart.setup == 500.0
    assert apart.tool == pytest.approx(
        2 * (45.0 * cavity_hours(piece(), TOOL) + base_cost(100.0, 80.0, 20.0, TOOL))
    )


def test_tools_are_bought_again_when_they_are_worn() -> None:
    plain = Moulding((), (), True, 1000.0, 10.0, 0.0, 1.0, 500)
    assert plain.cost_per_part(500) == pytest.approx(1.0 + 1010.0 / 500)
    assert plain.cost_per_part(501) == pytest.approx(1.0 + 2010.0 / 501)


def test_two_pieces_wear_their_own_tool_twice_as_fast() -> None:
    """500,000 shots: one part takes two of them where two pieces come from one cavity."""
    apart = made(piece("wide", count=2, shadow_mm2=300_000.0), piece("thick", wall_mm=12.0))
    assert not apart.family
    assert apart.life_parts == 250_000
    together = made(piece(count=2), piece("box"))
    assert together.family
    assert together.life_parts == 500_000


def test_break_even_worked_example() -> None:
    """N = tool / (printed - moulded): 6500 / (18 - 0.70) = 375.7 (computed)."""
    plain = Moulding((), (), True, 6500.0, 0.0, 0.0, 0.70, 500_000)
    assert plain.break_even_parts(lambda _: 18.0) == 376
    assert plain.break_even_parts(lambda _: 0.5) is None


@pytest.mark.parametrize(
    "printed",
    [
        lambda n: 3.0 + 12.0 / n,
        lambda n: 2.0 if n >= 1000 else 3.5,
        lambda n: 9.0,
        lambda n: 1.7 + 40.0 / n,
    ],
)
def test_break_even_is_the_first_order_that_costs_no_more(
    printed: Callable[[int], float],
) -> None:
    plain = Moulding((), (), True, 2900.0, 100.0, 0.0, 1.2, 500_000)
    first = next(n for n in range(1, 20_000) if plain.cost_per_part(n) <= printed(n))
    assert plain.break_even_parts(printed) == first
    assert plain.break_even_parts(printed, [1000]) == first


@pytest.mark.parametrize("bulk_from", [1, 2, 600, 999, 1000, 1001, 1500, 6000, 6001])
def test_break_even_around_a_discount(bulk_from: int) -> None:
    """3,000 for the tool and 1.20 a part, printed cheaper from an order on: each order looked at.

    Printed for 4.30 the mould pays from 968 parts, but not yet from 1,000 if they are 3.90 then.
    """
    plain = Moulding((), (), True, 2900.0, 100.0, 0.0, 1.2, 6_000)
    for singly, in_bulk in itertools.product((1.1, 4.0, 4.3, 5.5, 9.0), (1.0, 1.6, 3.9, 4.2)):
        prices = [singly if n < bulk_from else in_bulk for n in range(6_001)]
        dearer = [n for n in range(1, 6_001) if 1.2 + 3000.0 / n > prices[n]]
        last = dearer[-1] if dearer else 0
        found = plain.break_even_parts(prices.__getitem__, [bulk_from])
        assert found == (last + 1 if last < 6_000 else None), (singly, in_bulk)


def test_a_mould_that_pays_only_beyond_its_life_never_pays() -> None:
    plain = Moulding((), (), True, 10_000.0, 0.0, 0.0, 1.0, 5_000)
    assert plain.break_even_parts(lambda _: 2.9) is None
    assert plain.break_even_parts(lambda _: 3.0) == 5_000

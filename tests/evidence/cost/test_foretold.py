"""The price foretold without a solid, against the price of the part as it is examined."""

from __future__ import annotations

from functools import cache

import pytest

from tests.helpers.rows import spec
from tests.helpers.shops import shop_with
from vent_family.base.rates import demo_rates
from vent_family.base.shop import demo_shop
from vent_family.evidence.context import PartContext
from vent_family.evidence.cost.foretold import foretold_price
from vent_family.evidence.cost.part import PrintedCost, printed_cost
from vent_family.evidence.printing.kind import PRINTING
from vent_family.spec.vent import VentSpec

SHOP = demo_shop()
ROWS = {
    "rectangular": {"size": "40x40", "rib_count": 1},
    "round": {"size": "M20x1.5", "slat_form": "flat"},
}


@cache
def examined(family: str) -> tuple[VentSpec, PrintedCost, float]:
    vent = spec(family, **ROWS[family])
    report = PartContext(vent, demo_rates()).of(PRINTING)
    cost = printed_cost(report, SHOP)
    assert cost is not None
    return vent, cost, report.vent.mass_g


@pytest.mark.parametrize("family", ROWS)
def test_price_mass_and_plate_of_a_part_that_is_built(family: str) -> None:
    vent, cost, mass = examined(family)
    for order in cost.orders:
        found = foretold_price(vent, SHOP, order.parts)
        assert found.fits_bed
        assert found.price == pytest.approx(order.price, rel=0.01)
        assert found.cost == pytest.approx(order.cost, rel=0.01)
        assert found.parts_fit == order.plate.fit
        # What costs least is flat: one more or less on a plate is a hair dearer.
        assert found.parts_per_plate == pytest.approx(order.plate.parts, abs=1)
        one = found.plate_time_s / found.parts_per_plate  # type: ignore[operator]
        assert one == pytest.approx(order.plate.seconds / order.plate.parts, rel=0.02)
        assert found.mass_g == pytest.approx(mass, rel=0.01)
        assert found.currency == SHOP.currency


def test_any_order_has_a_price_and_a_larger_one_is_no_dearer() -> None:
    vent = spec("rectangular", **ROWS["rectangular"])
    prices = [foretold_price(vent, SHOP, n).price for n in (1, 7, 60, 2_345)]
    assert prices == sorted(prices, reverse=True)  # type: ignore[type-var]
    assert prices[0] != prices[-1]
    with pytest.raises(ValueError, match="one part or more"):
        foretold_price(vent, SHOP, 0)


def test_without_room_on_the_bed_there_is_a_mass_but_no_price() -> None:
    """The vent is 54 mm wide and 25 high, the hexagon of its nut 25 mm."""
    vent = spec("round", **ROWS["round"])
    fits = foretold_price(vent, SHOP, 10)
    for machine in ({"bed_z_mm": 20.0}, {"bed_x_mm": 30.0}, {"bed_x_mm": 20.0, "bed_y_mm": 20.0}):
        found = foretold_price(vent, shop_with(machine=machine), 10)
        assert not found.fits_bed
        assert found.mass_g == fits.mass_g
        assert (found.price, found.cost, found.parts_fit) == (None, None, None)


@pytest.mark.parametrize(("way", "by_hand"), [("upright", False), ("face_down", True)])
def test_a_plate_of_upright_vents_is_cleared_by_the_machine(way: str, by_hand: bool) -> None:
    """Where machines clear all that they can at no work, minutes a plate cost only by hand."""
    vent = spec("rectangular", size="40x40", rib_count=1, print_orientation=way)
    free = {"unattended_share": 1.0, "plate_min_unattended": 0.0}
    quick, slow = (
        foretold_price(vent, shop_with(labour={**free, "plate_min": minutes}), 100).cost
        for minutes in (1.0, 9.0)
    )
    assert quick is not None
    assert slow is not None
    assert (slow > quick) == by_hand

"""Rough layers against those that are cut and filled, on every kind of vent.

What is cut and filled is itself held against meshes (``test_foretold.py``).
"""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from tests.helpers.rows import spec
from vent_family.base.shop import demo_shop
from vent_family.evidence.cost.foretold import foretold_price, quick_price
from vent_family.evidence.printing.foretold import foretold_vent
from vent_family.evidence.printing.rough import rough_vent
from vent_family.spec.vent import VentSpec

SHOP = demo_shop()
ROWS: dict[str, dict[str, Any]] = {
    "lip": {"family": "rectangular", "size": "60x50"},
    "thick": {"family": "rectangular", "size": "60x50", "rib_thickness_mm": 4.0, "wall_mm": 3.5},
    "upright": {"family": "rectangular", "size": "60x50", "print_orientation": "upright"},
    "snap": {"family": "rectangular", "size": "50x50", "fixing": "snap", "slat_form": "folded"},
    "flange": {"family": "flanged", "size": "60x60", "slat_form": "flat"},
    "fan": {"family": "flanged", "size": "70x70", "fan_mount": "60"},
    "neck": {"family": "round", "size": "M32x1.5"},
    "hose": {"family": "flanged", "size": "80x80", "slat_form": "channel", "banks_outside": 1},
}


@cache
def vent(name: str) -> VentSpec:
    return spec(**ROWS[name])


@pytest.mark.parametrize("name", ROWS)
def test_mass_time_box_and_price_are_near(name: str) -> None:
    rough, exact = rough_vent(vent(name), SHOP), foretold_vent(vent(name), SHOP)
    assert rough.size_mm == pytest.approx(exact.size_mm, abs=1e-6)
    assert len(rough.times.work_s) == len(exact.times.work_s)
    assert rough.mass_g == pytest.approx(exact.mass_g, rel=0.05)
    assert rough.times.work_s.sum() == pytest.approx(exact.times.work_s.sum(), rel=0.06)
    for quantity in (1, 400, 20_000):
        band = quick_price(vent(name), SHOP, quantity)
        price = foretold_price(vent(name), SHOP, quantity).price
        assert band is not None
        assert price is not None
        assert band.low < price < band.high
        assert band.low < band.mean < band.high < 1.2 * band.low


def test_less_infill_is_less_plastic_and_solid_is_the_most() -> None:
    masses = []
    for share in (0.1, 0.5, 1.0):
        printing = SHOP.printing.model_copy(update={"infill_share": share})
        shop = SHOP.model_copy(update={"printing": printing})
        masses.append((rough_vent(vent("thick"), shop).mass_g, foretold_vent(vent("thick"), shop)))
    for rough, exact in masses:
        assert rough == pytest.approx(exact.mass_g, rel=0.04)
    assert masses[0][0] < masses[1][0] < masses[2][0]

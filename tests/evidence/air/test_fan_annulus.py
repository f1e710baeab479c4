"""What the way to the swept ring costs, against the published formulas written out here."""

from __future__ import annotations

import math

import pytest

from tests.helpers.rows import spec
from vent_family.evidence.air.fan_annulus import ANNULUS, annulus_losses
from vent_family.evidence.air.point import pool_depression_pa
from vent_family.evidence.air.resistance import vent_air
from vent_family.evidence.air.state import air_at
from vent_family.evidence.air.summary import summarise
from vent_family.spec.fan_mount import FanDuct
from vent_family.spec.vent import VentSpec

BORES = {"40": (38.0, 25.0), "92": (88.0, 42.0), "120": (115.0, 50.0)}
"""Bore and hub, mm, of the frames asked about."""


def contraction(from_mm2: float, to_mm2: float) -> float:
    """Rennels & Hudson 2012, sharp-edged contraction, on the head behind it; from memory."""
    beta = math.sqrt(to_mm2 / from_mm2)
    jet = 1.0 + 0.622 * (1.0 - 0.215 * beta**2 - 0.785 * beta**5)
    return 0.0696 * (1.0 - beta**5) * jet**2 + (jet - 1.0) ** 2


def widening(from_mm2: float, to_mm2: float) -> float:
    """Borda and Carnot, on the head before it."""
    return (1.0 - from_mm2 / to_mm2) ** 2


def below_mm2(radius: float, height: float) -> float:
    """Return the part of a disc below a level ``height`` over its middle; all mm."""
    h = min(max(height, -radius), radius)
    return radius**2 * math.acos(-h / radius) + h * math.sqrt(radius**2 - h**2)


def ring_of(vent: VentSpec, name: str) -> tuple[FanDuct, float, float]:
    """Return the duct, and what is swept and left open, where only floor and roof cover it."""
    duct = vent.fan_duct
    assert duct is not None
    bore, hub = (d / 2.0 for d in BORES[name])
    assert duct.sides_mm[2] >= bore - 1e-9
    low, high = (y - duct.centre_mm for y in (duct.floor_mm[2], duct.tops_mm[2]))
    parts = [below_mm2(r, high) - below_mm2(r, low) for r in (bore, hub)]
    return duct, math.pi * (bore**2 - hub**2), parts[0] - parts[1]


@pytest.mark.parametrize(("size", "name"), [("120x120", "120"), ("120x120", "92"), ("45x45", "40")])
def test_losses_follow_the_published_formulas(size: str, name: str) -> None:
    vent = spec("flanged", size=size, fan_mount=name)
    duct, swept, ring = ring_of(vent, name)
    assert duct.open_swept_mm2 == pytest.approx(ring, rel=1e-3)
    begin = 2.0 * duct.sides_mm[0] * (vent.section.ceiling_mm - vent.section.sill_top_mm)
    found = {way: (k, area) for way, k, area in annulus_losses(duct)}
    covered = ring < 0.999 * swept
    wanted = contraction(begin, ring) if begin > ring else 0.0
    wanted += widening(ring, swept) if covered else 0.0
    assert found["in"][0] == pytest.approx(wanted, rel=5e-3)
    assert found["in"][1] == pytest.approx(ring, rel=1e-3)
    # Blown out, only an edge that covers a part of the ring costs.
    assert ("out" in found) == covered
    if covered:
        assert found["out"][0] == pytest.approx(contraction(swept, ring), rel=5e-3)


def test_the_ring_is_in_the_vents_loss() -> None:
    """In series behind the slats: the same flow loses so much more; the pool feels none of it."""
    bare, held = (vent_air(spec("flanged", size="120x120", fan_mount=f)) for f in (None, "92"))
    air, flow = air_at(20.0), 0.02
    without, found = bare.loss(flow, air), held.loss(flow, air)
    (k, area) = next((k, a) for way, k, a in annulus_losses(
        spec("flanged", size="120x120", fan_mount="92").fan_duct) if way == "in")  # fmt: skip
    own = k * 0.5 * air.density_kg_m3 * (flow / (area * 1e-6)) ** 2
    assert found.terms_pa[ANNULUS][0] == pytest.approx(own)
    assert found.drop_pa[0] - without.drop_pa[0] == pytest.approx(own)
    assert bare.loss(flow, air, "out").drop_pa[0] == held.loss(flow, air, "out").drop_pa[0]
    assert pool_depression_pa(held, flow, air) == pool_depression_pa(bare, flow, air)


def test_a_small_fan_is_the_narrowest_place() -> None:
    small = summarise(spec("flanged", size="92x92", fan_mount="60"))
    assert small.smallest.name == "fan annulus"
    assert small.smallest.area_mm2 == pytest.approx(math.pi / 4.0 * (57.0**2 - 32.0**2), rel=1e-3)
    large = summarise(spec("flanged", size="92x92", fan_mount="92"))
    assert large.smallest.name != "fan annulus"
    assert small.k_in > large.k_in

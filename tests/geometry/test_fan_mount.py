"""The solid of a vent that holds a fan, probed point by point, and laid layer by layer."""

from __future__ import annotations

import math
from functools import cache

import cadquery as cq
import pytest

from tests.helpers.rows import spec
from vent_family.evidence.context import PartContext
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.solid.volume import estimate_volume_mm3
from vent_family.geometry.fan_mount import fan_duct
from vent_family.spec.fan_mount import FanDuct

CASES = {
    "pocket": ("rectangular", "45x45", "40"),
    "narrowing": ("rectangular", "60x64", "40"),
}
"""Family, opening and fan: one with an open space below the duct's floor, and one without."""


@cache
def context(case: str) -> PartContext:
    family, size, fan = CASES[case]
    return PartContext(spec(family, size=size, fan_mount=fan))


def duct_of(case: str) -> FanDuct:
    duct = context(case).spec.fan_duct
    assert duct is not None
    return duct


def solid_at(solid: cq.Solid, *points: tuple[float, float, float]) -> list[bool]:
    return [solid.isInside(cq.Vector(*point)) for point in points]


@pytest.mark.parametrize("case", CASES)
def test_one_solid_as_large_as_reckoned(case: str) -> None:
    vent, duct = context(case).solids.vent, duct_of(case)
    assert vent.isValid()
    assert vent.Volume() == pytest.approx(estimate_volume_mm3(context(case).spec), rel=1e-5)
    assert vent.BoundingBox().zmin == pytest.approx(duct.end_z_mm, abs=1e-6)
    # What the duct adds is its own: the rest is the vent without a fan.
    family, size, _ = CASES[case]
    without = PartContext(spec(family, size=size)).solids.vent.Volume()
    assert vent.Volume() - without == pytest.approx(fan_duct(duct).Volume(), rel=1e-6)
    assert duct.has_pocket == (case == "pocket")


@pytest.mark.parametrize("case", CASES)
def test_bores_stand_in_whole_bosses(case: str) -> None:
    """M3: bores of 2.4 mm, 6 mm deep, in plastic 1.2 mm thick and more, and closed behind."""
    vent, end, centre = context(case).solids.vent, duct_of(case).end_z_mm, duct_of(case).centre_mm
    for sx in (-1, 1):
        for sy in (-1, 1):
            x, y = 16.0 * sx, centre + 16.0 * sy
            ring = [(math.cos(a), math.sin(a)) for a in (math.pi * k / 8.0 for k in range(16))]
            for depth in (0.1, 3.0, 5.9):
                z = end + depth
                bore = [(x + 1.1 * c, y + 1.1 * s, z) for c, s in ring]
                assert not any(solid_at(vent, (x, y, z), *bore))
                assert all(solid_at(vent, *[(x + 1.3 * c, y + 1.3 * s, z) for c, s in ring]))
                assert all(solid_at(vent, *[(x + 2.35 * c, y + 2.35 * s, z) for c, s in ring]))
            assert all(solid_at(vent, (x, y, end + 6.1), (x, y, end + 6.9)))


@pytest.mark.parametrize("case", CASES)
def test_air_reaches_the_fan_from_the_vent_alone(case: str) -> None:
    """On the frame's plane the bore's rim lies on plastic or over the duct's own spaces."""
    vent, duct = context(case).solids.vent, duct_of(case)
    z, rim = duct.end_z_mm + 0.05, 19.0 + 0.25
    for step in range(72):
        a = 2.0 * math.pi * step / 72.0
        out = [r * math.cos(a) for r in (rim, 40.0)], [r * math.sin(a) for r in (rim, 40.0)]
        # From the rim outwards some wall follows.
        way = [k / 200.0 for k in range(201)]
        points = [
            (
                out[0][0] + t * (out[0][1] - out[0][0]),
                duct.centre_mm + out[1][0] + t * (out[1][1] - out[1][0]),
                z,
            )
            for t in way
        ]
        assert any(solid_at(vent, *points[:40]))


@pytest.mark.parametrize("case", CASES)
def test_prints_without_supports(case: str) -> None:
    names = ("no supports", "longest bridge", "strands of two beads", "masses add up")
    checks = {check.name: check for check in PRINTING.checks(context(case))}
    for name in names:
        (found,) = (check for told, check in checks.items() if told.endswith(name))
        assert found.passed, found.message
    report = context(case).of(PRINTING)
    assert "fan mount" in {mass.name for mass in report.masses.members}

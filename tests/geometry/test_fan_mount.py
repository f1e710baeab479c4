"""The solid of a vent that holds a fan, probed point by point, and laid layer by layer."""

from __future__ import annotations

from functools import cache

import cadquery as cq
import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from tests.helpers.rows import spec
from vent_family.evidence.context import PartContext
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.result import passed
from vent_family.evidence.solid.volume import estimate_volume_mm3
from vent_family.geometry.fan_mount import fan_duct
from vent_family.mesh.regions import regions_of
from vent_family.mesh.slices import Cuts
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


def plastic_at(case: str, *depths: float) -> list[BaseGeometry]:
    """Return what the mesh of the solid shows so far above the fan's frame, mm."""
    levels = np.array([duct_of(case).end_z_mm + depth for depth in depths])
    return list(regions_of(Cuts(*context(case).meshes[""], levels)))


def outside_of(plastic: BaseGeometry) -> BaseGeometry:
    """Return the cabinet's space around a cut: what reaches the edge of a wide plane."""
    plane = shapely.box(-200.0, -200.0, 200.0, 200.0)
    parts = shapely.get_parts(plane.difference(plastic))
    return shapely.union_all([part for part in parts if part.intersects(plane.boundary)])


@pytest.mark.parametrize("case", CASES)
def test_one_solid_as_large_as_reckoned(case: str) -> None:
    vent, duct = context(case).solids.vent, duct_of(case)
    assert vent.isValid()
    assert vent.Volume() == pytest.approx(estimate_volume_mm3(context(case).spec), rel=1e-5)
    assert vent.BoundingBox().zmin == pytest.approx(duct.end_z_mm, abs=1e-6)
    # The duct is what lies behind the block: the kernel cuts it off there.
    behind = cq.Solid.makeBox(400, 400, 200, cq.Vector(-200, -200, duct.z_mm[0] - 200))
    cut_off = vent.intersect(behind).Volume()
    assert cut_off == pytest.approx(fan_duct(duct).Volume(), rel=1e-6)
    assert duct.has_pocket == (case == "pocket")


@pytest.mark.parametrize("case", CASES)
def test_bores_stand_in_whole_bosses(case: str) -> None:
    """M3: bores of 2.4 mm, 6 mm deep, in plastic 1.2 mm thick and more, and closed behind."""
    *bored, behind, corner = plastic_at(case, 0.1, 3.0, 5.9, 6.1, 6.95)
    centre = duct_of(case).centre_mm
    for x, y in ((sx * 16.0, centre + sy * 16.0) for sx in (-1, 1) for sy in (-1, 1)):
        axis = shapely.Point(x, y)
        for plastic in bored:
            # The mesh's chords stay within 0.05 mm of the circle.
            assert axis.buffer(1.14).intersection(plastic).area == 0.0
            assert axis.buffer(2.4).difference(axis.buffer(1.2)).within(plastic.buffer(0.01))
        for plastic in (behind, corner):
            assert axis.buffer(2.4).within(plastic.buffer(0.01))


@pytest.mark.parametrize("case", CASES)
def test_air_reaches_the_fan_from_the_vent_alone(case: str) -> None:
    """No cut joins the space before the fan to the cabinet's."""
    duct = duct_of(case)
    bore = shapely.Point(0.0, duct.centre_mm).buffer(19.0)
    depths = [0.01, 1.0, 3.5, 6.5, *(7.2 + (duct.depth_mm - 7.3) * k / 4.0 for k in range(5))]
    for depth, plastic in zip(depths, plastic_at(case, *depths), strict=True):
        outside = outside_of(plastic)
        assert not outside.contains(shapely.Point(0.0, duct.centre_mm))
        if depth < 1.0:
            assert outside.intersection(bore).area == 0.0
    # The floor parts the air from the space below it, if there is any.
    air = duct.floor_mm[2] - duct.wall_mm / 2.0
    assert plastic_at(case, 3.5)[0].contains(shapely.Point(0.0, air))


@pytest.mark.parametrize("case", CASES)
def test_prints_without_supports(case: str) -> None:
    names = ("no supports", "longest bridge", "strands of two beads", "masses add up")
    checks = {check.name: check for check in PRINTING.checks(context(case))}
    for name in names:
        (found,) = (check for told, check in checks.items() if told.endswith(name))
        assert passed((found,)), found.message
    report = context(case).of(PRINTING)
    (mount,) = (share for share in report.masses.shares if share.name == "fan mount")
    assert mount.solid_mm3 == pytest.approx(fan_duct(duct_of(case)).Volume(), rel=0.02)

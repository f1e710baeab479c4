"""Straight rays through the mesh of a fitted assembly: none pass a sound part, many a drilled one.

The script below ``tests/benchmarks`` is run with few rays. It shares nothing with the sight check,
which says that no line passes.
"""

from __future__ import annotations

from pathlib import Path

import cadquery as cq
import numpy as np
import pytest

from tests.benchmarks.straight_rays.shoot import mesh_of_solids, mesh_of_step, shoot
from tests.helpers.rows import spec
from vent_family.front.parts import Parts
from vent_family.geometry.vent import build_solids

TEXT = "part_number,family,size,status\nV,flanged,30x30,released\n"
HALF = (15.0, 15.0)


@pytest.fixture(scope="module")
def fitted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("rays") / "V-assembly.step"
    Parts.from_text(TEXT).assembly("V", panel=True).export(str(path))
    return path


def test_no_ray_passes_the_fitted_vent(fitted: Path) -> None:
    mesh = mesh_of_step(fitted)
    # Vent, panel and gasket are there: 15 mm of panel all round, and the block behind it.
    assert mesh.bounds[1][0] - mesh.bounds[0][0] > 80.0
    assert shoot(mesh, HALF, 30_000).passed == 0


def test_rays_pass_a_drilled_vent_where_it_is_drilled(fitted: Path) -> None:
    """A hole of 8 mm through all banks: forty rays of 30000, by its area and the cosine law.

    50 of 900 mm2, times what its far end fills of the half-space, 50 / 26^2 / pi. Where only a slat
    was in the way a hole in it lets rays through that lean more.
    """
    vent = build_solids(spec("flanged", size="30x30")).vent
    hole = cq.Solid.makeCylinder(4.0, 200.0, cq.Vector(3.0, 2.0, -100.0))
    shot = shoot(mesh_of_solids([vent.cut(hole)]), HALF, 30_000)
    assert 20 < shot.passed < 80
    middle = shot.at_mm.mean(axis=0)
    assert middle == pytest.approx((3.0, 2.0), abs=1.5)
    assert np.percentile(np.hypot(*(shot.at_mm - (3.0, 2.0)).T), 80) < 4.05
    assert np.percentile(np.abs(shot.elevation_deg), 80) < 20.0


def test_an_open_screw_hole_passes_and_a_plug_shuts_it() -> None:
    """A plate of 2 mm with a hole of 6 mm: pi r^2 of the area is open at its face."""
    plate = cq.Workplane().box(40.0, 40.0, 2.0, centered=(True, True, False)).faces(">Z")
    mesh = mesh_of_solids([plate.workplane().hole(6.0).val()])
    shot = shoot(mesh, (10.0, 10.0), 5000)
    # Less than the open share of the area, for the hole's wall shades it; more than a half of it.
    open_share = np.pi * 9.0 / 400.0
    assert 0.5 * open_share < shot.passed / 5000 < open_share
    assert shoot(mesh, (10.0, 10.0), 5000, plugs=((0.0, 0.0, 6.0),)).passed == 0

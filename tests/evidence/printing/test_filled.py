"""Walls, skins and cores of bodies with a formula for them, and of a vent by counting cells."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest
import shapely
import trimesh
from scipy import ndimage
from shapely.geometry import Polygon
from shapely.geometry import box as rectangle

from tests.helpers.meshes import section_at_z
from tests.helpers.print_shapes import box, fused, layers_of, mesh
from tests.helpers.rows import spec
from vent_family.base.shop import SlicerSettings, demo_shop
from vent_family.evidence.printing.filled import Filled, filled
from vent_family.evidence.printing.orientation import turned
from vent_family.geometry.vent import build_solids
from vent_family.mesh.layers import Layers, layer_plan, slice_layers
from vent_family.mesh.triangles import mesh_of


def printing(**changes: float) -> SlicerSettings:
    """Three lines of 0.45 mm, four layers below and five above of 0.2 mm, cores to a quarter."""
    plain = {"infill_share": 0.25, "wall_count": 3, "top_layers": 5, "bottom_layers": 4}
    demo = demo_shop().printing.model_copy(update={"line_width_mm": 0.45, "core_min_mm2": 0.0})
    return demo.model_copy(update=plain | changes)


def inside(shape: cq.Shape, **changes: float) -> Filled:
    return filled(layers_of(mesh(shape)), printing(**changes))


def core_mm3(body: Filled) -> float:
    return float(np.dot(body.core_mm2, body.layers.heights_mm))


@pytest.mark.parametrize(
    ("walls", "top", "bottom", "share"), [(3, 5, 4, 0.25), (2, 3, 3, 0.1), (1, 1, 2, 1.0)]
)
def test_a_block_with_a_shell(walls: int, top: int, bottom: int, share: float) -> None:
    """(a - 2w)(b - 2w)(c - skins) of core, the share of it laid; all the rest is solid."""
    a, b, c = 30.0, 20.0, 10.0
    found = inside(
        box((0.0, a), (0.0, b), (0.0, c)),
        wall_count=walls,
        top_layers=top,
        bottom_layers=bottom,
        infill_share=share,
    )
    w = walls * 0.45
    core = (a - 2 * w) * (b - 2 * w) * (c - 0.2 * (top + bottom))
    wall = (a * b - (a - 2 * w) * (b - 2 * w)) * c
    assert found.volume_mm3 == pytest.approx(a * b * c - (1 - share) * core, rel=1e-9)
    assert found.core_share == pytest.approx(core / (a * b * c), rel=1e-9)
    assert found.wall_share == pytest.approx(wall / (a * b * c), rel=1e-9)
    assert found.skin_share + found.wall_share + found.core_share == pytest.approx(1.0)


def test_a_cylinder_with_a_shell() -> None:
    """pi (r - w)^2 (h - skins) of core."""
    found = inside(cq.Solid.makeCylinder(12.0, 8.0))
    assert core_mm3(found) == pytest.approx(math.pi * (12.0 - 1.35) ** 2 * (8.0 - 1.8), rel=2e-3)


def test_a_step_has_a_skin_under_it_and_an_overhang_one_over_it() -> None:
    """20 x 10 x 6 mm with a tower 8 x 10 mm to z = 12 on its left, stood on either end.

    Beside the tower five layers under the step are skin, and so are four layers over the step's
    underside when it is the other way up: there the tower's own core goes on through.
    """
    step = fused(
        box((0.0, 20.0), (0.0, 10.0), (0.0, 6.0)), box((0.0, 8.0), (0.0, 10.0), (5.0, 12.0))
    )
    deep = 10.0 - 2.7
    # Up to the skin under the step the wide core, from there to the step what lies under the
    # tower, above it the tower's own.
    wide, under, tower = 17.3 * deep, (8.0 - 1.35) * deep, (8.0 - 2.7) * deep
    core = wide * (6.0 - 0.8 - 1.0) + under * 1.0 + tower * (6.0 - 1.0)
    assert core_mm3(inside(step)) == pytest.approx(core, rel=1e-6)
    turned_over = step.rotate(cq.Vector(0, 0, 6), cq.Vector(1, 0, 6), 180.0)
    core = tower * (6.0 - 0.8) + under * 0.8 + wide * (6.0 - 0.8 - 1.0)
    assert core_mm3(inside(turned_over)) == pytest.approx(core, rel=1e-6)


def test_slats_no_thicker_than_their_walls_have_no_core() -> None:
    assert core_mm3(inside(box((0.0, 40.0), (0.0, 2.69), (0.0, 10.0)))) == 0.0
    assert core_mm3(inside(box((0.0, 40.0), (0.0, 2.71), (0.0, 10.0)))) > 0.0
    assert core_mm3(inside(box((0.0, 40.0), (0.0, 20.0), (0.0, 1.8)))) == 0.0
    assert core_mm3(inside(box((0.0, 40.0), (0.0, 20.0), (0.0, 0.4)))) == 0.0


def test_small_pieces_of_core_are_filled_solid() -> None:
    """Cores of 1.3 x 1.3 and 7.3 x 7.3 mm side by side: 1.69 and 53.29 mm2."""
    two = cq.Compound.makeCompound(
        [box((0.0, 4.0), (0.0, 4.0), (0.0, 4.0)), box((20.0, 30.0), (0.0, 10.0), (0.0, 4.0))]
    )
    high = 4.0 - 1.8
    assert core_mm3(inside(two)) == pytest.approx((1.69 + 53.29) * high, rel=1e-6)
    assert core_mm3(inside(two, core_min_mm2=1.8)) == pytest.approx(53.29 * high, rel=1e-6)
    assert core_mm3(inside(two, core_min_mm2=60.0)) == 0.0


def test_a_shop_that_fills_solid_lays_every_layer_whole() -> None:
    found = inside(cq.Solid.makeCylinder(12.0, 8.0), infill_share=1.0)
    assert found.laid_mm2.tolist() == found.layers.areas_mm2.tolist()
    assert found.volume_mm3 == found.layers.volume_mm3


def test_layers_that_only_touch_have_no_core_in_common() -> None:
    """A core of 20 x 10 mm less its walls, and above it a block that begins where it ends."""
    for x in (18.8, 18.8 + 1e-12):
        regions = (rectangle(0, 0, 20, 10), rectangle(x, 0, 40, 10))
        both = Layers(np.array([0.0, 0.2]), np.full(2, 0.2), regions)
        found = filled(
            both, printing(wall_count=2, line_width_mm=0.6, top_layers=1, bottom_layers=0)
        )
        assert found.core_mm2 == pytest.approx([0.0, 0.0], abs=1e-9)


def test_filament_is_as_long_as_its_volume_says() -> None:
    """6000 mm3 of filament 1.75 mm thick, 2.4053 mm2: 2.4945 m."""
    found = inside(box((0.0, 30.0), (0.0, 20.0), (0.0, 10.0)), infill_share=1.0)
    assert found.filament_m(1.75) == pytest.approx(2.4945, abs=1e-4)


def test_a_round_vent_by_counting_cells() -> None:
    """Cells of 0.1 mm, sections by another mesh library, distances by a distance transform.

    A cell is core where it is farther than the walls from every cell outside its section, and the
    cell straight above it and below it lies in the section as many layers away as skins are thick.
    Coarse layers keep it short; a mitred corner lies nearer to the outline than the walls are
    thick, so the count may find a little more wall.
    """
    part = spec("round", size="M20x1.5", slat_form="folded")
    vertices, triangles = mesh_of(build_solids(part).vent, 0.05, 0.3)
    standing = turned(vertices, part.print_orientation)
    high = float(standing[:, 2].max())
    layers = slice_layers(standing, triangles, *layer_plan(high, 0.8))
    own = printing(top_layers=2, bottom_layers=1, wall_count=2)
    found = filled(layers, own)
    body = trimesh.Trimesh(standing, triangles, process=False)
    step = 0.1
    low, up = standing[:, :2].min(axis=0) - 1.0, standing[:, :2].max(axis=0) + 1.0
    x, y = np.meshgrid(np.arange(low[0], up[0], step), np.arange(low[1], up[1], step))
    solid = np.array([_cells(section_at_z(body, z), x, y) for z in layers.middles_mm])
    # From middle to middle it is half a cell farther than to the outline between them.
    deep = np.array(
        [(ndimage.distance_transform_edt(s) - 0.5) * step > own.shell_mm for s in solid]
    )
    core = deep.copy()
    for away in (1, 2, -1):
        moved = np.zeros_like(solid)
        if away > 0:
            moved[:-away] = solid[away:]
        else:
            moved[-away:] = solid[:away]
        core &= moved
    counted = core.sum(axis=(1, 2)) * step**2
    assert core_mm3(found) == pytest.approx(float(np.dot(counted, layers.heights_mm)), rel=0.02)
    assert found.core_share > 0.2
    wide = counted > 20.0
    assert found.core_mm2[wide] == pytest.approx(counted[wide], rel=0.06)


def _cells(section: list[Polygon], x: np.ndarray, y: np.ndarray) -> np.ndarray:
    area = shapely.union_all(section)
    shapely.prepare(area)
    return np.asarray(shapely.contains_xy(area, x, y))


def test_layers_that_are_one_region_are_filled_as_those_that_are_only_equal() -> None:
    """A narrow plate between two wide ones, told as two regions and as one for each layer."""
    wide, narrow = rectangle(0.0, 0.0, 30.0, 20.0), rectangle(4.0, 0.0, 22.0, 20.0)
    few = (wide,) * 5 + (narrow,) * 12 + (wide,) * 9
    many = tuple(Polygon(region.exterior.coords) for region in few)
    bottoms, heights = 0.2 * np.arange(len(few)), np.full(len(few), 0.2)
    settings = printing(top_layers=3, bottom_layers=2)
    found, apart = (filled(Layers(bottoms, heights, r), settings) for r in (few, many))
    assert len(found.layers.unlike[0]) == 2
    assert len(apart.layers.unlike[0]) == len(few)
    assert found.core_mm2.tolist() == apart.core_mm2.tolist()
    assert found.wall_mm2.tolist() == apart.wall_mm2.tolist()
    # The third is core as far as the sixth, the first narrow one, covers it: 18 mm.
    assert found.core_mm2[:3].tolist() == pytest.approx([0.0, 0.0, 18.0 * 17.3])

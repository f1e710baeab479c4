"""Layers foretold without a solid, against those of the meshed solid.

The solid is the kernel's, its layers are cut from its mesh: neither knows of pieces.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from shapely.affinity import translate

from tests.helpers.rows import spec
from vent_family.base.shop import demo_shop
from vent_family.evidence.printing.filled import Filled, filled
from vent_family.evidence.printing.foretold import Foreprint, foretold_beside, foretold_vent
from vent_family.evidence.printing.orientation import turned
from vent_family.evidence.printing.settings import (
    PrintSettings,
    beside_settings,
    vent_settings,
)
from vent_family.evidence.printing.time import layer_times
from vent_family.geometry.vent import build_solids
from vent_family.mesh.layers import layer_plan, slice_layers
from vent_family.mesh.vent import meshes_of, printed_beside
from vent_family.spec.vent import VentSpec

SHOP = demo_shop()
ROWS: dict[str, dict[str, Any]] = {
    "lip": {"family": "rectangular", "size": "40x40", "rib_count": 1},
    "upright": {"family": "rectangular", "size": "40x40", "fixing": "snap", "slat_form": "folded"},
    "screened": {"family": "rectangular", "size": "45x40", "seal": "gasket", "screen_mm": 1.0},
    "flange": {"family": "flanged", "size": "40x40", "slat_form": "flat"},
    "neck": {"family": "round", "size": "M20x1.5", "slat_form": "flat", "screen_mm": 1.0},
}


@cache
def part(name: str) -> tuple[VentSpec, dict[str, tuple[Filled, tuple[float, ...]]]]:
    """Return a part and each of its printed bodies as filled layers of its mesh, and its box."""
    vent = spec(**ROWS[name])
    meshes = meshes_of(build_solids(vent, stand_ins=False))
    standing = turned(meshes[""][0], vent.print_orientation)
    settings = vent_settings(vent, float(standing[:, 2].max()), SHOP)
    found = {"": sliced(standing, meshes[""][1], settings)}
    beside = beside_settings(vent.material, SHOP, threaded=vent.body.neck is not None)
    for other, (vertices, triangles) in printed_beside(meshes).items():
        raised = vertices - np.array([0.0, 0.0, vertices[:, 2].min()])
        found[other] = sliced(raised, triangles, beside)
    return vent, found


def sliced(
    vertices: np.ndarray, triangles: np.ndarray, settings: PrintSettings
) -> tuple[Filled, tuple[float, ...]]:
    size = tuple(np.ptp(vertices, axis=0).tolist())
    bottoms, heights = layer_plan(size[2], settings.layer_mm, settings.fine_mm)
    layers = slice_layers(vertices, triangles, bottoms, heights)
    return filled(layers, settings.printing), size


@cache
def foretold(name: str) -> dict[str, Foreprint]:
    vent, _ = part(name)
    return {"": foretold_vent(vent, SHOP), **foretold_beside(vent, SHOP)}


@pytest.mark.parametrize("name", ROWS)
def test_mass_time_and_box_of_every_printed_body(name: str) -> None:
    vent, real = part(name)
    found = foretold(name)
    assert list(found) == list(real)
    flow = vent.material.print_profile.flow_mm3_s
    for body, (layers, size) in real.items():
        told = found[body]
        assert told.size_mm == pytest.approx(size, abs=0.03)
        assert len(told.filled.layers.regions) == len(layers.layers.regions)
        assert told.filled.layers.volume_mm3 == pytest.approx(layers.layers.volume_mm3, rel=5e-3)
        mass = layers.volume_mm3 * vent.material.density_g_cm3 * 1e-3
        assert told.mass_g == pytest.approx(mass, rel=1e-2)
        seconds = layer_times(layers, SHOP.printing, SHOP.process, flow).work_s.sum()
        assert told.times.work_s.sum() == pytest.approx(seconds, rel=2e-2)


@pytest.mark.parametrize(("name", "moved"), [("lip", 0.15), ("upright", 0.15), ("flange", 0.01)])
def test_layer_by_layer_the_material_lies_where_it_does_on_the_mesh(
    name: str, moved: float
) -> None:
    """Flat slats stand still from layer to layer; slanted ones move within those told as one.

    On the bed the mesh stands off the part's own axes by one shift for all layers.
    """
    _, real = part(name)
    layers, told = real[""][0].layers, foretold(name)[""].filled.layers
    assert told.heights_mm.tolist() == pytest.approx(layers.heights_mm.tolist())
    pairs = list(zip(layers.regions, told.regions, strict=True))
    middle = len(pairs) // 2
    dx, dy = (pairs[middle][0].bounds[k] - pairs[middle][1].bounds[k] for k in (0, 1))
    apart = sum(r.symmetric_difference(translate(t, dx, dy)).area for r, t in pairs)
    assert apart < moved * layers.areas_mm2.sum()


def test_layers_between_two_changes_are_told_once() -> None:
    """Flat slats lie parallel to the bed: a few sections make up 140 layers."""
    layers = foretold("flange")[""].filled.layers
    assert len(layers.unlike[0]) < len(layers.regions) / 5

"""Published open areas against the finished solid, cut by planes; nothing is taken from the spec.

A bank's area is that of the air in the plane a quarter of the bank's depth from its inner side,
which is the middle of a folded slat's inner leg: neither a ridge nor the end of a slat lies there.
Where the air runs along slats at 45 degrees it counts times the cosine of that angle (derived by
hand here: the area normal to a flow is an oblique cut times the cosine between both normals).
"""

from __future__ import annotations

import math
from functools import cache

import pytest
import trimesh
from shapely.geometry import Polygon

from tests.helpers.meshes import section_at_x, section_at_z, trimesh_of
from tests.helpers.rows import spec
from vent_family.geometry.vent import build_solids
from vent_family.spec.areas import drain_area_mm2, open_areas
from vent_family.spec.vent import VentSpec

PARTS = {
    "flat": ("flat", "rectangular", {}),
    "inclined": ("inclined", "flanged", {"size": "80x60"}),
    "folded": ("folded", "rectangular", {}),
    "folded, wide": ("folded", "flanged", {"size": "120x50"}),
    "round inclined": ("inclined", "round", {}),
    "round folded": ("folded", "round", {}),
}
SLOPE = {"flat": 1.0, "inclined": math.sqrt(0.5), "folded": math.sqrt(0.5)}


@cache
def part(name: str) -> tuple[VentSpec, trimesh.Trimesh]:
    form, family, cells = PARTS[name]
    resolved = spec(family, slat_form=form, **cells)
    return resolved, trimesh_of(build_solids(resolved).vent)


def holes(resolved: VentSpec, mesh: trimesh.Trimesh, z: float) -> list[Polygon]:
    """Return the openings of the solid in a plane, screw holes and mark left out."""
    # A gasket groove parts the flange from the body it carries.
    found = [Polygon(ring) for part in section_at_z(mesh, z) for ring in part.interiors]
    section, (left, right) = resolved.section, (resolved.bays[0][0], resolved.bays[-1][1])
    return [
        p
        for p in found
        if left - 0.1 < p.bounds[0] and p.bounds[2] < right + 0.1
        if p.bounds[3] < section.ceiling_mm + 0.1 and p.bounds[1] > section.drain_mm[0] - 0.1
    ]


def banks(resolved: VentSpec, mesh: trimesh.Trimesh) -> list[tuple[float, float]]:
    """Return the depths (inner, outer) of every bank on the solid, the outermost bank first."""
    low, high = resolved.bays[len(resolved.bays) // 2]
    islands = [p for p in section_at_x(mesh, (low + high) / 2 + 0.013) if p.area < 60.0]
    whole = max(p.bounds[3] - p.bounds[1] for p in islands)
    # A slat cut short at the channel is lower than its fellows.
    full = [p for p in islands if p.bounds[3] - p.bounds[1] > whole - 0.01]
    return sorted({(round(p.bounds[0], 2), round(p.bounds[2], 2)) for p in full}, reverse=True)


@pytest.mark.parametrize("name", PARTS)
def test_banks_are_as_open_as_published(name: str) -> None:
    resolved, mesh = part(name)
    published = {a.name: a.area_mm2 for a in open_areas(resolved) if a.name.startswith("bank")}
    found = banks(resolved, mesh)
    assert len(found) == len(published) >= 2
    for number, (inner, outer) in enumerate(found, 1):
        planes = [inner + share * (outer - inner) for share in (0.1, 0.25, 0.75, 0.9)]
        narrowest = min(sum(p.area for p in holes(resolved, mesh, z)) for z in planes)
        air = SLOPE[PARTS[name][0]] * narrowest
        assert published[f"bank {number}"] == pytest.approx(air, rel=1e-3), number


@pytest.mark.parametrize("name", PARTS)
def test_front_drain_and_inner_side_are_as_open_as_published(name: str) -> None:
    resolved, mesh = part(name)
    published = {a.name: a.area_mm2 for a in open_areas(resolved)}
    front = holes(resolved, mesh, resolved.section.front_z_mm - 0.5)
    assert published["front"] == pytest.approx(sum(p.area for p in front), rel=1e-3)
    # The slots lie lowest, a drain's height high; the floor rises behind the outer plane.
    edge = holes(resolved, mesh, resolved.section.front_z_mm - 0.02)
    lowest = min(p.bounds[1] for p in edge)
    slots = [p for p in edge if p.bounds[3] < lowest + 4.5]
    assert slots
    assert drain_area_mm2(resolved) == pytest.approx(sum(p.area for p in slots), rel=3e-3)
    back = float(mesh.bounds[0][2]) + 0.5
    outer = max(section_at_z(mesh, back), key=lambda p: p.area)
    inner = sum(Polygon(ring).area for ring in outer.interiors)
    name_inside = "neck" if "neck" in published else "inner"
    assert published[name_inside] == pytest.approx(inner, rel=4e-3)

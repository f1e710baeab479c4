"""Slices and print check timed in one run: ratios are what counts, not seconds.

Run ``python tests/benchmarks/bench_printing.py`` from the project's root.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
import trimesh

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.helpers.rows import spec
from vent_family.base.limits import STL_ANGLE, STL_CHORD
from vent_family.base.shop import demo_shop
from vent_family.evidence.context import PartContext
from vent_family.evidence.cost.mould.moulding import moulding_of
from vent_family.evidence.printing.filled import filled
from vent_family.evidence.printing.orientation import turned
from vent_family.evidence.printing.report import printing_report
from vent_family.evidence.printing.settings import support_rules, vent_settings
from vent_family.evidence.printing.supports import find_unsupported, suspect_layers
from vent_family.evidence.printing.walls import measure_walls
from vent_family.evidence.ways.compare import made_way, ways_report
from vent_family.geometry.vent import build_solids
from vent_family.mesh.layers import layer_plan, slice_layers
from vent_family.mesh.triangles import mesh_of

PARTS = (
    ("rectangular 40x40", "rectangular", {"size": "40x40"}),
    ("rectangular 120x120", "rectangular", {"size": "120x120"}),
    ("rectangular 60x60, upright", "rectangular", {"size": "60x60", "fixing": "snap"}),
    ("round M32", "round", {"size": "M32x1.5"}),
    ("flanged 150x150", "flanged", {"size": "150x150"}),
)


def main() -> None:
    """Print a table of layers per second, ratios and seconds per check."""
    shop = demo_shop()
    print(
        f"{'part':28} {'triangles':>9} {'layers':>6} {'layers/s':>9} {'trimesh/s':>9}"
        f" {'multiplane/s':>12} {'ratio':>6} {'find s':>7} {'all layers s':>12} {'walls s':>8}"
        f" {'cores s':>8} {'masses s':>8} {'check s':>8} {'both ways s':>11}"
        f" {'moulded s':>9}"
    )
    for name, family, cells in PARTS:
        part = spec(family, **cells)
        vertices, triangles = mesh_of(build_solids(part).vent, STL_CHORD.value, STL_ANGLE.value)
        standing = turned(vertices, part.print_orientation)
        settings = vent_settings(part, float(standing[:, 2].max()), shop)
        bottoms, heights = layer_plan(
            float(standing[:, 2].max()), settings.layer_mm, settings.fine_mm
        )
        start = time.perf_counter()
        layers = slice_layers(standing, triangles, bottoms, heights)
        ours = (time.perf_counter() - start) / len(bottoms)

        # The plain loop: one section at a time, joined by coordinates, made into polygons.
        body = trimesh.Trimesh(standing, triangles, process=False)
        some = layers.middles_mm[:: max(1, len(bottoms) // 25)]
        start = time.perf_counter()
        areas = []
        for level in some:
            plane = body.section(plane_origin=[0, 0, level], plane_normal=[0, 0, 1])
            areas.append(sum(p.area for p in plane.to_2D()[0].polygons_full))
        theirs = (time.perf_counter() - start) / len(some)
        start = time.perf_counter()
        planes = body.section_multiplane([0, 0, 0], [0, 0, 1], list(some))
        for plane in planes:
            _ = plane.polygons_full
        many = (time.perf_counter() - start) / len(some)
        same = layers.areas_mm2[:: max(1, len(bottoms) // 25)]
        assert np.allclose(areas, same, rtol=2e-3), "the two ways disagree"

        rules = support_rules(part.material, settings)
        start = time.perf_counter()
        suspects = suspect_layers(standing, triangles, layers, rules.overhang_deg)
        found = find_unsupported(layers, rules, suspects)
        quick = time.perf_counter() - start
        start = time.perf_counter()
        everywhere = find_unsupported(layers, rules)
        slow = time.perf_counter() - start
        assert len(found) == len(everywhere)
        start = time.perf_counter()
        measure_walls(part, vertices, triangles)
        walls = time.perf_counter() - start
        start = time.perf_counter()
        filled(layers, shop.printing)
        cores = time.perf_counter() - start
        start = time.perf_counter()
        report = printing_report(part, (vertices, triangles), {}, shop)
        check = time.perf_counter() - start
        start = time.perf_counter()
        shares = report.masses.shares
        members = time.perf_counter() - start
        assert abs(sum(s.mass_g for s in shares) / report.vent.mass_g - 1.0) < 1e-4
        context = PartContext(part)
        made_way(context)
        start = time.perf_counter()
        ways_report(context)
        both = time.perf_counter() - start
        start = time.perf_counter()
        moulding_of(part, (vertices, triangles), {}, shop)
        moulded = time.perf_counter() - start
        print(
            f"{name:28} {len(triangles):9} {len(bottoms):6} {1 / ours:9.0f} {1 / theirs:9.0f}"
            f" {1 / many:12.0f} {theirs / ours:6.1f} {quick:7.2f} {slow:12.2f} {walls:8.2f}"
            f" {cores:8.2f} {members:8.2f} {check:8.2f} {both:11.2f}"
            f" {moulded:9.2f}"
        )


if __name__ == "__main__":
    main()

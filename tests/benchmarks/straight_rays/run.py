"""Shoots straight rays through the fitted assemblies of released parts and says which pass, where.

    python tests/benchmarks/straight_rays/run.py exports/HV-R080 exports/HV-N32 --rays 1000000

Each folder holds a released part: ``PART-assembly.step`` and ``PART.json`` are read.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[3]))

BEYOND_MM = 12.0
"""How far beyond the opening rays are aimed at: lip, gasket and key lie there."""
CELL_MM = 5.0


def main() -> None:
    from tests.benchmarks.straight_rays.shoot import mesh_of_step, opening_of, shoot

    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("parts", type=Path, nargs="+", help="folders of released parts")
    parser.add_argument("--rays", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--screws-out", action="store_true", help="leave screw holes open")
    options = parser.parse_args()
    for folder in options.parts:
        name = folder.name
        half, holes = opening_of(folder / f"{name}.json")
        mesh = mesh_of_step(folder / f"{name}-assembly.step")
        plugs = () if options.screws_out else holes
        begin = time.perf_counter()
        aimed = (half[0] + BEYOND_MM, half[1] + BEYOND_MM)
        shot = shoot(mesh, aimed, options.rays, options.seed, plugs)
        seconds = time.perf_counter() - begin
        print(
            f"{name}: {shot.passed} of {shot.rays} rays pass, {len(mesh.triangles)} triangles,"
            f" {seconds:.0f} s"
        )
        cells = Counter(
            (round(float(x) / CELL_MM) * CELL_MM, round(float(y) / CELL_MM) * CELL_MM)
            for x, y in shot.at_mm
        )
        for (x, y), count in cells.most_common(8):
            near = abs(shot.at_mm - (x, y)).max(axis=1) <= CELL_MM / 2
            low, high = shot.elevation_deg[near].min(), shot.elevation_deg[near].max()
            print(
                f"  {count:6d} near x {x:+.0f}, y {y:+.0f} mm of z = 0,"
                f" climbing {low:+.0f} to {high:+.0f} degrees"
            )


if __name__ == "__main__":
    main()

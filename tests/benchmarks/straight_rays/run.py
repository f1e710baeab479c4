"""Shoots straight rays through fitted assemblies and says in one table how many pass, and where.

    python tests/benchmarks/straight_rays/run.py exports/HV-R080 exports/HV-N32 --rays 1000000
    python tests/benchmarks/straight_rays/run.py --catalog catalog.csv --only HV-R080

A folder holds a released part: ``PART-assembly.step`` and ``PART.json`` are read. Of a catalogue
every row but retired ones is built anew, written as an assembly and read back; an insect screen's
mesh, a plain sheet in the assembly, is left out, for light passes it.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[3]))

if TYPE_CHECKING:
    import trimesh

    from tests.benchmarks.straight_rays.shoot import Plug, Shot

Target = tuple[str, "trimesh.Trimesh", tuple[float, float], "tuple[Plug, ...]"]
"""Part number, mesh of the fitted assembly, half width and height of the opening, screw holes."""

BEYOND_MM = 12.0
"""How far beyond the opening rays are aimed at: lip, gasket and key lie there."""
CELL_MM = 5.0
PLACES = 8


def main() -> None:
    from tests.benchmarks.straight_rays.shoot import shoot

    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("parts", type=Path, nargs="*", help="folders of released parts")
    parser.add_argument("--catalog", type=Path, help="build the rows of this file instead")
    parser.add_argument("--only", nargs="+", metavar="PART", help="rows of the catalogue")
    parser.add_argument("--rays", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--screws-out", action="store_true", help="leave screw holes open")
    options = parser.parse_args()
    if bool(options.parts) == bool(options.catalog):
        parser.error("name folders of released parts, or a catalogue with --catalog")
    targets = of_folders(options.parts)
    if options.catalog:
        targets = of_catalog(options.catalog, options.only)
    print("| part | rays | pass | triangles | s |\n| --- | --- | --- | --- | --- |")
    where: list[str] = []
    for name, mesh, half, holes in targets:
        plugs = () if options.screws_out else holes
        begin = time.perf_counter()
        aimed = (half[0] + BEYOND_MM, half[1] + BEYOND_MM)
        shot = shoot(mesh, aimed, options.rays, options.seed, plugs)
        seconds = time.perf_counter() - begin
        row = (name, shot.rays, shot.passed, len(mesh.triangles), f"{seconds:.0f}")
        print(f"| {' | '.join(map(str, row))} |", flush=True)
        where += [f"{name}: {text}" for text in places(shot)]
    print("", *(where or ["No ray passes."]), sep="\n")


def of_folders(folders: list[Path]) -> Iterator[Target]:
    """Yield released parts, as their files have them."""
    from tests.benchmarks.straight_rays.shoot import mesh_of_step, opening_of

    for folder in folders:
        half, holes = opening_of(folder / f"{folder.name}.json")
        yield folder.name, mesh_of_step(folder / f"{folder.name}-assembly.step"), half, holes


def of_catalog(catalog: Path, only: list[str] | None) -> Iterator[Target]:
    """Yield the rows of a catalogue, built, written and read back."""
    import cadquery as cq

    from tests.benchmarks.straight_rays.shoot import mesh_of_step
    from vent_family.front.parts import Parts

    parts = Parts(catalog)
    for number in only or parts.part_numbers:
        if not only and parts.spec(number).row.status == "retired":
            continue
        opening = parts.spec(number).opening
        fitted = cq.Assembly()
        for member in parts.assembly(number, panel=True).children:
            if not member.name.endswith("-mesh"):
                fitted.add(member.obj, loc=member.loc)
        with tempfile.TemporaryDirectory() as folder:
            step = Path(folder) / "assembly.step"
            fitted.export(str(step))
            mesh = mesh_of_step(step)
        half = (opening.size_mm[0] / 2, opening.size_mm[1] / 2)
        yield number, mesh, half, tuple((h.x_mm, h.y_mm, h.diameter_mm) for h in opening.holes)


def places(shot: Shot) -> Iterator[str]:
    """Yield where in the panel's outer plane the most rays pass, and how steeply."""
    cells = Counter(
        (round(float(x) / CELL_MM) * CELL_MM, round(float(y) / CELL_MM) * CELL_MM)
        for x, y in shot.at_mm
    )
    for (x, y), count in cells.most_common(PLACES):
        near = abs(shot.at_mm - (x, y)).max(axis=1) <= CELL_MM / 2
        low, high = shot.elevation_deg[near].min(), shot.elevation_deg[near].max()
        yield (
            f"{count} near x {x:+.0f}, y {y:+.0f} mm of z = 0,"
            f" climbing {low:+.0f} to {high:+.0f} degrees"
        )


if __name__ == "__main__":
    main()

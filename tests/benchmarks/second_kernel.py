"""A cabinet's STEP file, read by another build of a kernel: solids, volumes, boxes, names, colours.

Run ``python tests/benchmarks/second_kernel.py``, with ``--parts HV-R040 HV-N20`` for vents of the
catalogue besides the made-up ones; it needs ``pip install gmsh`` (GPL, so no dependency of the
package), which brings a kernel of its own. That is Open CASCADE again, but another version, built
by others and driven by other code: an error that both share stays unseen. What is expected comes
from CadQuery's walk through the assembly.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import gmsh
import OCP
from OCP.Bnd import Bnd_Box
from OCP.BRepBndLib import BRepBndLib

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.enclosure.cabinet import cabinet  # noqa: E402
from vent_family.enclosure.export import export_assembly  # noqa: E402

VOLUME_SHARE = 1e-6
"""Relative difference between two kernels' volumes that counts as none."""
PLACE_MM = 1e-4
"""Difference of places that counts as none."""
BOX_MM = 0.05
"""The same of boxes: gmsh lays them around triangles, which cut curved faces short."""
COLOUR = 0.01
"""The same of colours: gmsh keeps whole 255ths."""


@dataclass(frozen=True)
class Body:
    """One solid in its place: lengths in mm, colour as shares from 0 to 1."""

    name: str
    volume_mm3: float
    centre_mm: tuple[float, ...]
    box_mm: tuple[float, ...]
    moments_mm5: tuple[float, ...]
    colour: tuple[float, ...] | None


def _rows(matrix: list[list[float]]) -> tuple[float, ...]:
    return tuple(value for row in matrix for value in row)


def wanted_bodies(assembly: cq.Assembly) -> list[Body]:
    found = []
    for shape, name, place, colour in assembly:
        for solid in shape.moved(place).Solids():
            box = Bnd_Box()
            # Without triangles, and without the tolerance of every vertex.
            BRepBndLib.AddOptimal_s(solid.wrapped, box, False, False)
            low, high = box.CornerMin(), box.CornerMax()
            found.append(
                Body(
                    name.partition("/")[2],
                    solid.Volume(),
                    solid.Center().toTuple(),
                    (low.X(), low.Y(), low.Z(), high.X(), high.Y(), high.Z()),
                    _rows(cq.Shape.matrixOfInertia(solid)),
                    None if colour is None else colour.toTuple()[:3],
                )
            )
    return found


def read_bodies(path: Path) -> tuple[list[Body], str]:
    gmsh.initialize()
    gmsh.option.setNumber("General.Terminal", 0)
    gmsh.option.setNumber("Geometry.OCCImportLabels", 1)
    # The box around triangles: the quick rule for curved faces is a millimetre too wide.
    gmsh.option.setNumber("Geometry.OCCBoundsUseStl", 1)
    gmsh.open(str(path))
    build = gmsh.option.getString("General.BuildInfo")
    version = next(t for t in build.split(";") if "OCC version" in t).split(":")[1].strip()
    found = []
    for dimension, tag in gmsh.model.getEntities(3):
        red, green, blue, _ = gmsh.model.getColor(dimension, tag)
        found.append(
            Body(
                gmsh.model.getEntityName(dimension, tag),
                gmsh.model.occ.getMass(dimension, tag),
                tuple(gmsh.model.occ.getCenterOfMass(dimension, tag)),
                tuple(gmsh.model.getBoundingBox(dimension, tag)),
                tuple(gmsh.model.occ.getMatrixOfInertia(dimension, tag)),
                (red / 255.0, green / 255.0, blue / 255.0),
            )
        )
    gmsh.finalize()
    return found, version


def main() -> int:
    """Write the cabinet, read it, compare; 1 if anything differs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--parts", nargs="*", default=[], help="parts of the catalogue to fit")
    parser.add_argument("--catalog", type=Path, default=ROOT / "catalog.csv")
    parser.add_argument("--keep", type=Path, help="where to leave the STEP file")
    given = parser.parse_args()
    whole = cabinet()
    if given.parts:
        from vent_family.front.parts import Parts

        parts = Parts(given.catalog)
        for index, number in enumerate(given.parts):
            for turn in (0.0, 35.0):
                place = cq.Location((400.0, index * 200.0, turn * 8.0), (1, 2, 3), turn)
                whole.add(parts.assembly(number), name=f"{number} at {turn:g} deg", loc=place)
    with tempfile.TemporaryDirectory() as folder:
        path = given.keep or Path(folder) / "cabinet.step"
        export_assembly(whole, path, time="2026-03-04T05:06:07Z")
        size = path.stat().st_size
        found, version = read_bodies(path)
    wanted = wanted_bodies(whole)
    print(f"written with Open CASCADE {OCP.__version__}, read by gmsh with {version}")
    print(f"{size} bytes; solids {len(found)} of {len(wanted)}")
    amiss = len(found) != len(wanted)
    limits = {
        "volume, share": VOLUME_SHARE,
        "second moments, share": VOLUME_SHARE,
        "centre, mm": PLACE_MM,
        "box, mm": BOX_MM,
        "colour": COLOUR,
    }
    worst = dict.fromkeys(limits, 0.0)
    for body in wanted:
        there = min(found, key=lambda f: math.dist(f.centre_mm, body.centre_mm))
        found.remove(there)
        off = {
            "volume, share": abs(there.volume_mm3 / body.volume_mm3 - 1.0),
            "second moments, share": math.dist(there.moments_mm5, body.moments_mm5)
            / math.hypot(*body.moments_mm5),
            "centre, mm": math.dist(there.centre_mm, body.centre_mm),
            "box, mm": max(abs(a - b) for a, b in zip(there.box_mm, body.box_mm, strict=True)),
            # gmsh takes a part's colour and leaves a single instance's own aside, as a file written
            # by the kernel itself shows, too; without a colour it shows its own.
            "colour": 0.0
            if body.colour is None or body.name == "screws/screw 2"
            else math.dist(there.colour or (), body.colour),
        }
        worst = {name: max(worst[name], value) for name, value in off.items()}
        print(f"  {body.name}: {there.name!r}, {there.volume_mm3:.3f} mm3")
    for name, value in worst.items():
        print(f"largest difference, {name}: {value:.3g}")
    amiss |= any(worst[name] > limit for name, limit in limits.items())
    print("differs" if amiss else "agrees")
    return int(amiss)


if __name__ == "__main__":
    raise SystemExit(main())

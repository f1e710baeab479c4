"""Every part of a catalogue in walls of 1 to 6 mm: cut out, clear all round, or refused.

``python -m tests.benchmarks.clearances [catalog.csv] [PART ...]`` prints a line for each part and
wall: the least distance of vent and wall within the wall's thickness, what vent and fasteners share
with the wall or with each other, and who was refused with which range.
"""

from __future__ import annotations

import itertools
import sys
from pathlib import Path

import cadquery as cq

from vent_family.base.problems import InputError
from vent_family.enclosure.fitting import cut_for, fitted
from vent_family.front.parts import Parts

WALLS_MM = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
SIDE_MM = 600.0
SLIVER_MM = 0.1
"""What is left out at either face of the wall: the cover lies on one."""
ANYWHERE = ("lean", "roll")


def wall(thick_mm: float) -> cq.Solid:
    """Return a standing plate that looks along -y."""
    corner = cq.Vector(-SIDE_MM / 2, 0.0, -SIDE_MM / 2)
    return cq.Solid.makeBox(SIDE_MM, thick_mm, SIDE_MM, corner)


def line(parts: Parts, number: str, thick_mm: float) -> str:
    """Return what is found of one part in one wall."""
    plate = wall(thick_mm)
    try:
        held = fitted(parts, number, plate, (0.0, 0.0, 0.0), allow=ANYWHERE)
    except InputError as error:
        return f"refused: {error.problems[0].message}; allowed {error.problems[0].allowed}"
    cut = cut_for(plate, [held])
    bodies = {
        child.name: child.shapes[0].moved(held.assembly.loc * child.loc)
        for child in held.assembly.children
    }
    corner = cq.Vector(-SIDE_MM / 2, SLIVER_MM, -SIDE_MM / 2)
    within = cq.Solid.makeBox(SIDE_MM, thick_mm - 2 * SLIVER_MM, SIDE_MM, corner)
    gap = bodies["vent"].intersect(within).distance(cut.intersect(within))
    shared = [
        (a, b, one.intersect(two).Volume())
        for (a, one), (b, two) in itertools.combinations([*bodies.items(), ("wall", cut)], 2)
        if _near(one, two)
    ]
    worst = max(shared, key=lambda found: found[2], default=("", "", 0.0))
    return f"gap {gap:.3f} mm, most shared {worst[2]:.3f} mm3 ({worst[0]} and {worst[1]})"


def _near(one: cq.Shape, two: cq.Shape) -> bool:
    a, b = one.BoundingBox(), two.BoundingBox()
    return all(
        getattr(a, f"{axis}min") < getattr(b, f"{axis}max")
        and getattr(b, f"{axis}min") < getattr(a, f"{axis}max")
        for axis in "xyz"
    )


def main() -> None:
    """Print all lines."""
    catalogue = Path(sys.argv[1] if len(sys.argv) > 1 else "catalog.csv")
    parts = Parts(catalogue)
    for number in sys.argv[2:] or parts.part_numbers:
        for thick_mm in WALLS_MM:
            print(f"{number:10} {thick_mm:4g} mm  {line(parts, number, thick_mm)}", flush=True)


if __name__ == "__main__":
    main()

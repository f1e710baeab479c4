"""A hundred vents in one STEP file: bytes and seconds, against as many separate solids.

Run ``python tests/benchmarks/hundred_vents.py``, with ``--part HV-N20`` for another one. Times are
processor time; ratios, not seconds, are what two machines agree on.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cadquery as cq

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from vent_family.enclosure.export import export_assembly  # noqa: E402
from vent_family.files.step.parts import StepAssembly  # noqa: E402
from vent_family.files.step.readback import assembly_differences  # noqa: E402
from vent_family.front.parts import Parts  # noqa: E402


def place(index: int) -> cq.Location:
    return cq.Location((index % 10 * 150.0, index // 10 * 150.0, 0.0))


def taken(work: Callable[[], object]) -> tuple[float, object]:
    begun = time.process_time()
    result = work()
    return time.process_time() - begun, result


def main() -> None:
    """Print what each way of writing them takes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--part", default="HV-R040")
    parser.add_argument("--catalog", type=Path, default=ROOT / "catalog.csv")
    parser.add_argument("--count", type=int, default=100)
    given = parser.parse_args()
    parts = Parts(given.catalog)
    vent = parts.assembly(given.part)
    body = parts.vent(given.part)
    indices = range(given.count)

    def instances() -> cq.Assembly:
        wall = cq.Assembly(name="wall")
        for index in indices:
            wall.add(vent, name=f"vent {index}", loc=place(index))
        return wall

    def separate() -> cq.Assembly:
        """Return the vents' bodies as solids of their own, which nothing says are the same."""
        wall = cq.Assembly(name="wall")
        for index in indices:
            wall.add(body.copy(), name=f"vent {index}", loc=place(index))
        return wall

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "wall.step"
        made, wall = taken(instances)
        written, tree = taken(lambda: export_assembly(wall, path))
        assert isinstance(tree, StepAssembly)
        size = path.stat().st_size
        read, differences = taken(lambda: assembly_differences(path, tree))
        assert differences == [], differences
        alone, _ = taken(lambda: export_assembly(vent, path))
        size_alone = path.stat().st_size
        copies = separate()
        apart, _ = taken(lambda: export_assembly(copies, path))
        size_apart = path.stat().st_size
        plain, _ = taken(lambda: wall.export(str(path)))
        size_plain = path.stat().st_size
    print(f"{given.count} of {given.part}; {len(tree.parts())} products with a solid")
    print(
        f"assembled in {made * 1e3:.0f} ms; written, read and compared in {written:.2f} s,"
        f" {read:.2f} s of it for the reading"
    )
    print(f"{size} bytes, {size / size_alone:.2f} times those of one ({size_alone})")
    print(
        f"separate bodies: {size_apart / size:.1f} times the bytes, {apart / written:.1f} the time"
    )
    print(f"one vent: {alone / written:.2f} of the time of all")
    print(
        f"CadQuery's own export, without what the members say: {size_plain / size:.1f} times the"
        f" bytes, {plain / written:.1f} times the time"
    )


if __name__ == "__main__":
    main()

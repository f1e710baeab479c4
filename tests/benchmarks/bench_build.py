"""Where the time of a build goes; prints ratios, passes no judgement.

Run ``python tests/benchmarks/bench_build.py``; add ``--catalogue`` to build the whole demo
catalogue too (cold and warm, one process and two).
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]

SHARES: dict[str, float] = {}


def best(work: Callable[[], Any], repeats: int = 3) -> float:
    """Return the least seconds of a few runs."""
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


@contextmanager
def timed(module: Any, name: str, label: str) -> Iterator[None]:
    """Add the time spent in ``module.name`` to SHARES[label] while the block runs."""
    original = getattr(module, name)

    def wrapper(*args: Any, **kwargs: Any) -> Any:
        begin = time.perf_counter()
        try:
            return original(*args, **kwargs)
        finally:
            SHARES[label] = SHARES.get(label, 0.0) + time.perf_counter() - begin

    setattr(module, name, wrapper)
    try:
        yield
    finally:
        setattr(module, name, original)


def row(family: str, size: str, **cells: Any) -> Any:
    from vent_family.catalog.model import CatalogRow

    required = {"part_number": "B", "status": "draft", "family": family, "size": size}
    return CatalogRow(**required, **cells)


def by_family() -> None:
    from vent_family.geometry.vent import build_solids
    from vent_family.spec.resolve import resolve

    print("\nSolids only, one process, best of three")
    print(f"{'part':34s} {'slats':>5s} {'bays':>4s} {'faces':>6s} {'seconds':>8s}")
    for family, size, form in (
        ("rectangular", "60x60", "inclined"),
        ("rectangular", "120x120", "inclined"),
        ("rectangular", "120x120", "folded"),
        ("flanged", "150x150", "inclined"),
        ("round", "M20x1.5", "inclined"),
        ("round", "M32x1.5", "flat"),
        ("round", "M63x1.5", "inclined"),
        ("round", "M75x1.5", "folded"),
    ):
        spec = resolve(row(family, size, slat_form=form))
        seconds = best(lambda spec=spec: build_solids(spec))
        faces = len(build_solids(spec).vent.Faces())
        name = f"{family} {size} {form}"
        count = len(spec.section.slats)
        print(f"{name:34s} {count:5d} {len(spec.bays):4d} {faces:6d} {seconds:8.3f}")


def against_unions() -> None:
    """Compare with one union per slat: the same part, the same run."""
    from vent_family.geometry.families import block
    from vent_family.geometry.primitives import prism_x
    from vent_family.spec.resolve import resolve

    spec = resolve(row("rectangular", "120x120"))
    fast = best(lambda: block.BlockBuilder("rectangular").vent(spec, true_thread=True))

    bare = replace(spec, section=replace(spec.section, slats=()))
    begin = time.perf_counter()
    solid: Any = block.BlockBuilder("rectangular").vent(bare, true_thread=True)
    half = spec.body.half_width_mm + 0.5
    ceiling = spec.section.ceiling_mm
    slats = [s for s in spec.section.slats if max(y for _, y in s.outline) <= ceiling]
    for slat in slats:
        solid = solid.fuse(prism_x(slat.outline, -half, half))
    slow = time.perf_counter() - begin
    print(f"\n{len(slats)} slats: {fast:.3f} s as handles, {slow:.3f} s with one union per slat:")
    print(f"ratio {slow / fast:.1f}")


def growth() -> None:
    from vent_family.geometry.families.block import BlockBuilder
    from vent_family.spec.resolve import resolve

    print("\nGrowth with the slat count (rectangular, 100 mm wide)")
    for height in (60, 120, 180, 240, 360):
        spec = resolve(row("rectangular", f"100x{height}"))
        seconds = best(lambda spec=spec: BlockBuilder("rectangular").vent(spec, true_thread=True))
        count = len(spec.section.slats)
        print(f"{count:4d} slats {seconds:7.3f} s {1e3 * seconds / count:6.2f} ms a slat")


def shares() -> None:
    """Where the time of a whole released part goes."""
    import vent_family.evidence.context as context
    import vent_family.evidence.solid.check as solid_checks
    import vent_family.geometry.families.block as block
    import vent_family.geometry.families.round as round_head
    import vent_family.geometry.vent as vent
    import vent_family.mesh.vent as mesh
    import vent_family.release.part as part
    from vent_family.release.jobs import build_time
    from vent_family.spec.resolve import resolve

    watched = [
        (round_head, "threaded_neck", "thread"),
        (vent, "locknut", "thread"),
        (round_head, "cut", "booleans"),
        (round_head, "common", "booleans"),
        (round_head, "fuse", "booleans"),
        (block, "cut", "booleans"),
        (block, "fuse", "booleans"),
        (block, "insert_slats", "slat handles"),
        (round_head, "insert_slats", "slat handles"),
        (mesh, "mesh_of", "tessellation"),
        (part, "write_mesh", "STL"),
        (part, "write_step", "STEP"),
        (part, "write_step_assembly", "STEP assembly"),
        (context, "mass_properties", "measuring"),
        (solid_checks, "estimate_volume_mm3", "volume estimate"),
    ]
    for family, size in (("rectangular", "120x120"), ("round", "M63x1.5"), ("flanged", "92x92")):
        spec = resolve(row(family, size))
        SHARES.clear()
        with tempfile.TemporaryDirectory() as folder:
            managers = [timed(*w) for w in watched]
            for manager in managers:
                manager.__enter__()
            begin = time.perf_counter()
            stamp = build_time()
            released = part.release_part(
                spec, Path(folder) / "B", row_hash="0" * 16, time_stamp=stamp, publish_if="any"
            )
            total = time.perf_counter() - begin
            for manager in reversed(managers):
                manager.__exit__(None, None, None)
        print(f"\n{family} {size}: {total:.2f} s for the whole part")
        for label, seconds in sorted(SHARES.items(), key=lambda item: -item[1]):
            print(f"  {label:26s} {seconds:6.3f} s {100 * seconds / total:5.1f} %")
        for file in released.files:
            print(f"  {file.name:26s} {file.size_bytes / 1000:9.1f} kB")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\npeak memory of this process: {peak:.0f} MB")


def stages(parts: list[dict[str, Any]], jobs: int, seconds: float) -> None:
    """Print the share of each stage, and how busy the processes were; ``seconds`` of the run."""
    total: Counter[str] = Counter()
    for part in parts:
        total.update(part["stages_s"])
    whole = sum(total.values())
    told = (f"{name} {100.0 * s / whole:.0f} %" for name, s in total.most_common())
    busy = sum(part["seconds"] for part in parts) / (jobs * seconds)
    print(f"    {', '.join(told)}; processes busy for {100.0 * busy:.0f} % of the time")


def catalogue() -> None:
    print("\nThe whole demo catalogue, files written")
    seconds = {}
    for label, jobs in (("cold, one process", 1), ("warm, one process", 1), ("two processes", 2)):
        with tempfile.TemporaryDirectory() as folder:
            begin = time.perf_counter()
            command = [sys.executable, "-m", "vent_family.front.cli.app", "build", "--json"]
            command += ["--out", folder, "--jobs", str(jobs)]
            done = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE)
            seconds[label] = time.perf_counter() - begin
        print(f"  {label:20s} {seconds[label]:7.1f} s")
        stages(json.loads(done.stdout)["parts"], jobs, seconds[label])
    ratio = seconds["warm, one process"] / seconds["two processes"]
    print(f"  two processes against one: {ratio:.2f} times as fast")
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"  peak memory of the largest process: {peak:.0f} MB")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--catalogue", action="store_true", help="build the whole catalogue too")
    options = parser.parse_args()
    begin = time.perf_counter()
    import cadquery  # noqa: F401

    print(f"importing CadQuery: {time.perf_counter() - begin:.2f} s")
    by_family()
    against_unions()
    growth()
    shares()
    if options.catalogue:
        catalogue()


if __name__ == "__main__":
    main()

"""Speed of the air side, as ratios to limits measured in the same run.

Usage: ``python tests/benchmarks/bench_air.py [--vents]``; ``--vents`` also solves the flow through
three whole sections and compares them with the quick model (some minutes).
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numba import njit

from vent_family.catalog.model import CatalogRow
from vent_family.evidence.air.coefficients import StackBatch
from vent_family.evidence.air.flow2d import solve_section, solve_stack
from vent_family.evidence.air.lattice import Lattice, bounce_links
from vent_family.evidence.air.losses import corrected_loss
from vent_family.evidence.air.resistance import DRAIN_K
from vent_family.spec.forms import IN, OUT
from vent_family.spec.resolve import resolve
from vent_family.spec.section import Section
from vent_family.spec.stack import Stack

BYTES_PER_UPDATE = 2 * 9 * 8
"""Nine populations read and nine written, double precision; write-allocate not counted."""
INCLINED = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (OUT, IN, OUT))


def best(work: Callable[[], object], times: int = 5) -> float:
    """Return the shortest of several runs, s."""
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spans.append(time.perf_counter() - start)
    return min(spans)


@njit(cache=True)
def _copy(a, b):  # type: ignore[no-untyped-def]
    for i in range(a.size):
        b[i] = a[i]


def bandwidth() -> float:
    """Return bytes read plus written per second by one core copying 400 MB."""
    a, b = np.ones(25_000_000), np.zeros(25_000_000)
    _copy(a, b)
    return 2 * a.nbytes / best(lambda: _copy(a, b))


def updates(ny: int, nx: int, steps: int) -> float:
    """Return lattice updates per second."""
    solid = np.zeros((ny, nx), dtype=bool)
    flow = Lattice(solid, bounce_links(solid), 0.02, inlet=np.full(ny, 0.05))
    flow.run(2)
    return ny * nx * steps / best(lambda: flow.run(steps), 3)


def sweep(count: int) -> tuple[float, float]:
    """Return quick evaluations per second, all at once and one by one."""
    rng = np.random.default_rng(1)
    stacks = [
        replace(
            INCLINED,
            pitch_mm=float(rng.uniform(6, 9)),
            slat_height_mm=float(rng.uniform(6, 9)),
            gaps_mm=(float(rng.uniform(2.7, 8)), float(rng.uniform(2.7, 8))),
        )
        for _ in range(count)
    ]
    batch = StackBatch.of(stacks, 22.0)
    together = count / best(lambda: corrected_loss(batch, 400.0))
    few = stacks[:100]
    alone = len(few) / best(
        lambda: [corrected_loss(StackBatch.of([s], 22.0), 400.0) for s in few], 2
    )
    return together, alone


def slat_height(section: Section) -> float:
    """Return the height between drain channel and ceiling."""
    lowest = [
        min(y for s in section.slats if s.bank == b for _, y in s.outline)
        for b in range(section.stack.bank_count)
    ]
    return section.ceiling_mm - sum(lowest) / len(lowest)


def vents() -> None:
    """Compare drain share and stack loss of whole sections with the quick model."""
    print("whole sections at Re 400, drawn in: solver against quick model")
    for form in ("inclined", "flat", "folded"):
        row = CatalogRow(
            part_number="B", family="rectangular", size="80x60", status="draft", slat_form=form
        )
        section = resolve(row).section
        flow = solve_section(section, 400.0, cells=10)
        y, s = flow.grid.y_mm(), flow.grid.s_mm()
        column = int(np.searchsorted(s, 0.5))
        slot = (y > section.drain_mm[0]) & (y < section.drain_mm[1])
        solved = flow.u[slot, column].sum() / flow.u[:, column].sum()
        k = corrected_loss(StackBatch.of([section.stack]), 400.0).k[0, 0]
        drain = section.drain_mm[1] - section.drain_mm[0]
        stack_share = 1 / (1 + drain / slat_height(section) * np.sqrt(k / DRAIN_K))
        print(
            f"  {form}: drain share {solved:.3f} solved, {1 - stack_share:.3f} quick;"
            f" K of the section {flow.k:.1f} +- {flow.k_spread:.1f}"
        )


def main() -> None:
    """Print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vents", action="store_true")
    arguments = parser.parse_args()
    speed = bandwidth()
    limit = speed / BYTES_PER_UPDATE
    print(f"memory bandwidth, one core: {speed / 1e9:.1f} GB/s = {limit / 1e6:.0f} M updates/s")
    for name, ny, nx, steps in (("in memory", 1200, 1200, 20), ("in cache", 40, 240, 4000)):
        rate = updates(ny, nx, steps)
        print(f"lattice {name} ({ny} x {nx}): {rate / 1e6:.0f} M updates/s, {rate / limit:.2f} x")
    together, alone = sweep(20_000)
    print(
        f"quick model: {together / 1e6:.2f} M stacks/s at once, {alone:.0f} one by one:"
        f" {together / alone:.0f} x"
    )
    start = time.perf_counter()
    flow = solve_stack(INCLINED, 400.0)
    seconds = time.perf_counter() - start
    print(
        f"one solved field ({flow.grid.ny} x {flow.grid.nx}, {flow.steps} steps): {seconds:.1f} s,"
        f" {together * seconds:.1e} quick evaluations"
    )
    if arguments.vents:
        vents()


if __name__ == "__main__":
    main()

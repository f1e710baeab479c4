"""Drops per second against a plain integrator, cost against slat count, seconds of each verdict.

Run ``python tests/benchmarks/bench_water.py``. Both sides fly the same drops through the same
section and air in one run, on one core; the answers are compared as well. Then every row of the
demo catalogue is judged as a build does, advice included: processor seconds, after the start.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

# One core for everybody, also for libraries that would take more.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from tests.evidence.water.plain_flight import plain_flight, room_of
from tests.evidence.water.scenes import bounds, stack
from vent_family.catalog.reader import read_catalog
from vent_family.evidence.water.airfield import AirField, potential_flow
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.boundary import Boundary, boundary_of
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.flight import fly, gravity
from vent_family.spec.layout import lay_out
from vent_family.spec.resolved import ResolvedRows
from vent_family.spec.section import Section

PLAIN = 60
MANY = 20_000


def scene(height: float) -> tuple[Section, Boundary, AirField]:
    made = stack()
    section = lay_out(made, bounds(made, height))
    return section, boundary_of(section), potential_flow(section, 1.5)


def drops(section: Section, n: int) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(1)
    z = np.full(n, section.front_z_mm + 0.5)
    y = rng.uniform(section.window_bottom_mm + 1.0, section.ceiling_mm - 1.0, n)
    speed, angle = rng.uniform(2.0, 8.0, n), np.radians(rng.uniform(-30.0, 60.0, n))
    d = rng.choice([0.3, 0.8, 2.0, 4.0], n)
    return z, y, -speed * np.cos(angle), -speed * np.sin(angle), d


def timed(section: Section, b: Boundary, air: AirField, n: int) -> float:
    args = drops(section, n)
    begin = time.perf_counter()
    fly(b, air, gravity(0.0), *args)
    return time.perf_counter() - begin


def main() -> None:
    section, b, air = scene(60.0)
    timed(section, b, air, 10)  # compiles, or reads the compiled code
    fast = min(timed(section, b, air, MANY) for _ in range(3)) / MANY
    z, y, w, v, d = drops(section, PLAIN)
    room = room_of(section, b)
    begin = time.perf_counter()
    ends = [
        plain_flight(room, air, np.array([z[i], y[i], w[i], v[i]]), float(d[i]))
        for i in range(PLAIN)
    ]
    slow = (time.perf_counter() - begin) / PLAIN
    landed = fly(b, air, gravity(0.0), z, y, w, v, d)
    apart = np.hypot(*(np.array(ends) - np.stack([landed.z_mm, landed.y_mm], axis=1)).T)
    print(f"compiled        {1 / fast:12.0f} drops/s")
    print(f"solve_ivp loop  {1 / slow:12.1f} drops/s")
    print(f"ratio           {slow / fast:12.0f}")
    print(
        f"end points apart: median {np.median(apart):.4f} mm, 95 % below"
        f" {np.quantile(apart, 0.95):.4f} mm, largest {apart.max():.4f} mm of {PLAIN}"
    )
    print("\nslats  face mm   us/drop   air field s")
    for height in (40.0, 80.0, 160.0, 320.0):
        made = stack()
        large = lay_out(made, bounds(made, height))
        edges = boundary_of(large)
        begin = time.perf_counter()
        field = potential_flow(large, 1.5)
        took = time.perf_counter() - begin
        per_drop = min(timed(large, edges, field, MANY) for _ in range(3)) / MANY
        print(
            f"{len(large.slats):5d} {large.front_height_mm:8.0f} {1e6 * per_drop:9.1f} {took:10.2f}"
        )
    verdicts()


def verdicts() -> None:
    """Judge the demo catalogue; print processor seconds and flights of each part."""
    rows = ResolvedRows(read_catalog(Path(__file__).parents[2] / "catalog.csv"))
    specs = list(rows.specs())
    assess(specs[0], conditions_of(specs[0]))  # reads the compiled code
    whole = 0.0
    print("\npart      outcome       s   flights")
    for vent in specs:
        begin = time.process_time()
        report = assess(vent, conditions_of(vent))
        took = time.process_time() - begin
        whole += took
        flights = sum(e.sampling.flights for e in report.drops)
        print(f"{vent.part_number:9} {report.outcome:11} {took:5.2f} {flights:8d}")
    print(f"all       {whole:17.1f} s on one core")


if __name__ == "__main__":
    main()

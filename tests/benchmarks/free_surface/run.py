"""Jets on sections: ``python -m tests.benchmarks.free_surface.run SECTION --elevation E``.

Appends one row to ``results.csv`` per run. ``run all`` works through the list of the comparison and
leaves out what the file already holds, so that it can be stopped and taken up again.
"""

from __future__ import annotations

import argparse
import csv
import math
import os
import time
from collections.abc import Iterator
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from typing import Final

# One core for everybody, also for libraries that would take more.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from tests.benchmarks.free_surface.scene import Scene
from tests.benchmarks.free_surface.sections import FLOORS, SECTIONS, scene_of
from tests.benchmarks.free_surface.solver import BIN_S, DENSITY_KG_M3, Books, simulate

RESULTS: Final = Path(__file__).with_name("results.csv")
SECONDS: Final = 20e-3
STEADY_S: Final = 12e-3
"""Shares count what ends from here on; before, the passages fill."""
SPACING_MM: Final = 0.5
THICKNESS_MM: Final = 6.0
ELEVATIONS: Final = (-40.0, -20.0, 0.0, 20.0, 40.0)
HEIGHTS: Final = (0.0, 1 / 3, 2 / 3)
"""Heights over the middle of the front, in pitches."""
DRAIN_ELEVATIONS: Final[dict[str, tuple[float, ...]]] = {
    "inclined": (-15.0, 0.0),
    "folded": (-15.0, 0.0),
    "flat": (-15.0, 0.0),
    "channel": (-40.0, -10.0),
}


@dataclass(frozen=True)
class Case:
    """What is run. ``height_mm`` is where the axis crosses the front plane (part's y)."""

    section: str
    aim: str
    floor: str
    elevation_deg: float
    height_mm: float
    thickness_mm: float
    spacing_mm: float
    seconds: float

    @property
    def scene(self) -> Scene:
        """The scene that is run."""
        jet = self.elevation_deg, self.height_mm, self.thickness_mm
        return scene_of(SECTIONS[self.section](), *jet, self.floor)


@dataclass(frozen=True)
class Row(Case):
    """A case and what came of it: shares of the steady inflow, and checks of the run.

    ``kept`` is what stays behind in the section (it gathers or falls slowly). ``lost`` counts
    particles that no book holds, ``dense`` is the 99 % quantile of density over water's less 1.
    """

    inside: float
    trough: float
    back: float
    kept: float
    particles: int
    lost: int
    dense: float
    took_s: float


def front_height(section: str, fraction: float) -> float:
    """Return a height (mm) over the middle of the front, given in pitches."""
    outlines = SECTIONS[section]()
    return round(outlines.middle_mm + fraction * outlines.pitch_mm, 3)


def drain_height(section: str, elevation_deg: float) -> float:
    """Return where a jet at the drain crosses the front plane, mm."""
    outlines = SECTIONS[section]()
    x, y = outlines.drain
    return round(y + (outlines.front_mm - x) * math.tan(math.radians(elevation_deg)), 3)


def listed(spacing_mm: float, seconds: float) -> Iterator[Case]:
    """Yield the cases of the comparison: the drain, then the front height by height."""
    for name, elevations in DRAIN_ELEVATIONS.items():
        for elevation in elevations:
            for floor in ("wet", "dry"):
                at = elevation, drain_height(name, elevation), THICKNESS_MM
                yield Case(name, "drain", floor, *at, spacing_mm, seconds)
    for fraction in HEIGHTS:
        for elevation in sorted(ELEVATIONS, key=abs):
            for name in SECTIONS:
                at = elevation, front_height(name, fraction), THICKNESS_MM
                yield Case(name, "front", "wet", *at, spacing_mm, seconds)


def solve(case: Case) -> tuple[Row, Books]:
    """Run a case and return its row and books."""
    begin = time.perf_counter()
    books = simulate(case.scene, case.seconds, case.spacing_mm)
    took = time.perf_counter() - begin
    window = min(STEADY_S, 0.6 * case.seconds), case.seconds
    shares = [books.share(name, *window) for name in ("inside", "trough", "back")]
    row = Row(
        *astuple(case),
        *(round(s, 5) for s in shares),
        kept=round(1.0 - sum(shares), 5),
        particles=books.left,
        lost=round(books.imbalance),
        dense=round(float(np.quantile(books.state[:, 4], 0.99)) / DENSITY_KG_M3 - 1.0, 5),
        took_s=round(took, 1),
    )
    return row, books


def course(books: Books, step_s: float = 10e-3) -> Iterator[str]:
    """Yield how much ends inside, and how fast it moves inwards, by time steps (s)."""
    bins = round(step_s / BIN_S)
    for begin in range(0, len(books.emitted), bins):
        part = slice(begin, begin + bins)
        ended = books.ended["inside"][part].sum()
        speed = -books.leaving["inside"][part, 0].sum() / max(ended, 1.0)
        share = ended / books.emitted[part].sum()
        yield f"  from {1e3 * begin * BIN_S:g} ms: inside {100 * share:.2f} %, {speed:.2f} m/s"


def known(path: Path = RESULTS) -> list[Row]:
    """Return the rows of the results file."""
    if not path.exists():
        return []
    kinds = {"str": str, "float": float, "int": int}
    with path.open(encoding="utf-8", newline="") as file:
        return [
            Row(**{f.name: kinds[str(f.type)](line[f.name]) for f in fields(Row)})
            for line in csv.DictReader(file)
        ]


def append(row: Row, path: Path = RESULTS) -> None:
    """Add a row to the results file."""
    new = not path.exists()
    with path.open("a", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        if new:
            writer.writerow([f.name for f in fields(Row)])
        writer.writerow(astuple(row))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("section", choices=[*SECTIONS, "all"])
    parser.add_argument("--elevation", type=float, default=0.0, help="degrees, from above positive")
    parser.add_argument("--height", type=float, help="axis at the front plane, mm (the part's y)")
    parser.add_argument("--aim", choices=["front", "drain"], default="front")
    parser.add_argument("--floor", choices=FLOORS, default="wet")
    parser.add_argument("--thickness", type=float, default=THICKNESS_MM, help="of the jet, mm")
    parser.add_argument("--spacing", type=float, default=SPACING_MM, help="between particles, mm")
    parser.add_argument("--seconds", type=float, default=SECONDS)
    parser.add_argument("--picture", type=Path, help="draw the last moment")
    asked = parser.parse_args()
    if asked.section == "all":
        cases = list(listed(asked.spacing, asked.seconds))
    else:
        height = asked.height
        if height is None and asked.aim == "drain":
            height = drain_height(asked.section, asked.elevation)
        elif height is None:
            height = front_height(asked.section, 0.0)
        cases = [
            Case(
                asked.section,
                asked.aim,
                asked.floor,
                asked.elevation,
                height,
                asked.thickness,
                asked.spacing,
                asked.seconds,
            )
        ]
    done = {astuple(row)[: len(fields(Case))] for row in known()}
    for case in cases:
        if astuple(case) in done and asked.section == "all":
            continue
        row, books = solve(case)
        if astuple(case) not in done:
            append(row)
        print(row, flush=True)
        print(*course(books), sep="\n", flush=True)
        if asked.picture:
            from tests.benchmarks.free_surface.picture import draw

            draw(case.scene, books, asked.picture)


if __name__ == "__main__":
    main()

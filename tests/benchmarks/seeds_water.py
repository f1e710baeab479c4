"""Verdicts over many seeds: does chance decide? Prints a table, one line per row and exposure.

Run ``python tests/benchmarks/seeds_water.py [PART ...] [--seeds N]``; without parts it takes three
rows of the demo catalogue. Every outcome must be the same for all seeds.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from pathlib import Path

# One core, also for libraries that would take more.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

from vent_family.catalog.reader import read_catalog
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.judge import judge
from vent_family.evidence.water.setup import setup_of
from vent_family.spec.resolve import resolve

ROOT = Path(__file__).parents[2]
ROWS = ("HV-R050", "HV-R200", "HV-R080")


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("parts", nargs="*", default=ROWS)
    parser.add_argument("--seeds", type=int, default=20)
    asked = parser.parse_args()
    rows = {r.row.part_number: r.row for r in read_catalog(ROOT / "catalog.csv").rows}
    flips = 0
    print(
        "part      exposure          outcomes           passes % low       high      flights    s"
    )
    for part in asked.parts:
        vent = resolve(rows[part])
        for conditions, *_ in conditions_of(vent).singles():
            (exposure,) = conditions.table
            if exposure.coherent:  # a full jet is followed in sheets, without chance
                continue
            velocity = conditions.point(exposure.name).face_velocity_m_s
            reports, took = [], []
            for seed in range(asked.seeds):
                setup = setup_of(vent, velocity, conditions.posture, seed=seed)
                begin = time.process_time()
                reports.append(judge(setup, exposure, conditions))
                took.append(time.process_time() - begin)
            names = [r.verdict.outcome for r in reports]
            counts = ", ".join(f"{n} {names.count(n)}" for n in sorted(set(names)))
            low = [100.0 * r.passed_share.low for r in reports]
            high = [100.0 * r.passed_share.high for r in reports]
            flights = [r.sampling.flights for r in reports]
            print(
                f"{part:9} {exposure.name:17} {counts:18} {min(low):8.3f}-{max(low):.3f}"
                f" {min(high):8.3f}-{max(high):.3f} {max(flights):8d} {max(took):6.2f}"
            )
            flips += len(set(names)) > 1
    print(f"{flips} of the exposures flip")
    return 1 if flips else 0


if __name__ == "__main__":
    sys.exit(main())

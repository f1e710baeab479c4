"""Does the judgement in stages drop no good vent, and what does it and the estimate cost?

Run ``python tests/benchmarks/bench_screened.py [rows [seed]]``. Random rows of four forms and three
families are judged in stages against each outcome and estimated, and both are held against the
whole check. Processor milliseconds on one core, the compiler's first call left out.
"""

from __future__ import annotations

import os
import random
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path
from statistics import fmean, stdev

# One core for everybody, also for libraries that would take more.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

import math

from vent_family.catalog.model import CatalogRow
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.evidence.strength.screened import strength_holds
from vent_family.evidence.water.assess import assess
from vent_family.evidence.water.conditions import conditions_of
from vent_family.evidence.water.quick import estimated
from vent_family.evidence.water.screened import screened
from vent_family.spec.resolve import resolved_or_none
from vent_family.spec.vent import VentSpec

SIZES = (("rectangular", "160x120"), ("round", "M50x1.5"), ("flanged", "120x92"))
WATERS = ("rain/splashing/spraying/hose_down", "rain/splashing", "dripping", "heavy_rain", "rain")
ASKED: tuple[Outcome, ...] = ("holds", "marginal")


def drawn(rng: random.Random, family: str, size: str, exposure: str) -> CatalogRow:
    """Return a row whose cells are drawn; it may break a rule."""
    cells: dict[str, object] = {
        "slat_form": rng.choice(["flat", "inclined", "folded", "channel"]),
        "pitch_mm": round(rng.uniform(5.0, 14.0), 1),
        "slat_thickness_mm": round(rng.uniform(0.8, 2.0), 1),
        "bank_count": rng.choice([1, 2, 2, 3, 3, 4]),
        "bank_gaps_mm": str(round(rng.uniform(2.5, 8.0), 1)),
        "face_velocity_m_s": rng.choice([None, 0.2, 0.5, 1.0, 1.5]),
    }
    if rng.random() < 0.7:
        cells["overlap_mm"] = round(rng.uniform(0.4, 4.0), 1)
    if rng.random() < 0.5:
        cells["sill_height_mm"] = round(rng.uniform(8.0, 25.0), 1)
    if rng.random() < 0.15:
        cells["air_direction"] = "out"
    if rng.random() < 0.15:
        cells["mounting_tilt_deg"] = round(rng.uniform(-5.0, 10.0), 1)
    if family == "round":
        cells["head_diameter_mm"] = float(round(rng.uniform(1.4, 2.2) * int(size[1:3])))
    return CatalogRow(
        part_number="A", family=family, size=size, status="draft", exposure=exposure, **cells
    )


def vents(count: int, seed: int) -> list[VentSpec]:
    """Return resolved rows, families and waters in turn."""
    rng, found = random.Random(seed), list[VentSpec]()
    while len(found) < count:
        n = len(found)
        row = drawn(rng, *SIZES[n % len(SIZES)], WATERS[n // len(SIZES) % len(WATERS)])
        vent = resolved_or_none(row)
        if vent is not None:
            found.append(vent)
    return found


def main() -> None:
    count, seed = (int(n) for n in (*sys.argv[1:], "200", "1")[:2])
    first, *others = vents(count + 1, seed)
    for at_least in ASKED:
        screened(first, conditions_of(first), at_least)
    estimated(first, conditions_of(first))
    took: dict[str, list[float]] = defaultdict(list)
    wrong, stages, estimates = 0, Counter[str](), Counter[str]()
    ratios: list[float] = []

    def timed(name: str, begin: float) -> None:
        took[name].append(1e3 * (time.process_time() - begin))

    for done, vent in enumerate(others):
        if done % 20 == 0:
            print(f"{done} of {count} rows, {wrong} otherwise than by the whole check", flush=True)
        conditions = conditions_of(vent)
        begin = time.process_time()
        found = estimated(vent, conditions)
        timed(f"estimate of {vent.row.exposure}", begin)
        in_stages = {}
        for at_least in ASKED:
            begin = time.process_time()
            in_stages[at_least] = one = screened(vent, conditions, at_least)
            timed(f"asked {at_least}: {'kept' if one.good else 'dropped'}", begin)
            stages[f"asked {at_least}: {'kept' if one.good else one.stage}"] += 1
        begin = time.process_time()
        report = assess(vent, conditions, advise=False)
        timed("whole check", begin)
        begin = time.process_time()
        strength_holds(vent)
        timed("strength", begin)
        assert report.outcome != "not checked"
        for at_least, one in in_stages.items():
            good = RANK[report.outcome] <= RANK[at_least]
            if one.good != good or (good and one.outcome != report.outcome):
                wrong += 1
                print("WRONG", at_least, one, report.sentences(), vent.row)
        for estimate, exposure in zip(found, report.exposures, strict=True):
            estimates[f"{exposure.verdict.outcome} estimated as {estimate.outcome}"] += 1
            passed_l = getattr(exposure, "passed_l", None)
            if passed_l is not None and passed_l.high > 1e-6 and estimate.passed_l:
                ratios.append(math.log10(estimate.passed_l / passed_l.high))
    print(f"{count} rows, {wrong} judged in stages otherwise than by the whole check")
    for name in sorted(stages):
        print(f"  {name}: {stages[name]}")
    for name in sorted(took):
        print(f"  {name}: {fmean(took[name]):.1f} ms, at most {max(took[name]):.0f} ms")
    for name in sorted(estimates):
        print(f"  {name}: {estimates[name]}")
    print(
        f"  litres, estimated over the whole check's: x {10.0 ** fmean(ratios):.2f}, scatter x"
        f" {10.0 ** stdev(ratios):.2f}"
    )


if __name__ == "__main__":
    main()

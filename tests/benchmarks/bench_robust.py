"""Seconds of an answer to how surely a part holds: the usual draws, under rain and splashing.

Run ``python tests/benchmarks/bench_robust.py HV-N32 HV-F150``, with ``--exposure jets`` for other
water, ``--picture FOLDER`` for the figures. It prints seconds by the clock, and of processors all
together: idle cores share these. Compiled functions are loaded first.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import time
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

from vent_family.base.shop import demo_shop
from vent_family.catalog.attached import packaged_fans
from vent_family.catalog.reader import read_catalog
from vent_family.evidence.air.cabinet import Cabinet, sunlit_of
from vent_family.evidence.air.fan_files import parse_fan
from vent_family.evidence.air.question import question_of
from vent_family.evidence.water.conditions import chosen_conditions
from vent_family.files.figure import write_figure
from vent_family.proposing.robust.case import Case
from vent_family.proposing.robust.draws import DrawEffort
from vent_family.proposing.robust.pictures import robustness_figure
from vent_family.proposing.robust.robust import robustness
from vent_family.spec.resolved import ResolvedRows

ROOT = Path(__file__).parents[2]
FAN = "tank-hall-92"


def processor_s() -> float:
    """Return the processor time so far, s, of this process and of those that it waited for."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)


def main() -> None:
    """Print an answer and its seconds for each part."""
    asked = argparse.ArgumentParser()
    asked.add_argument("parts", nargs="*", default=["HV-N32"])
    asked.add_argument("--exposure", default="rain/splashing")
    asked.add_argument("--heat", type=float, default=40.0, help="W")
    asked.add_argument("--picture", type=Path)
    given = asked.parse_args()
    rows = ResolvedRows(read_catalog(ROOT / "catalog.csv"))
    specs = {spec.part_number: spec for spec in rows.specs()}
    fan = parse_fan(packaged_fans()[FAN], FAN)
    cabinet = Cabinet(given.heat, 30.0, 50.0, sunlit=sunlit_of(0.15))
    for part in given.parts:
        spec = specs[part]
        question = question_of(spec, cabinet, fan=fan, inlets=2)
        conditions = chosen_conditions(spec, given.exposure)
        case = Case(spec, demo_shop(), question, conditions, "marginal")
        robustness(case, DrawEffort(draws=2, wet=2, workers=1))
        begin, used = time.perf_counter(), processor_s()
        found = robustness(case, DrawEffort())
        clock, processor = time.perf_counter() - begin, processor_s() - used
        assert found is not None
        print("\n".join(found.sentences()))
        print(f"{part}: {clock:.0f} s by the clock, {processor:.0f} s of processors\n")
        if given.picture is not None:
            given.picture.mkdir(parents=True, exist_ok=True)
            write_figure(given.picture, f"{part}-robust", robustness_figure(found), dpi=100)


if __name__ == "__main__":
    main()

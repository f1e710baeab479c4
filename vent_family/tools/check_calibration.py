"""Compare the corrected loss model with solver runs its table has not seen, and print the errors.

Usage: ``python -m vent_family.tools.check_calibration [--re RE]``. Runs that the file of unseen
runs lacks are solved first and written as they are found; none that stands is removed. About ten
minutes on one core for all of them, a second when none is missing.
"""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from vent_family.base.atomic import write_bytes
from vent_family.base.limits import STRAND_MIN
from vent_family.evidence.air import losses, solved
from vent_family.evidence.air.coefficients import StackBatch, quick_loss
from vent_family.evidence.air.solved import UnseenRun
from vent_family.spec.forms import IN, OUT
from vent_family.spec.stack import Stack
from vent_family.tools.calibrate_air import solve

INCLINED: Final = Stack("inclined", 1.5, 6.5, 6.75, (3.0, 3.0), 0.5, (OUT, IN, OUT))
FLAT: Final = Stack("flat", 1.5, 12.0, 9.0, (8.0, 4.0, 4.0), 0.5, (OUT,) * 4)
FOLDED: Final = Stack("folded", 1.5, 8.0, 7.0, (3.0,), 0.5, (OUT, OUT))
CASES: Final = {
    "three banks, default": (INCLINED, (20.0, 80.0, 250.0)),
    "0.8 mm thin": (replace(INCLINED, thickness_mm=0.8), (80.0, 250.0)),
    "2 mm, pitch 8": (
        replace(INCLINED, thickness_mm=2.0, pitch_mm=8.0, slat_height_mm=7.5),
        (20.0, 80.0, 250.0),
    ),
    "2 banks": (replace(INCLINED, gaps_mm=(4.0,), slopes=(IN, OUT)), (80.0,)),
    "5 banks": (
        replace(INCLINED, gaps_mm=(4.0,) * 4, slopes=(OUT, IN, OUT, IN, OUT)),
        (80.0,),
    ),
    "1 bank": (
        replace(INCLINED, slat_height_mm=9.5, gaps_mm=(), slopes=(OUT,)),
        (20.0, 80.0, 250.0),
    ),
    "shift 1/3": (replace(INCLINED, slat_height_mm=5.7, shift=1 / 3), (80.0, 250.0)),
    "on feet": (replace(INCLINED, foot_mm=STRAND_MIN.value), (80.0, 250.0)),
    "on feet, default": (replace(INCLINED, slat_height_mm=6.25, foot_mm=STRAND_MIN.value), (50.0,)),
    "narrow feet": (
        replace(INCLINED, slat_height_mm=6.25, foot_mm=0.5 * STRAND_MIN.value),
        (50.0,),
    ),
    "5 mm gaps": (replace(INCLINED, gaps_mm=(5.0, 5.0)), (80.0, 250.0)),
    "low": (replace(INCLINED, slat_height_mm=5.75), (80.0, 250.0)),
    "equal slopes": (replace(INCLINED, slopes=(OUT,) * 3), (80.0,)),
    "four banks, default": (FLAT, (20.0, 80.0, 250.0)),
    "0.8 mm thin, flat": (replace(FLAT, thickness_mm=0.8), (80.0,)),
    "2 mm, flat": (
        replace(FLAT, thickness_mm=2.0, pitch_mm=13.0, slat_height_mm=9.5),
        (20.0, 80.0, 250.0),
    ),
    "2 banks, flat": (replace(FLAT, gaps_mm=(5.0,), slopes=(OUT, OUT)), (80.0,)),
    "shift 1/3, flat": (
        replace(FLAT, slat_height_mm=7.0, gaps_mm=(4.0, 4.0), shift=1 / 3, slopes=(OUT,) * 3),
        (80.0, 250.0),
    ),
    "on feet, folded": (replace(FOLDED, foot_mm=STRAND_MIN.value), (80.0, 250.0)),
    "two banks, default": (FOLDED, (20.0, 80.0, 250.0)),
    "1 bank, folded": (
        replace(FOLDED, slat_height_mm=11.0, gaps_mm=(), slopes=(OUT,)),
        (20.0, 80.0, 250.0),
    ),
    "0.8 mm thin, folded": (replace(FOLDED, thickness_mm=0.8), (80.0, 250.0)),
    "2 mm, folded": (
        replace(FOLDED, thickness_mm=2.0, pitch_mm=9.0, slat_height_mm=8.0),
        (20.0, 80.0, 250.0),
    ),
    "shift 1/3, folded": (
        replace(FOLDED, slat_height_mm=5.7, gaps_mm=(3.0, 3.0), shift=1 / 3, slopes=(OUT,) * 3),
        (80.0, 250.0),
    ),
}
"""Stacks by what is unusual about them, and the passage Reynolds numbers to solve them at."""
_RUN_COLUMNS: Final = ("re", "cells", "speed", "blocks", "k", "k_spread", "settled")


def file_text(runs: Sequence[UnseenRun]) -> str:
    """Return the file's text."""
    text = io.StringIO(newline="")
    text.write("# K of the 2-D flow solver in face velocity heads, of stacks off the table.\n")
    text.write("# Written by tools/check_calibration.py; they correct nothing.\n")
    columns = ("name", *solved.columns_of(INCLINED), *_RUN_COLUMNS)
    table = csv.DictWriter(text, columns, lineterminator="\n")
    table.writeheader()
    for run in runs:
        own = {name: getattr(run, name) for name in _RUN_COLUMNS}
        table.writerow({"name": run.name, **solved.columns_of(run.stack), **own})
    return text.getvalue()


def solve_missing(runs: list[UnseenRun], re: float) -> None:
    """Solve what is missing, of one Reynolds number if it is not 0, and write each as it is found.

    Parameters
    ----------
    runs
        what the file holds already
    re
        passage Reynolds number; all if 0
    """
    done = {(run.name, run.re) for run in runs}
    for name, (stack, numbers) in CASES.items():
        for number in numbers:
            if (name, number) in done or re not in (0.0, number):
                continue
            cells, flow = solve(stack, number)
            runs.append(
                UnseenRun(
                    name,
                    stack,
                    number,
                    cells,
                    round(flow.speed, 4),
                    flow.blocks,
                    round(flow.k, 3),
                    round(flow.k_spread, 3),
                    flow.settled,
                )
            )
            write_bytes(solved.UNSEEN, file_text(runs).encode("utf-8"))


def main() -> None:
    """Solve what is missing; print one line per run, and the scatter."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--re", type=float, default=0.0, help="solve only this Reynolds number")
    runs = solved.read_unseen() if solved.UNSEEN.exists() else []
    solve_missing(runs, parser.parse_args().re)
    print("form | case | Re | solver K | quick | model | quick off | model off | inside")
    inside: list[float] = []
    outside: list[float] = []
    for run in runs:
        batch = StackBatch.of([run.stack])
        quick = float(quick_loss(batch, run.re).k[0, 0])
        model = losses.corrected_loss(batch, run.re)
        k, covered = float(model.k[0, 0]), bool(model.in_range[0, 0])
        off = k / run.k - 1
        (inside if covered else outside).append(off)
        print(
            f"{run.stack.form} | {run.name} | {run.re:g} | {run.k:.1f} | {quick:.1f} | {k:.1f}"
            f" | {100 * (quick / run.k - 1):+.0f} % | {100 * off:+.1f} % | {covered}",
        )
    for name, errors in (("inside the table", inside), ("outside", outside)):
        if errors:
            size = np.abs(errors)
            print(
                f"{name}: mean {100 * np.mean(errors):+.1f} %,"
                f" rms {100 * np.sqrt(np.mean(size**2)):.1f} %,"
                f" worst {100 * size.max():.1f} % over {len(errors)} runs"
            )


if __name__ == "__main__":
    main()

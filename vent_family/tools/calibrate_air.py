"""Run the flow solver over the calibration grid and write the table the air model reads.

Usage: ``python -m vent_family.tools.calibrate_air [--form FORM] [--re RE]``. Only places that the
table lacks are solved, each is written as it is found, and no row that stands is removed: an
interrupted sweep goes on where it stopped, and a new form adds its own. About an hour on one
core for the table of sharp slats, and two for that of slats on feet.
"""

from __future__ import annotations

import argparse
import csv
import io
import time
from collections.abc import Sequence
from dataclasses import asdict, fields
from typing import Final

from vent_family.base.atomic import write_bytes
from vent_family.evidence.air import runs
from vent_family.evidence.air.flow2d import MeanFlow, solve_stack
from vent_family.evidence.air.runs import Place, Run
from vent_family.evidence.air.three_d import STEADY_RE
from vent_family.spec.forms import FORMS
from vent_family.spec.stack import Stack

SLOW: Final = 0.045
"""Passage speed of unsteady flow, lattice units: jets run at several times that, and at 0.06 their
K comes out low, by an error that goes with the square of the speed."""


def solve(stack: Stack, re: float) -> tuple[int, MeanFlow]:
    """Return the nodes across a passage and the flow, solved as the table's runs are.

    Parameters
    ----------
    stack
        the stack
    re
        passage Reynolds number
    """
    cells = runs.nodes_across(stack)
    if re <= STEADY_RE:
        # Cheap, and no care is needed.
        return cells, solve_stack(stack, re, cells=cells, tolerance=0.004, discarded=0)
    return cells, solve_stack(
        stack, re, cells=cells, tolerance=0.02, blocks_max=7, speed=SLOW, discarded=4
    )


def table_text(rows: Sequence[Run]) -> str:
    """Return the table's text in the order of form, stack and Reynolds number."""
    order = sorted(rows, key=lambda r: tuple(asdict(r.place).values()))
    text = io.StringIO(newline="")
    text.write("# K of the 2-D flow solver in face velocity heads; three banks, equal gaps;\n")
    text.write("# a gap ratio of 0 is a single bank.\n")
    text.write("# Written by tools/calibrate_air.py; ratios: air/calibration.py.\n")
    table = csv.DictWriter(text, [f.name for f in fields(Run)], lineterminator="\n")
    table.writeheader()
    table.writerows(asdict(r) for r in order)
    return text.getvalue()


def missing(rows: Sequence[Run], form: str = "", re: float = 0.0) -> list[Place]:
    """Return the places that no row stands for, of one form and one Reynolds number if asked.

    Parameters
    ----------
    rows
        the table as it is
    form
        name of a slat form; all if empty
    re
        passage Reynolds number; all if 0
    """
    done = {row.place for row in rows}
    places = (place for one in FORMS for place in runs.grid_places(one))
    return [
        place
        for place in places
        if place not in done and form in ("", place.form) and re in (0.0, place.re)
    ]


def main() -> None:
    """Fill the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--form", default="", help="only this slat form")
    parser.add_argument("--re", type=float, default=0.0, help="only this Reynolds number")
    chosen = parser.parse_args()
    rows = runs.read_runs() if runs.RUNS.exists() else []
    for place in missing(rows, chosen.form, chosen.re):
        start = time.process_time()
        stack = runs.sample_stack(
            FORMS[place.form],
            place.thickness_mm,
            place.height_ratio,
            place.gap_ratio,
            place.foot_mm,
        )
        cells, flow = solve(stack, place.re)
        run = Run(
            **asdict(place),
            cells=cells,
            speed=round(flow.speed, 4),
            blocks=flow.blocks,
            k=round(flow.k, 3),
            k_spread=round(flow.k_spread, 3),
            unsteady=round(flow.unsteady, 4),
            settled=flow.settled,
        )
        rows.append(run)
        write_bytes(runs.RUNS, table_text(rows).encode("utf-8"))
        print(run, f"{time.process_time() - start:.1f} s", flush=True)


if __name__ == "__main__":
    main()
